"""Says why a target can no longer be looked at in a session."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.output.words import clock
from planner.planning.plan import STEP_MIN
from planner.planning.windows import hindrance, window_closing
from planner.session.cloud_sectors import inside, sector_words
from planner.session.night import NightField
from planner.session.open_sky import OpenSky
from planner.session.state import Closure, CloudKind, SessionState

Flags = NDArray[np.bool_]


def why_lost(
    night: NightField, state: SessionState, sky: OpenSky, target_ids: tuple[str, ...]
) -> list[str]:
    """Say of each of some targets that have no place in the rest of a session why that is.

    Parameters
    ----------
    night, state
        The night, and where the session stands.
    sky : OpenSky
        What is left of the night.
    target_ids : tuple of str
        Targets among those of the night.

    Returns
    -------
    list of str
        Clauses: ``sinks below 20 deg at 19:12``; ``cloud, W until 23:10``.
    """
    return [
        _why(night, state, sky, night.row_of[name])
        if name in night.row_of
        else "it is not among the targets of this night"
        for name in target_ids
    ]


def _why(night: NightField, state: SessionState, sky: OpenSky, row: int) -> str:
    needed = math.ceil(sky.candidates.dwell_min[row] / STEP_MIN) + 1
    window = sky.roster.windows.open[row]
    if not _has_run(window, needed):
        return _what_ends_it(night, state, row)
    if not _has_run(window & sky.clear[row], needed):
        return _cloud(night, state, sky, row)
    behind = " behind thin cloud" if sky.loss_mag[row].any() else ""
    if not _has_run(sky.candidates.open[row], needed):
        return f"too faint{behind}"
    return f"no room{behind}: others are worth more"


def _has_run(flags: Flags, needed: int) -> bool:
    """Whether so many steps in a row are open."""
    closed = np.flatnonzero(np.concatenate([[True], ~flags, [True]]))
    return bool((np.diff(closed) - 1).max() >= needed)


def _what_ends_it(night: NightField, state: SessionState, row: int) -> str:
    """Say what closes the last window of a target: the sky, or the end of the session."""
    words = _closing_words(night, state, row)
    return words or f"the session ends at {clock(state.end, night.night.site)}"


def _closing_words(night: NightField, state: SessionState, row: int) -> str:
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


def _cloud(night: NightField, state: SessionState, sky: OpenSky, row: int) -> str:
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


def cloud_words(night: NightField, closure: Closure) -> str:
    """Describe a cloud sector: ``W, low, until 23:10``; ``all sky until further notice``."""
    where = sector_words(closure)
    if closure.until is None:
        return f"{where} until further notice"
    return f"{where} until {clock(closure.until, night.night.site)}"
