"""When each target can be looked at, and what stands in the way when it cannot."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from planner.config.preferences import Preferences
from planner.ephemeris.almanac import CIVIL_ALTITUDE_DEG, hidden_sun_deg
from planner.ephemeris.solar_system.lunar_light import Sunlight
from planner.model.forecast import LEAST_CLEAR_SHARE
from planner.model.kit import Mount, Telescope
from planner.model.site import Site
from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen

# Nothing nearer to the Sun than this is offered while its limb can show, and nothing nearer than
# the second before it is at civil dusk (our choice; there are no published numbers).
SUN_CLEARANCE_DEG = 20.0
TWILIGHT_CLEARANCE_DEG = 10.0
# Of the moments that are open, those with the Sun as low as this are preferred (our choice).
PREFERRED_SUN_DEG = -4.0
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

# What culminates low is looked at within so much of its culmination, from a good horizon; lower
# than the second nothing is (common practice: under 10 deg it is hard) [deg].
NEAR_CULMINATION_DEG = 3.0
LOWEST_FLOOR_DEG = 10.0


@frozen
class SkyTracks:
    """Where N targets, the Sun and the Moon stand at T times.

    ``altitude_deg`` (apparent), ``true_altitude_deg`` (without air), ``azimuth_deg``,
    ``moon_separation_deg`` and ``sun_separation_deg`` have shape (N, T); ``sun_altitude_deg`` and
    ``moon_altitude_deg`` (true) shape (T,), and so has ``sun_highest_deg``, the Sun's highest
    altitude within a quarter of an hour. ``lit``, the light on features of the
    Moon as `Sunlight`, has shape (N, T); None when there are none among the targets.
    ``clear_share``, the chance to see by a forecast, 0 .. 1, has shape (T,); None without one.
    """

    altitude_deg: Floats
    true_altitude_deg: Floats
    azimuth_deg: Floats
    moon_separation_deg: Floats
    sun_separation_deg: Floats
    sun_altitude_deg: Floats
    sun_highest_deg: Floats
    moon_altitude_deg: Floats
    lit: NDArray[np.int8] | None = None
    clear_share: Floats | None = None


@frozen
class Windows:
    """Which steps of the session serve each target, and which hindrance closes the others.

    Every array is boolean of shape (N, T), True where that condition is met; `WINDOW_RULES` has a
    row for each.
    """

    dark: Flags
    high: Flags
    clear_of_sun: Flags
    clear_of_skyline: Flags
    within_mount: Flags
    well_lit: Flags
    clear_of_moon: Flags
    clear_sky: Flags

    @property
    def open(self) -> Flags:
        """Steps at which nothing stands in the way."""
        met = [getattr(self, condition.name) for condition in WINDOW_RULES]
        return np.asarray(np.logical_and.reduce(met))


@frozen
class _Asked:
    """What the conditions are judged by; floors, limits and clearances [deg] have shape (N, 1).

    The Moon's clearance may have shape (N, T).
    """

    tracks: SkyTracks
    site: Site
    sun_limit_deg: Floats
    floor_deg: Floats
    moon_clearance_deg: Floats
    highest_deg: float


@frozen
class _Shut:
    """A target that no step serves: those steps at which the conditions before are met, (T,)."""

    tracks: SkyTracks
    row: int
    before: Flags
    span: str


@frozen
class WindowRule:
    """One thing that has to hold for a look.

    Parameters
    ----------
    name : str
        The field of `Windows` that holds its mask.
    met : callable
        Works that mask out.
    never : callable
        Says why a target is not to be had when this condition leaves no step.
    closes : str
        What happens when it ends a window; ``{floor}`` stands for the target's least altitude.
    """

    name: str
    met: Callable[[_Asked], Flags]
    never: Callable[[_Shut], str]
    closes: str


def sun_can_show(tracks: SkyTracks, site: Site) -> Flags:
    """Tell at which steps the Sun's limb can show, or can within a quarter of an hour, (T,)."""
    return np.asarray(tracks.sun_highest_deg >= hidden_sun_deg(site))


def clear_of_sun(tracks: SkyTracks, site: Site) -> Flags:
    """Tell where targets are far enough from the Sun for an eye at the telescope, (N, T)."""
    clearance = np.where(sun_can_show(tracks, site), SUN_CLEARANCE_DEG, 0.0)
    bright = tracks.sun_altitude_deg >= CIVIL_ALTITUDE_DEG
    clearance = np.maximum(clearance, np.where(bright, TWILIGHT_CLEARANCE_DEG, 0.0))
    return np.asarray(tracks.sun_separation_deg >= clearance)


def preferred_steps(is_open: Flags, sun_altitude_deg: Floats) -> Flags:
    """Return those open steps, (T,), at which the Sun is well down; all if there are none."""
    preferred = is_open & (sun_altitude_deg <= PREFERRED_SUN_DEG)
    return preferred if preferred.any() else is_open


def _dark(asked: _Asked) -> Flags:
    tracks = asked.tracks
    dark = tracks.sun_altitude_deg <= asked.sun_limit_deg
    return np.asarray(
        np.broadcast_to(dark & ~sun_can_show(tracks, asked.site), tracks.altitude_deg.shape)
    )


def _well_lit(asked: _Asked) -> Flags:
    if asked.tracks.lit is None:
        return np.ones(asked.tracks.altitude_deg.shape, dtype=bool)
    return np.asarray(asked.tracks.lit == Sunlight.WELL)


def _clear_of_moon(asked: _Asked) -> Flags:
    far = asked.tracks.moon_separation_deg >= asked.moon_clearance_deg
    return np.asarray((asked.tracks.moon_altitude_deg < 0) | far)


def _clear_sky(asked: _Asked) -> Flags:
    share = asked.tracks.clear_share
    shape = asked.tracks.altitude_deg.shape
    clear = True if share is None else share >= LEAST_CLEAR_SHARE
    return np.broadcast_to(np.asarray(clear), shape)


def _never_high(shut: _Shut) -> str:
    highest = float(shut.tracks.altitude_deg[shut.row, shut.before].max())
    if highest < 0.0:
        return f"below the horizon {shut.span} while it is dark enough"
    # Cut, not rounded: 19.8 is not high enough where 20 would be.
    return f"no higher than {int(highest)} deg {shut.span} while it is dark enough"


def _never_lit(shut: _Shut) -> str:
    if shut.tracks.lit is None:
        raise ValueError("without features of the Moon nothing waits for light there")
    codes, counts = np.unique(shut.tracks.lit[shut.row, shut.before], return_counts=True)
    return NO_LIGHT[Sunlight(int(codes[np.argmax(counts)]))]


def _never_far_from_moon(shut: _Shut) -> str:
    farthest = float(shut.tracks.moon_separation_deg[shut.row, shut.before].max())
    return f"in the Moon's glare, {farthest:.0f} deg away at most"


# In the order in which they are named: the first that leaves no step is the reason.
WINDOW_RULES = (
    WindowRule(
        "dark", _dark, lambda shut: f"the sky does not get dark enough for it {shut.span}", "dawn"
    ),
    WindowRule(
        "high",
        lambda asked: asked.tracks.altitude_deg >= asked.floor_deg,
        _never_high,
        "sinks below {floor:.0f} deg",
    ),
    WindowRule(
        "clear_of_sun",
        lambda asked: clear_of_sun(asked.tracks, asked.site),
        lambda _: "too near the Sun",
        "nears the Sun",
    ),
    WindowRule(
        "clear_of_skyline",
        lambda asked: (
            asked.tracks.altitude_deg >= asked.site.horizon_altitude_deg(asked.tracks.azimuth_deg)
        ),
        lambda _: "behind the site's skyline",
        "sets behind the skyline",
    ),
    WindowRule(
        "within_mount",
        lambda asked: asked.tracks.altitude_deg <= asked.highest_deg,
        lambda _: "too near the zenith for the mount",
        "nears the zenith",
    ),
    WindowRule("well_lit", _well_lit, _never_lit, "loses its light"),
    WindowRule("clear_of_moon", _clear_of_moon, _never_far_from_moon, "nears the Moon"),
    WindowRule(
        "clear_sky",
        _clear_sky,
        lambda shut: f"under cloud {shut.span} by the forecast, whenever it could be seen",
        "cloud comes by the forecast",
    ),
)


def find_windows(
    tracks: SkyTracks,
    class_code: NDArray[np.intp],
    *,
    preferences: Preferences,
    site: Site,
    telescope: Telescope,
    moon_illuminated: float | Floats,
    min_altitude_deg: float | None = None,
    culmination: Floats | None = None,
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
    moon_illuminated : float or ndarray
        Sunlight fraction, 0 .. 1; one for all times, or one for each, (T,).
    min_altitude_deg : float or None
        Floor for every class instead of its own [deg].
    culmination : ndarray, optional
        How high each can get at the site [deg], shape (N,), NaN where that is not known: what stays
        low is looked at when it is highest.
    """
    classes = preferences.classes
    clearance = np.array([c.moon_clearance_deg for c in classes])[class_code, None]
    asked = _Asked(
        tracks=tracks,
        site=site,
        sun_limit_deg=np.array([c.sun_altitude_max_deg for c in classes])[class_code, None],
        floor_deg=altitude_floors_deg(
            class_code, preferences, min_altitude_deg, culmination=culmination
        )[:, None],
        moon_clearance_deg=clearance * np.maximum(moon_illuminated, LEAST_CLEARANCE_SHARE),
        highest_deg=ALTAZIMUTH_LIMIT_DEG if telescope.mount is Mount.ALTAZIMUTH else 90.0,
    )
    return Windows(**{condition.name: condition.met(asked) for condition in WINDOW_RULES})


def hindrance(windows: Windows, tracks: SkyTracks, row: int, *, span: str = "tonight") -> str:
    """Say why a target has no window, naming the condition that closes the last of it.

    Parameters
    ----------
    row : int
        Which target; one without a window.
    span : str
        What the steps are, for the sentence: ``"tonight"``, ``"in this session"``.

    Returns
    -------
    str
        A clause without a full stop: ``"no higher than 12 deg tonight while it is dark enough"``.
    """
    usable = np.ones(tracks.altitude_deg.shape[1], dtype=bool)
    for condition in WINDOW_RULES:
        before, usable = usable, usable & getattr(windows, condition.name)[row]
        if not usable.any():
            return condition.never(_Shut(tracks, row, before, span))
    raise ValueError("a target with a window has no hindrance")


@frozen
class Closing:
    """The last step at which a target can be looked at, and a clause that says what comes then."""

    last_step: int
    cause: str


def altitude_floors_deg(
    class_code: Codes,
    preferences: Preferences,
    min_altitude_deg: float | None,
    *,
    culmination: Floats | None = None,
) -> Floats:
    """Return how high each target has to stand [deg].

    That is the floor asked for; else its class's; else, for what hardly gets above that one, a
    little below its culmination, but never lower than `LOWEST_FLOOR_DEG`.
    """
    floors = np.array([c.altitude_min_deg for c in preferences.classes])[class_code]
    if min_altitude_deg is not None:
        return np.full_like(floors, min_altitude_deg)
    if culmination is None:
        return floors
    near_top = np.maximum(culmination - NEAR_CULMINATION_DEG, LOWEST_FLOOR_DEG)
    return np.asarray(np.fmin(floors, near_top))


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
    unmet = (c for c in WINDOW_RULES if not getattr(windows, c.name)[row, step])
    return next(unmet).closes.format(floor=floor_deg)
