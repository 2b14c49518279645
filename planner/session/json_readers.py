"""Reads the JSON of a session without trust: what cannot be is refused, or left out and noted."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import suppress
from dataclasses import MISSING, fields
from datetime import date
from typing import Any

from planner.config.fields import Check, ShortText, UnfitError
from planner.text import show
from targets.characters import MOST_CHARACTERS, harmless
from targets.errors import UserError
from targets.frozen import frozen

MOST_ENTRIES = 1000
LABEL = ShortText()


class SessionFileError(UserError, ValueError):
    """A session cannot be read; the message is a sentence."""


@frozen
class FilePlace:
    """A place in the session; ``lost`` collects what is left out there, None refuses it."""

    text: str
    lost: list[str] | None = None

    def inner(self, text: str) -> FilePlace:
        """Return a place within this one."""
        return FilePlace(self.text + text, self.lost)

    def spare(self, error: SessionFileError) -> None:
        """Note what is left out; raise the error again where nothing may be."""
        if self.lost is None:
            raise error
        self.lost.append(str(error))


Reader = Callable[[Any, FilePlace], Any]


def as_json(value: Any) -> Any:
    """Return a record as an object, or a time as text: what JSON itself does not know."""
    return value.isoformat() if isinstance(value, date) else parts(value)  # a datetime is a date


def parts(record: Any) -> dict[str, Any]:
    """Return a record's fields by their names."""
    return {item.name: getattr(record, item.name) for item in fields(record)}


def _wrong(place: FilePlace, value: object, allowed: object) -> SessionFileError:
    return SessionFileError(
        f"The session, {place.text}: found {show(value)}; allowed is {allowed}."
    )


def checked(check: Check) -> Reader:
    """Read by a check that all files share, and say where the value stands."""

    def read(value: Any, place: FilePlace) -> Any:
        try:
            return check.read(value)
        except UnfitError as error:
            raise _wrong(place, value, error) from None

    return read


def text_of(value: Any, place: FilePlace) -> str:
    """Read a text; it loses the characters that it may not hold."""
    try:
        return str(LABEL.read(value))
    except UnfitError as error:
        wrong = _wrong(place, value, error)
    if not isinstance(value, str):
        raise wrong
    place.spare(wrong)
    return harmless(value[:MOST_CHARACTERS])


def or_none(reader: Reader) -> Reader:
    """Read what may be nothing."""
    return lambda value, place: None if value is None else reader(value, place)


def list_of(reader: Reader, most: int = MOST_ENTRIES) -> Reader:
    """Read a list; an entry that cannot be read is left out."""

    def read(value: Any, place: FilePlace) -> tuple[Any, ...]:
        if not isinstance(value, list) or len(value) > most:
            raise _wrong(place, value, f"a list of at most {most} entries")
        return tuple(_entries(reader, value, place))

    return read


def _entries(reader: Reader, items: list[Any], place: FilePlace) -> Iterator[Any]:
    for number, item in enumerate(items, start=1):
        try:
            made = reader(item, place.inner(f" {number}"))
        except SessionFileError as error:
            place.spare(error)
        else:
            yield made


def object_of(kind: type, readers: Mapping[str, Reader], newer: Collection[str] = ()) -> Reader:
    """Read an object; files of older programs lack the keys that are ``newer``."""
    defaults: dict[str, Any] = {x.name: [] if x.default == () else x.default for x in fields(kind)}

    def read(value: Any, place: FilePlace) -> Any:
        error = _wrong(place, value, f"an object with {', '.join(readers)}")
        if not isinstance(value, dict):
            raise error
        value = {**{key: defaults[key] for key in newer}, **value}
        if set(value) != set(readers):
            place.spare(error)
        made = kind(**{key: one(key, value, place) for key in readers})
        _check_span(made, place)
        return made

    def one(key: str, value: dict[str, Any], place: FilePlace) -> Any:
        try:
            return readers[key](value.get(key), place.inner(f', "{key}"'))
        except SessionFileError as error:
            place.spare(error)
            past = value.get("past")
            # As it was before the last move of which it can be read.
            for state in reversed(past if isinstance(past, list) else []):
                with suppress(SessionFileError, AttributeError):
                    return readers[key](state.get(key), FilePlace(""))
            if defaults[key] is MISSING:
                raise
            return defaults[key]

    return read


def _check_span(made: Any, place: FilePlace) -> None:
    """Refuse what ends before it starts."""
    for names in (("start", "end"), ("since", "until")):
        first, last = (getattr(made, name, None) for name in names)
        if first is not None and last is not None and last < first:
            raise SessionFileError(f"The session, {place.text}: it ends before it starts.")
