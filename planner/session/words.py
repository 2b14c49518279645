"""Says in words what a move has changed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np

from planner.model.site import Site
from planner.output.words import clock
from planner.planning.circumstances import STEP_MIN
from planner.planning.windows import hindrance, window_closing
from planner.session.cloud_sectors import inside, sector_words
from planner.session.night import SurveyedNight, key_words
from planner.session.open_sky import OpenSky
from planner.session.state import (
    Closure,
    CloudKind,
    LossCause,
    SessionLook,
    SessionState,
    Status,
)
from planner.text import first_named
from targets.arrays import Flags

# A shift that is smaller than this is not worth a word.
TOLD_SHIFT = timedelta(minutes=3)
# More looks than this are told together.
MOST_NAMES = 3


def change_words(before: SessionState, after: SessionState, site: Site) -> tuple[str, ...]:
    """Compare two states: what is lost, what is new, what moves, what is under way.

    Parameters
    ----------
    site : Site
        Whose clocks are meant.

    Returns
    -------
    tuple of str
        Sentences, the losses first; empty when nothing changed for the observer.
    """
    was = {look.target_id: look for look in before.looks}
    lost, new, moved, back, put_off, cut = [], [], [], [], [], []
    for look in after.looks:
        old = was.get(look.target_id)
        if look.status is Status.LOST and (old is None or old.status is not Status.LOST):
            lost.append(look)
        elif look.status is Status.DONE and look.reason and old and not old.reason:
            cut.append(look)
        elif look.status is Status.WAITING and old is None:
            new.append(look)
        elif look.status is Status.WAITING and old and old.status is Status.NOW:
            put_off.append(look)
        elif look.status is Status.WAITING and old and old.status is not Status.WAITING:
            back.append(look)
        elif look.status is Status.WAITING and old and abs(look.start - old.start) >= TOLD_SHIFT:
            moved.append(look)
    return (
        *(f"{look.name} {look.reason}, counted as done" for look in cut),
        *_lost(lost),
        *_come(new, "new", site),
        *_come(back, "back", site),
        *_come(put_off, "put off, to be begun anew", site),
        *_moved(moved, was, site),
        *_swapped(after, was),
        *_under_way(before, after, site),
        *_over(before, after, site),
    )


def veil_words(
    closures: Sequence[Closure], at: datetime, azimuth_deg: float, altitude_deg: float
) -> str:
    """Name the thin cloud or haze before a place of the sky at a time; empty where none stands."""
    place = np.array([azimuth_deg]), np.array([altitude_deg])
    veils = [
        closure
        for closure in closures
        if closure.kind is not CloudKind.SOLID
        and closure.since <= at
        and (closure.until is None or at < closure.until)
        and inside(closure, *place)[0]
    ]
    if not veils:
        return ""
    thickest = max(veils, key=lambda closure: closure.loss_mag)
    return "haze" if thickest.kind is CloudKind.HAZE else "thin cloud"


def _lost(looks: Sequence[SessionLook]) -> list[str]:
    """Tell the losses, those with one reason together."""
    by_reason: dict[str, list[SessionLook]] = {}
    for look in looks:
        by_reason.setdefault(look.reason, []).append(look)
    return [f"{names_of(group)} lost: {reason}" for reason, group in by_reason.items()]


def names_of(looks: Sequence[SessionLook]) -> str:
    """Name some looks: ``M31, M33, M45 and 5 more``."""
    return first_named([look.name for look in looks], MOST_NAMES)


def _come(looks: Sequence[SessionLook], word: str, site: Site) -> list[str]:
    if len(looks) > MOST_NAMES:
        return [f"{names_of(looks)} {word}, the first at {clock(looks[0].start, site)}"]
    return [
        f"{look.name} {word} at {clock(look.start, site)} in the {key_words(look.train)}"
        for look in looks
    ]


def _moved(looks: Sequence[SessionLook], was: dict[str, SessionLook], site: Site) -> list[str]:
    if len(looks) > MOST_NAMES:
        first = looks[0]
        return [f"{len(looks)} looks move, the first, {first.name}, to {clock(first.start, site)}"]
    return [
        f"{look.name} moves from {clock(was[look.target_id].start, site)} to "
        f"{clock(look.start, site)}"
        for look in looks
    ]


def _swapped(after: SessionState, was: dict[str, SessionLook]) -> list[str]:
    """Tell which looks to come are had in another train now, but for what the observer chose."""
    looks = [
        look
        for look in after.waiting
        if (old := was.get(look.target_id))
        and old.status is Status.WAITING
        and not look.chosen
        and look.train != old.train
    ]
    if len(looks) > MOST_NAMES:
        return [f"{names_of(looks)} in other eyepieces"]
    return [f"{look.name} in the {key_words(look.train)} instead" for look in looks]


def _under_way(before: SessionState, after: SessionState, site: Site) -> list[str]:
    look = after.now
    if look is None or (before.now and before.now.target_id == look.target_id):
        return []
    words = f"now {look.name} in the {key_words(look.train)}, until {clock(look.end, site)}"
    return [words[0].upper() + words[1:]]


def _over(before: SessionState, after: SessionState, site: Site) -> list[str]:
    """Say that the time set for the session is over."""
    if not before.clock < after.end <= after.clock:
        return []
    return [f"The session ended at {clock(after.end, site)}"]


class Loss(NamedTuple):
    """Why a target has no place in the rest of a session: the cause, and a clause for people."""

    cause: LossCause
    reason: str


def why_lost(
    night: SurveyedNight, state: SessionState, sky: OpenSky, target_ids: tuple[str, ...]
) -> list[Loss]:
    """Say of each of some targets that have no place in the rest of a session why that is.

    Parameters
    ----------
    sky : OpenSky
        What is left of the night.
    target_ids : tuple of str
        Targets among those of the night.

    Returns
    -------
    list of Loss
        With clauses such as ``sinks below 20 deg at 19:12`` or ``cloud, W until 23:10``.
    """
    return [
        _why(night, state, sky, night.row_of[name])
        if name in night.row_of
        else Loss(LossCause.UNKNOWN_TARGET, "it is not among the targets of this night")
        for name in target_ids
    ]


def _why(night: SurveyedNight, state: SessionState, sky: OpenSky, row: int) -> Loss:
    needed = math.ceil(sky.candidates.dwell_min[row] / STEP_MIN) + 1
    window = sky.roster.windows.open[row]
    if not _has_run(window, needed):
        return Loss(LossCause.WINDOW, _what_ends_it(night, state, row))
    if not _has_run(window & sky.clear[row], needed):
        return Loss(LossCause.CLOUD, _cloud(night, state, sky, row))
    behind = " behind thin cloud" if sky.loss_mag[row].any() else ""
    if not _has_run(sky.candidates.open[row], needed):
        return Loss(LossCause.TOO_FAINT, f"too faint{behind}")
    left_min = (state.end - sky.origin) / timedelta(minutes=1)
    if left_min < night.finding_min + float(sky.candidates.dwell_min[row]):
        end = clock(state.end, night.night.site)
        return Loss(LossCause.NO_ROOM, f"too little time is left before {end}")
    return Loss(LossCause.NO_ROOM, f"no room{behind}: others are worth more")


def _has_run(flags: Flags, needed: int) -> bool:
    """Whether so many steps in a row are open."""
    closed = np.flatnonzero(np.concatenate([[True], ~flags, [True]]))
    return bool((np.diff(closed) - 1).max() >= needed)


def _what_ends_it(night: SurveyedNight, state: SessionState, row: int) -> str:
    """Say what closes the last window of a target: the sky, or the end of the session."""
    words = _closing_words(night, state, row)
    return words or f"the session ends at {clock(state.end, night.night.site)}"


def _closing_words(night: SurveyedNight, state: SessionState, row: int) -> str:
    """Say what closes the last window before the session ends; empty when nothing does."""
    end = min(math.floor(night.minute(state.end) / STEP_MIN), len(night.roster.grid.unix_s) - 1)
    is_open = np.flatnonzero(night.roster.windows.open[row, : end + 1])
    if not is_open.size and not night.roster.windows.open[row].any():
        return hindrance(night.roster.windows, night.roster.tracks, row, span="in this session")
    if not is_open.size or is_open[-1] == end:
        return ""
    windows, floor_deg = night.roster.windows, float(night.floors_deg[row])
    closing = window_closing(windows, row, int(is_open[-1]), floor_deg=floor_deg)
    at = clock(night.instant(float(is_open[-1]) * STEP_MIN), night.night.site)
    return f"{closing.cause} at {at}" if closing else ""


def _cloud(night: SurveyedNight, state: SessionState, sky: OpenSky, row: int) -> str:
    """Say which clouds hide a target, and what ends its window before it can come out."""
    azimuth, altitude = sky.roster.tracks.azimuth_deg[row], sky.roster.tracks.altitude_deg[row]
    solid = [
        closure
        for closure in state.closures
        if closure.kind is CloudKind.SOLID and inside(closure, azimuth, altitude).any()
    ]
    words = ", ".join(dict.fromkeys(cloud_words(night, closure) for closure in solid))
    ending = _closing_words(night, state, row)
    return f"cloud, {words}; it {ending}" if ending else f"cloud, {words}"


def cloud_words(night: SurveyedNight, closure: Closure) -> str:
    """Describe a cloud sector: ``W, low, until 23:10``; ``all sky until further notice``."""
    where = sector_words(closure)
    if closure.until is None:
        return f"{where} until further notice"
    return f"{where} until {clock(closure.until, night.night.site)}"
