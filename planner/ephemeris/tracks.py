"""Lay the grid of one night, and follow the Moon and planets through it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

import numpy as np

from planner.ephemeris.discs import phase_angle_deg
from planner.ephemeris.interpolation import Motion, altitude_deg, ask_ahead, azimuth_deg, fit_motion
from planner.ephemeris.kernel import BODIES, Ephemeris, unix_seconds
from planner.ephemeris.sky_grid import SkyGrid
from planner.model.night import Night
from targets.arrays import Floats
from targets.elements import Elements
from targets.frozen import frozen
from targets.sphere import angle_deg

# How long before the Sun can show nobody is at the eyepiece any more, and how long after it is
# gone nobody is yet. Our choice.
SUN_TIME_MARGIN = timedelta(minutes=15)

__all__ = [
    "BodyTrack",
    "SkyGrid",
    "ask_for_nights",
    "track_bodies",
    "track_instants",
    "track_night",
]


@frozen(eq=False)
class BodyTrack:
    """A body at each step of a grid; all ``(T,)``, of its centre, without refraction [deg]."""

    altitude_deg: Floats
    azimuth_deg: Floats
    moon_separation_deg: Floats
    sun_separation_deg: Floats


def track_night(ephemeris: Ephemeris, night: Night, step_minutes: float = 5.0) -> SkyGrid:
    """Lay a grid over a whole night, both noons included.

    Parameters
    ----------
    step_minutes : float
        Between steps [min].

    Returns
    -------
    SkyGrid
        289 steps for a night of 24 hours and steps of 5 minutes.

    Raises
    ------
    ValueError
        If the step is not above zero.
    """
    if not step_minutes > 0.0:
        raise ValueError(f"The step of the grid is {step_minutes} minutes; it must be above 0.")
    length_s = (night.end - night.start).total_seconds()
    step_s = step_minutes * 60.0
    after_s = step_s * np.arange(int(length_s / step_s) + 1, dtype=np.float64)
    return _sky_at(ephemeris, night, night.start.timestamp() + after_s)


def ask_for_nights(ephemeris: Ephemeris, nights: Sequence[Night], names: Sequence[str]) -> None:
    """Ask the ephemeris once for what tracking these nights, and bodies in them, will want.

    All nights are of one site; the bodies are those of `BODIES`.
    """
    site = nights[0].site
    around = [(night.start - SUN_TIME_MARGIN, night.end + SUN_TIME_MARGIN) for night in nights]
    ask_ahead(ephemeris, site, spans=around, bodies=("Sun", "Moon"))
    if names:
        whole = [(night.start, night.end) for night in nights]
        ask_ahead(ephemeris, site, spans=whole, bodies=names)


def track_instants(ephemeris: Ephemeris, night: Night, instants: Sequence[datetime]) -> SkyGrid:
    """Return the sky at chosen instants of a night instead of even steps.

    Parameters
    ----------
    instants : sequence of datetime.datetime
        Aware, in order, within the night.

    Returns
    -------
    SkyGrid
        One step for each instant.

    Raises
    ------
    ValueError
        If an instant is outside the night, or has no time zone.
    """
    unix_s = unix_seconds(instants)
    for instant in instants:
        if not night.start <= instant <= night.end:
            raise ValueError(
                f"{instant.isoformat()} is outside the night of {night.date},"
                f" {night.start.isoformat()} to {night.end.isoformat()}."
            )
    return _sky_at(ephemeris, night, unix_s)


def track_bodies(
    ephemeris: Ephemeris,
    grid: SkyGrid,
    names: Sequence[str] = BODIES,
    *,
    orbits: Mapping[str, Elements] | None = None,
) -> dict[str, BodyTrack]:
    """Follow the Moon, planets, comets and minor planets through a grid.

    Parameters
    ----------
    grid : SkyGrid
        Of the night, whole or cut.
    names : sequence of str
        Bodies, such as ``Moon`` and ``Saturn``.
    orbits : mapping of str to Elements, optional
        Orbits of those among them that are comets or minor planets.

    Returns
    -------
    dict of str to BodyTrack
        By name, in the order asked for.

    Raises
    ------
    UnknownBodyError
        If a name is not a body's.
    """
    night = grid.night
    motion = fit_motion(
        ephemeris, night.site, start=night.start, end=night.end, bodies=names, orbits=orbits
    )
    return {name: body_track(name, motion, grid) for name in names}


def _sky_at(ephemeris: Ephemeris, night: Night, unix_s: Floats) -> SkyGrid:
    start, end = night.start - SUN_TIME_MARGIN, night.end + SUN_TIME_MARGIN
    bodies = ("Sun", "Moon")
    return sky_of(
        fit_motion(ephemeris, night.site, start=start, end=end, bodies=bodies), night, unix_s
    )


def sky_of(motion: Motion, night: Night, unix_s: Floats) -> SkyGrid:
    """Return the sky at instants of a night [s since 1970 UTC].

    ``motion`` holds Sun and Moon, from `SUN_TIME_MARGIN` before the first to as much after the
    last.
    """
    axes = motion.axes(unix_s)
    sun, moon = motion.place_au("Sun", unix_s), motion.place_au("Moon", unix_s)
    sun_altitude_deg = altitude_deg(axes, sun)
    return SkyGrid(
        night=night,
        unix_s=unix_s,
        sun_altitude_deg=sun_altitude_deg,
        sun_highest_deg=_sun_highest_deg(motion, unix_s, sun_altitude_deg),
        moon_altitude_deg=altitude_deg(axes, moon),
        moon_phase_deg=phase_angle_deg(moon, sun),
        axes=axes,
        velocity=motion.velocity(unix_s),
        sun_direction=_directions(sun),
        moon_direction=_directions(moon),
    )


def _sun_highest_deg(motion: Motion, unix_s: Floats, altitude_deg: Floats) -> Floats:
    """Return the Sun's highest altitude near each step; around its noon the middle counts."""
    margin_s = SUN_TIME_MARGIN.total_seconds()
    around = motion.altitude_deg("Sun", np.concatenate([unix_s - margin_s, unix_s + margin_s]))
    before, after = around.reshape(2, -1)
    return np.asarray(np.maximum(altitude_deg, np.maximum(before, after)))


def body_track(name: str, motion: Motion, grid: SkyGrid) -> BodyTrack:
    """Return where a body of a motion stands at the steps of a grid."""
    place = motion.place_au(name, grid.unix_s)
    direction = _directions(place)
    return BodyTrack(
        altitude_deg=altitude_deg(grid.axes, place),
        azimuth_deg=azimuth_deg(grid.axes, place),
        moon_separation_deg=angle_deg(direction, grid.moon_direction),
        sun_separation_deg=angle_deg(direction, grid.sun_direction),
    )


def _directions(places: Floats) -> Floats:
    return np.asarray(places / np.linalg.norm(places, axis=1, keepdims=True))
