"""The state of a session as JSON, and back again without trusting what is read."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import suppress
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from planner.config.conditions import SKY_MAG_RANGE
from planner.config.fields import (
    Bounds,
    Check,
    Choice,
    Day,
    Flag,
    Instant,
    ShortText,
    UnfitError,
)
from planner.model.antoniadi import ANTONIADI
from planner.session.state import (
    MOST_PAST,
    Closure,
    CloudKind,
    LossCause,
    Pause,
    PauseKind,
    SessionLook,
    SessionState,
    SkyReadings,
    Status,
    TrainKey,
    alone,
)
from planner.text import show
from targets.characters import MOST_CHARACTERS, harmless
from targets.errors import UserError
from targets.frozen import frozen

SESSION_SCHEMA = "fieldstop.session/1"
# The states that a state has within.
WITHIN = ("past", "before_leap", "ahead")
# A full winter night with all its past has about a tenth of this.
MOST_BYTES = 8_000_000
MOST_ENTRIES = 1000


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


LABEL = ShortText()
Reader = Callable[[Any, FilePlace], Any]


class SessionFileError(UserError, ValueError):
    """A session cannot be read; the message is a sentence."""


def to_json(state: SessionState) -> str:
    """Write a state, its past included, as one line of JSON in plain ASCII."""
    content = _dumped({"schema": SESSION_SCHEMA, **_plain(alone(state))}, without=WITHIN)
    leap = state.before_leap
    parts = {
        "past": f"[{','.join(_inner_text(inner) for inner in state.past)}]",
        "before_leap": "null" if leap is None else _inner_text(leap),
        "ahead": f"[{','.join(_inner_text(inner) for inner in state.ahead)}]",
    }
    told = ",".join(f'"{name}":{text}' for name, text in parts.items())
    return f"{content[:-1]},{told}}}\n"


@lru_cache(2 * MOST_PAST)
def _inner_text(state: SessionState) -> str:
    """Write a state before or after another one; these stay the same from move to move."""
    return _dumped(_plain(state), without=("before_leap", "ahead"))


def _dumped(content: dict[str, Any], *, without: Collection[str]) -> str:
    kept = {name: value for name, value in content.items() if name not in without}
    return json.dumps(kept, allow_nan=False, separators=(",", ":"))


def from_json(text: str) -> SessionState:
    """Read what `to_json` wrote.

    Returns
    -------
    SessionState
        Equal to the one that was written.

    Raises
    ------
    SessionFileError
        If it was cut off, is of another schema, or holds what cannot be.
    """
    state: SessionState = _state(_content(text), FilePlace("session"))
    return state


def salvaged(text: str) -> tuple[SessionState, tuple[str, ...]]:
    """Return what can be read of a session, and a sentence for each thing left out.

    A text loses the characters that it may not hold, a list loses the entry; any other field is as
    it was before the last move, or has its default. The rest of the night stays.

    Raises SessionFileError if it is no JSON of this schema, or what has no default can be read of
    no state before.
    """
    lost: list[str] = []
    state: SessionState = _state(_content(text), FilePlace("session", lost))
    return state, tuple(lost)


def _content(text: str) -> dict[str, Any]:
    if len(text) > MOST_BYTES:
        raise SessionFileError(
            f"The session is larger than {MOST_BYTES // 1_000_000} MB, and so none of ours."
        )
    try:
        content = json.loads(text)
    except (ValueError, RecursionError):
        raise SessionFileError("The session is damaged or cut off half way.") from None
    if not isinstance(content, dict):
        raise SessionFileError("This is no session: a JSON object was expected.")
    schema = content.pop("schema", None)
    if schema != SESSION_SCHEMA:
        raise SessionFileError(
            f'The session is of the schema {show(schema)}; this program reads "{SESSION_SCHEMA}".'
        )
    return content


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {item.name: _plain(getattr(value, item.name)) for item in fields(value)}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, date):  # a datetime too
        return value.isoformat()
    return value


def _wrong(place: FilePlace, value: object, allowed: object) -> SessionFileError:
    return SessionFileError(
        f"The session, {place.text}: found {show(value)}; allowed is {allowed}."
    )


def _as(check: Check) -> Reader:
    """Read by a check that all files share, and say where the value stands."""

    def read(value: Any, place: FilePlace) -> Any:
        try:
            return check.read(value)
        except UnfitError as error:
            raise _wrong(place, value, error) from None

    return read


def _text(value: Any, place: FilePlace) -> str:
    try:
        return str(LABEL.read(value))
    except UnfitError as error:
        wrong = _wrong(place, value, error)
    if not isinstance(value, str):
        raise wrong
    place.spare(wrong)
    return harmless(value[:MOST_CHARACTERS])


def _or_none(reader: Reader) -> Reader:
    return lambda value, place: None if value is None else reader(value, place)


def _list_of(reader: Reader, most: int = MOST_ENTRIES) -> Reader:
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


def _object_of(kind: type, readers: Mapping[str, Reader], newer: Collection[str] = ()) -> Reader:
    """Read an object; files of older programs lack the keys that are ``newer``."""
    defaults = {item.name: item.default for item in fields(kind)}

    def read(value: Any, place: FilePlace) -> Any:
        error = _wrong(place, value, f"an object with {', '.join(readers)}")
        if not isinstance(value, dict):
            raise error
        value = {**{key: _plain(defaults[key]) for key in newer}, **value}
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
    names = ("since", "until") if isinstance(made, Closure) else ("start", "end")
    first, last = (getattr(made, name, None) for name in names)
    if first is not None and last is not None and last < first:
        raise SessionFileError(f"The session, {place.text}: it ends before it starts.")


_INSTANT, _DAY, _FLAG = _as(Instant()), _as(Day()), _as(Flag())

_train = _object_of(
    TrainKey,
    {
        "eyepiece": _text,
        "focal_length_mm": _as(Bounds(0.1, 1000.0)),
        "amplifier": _or_none(_text),
        "filter": _or_none(_text),
    },
)
_look = _object_of(
    SessionLook,
    {
        "target_id": _text,
        "name": _text,
        "status": _as(Choice(Status)),
        "start": _INSTANT,
        "end": _INSTANT,
        "train": _train,
        "reason": _text,
        "chosen": _FLAG,
        "cause": _or_none(_as(Choice(LossCause))),
        "sought_from": _or_none(_INSTANT),
        "due": _or_none(_INSTANT),
    },
    newer=("cause", "sought_from", "due"),
)
_closure = _object_of(
    Closure,
    {
        "azimuth_from_deg": _as(Bounds(0.0, 360.0)),
        "azimuth_to_deg": _as(Bounds(0.0, 360.0)),
        "altitude_low_deg": _as(Bounds(0.0, 90.0)),
        "altitude_high_deg": _as(Bounds(0.0, 90.0)),
        "kind": _as(Choice(CloudKind)),
        "loss_mag": _as(Bounds(0.0, 20.0)),
        "since": _INSTANT,
        "until": _or_none(_INSTANT),
    },
)
_pause = _object_of(Pause, {"kind": _as(Choice(PauseKind)), "start": _INSTANT, "end": _INSTANT})


def _looks(value: Any, place: FilePlace) -> tuple[SessionLook, ...]:
    kept: list[SessionLook] = []
    for look in _list_of(_look)(value, place):
        conflict = _conflict(kept, look)
        if conflict:
            place.spare(SessionFileError(f"The session, {place.text}: {conflict}."))
        else:
            kept.append(look)
    return tuple(kept)


def _conflict(kept: list[SessionLook], look: SessionLook) -> str | None:
    """Say why a look cannot follow those that are kept; None when it can."""
    if any(look.target_id == other.target_id for other in kept):
        return "a target comes twice"
    if look.status is Status.NOW and any(other.status is Status.NOW for other in kept):
        return "two looks are under way at once"
    before = next((other for other in reversed(kept) if other.counts), None)
    return "two looks overlap" if before and look.counts and look.start < before.end else None


_readings = _object_of(
    SkyReadings,
    {
        "seeing": _or_none(_as(Choice(ANTONIADI))),
        "transparency": _or_none(_as(Bounds(1, 5, whole=True))),
        "sky_mag_arcsec2": _or_none(_as(Bounds(*SKY_MAG_RANGE))),
        "has_dew": _FLAG,
        "average_eye": _FLAG,
    },
    newer=("average_eye",),
)
_WITHOUT_PAST: dict[str, Reader] = {
    "kit": _text,
    "site": _text,
    "evening": _DAY,
    "start": _INSTANT,
    "end": _INSTANT,
    "clock": _INSTANT,
    "looks": _looks,
    "closures": _list_of(_closure),
    "pauses": _list_of(_pause),
    "vetoed": _list_of(_text),
    "added": _list_of(_text),
    "focuser": _or_none(_train),
    "move": _text,
    "entries": _list_of(_text),
    "readings": _or_none(_readings),
    "lessons": _list_of(_text),
}
_NEWER = ("move", "entries", "readings", "lessons")
_past_state = _object_of(
    SessionState, {**_WITHOUT_PAST, "past": _list_of(_text, most=0)}, newer=_NEWER
)
_state = _object_of(
    SessionState,
    {
        **_WITHOUT_PAST,
        "past": _list_of(_past_state, MOST_PAST),
        "before_leap": _or_none(_past_state),
        "ahead": _list_of(_past_state, MOST_PAST),
    },
    newer=(*_NEWER, "before_leap", "ahead"),
)
