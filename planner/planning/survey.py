"""Targets under tonight's sky: where they stand, how dark it is behind them, what suits them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.config.conditions import Conditions
from planner.ephemeris.bodies import BodyEphemeris, find_constellation, observe_body
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.minor_targets import minor_at
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.solar_system.lunar_calendar import lit_steps
from planner.ephemeris.solar_system.lunar_light import Sunlight
from planner.ephemeris.solar_system.moon import feature_at, moon_face
from planner.ephemeris.tracks import BodyTrack, track_bodies
from planner.formulas.refraction import apparent_altitude_deg
from planner.matcher.lens import Moment, moment_under
from planner.planning.windows import SkyTracks
from targets.double_stars.doubles import julian_year, star_at
from targets.elements import Elements
from targets.model import Kind, Origin, Target

# The sky behind the Moon's own disc is taken as if the Moon stood this far away: nobody judges
# the Moon by the sky around it.
_OWN_SEPARATION_DEG = 90.0
_THE_MOON = Target("Moon", "Moon", Kind.MOON)


def body_at(target: Target, ephemeris: Ephemeris, grid: SkyGrid, instant: datetime) -> Target:
    """Return a body, a star or a pair as it is at an instant; others as they are.

    Parameters
    ----------
    grid : SkyGrid
        Its night tells the site.
    instant : datetime
        Aware.

    Returns
    -------
    Target
        A body with its place, size and brightness: ``ra_deg`` and ``dec_deg`` are astrometric
        J2000; Saturn's axes are its rings'. A star where its proper motion has brought it, a pair
        with a known orbit as far apart as it is then.
    """
    if not target.moves:
        return star_at(target, julian_year(instant))
    if target.lunar is not None:
        return _feature_at(target, ephemeris, grid, instant)
    if target.elements is not None:
        return minor_at(target, target.elements, ephemeris, grid, instant)
    return planet_as_seen(target, observe_body(ephemeris, grid.night.site, target.id, [instant]))


def planet_as_seen(target: Target, seen: BodyEphemeris, index: int = 0) -> Target:
    """Return the Moon or a planet with the place, size and brightness of one of the instants."""
    major, minor = _axes_arcsec(seen, index)
    ra_deg, dec_deg = float(seen.ra_j2000_deg[index]), float(seen.dec_j2000_deg[index])
    return replace(
        target,
        constellation=find_constellation(ra_deg, dec_deg),
        ra_deg=ra_deg,
        dec_deg=dec_deg,
        major_arcmin=major / 60.0,
        minor_arcmin=minor / 60.0,
        magnitude=seen.magnitude_at(index),
        size_origin=Origin.COMPUTED,
        magnitude_origin=Origin.COMPUTED,
        note=_body_note(seen, index),
    )


def _feature_at(target: Target, ephemeris: Ephemeris, grid: SkyGrid, instant: datetime) -> Target:
    site = grid.night.site
    moon = body_at(_THE_MOON, ephemeris, grid, instant)
    distance_au = float(observe_body(ephemeris, site, "Moon", [instant]).distance_au[0])
    face = moon_face(ephemeris, site, instant)
    return feature_at(target, moon, face, distance_au)


def _axes_arcsec(seen: BodyEphemeris, index: int) -> tuple[float, float]:
    if seen.rings is None:
        return float(seen.equatorial_arcsec[index]), float(seen.polar_arcsec[index])
    return float(seen.rings.major_arcsec[index]), float(
        max(seen.rings.minor_arcsec[index], seen.polar_arcsec[index])
    )


def _body_note(seen: BodyEphemeris, index: int) -> str:
    across, lit = seen.equatorial_arcsec[index], seen.illuminated[index]
    if seen.rings is not None:
        return (
            f'globe {across:.1f}" by {seen.polar_arcsec[index]:.1f}", rings '
            f'{seen.rings.major_arcsec[index]:.1f}" by {seen.rings.minor_arcsec[index]:.1f}", '
            f"tilted {seen.rings.tilt_deg[index]:+.1f} deg"
        )
    if seen.name == "Moon":
        return f"{lit:.0%} lit, {across / 60.0:.1f}' across"
    return f'disc {across:.1f}", {lit:.0%} lit'


def follow(
    targets: Sequence[Target],
    ephemeris: Ephemeris,
    grid: SkyGrid,
    tracked: Mapping[str, BodyTrack] | None = None,
) -> SkyTracks:
    """Follow N targets through the T steps of a grid.

    Parameters
    ----------
    targets : sequence of Target
        Fixed ones and bodies, in any order.
    tracked : mapping of str to BodyTrack, optional
        Bodies that were followed through this grid before, all that are needed.

    Returns
    -------
    SkyTracks
        Altitudes with and without air, azimuths, and distances from the Moon and the Sun.
    """
    shape = (len(targets), len(grid.unix_s))
    altitude, azimuth, moon, sun = (np.empty(shape) for _ in range(4))
    fixed = [row for row, target in enumerate(targets) if not target.moves]
    if fixed:
        ra_deg = np.array([targets[row].ra_deg for row in fixed], dtype=float)
        dec_deg = np.array([targets[row].dec_deg for row in fixed], dtype=float)
        altitude[fixed], azimuth[fixed] = grid.place(ra_deg, dec_deg)
        moon[fixed] = grid.moon_separations(ra_deg, dec_deg)
        sun[fixed] = grid.sun_separations(ra_deg, dec_deg)
    moving = bodies_among(targets)
    if moving:
        if tracked is None:
            tracked = track_bodies(ephemeris, grid, list(moving), orbits=orbits_among(targets))
        for name, rows in moving.items():
            track = tracked[name]
            altitude[rows], azimuth[rows] = track.altitude_deg, track.azimuth_deg
            moon[rows], sun[rows] = track.moon_separation_deg, track.sun_separation_deg
    elevation_m = grid.night.site.elevation_m
    return SkyTracks(
        altitude_deg=apparent_altitude_deg(altitude, elevation_m=elevation_m),
        true_altitude_deg=altitude,
        azimuth_deg=azimuth,
        moon_separation_deg=moon,
        sun_separation_deg=sun,
        sun_altitude_deg=grid.sun_altitude_deg,
        sun_highest_deg=grid.sun_highest_deg,
        moon_altitude_deg=grid.moon_altitude_deg,
        lit=_light_on(targets, ephemeris, grid),
    )


def bodies_among(targets: Sequence[Target]) -> dict[str, list[int]]:
    """Return the bodies that have to be followed, by name, and the rows that follow from each."""
    moving: dict[str, list[int]] = {}
    for row, target in enumerate(targets):
        if target.moves:
            moving.setdefault(_THE_MOON.id if target.lunar else target.id, []).append(row)
    return moving


def orbits_among(targets: Sequence[Target]) -> dict[str, Elements]:
    """Return the orbits of comets and minor planets, by name."""
    return {target.id: target.elements for target in targets if target.elements is not None}


def _light_on(
    targets: Sequence[Target], ephemeris: Ephemeris, grid: SkyGrid
) -> NDArray[np.int8] | None:
    """Tell how features of the Moon are lit, (N, T); None when there are none."""
    rows = [row for row, target in enumerate(targets) if target.lunar is not None]
    if not rows:
        return None
    lit = np.full((len(targets), len(grid.unix_s)), Sunlight.WELL, dtype=np.int8)
    features = [targets[row] for row in rows]
    lit[rows] = lit_steps(ephemeris, grid.night.site, features, grid.unix_s)
    return lit


def sky_behind(
    targets: Sequence[Target], tracks: SkyTracks, grid: SkyGrid, conditions: Conditions
) -> Moment:
    """Return the sky behind N targets at each of T steps, arrays of shape (N, T)."""
    on_moon = [target.id == _THE_MOON.id or target.lunar is not None for target in targets]
    is_moon = np.array(on_moon, dtype=bool)[:, None]
    return moment_under(
        conditions,
        altitude_deg=tracks.altitude_deg,
        sun_altitude_deg=tracks.sun_altitude_deg,
        sun_separation_deg=tracks.sun_separation_deg,
        moon_altitude_deg=tracks.moon_altitude_deg,
        moon_separation_deg=np.where(is_moon, _OWN_SEPARATION_DEG, tracks.moon_separation_deg),
        moon_phase_angle_deg=grid.moon_phase_deg,
    )


def moment_at(moments: Moment, step: NDArray[np.intp]) -> Moment:
    """Take one step for each target out of T; arrays of shape (N, 1)."""
    columns = step[:, None]
    return replace(
        moments,
        altitude_deg=np.take_along_axis(moments.altitude_deg, columns, axis=1),
        sky_cd_m2=np.take_along_axis(moments.sky_cd_m2, columns, axis=1),
        loss_mag=np.take_along_axis(moments.loss_mag, columns, axis=1),
    )
