"""When the window of a target closes, and what closes it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.config.preferences import Preferences
from planner.planning.windows import Windows

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Closing:
    """The last step at which a target can be looked at, and a clause that says what comes then."""

    last_step: int
    cause: str


def altitude_floors_deg(
    class_code: Codes, preferences: Preferences, min_altitude_deg: float | None
) -> Floats:
    """Give how high each target has to stand [deg]: its class's floor, or one for all of them."""
    floors = np.array([c.altitude_min_deg for c in preferences.classes])[class_code]
    return floors if min_altitude_deg is None else np.full_like(floors, min_altitude_deg)


def last_open_step(is_open: Flags, step: int) -> int | None:
    """Give the end of the run of open steps that holds a step; None if that one is closed."""
    if not is_open[step]:
        return None
    closed = np.flatnonzero(~is_open[step:])
    return step + int(closed[0]) - 1 if closed.size else len(is_open) - 1


def first_of_run(is_open: Flags, step: int, *, needed: int) -> int | None:
    """Give the first step, that one or later, from which so many in a row are open."""
    closed = np.concatenate([[step - 1], step + np.flatnonzero(~is_open[step:]), [len(is_open)]])
    whole = np.flatnonzero(np.diff(closed) > needed)
    return int(closed[whole[0]]) + 1 if whole.size else None


def window_closing(windows: Windows, row: int, step: int, *, floor_deg: float) -> Closing | None:
    """Find when the window that is open at a step closes.

    Parameters
    ----------
    windows : Windows
    row, step : int
        Which target, and from when on.
    floor_deg : float
        How high the target has to stand [deg], for the words.

    Returns
    -------
    Closing or None
        None when it stays open to the last step, or is closed at that one.
    """
    last = last_open_step(windows.open[row], step)
    if last is None or last == windows.dark.shape[1] - 1:
        return None
    return Closing(last, _cause(windows, row, last + 1, floor_deg))


def _cause(windows: Windows, row: int, step: int, floor_deg: float) -> str:
    """Say what closes a window at a step, such as ``sinks below 20 deg``."""
    for condition, clause in (
        (windows.dark, "dawn"),
        (windows.clear_of_sun, "nears the Sun"),
        (windows.clear_of_skyline, "sets behind the skyline"),
        (windows.high, f"sinks below {floor_deg:.0f} deg"),
        (windows.within_mount, "nears the zenith"),
    ):
        if not condition[row, step]:
            return clause
    return "nears the Moon"
