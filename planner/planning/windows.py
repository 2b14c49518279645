"""When each target can be looked at, and what stands in the way when it cannot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.config.preferences import Preferences
from planner.ephemeris.solar_system.lunar_light import Sunlight
from planner.formulas.refraction import SUNSET_ALTITUDE_DEG
from planner.model.kit import Mount, Telescope
from planner.model.site import Site
from targets.arrays import Codes, Flags, Floats

# Nothing nearer to the Sun than this is offered while the Sun is up (our choice; there is no
# published number).
SUN_CLEARANCE_DEG = 20.0
# An altazimuth mount is hard to steer above this (common practice: 75 to 80 degrees).
ALTAZIMUTH_LIMIT_DEG = 80.0
# Below this lit fraction the Moon's glare is no more than twilight's: clearances scale with it.
LEAST_CLEARANCE_SHARE = 0.1


# Why a feature of the Moon is not shown.
NO_LIGHT = {
    Sunlight.NIGHT: "in the Moon's night",
    Sunlight.TOO_LOW: "the Sun stands too low over it on the Moon",
    Sunlight.TOO_HIGH: "the Sun stands too high over it on the Moon: no shadows",
    Sunlight.TURNED_AWAY: "turned away from the Earth by libration",
}


@dataclass(frozen=True, slots=True)
class SkyTracks:
    """Where N targets, the Sun and the Moon stand at T times.

    ``altitude_deg`` (apparent), ``true_altitude_deg`` (without air), ``azimuth_deg``,
    ``moon_separation_deg`` and ``sun_separation_deg`` have shape (N, T); ``sun_altitude_deg`` and
    ``moon_altitude_deg`` (true) shape (T,). ``lit``, the light on features of the
    Moon as `Sunlight`, has shape (N, T); None when there are none among the targets.
    """

    altitude_deg: Floats
    true_altitude_deg: Floats
    azimuth_deg: Floats
    moon_separation_deg: Floats
    sun_separation_deg: Floats
    sun_altitude_deg: Floats
    moon_altitude_deg: Floats
    lit: NDArray[np.int8] | None = None


@dataclass(frozen=True, slots=True)
class Windows:
    """Which steps of the session serve each target, and which hindrance closes the others.

    Every array is boolean of shape (N, T), True where that condition is met.
    """

    dark: Flags
    high: Flags
    clear_of_skyline: Flags
    clear_of_moon: Flags
    clear_of_sun: Flags
    within_mount: Flags
    well_lit: Flags

    @property
    def open(self) -> Flags:
        """Steps at which nothing stands in the way."""
        return (
            self.dark
            & self.high
            & self.clear_of_skyline
            & self.clear_of_moon
            & self.clear_of_sun
            & self.within_mount
            & self.well_lit
        )


def find_windows(
    tracks: SkyTracks,
    class_code: NDArray[np.intp],
    *,
    preferences: Preferences,
    site: Site,
    telescope: Telescope,
    moon_illuminated: float,
    min_altitude_deg: float | None = None,
) -> Windows:
    """Find when each target can be looked at.

    Parameters
    ----------
    tracks : SkyTracks
        N targets at T times.
    class_code : ndarray of int
        Class of each target, shape (N,).
    preferences : Preferences
        Holds how dark it must be, how high, and how far from the Moon, by class.
    site, telescope : Site, Telescope
        Skyline, mount.
    moon_illuminated : float
        Sunlight fraction, 0 .. 1.
    min_altitude_deg : float or None
        Floor for every class instead of its own [deg].

    Returns
    -------
    Windows
    """
    classes = preferences.classes
    sun_limit = np.array([c.sun_altitude_max_deg for c in classes])[class_code, None]
    floor = np.array([c.altitude_min_deg for c in classes])[class_code, None]
    if min_altitude_deg is not None:
        floor = np.full_like(floor, min_altitude_deg)
    clearance = np.array([c.moon_clearance_deg for c in classes])[class_code, None]
    clearance = clearance * max(moon_illuminated, LEAST_CLEARANCE_SHARE)
    sun_down = tracks.sun_altitude_deg < SUNSET_ALTITUDE_DEG
    highest = ALTAZIMUTH_LIMIT_DEG if telescope.mount is Mount.ALTAZIMUTH else 90.0
    altitude = tracks.altitude_deg
    return Windows(
        dark=np.broadcast_to(tracks.sun_altitude_deg <= sun_limit, altitude.shape),
        high=altitude >= floor,
        clear_of_skyline=altitude >= site.horizon_altitude_deg(tracks.azimuth_deg),
        clear_of_moon=(tracks.moon_altitude_deg < 0) | (tracks.moon_separation_deg >= clearance),
        clear_of_sun=sun_down | (tracks.sun_separation_deg >= SUN_CLEARANCE_DEG),
        within_mount=altitude <= highest,
        well_lit=(
            np.ones(altitude.shape, dtype=bool)
            if tracks.lit is None
            else tracks.lit == Sunlight.WELL
        ),
    )


def hindrance(windows: Windows, tracks: SkyTracks, row: int, *, span: str = "tonight") -> str:
    """Say why a target has no window, naming the condition that closes the last of it.

    Parameters
    ----------
    windows : Windows
    tracks : SkyTracks
    row : int
        Which target; one without a window.
    span : str
        What the steps are, for the sentence: ``"tonight"``, ``"in this session"``.

    Returns
    -------
    str
        A clause without a full stop: ``"no higher than 12 deg tonight while it is dark enough"``.
    """
    usable = windows.dark[row]
    if not usable.any():
        return f"the sky does not get dark enough for it {span}"
    highest = float(tracks.altitude_deg[row, usable].max())
    if highest < 0.0:
        return f"below the horizon {span} while it is dark enough"
    usable = usable & windows.high[row]
    if not usable.any():
        # Cut, not rounded: 19.8 is not high enough where 20 would be.
        return f"no higher than {int(highest)} deg {span} while it is dark enough"
    for condition, clause in (
        (windows.clear_of_sun[row], "too near the Sun"),
        (windows.clear_of_skyline[row], "behind the site's skyline"),
        (windows.within_mount[row], "too near the zenith for the mount"),
    ):
        usable = usable & condition
        if not usable.any():
            return clause
    if tracks.lit is not None and not (usable & windows.well_lit[row]).any():
        codes, counts = np.unique(tracks.lit[row, usable], return_counts=True)
        return NO_LIGHT[Sunlight(int(codes[np.argmax(counts)]))]
    farthest = float(tracks.moon_separation_deg[row, usable].max())
    return f"in the Moon's glare, {farthest:.0f} deg away at most"


@dataclass(frozen=True, slots=True)
class Closing:
    """The last step at which a target can be looked at, and a clause that says what comes then."""

    last_step: int
    cause: str


def altitude_floors_deg(
    class_code: Codes, preferences: Preferences, min_altitude_deg: float | None
) -> Floats:
    """Return how high each target has to stand [deg]: its class's floor, or one for all of them."""
    floors = np.array([c.altitude_min_deg for c in preferences.classes])[class_code]
    return floors if min_altitude_deg is None else np.full_like(floors, min_altitude_deg)


def last_open_step(is_open: Flags, step: int) -> int | None:
    """Return the end of the run of open steps that holds a step; None if that one is closed."""
    if not is_open[step]:
        return None
    closed = np.flatnonzero(~is_open[step:])
    return step + int(closed[0]) - 1 if closed.size else len(is_open) - 1


def first_of_run(is_open: Flags, step: int, *, needed: int) -> int | None:
    """Return the first step, that one or later, from which so many in a row are open."""
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
