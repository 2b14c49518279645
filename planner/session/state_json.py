"""The state of a session as JSON, and back again without trusting what is read."""

from __future__ import annotations

import json
from collections.abc import Collection
from functools import lru_cache
from typing import Any

from planner.config.conditions import SKY_MAG_RANGE
from planner.config.fields import (
    Bounds,
    Choice,
    Day,
    Flag,
    Instant,
)
from planner.model.antoniadi import ANTONIADI
from planner.session.json_readers import (
    FilePlace,
    Reader,
    SessionFileError,
    as_json,
    checked,
    list_of,
    object_of,
    or_none,
    parts,
    text_of,
)
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
)
from planner.text import show

SESSION_SCHEMA = "fieldstop.session/1"
# The states that a state has within.
WITHIN = ("past", "before_leap", "ahead")
# A full winter night with all its past has about a tenth of this.
MOST_BYTES = 8_000_000


def to_json(state: SessionState) -> str:
    """Write a state, its past included, as one line of JSON in plain ASCII."""
    content = _dumped({"schema": SESSION_SCHEMA, **parts(state)}, without=WITHIN)
    leap = state.before_leap
    within = {
        "past": f"[{','.join(_inner_text(inner) for inner in state.past)}]",
        "before_leap": "null" if leap is None else _inner_text(leap),
        "ahead": f"[{','.join(_inner_text(inner) for inner in state.ahead)}]",
    }
    told = ",".join(f'"{name}":{text}' for name, text in within.items())
    return f"{content[:-1]},{told}}}\n"


@lru_cache(2 * MOST_PAST)
def _inner_text(state: SessionState) -> str:
    """Write a state before or after another one; these stay the same from move to move."""
    return _dumped(parts(state), without=("before_leap", "ahead"))


def _dumped(content: dict[str, Any], *, without: Collection[str]) -> str:
    kept = {name: value for name, value in content.items() if name not in without}
    return json.dumps(kept, allow_nan=False, separators=(",", ":"), default=as_json)


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


_INSTANT, _DAY, _FLAG = checked(Instant()), checked(Day()), checked(Flag())

_train = object_of(
    TrainKey,
    {
        "eyepiece": text_of,
        "focal_length_mm": checked(Bounds(0.1, 1000.0)),
        "amplifier": or_none(text_of),
        "filter": or_none(text_of),
    },
)
_look = object_of(
    SessionLook,
    {
        "target_id": text_of,
        "name": text_of,
        "status": checked(Choice(Status)),
        "start": _INSTANT,
        "end": _INSTANT,
        "train": _train,
        "reason": text_of,
        "chosen": _FLAG,
        "cause": or_none(checked(Choice(LossCause))),
        "sought_from": or_none(_INSTANT),
        "due": or_none(_INSTANT),
    },
    newer=("cause", "sought_from", "due"),
)
_closure = object_of(
    Closure,
    {
        "azimuth_from_deg": checked(Bounds(0.0, 360.0)),
        "azimuth_to_deg": checked(Bounds(0.0, 360.0)),
        "altitude_low_deg": checked(Bounds(0.0, 90.0)),
        "altitude_high_deg": checked(Bounds(0.0, 90.0)),
        "kind": checked(Choice(CloudKind)),
        "loss_mag": checked(Bounds(0.0, 20.0)),
        "since": _INSTANT,
        "until": or_none(_INSTANT),
    },
)
_pause = object_of(Pause, {"kind": checked(Choice(PauseKind)), "start": _INSTANT, "end": _INSTANT})


def _looks(value: Any, place: FilePlace) -> tuple[SessionLook, ...]:
    kept: list[SessionLook] = []
    for look in list_of(_look)(value, place):
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


_readings = object_of(
    SkyReadings,
    {
        "seeing": or_none(checked(Choice(ANTONIADI))),
        "transparency": or_none(checked(Bounds(1, 5, whole=True))),
        "sky_mag_arcsec2": or_none(checked(Bounds(*SKY_MAG_RANGE))),
        "has_dew": _FLAG,
        "average_eye": _FLAG,
    },
    newer=("average_eye",),
)
_WITHOUT_PAST: dict[str, Reader] = {
    "kit": text_of,
    "site": text_of,
    "evening": _DAY,
    "start": _INSTANT,
    "end": _INSTANT,
    "clock": _INSTANT,
    "looks": _looks,
    "closures": list_of(_closure),
    "pauses": list_of(_pause),
    "vetoed": list_of(text_of),
    "added": list_of(text_of),
    "focuser": or_none(_train),
    "move": text_of,
    "entries": list_of(text_of),
    "readings": or_none(_readings),
    "lessons": list_of(text_of),
}
_NEWER = ("move", "entries", "readings", "lessons")
_past_state = object_of(
    SessionState, {**_WITHOUT_PAST, "past": list_of(text_of, most=0)}, newer=_NEWER
)
_state = object_of(
    SessionState,
    {
        **_WITHOUT_PAST,
        "past": list_of(_past_state, MOST_PAST),
        "before_leap": or_none(_past_state),
        "ahead": list_of(_past_state, MOST_PAST),
    },
    newer=(*_NEWER, "before_leap", "ahead"),
)
