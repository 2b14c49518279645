"""The state of a session as JSON, and back again without trusting what is read."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from itertools import pairwise
from typing import Any

from planner.config.checks import show
from planner.session.state import (
    MOST_PAST,
    Closure,
    CloudKind,
    Pause,
    PauseKind,
    SessionLook,
    SessionState,
    Status,
    TrainKey,
)
from targets.errors import UserError

SESSION_SCHEMA = "fieldstop.session/1"
# A full winter night with all its past has about a tenth of this.
MOST_BYTES = 8_000_000
MOST_TEXT = 200
MOST_ENTRIES = 1000

Reader = Callable[[Any, str], Any]


class SessionFileError(UserError, ValueError):
    """A session cannot be read; the message is a sentence."""


def to_json(state: SessionState) -> str:
    """Write a state, its past included, as one line of JSON in plain ASCII."""
    content = {"schema": SESSION_SCHEMA, **_plain(state)}
    for inner in (*content["past"], content["before_leap"] or {}):
        inner.pop("before_leap", None)
    return json.dumps(content, allow_nan=False, separators=(",", ":")) + "\n"


def from_json(text: str) -> SessionState:
    """Read what `to_json` wrote.

    Parameters
    ----------
    text : str

    Returns
    -------
    SessionState
        Equal to the one that was written.

    Raises
    ------
    SessionFileError
        If it was cut off, is of another schema, or holds what cannot be.
    """
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
    content.setdefault("before_leap", None)  # older files have none
    state: SessionState = _state(content, "session")
    return state


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {item.name: _plain(getattr(value, item.name)) for item in fields(value)}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, date):  # a datetime too
        return value.isoformat()
    return value


def _wrong(place: str, value: object, allowed: str) -> SessionFileError:
    return SessionFileError(f"The session, {place}: found {show(value)}; allowed is {allowed}.")


def _text(value: Any, place: str) -> str:
    if isinstance(value, str) and len(value) <= MOST_TEXT and value.isprintable():
        return value
    raise _wrong(place, value, f"a text of at most {MOST_TEXT} printable characters")


def _flag(value: Any, place: str) -> bool:
    if isinstance(value, bool):
        return value
    raise _wrong(place, value, "true or false")


def _number(low: float, high: float) -> Reader:
    def read(value: Any, place: str) -> float:
        if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
            return float(value)
        raise _wrong(place, value, f"a number from {low:g} to {high:g}")

    return read


def _choice(kind: type[StrEnum]) -> Reader:
    def read(value: Any, place: str) -> StrEnum:
        if isinstance(value, str) and value in list(kind):
            return kind(value)
        raise _wrong(place, value, " or ".join(kind))

    return read


def _instant(value: Any, place: str) -> datetime:
    try:
        instant = datetime.fromisoformat(value)
        if instant.tzinfo is not None:
            return instant.astimezone(UTC)
    except (TypeError, ValueError, OverflowError):
        pass
    raise _wrong(place, value, "an instant such as 2026-03-14T21:05:00+00:00")


def _day(value: Any, place: str) -> date:
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        raise _wrong(place, value, "a date such as 2026-03-14") from None


def _or_none(reader: Reader) -> Reader:
    return lambda value, place: None if value is None else reader(value, place)


def _list_of(reader: Reader, most: int = MOST_ENTRIES) -> Reader:
    def read(value: Any, place: str) -> tuple[Any, ...]:
        if not isinstance(value, list) or len(value) > most:
            raise _wrong(place, value, f"a list of at most {most} entries")
        return tuple(reader(item, f"{place} {n}") for n, item in enumerate(value, start=1))

    return read


def _object_of(kind: type, readers: Mapping[str, Reader]) -> Reader:
    def read(value: Any, place: str) -> Any:
        if not isinstance(value, dict) or set(value) != set(readers):
            raise _wrong(place, value, f"an object with {', '.join(readers)}")
        made = kind(
            **{key: reader(value[key], f'{place}, "{key}"') for key, reader in readers.items()}
        )
        _check_span(made, place)
        return made

    return read


def _check_span(made: Any, place: str) -> None:
    """Refuse what ends before it starts."""
    names = ("since", "until") if isinstance(made, Closure) else ("start", "end")
    first, last = (getattr(made, name, None) for name in names)
    if first is not None and last is not None and last < first:
        raise SessionFileError(f"The session, {place}: it ends before it starts.")


_train = _object_of(
    TrainKey,
    {
        "eyepiece": _text,
        "focal_length_mm": _number(0.1, 1000.0),
        "amplifier": _or_none(_text),
        "filter": _or_none(_text),
    },
)
_look = _object_of(
    SessionLook,
    {
        "target_id": _text,
        "name": _text,
        "status": _choice(Status),
        "start": _instant,
        "end": _instant,
        "train": _train,
        "reason": _text,
        "chosen": _flag,
    },
)
_closure = _object_of(
    Closure,
    {
        "azimuth_from_deg": _number(0.0, 360.0),
        "azimuth_to_deg": _number(0.0, 360.0),
        "altitude_low_deg": _number(0.0, 90.0),
        "altitude_high_deg": _number(0.0, 90.0),
        "kind": _choice(CloudKind),
        "loss_mag": _number(0.0, 20.0),
        "since": _instant,
        "until": _or_none(_instant),
    },
)
_pause = _object_of(Pause, {"kind": _choice(PauseKind), "start": _instant, "end": _instant})


def _looks(value: Any, place: str) -> tuple[SessionLook, ...]:
    looks: tuple[SessionLook, ...] = _list_of(_look)(value, place)
    if len({look.target_id for look in looks}) < len(looks):
        raise SessionFileError(f"The session, {place}: a target comes twice.")
    if sum(look.status is Status.NOW for look in looks) > 1:
        raise SessionFileError(f"The session, {place}: two looks are under way at once.")
    timed = [look for look in looks if look.counts]
    if any(after.start < before.end for before, after in pairwise(timed)):
        raise SessionFileError(f"The session, {place}: two looks overlap.")
    return looks


_WITHOUT_PAST: dict[str, Reader] = {
    "kit": _text,
    "site": _text,
    "evening": _day,
    "start": _instant,
    "end": _instant,
    "clock": _instant,
    "looks": _looks,
    "closures": _list_of(_closure),
    "pauses": _list_of(_pause),
    "vetoed": _list_of(_text),
    "added": _list_of(_text),
    "focuser": _or_none(_train),
}
_past_state = _object_of(SessionState, {**_WITHOUT_PAST, "past": _list_of(_text, most=0)})
_state = _object_of(
    SessionState,
    {
        **_WITHOUT_PAST,
        "past": _list_of(_past_state, MOST_PAST),
        "before_leap": _or_none(_past_state),
    },
)
