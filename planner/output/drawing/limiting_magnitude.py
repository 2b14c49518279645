"""Where and when somebody looks, and how deep the sky then lets a telescope see."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import numpy as np

from planner.config.conditions import Conditions
from planner.ephemeris.bodies import observe_body, observer_and_sun
from planner.ephemeris.kernel import Ephemeris, apparent_place, unix_seconds
from planner.ephemeris.sky_grid import SkyGrid
from planner.formulas.extinction import extinction_loss_mag
from planner.formulas.filters import sky_passed, target_light, target_passed
from planner.formulas.sky_brightness import sky_luminance_cd_m2
from planner.formulas.visibility_limit import light_gain, stellar_limit_mag
from planner.matcher.lens import Moment
from planner.model.kit import Train
from planner.model.site import Site
from targets.arrays import Floats
from targets.frozen import frozen
from targets.model import Kind, Target
from targets.sphere import place_deg, separation_deg

Place = tuple[float, float]

# On the Moon itself moonlight is reckoned as beside its middle [deg].
BESIDE_THE_MOON_DEG = 0.5


@frozen
class ViewedSky:
    """What the sky does while somebody looks.

    Parameters
    ----------
    ephemeris, site, instant
        Where the bodies are, where the observer is, and when (aware).
    grid : SkyGrid, optional
        The sky of that instant alone, where it is at hand: Sun, Moon and zenith are then read from
        it, which takes a tenth of the time of asking where they are.
    """

    ephemeris: Ephemeris
    site: Site
    instant: datetime
    conditions: Conditions
    grid: SkyGrid | None = None


def _observer_and_sun(circumstance: ViewedSky) -> Any:
    unix_s = tuple(unix_seconds([circumstance.instant]).tolist())
    return observer_and_sun(circumstance.ephemeris, circumstance.site, unix_s)


def zenith_of(circumstance: ViewedSky) -> Place:
    """Return the J2000 place of the zenith [deg]."""
    if circumstance.grid is not None:
        ra_deg, dec_deg = place_deg(circumstance.grid.axes[0, 2])
        return float(ra_deg), float(dec_deg)
    observer, _ = _observer_and_sun(circumstance)
    return place_of(observer.from_altaz(alt_degrees=90.0, az_degrees=0.0))


def sun_of(circumstance: ViewedSky) -> Place:
    """Return the J2000 place of the Sun [deg]."""
    return place_of(_observer_and_sun(circumstance)[1])


def place_of(position: Any) -> Place:
    """Return right ascension and declination, J2000 [deg], of a position of skyfield's."""
    ra, dec, _ = position.radec()
    return float(ra.hours[0] * 15.0), float(dec.degrees[0])


@frozen
class SkyBehind:
    """What a target is seen through and against.

    Parameters
    ----------
    altitude_deg : float
        True altitude of the target [deg].
    luminance_cd_m2 : float
        Of the sky behind it [cd/m2].
    loss_mag : float
        Light lost in the air [mag].
    """

    altitude_deg: float
    luminance_cd_m2: float
    loss_mag: float

    def moment(self, conditions: Conditions) -> Moment:
        """Return the same as the matcher knows it, for one target."""
        return Moment(
            altitude_deg=np.array([[self.altitude_deg]]),
            sky_cd_m2=np.array([[self.luminance_cd_m2]]),
            loss_mag=np.array([[self.loss_mag]]),
            seeing_step=conditions.seeing_step,
            eye_mag=conditions.eye_mag,
            glow_mag=conditions.glow_mag,
        )


def faintest_star_mag(
    target: Target, train: Train, circumstance: ViewedSky, behind: SkyBehind | None = None
) -> float:
    """Return the V magnitude of the faintest star that a train shows beside a target.

    As `planner.formulas.visibility_limit.stellar_limit_mag`, with the air, the Moon, twilight
    and a filter; seeing and the colour of a star are left out. ``behind`` is what `sky_behind`
    returns, if it is known already.
    """
    conditions, telescope = circumstance.conditions, train.telescope
    behind = behind or sky_behind(target, circumstance)
    gain = light_gain(
        exit_pupil_mm=train.exit_pupil_mm,
        pupil_mm=conditions.pupil_mm,
        transmission=telescope.transmission,
        obstruction_ratio=telescope.obstruction_mm / telescope.aperture_mm,
    )
    kind = train.filter.kind if train.filter else None
    limit = stellar_limit_mag(
        sky_cd_m2=behind.luminance_cd_m2,
        magnification=train.magnification,
        light_gain=gain,
        target_passed=target_passed(kind, target_light(Kind.STAR, target.id)),
        sky_passed=sky_passed(kind),
    )
    return float(limit - behind.loss_mag) + conditions.eye_mag


def sky_behind(target: Target, circumstance: ViewedSky) -> SkyBehind:
    """Return the sky behind a target that has a place."""
    conditions, grid = circumstance.conditions, circumstance.grid
    sun, moon, phase_deg = _asked(circumstance) if grid is None else _read(grid)
    altitude = 90.0 - _separation_deg(zenith_of(circumstance), target)
    on_moon = target.kind in {Kind.MOON, Kind.LUNAR_FEATURE}
    luminance = sky_luminance_cd_m2(
        zenith_mag_arcsec2=conditions.sky_mag_arcsec2,
        extinction_mag=conditions.extinction_mag,
        altitude_deg=max(altitude, 0.0),
        sun_altitude_deg=sun.altitude_deg,
        sun_separation_deg=_separation_deg(sun.place, target),
        moon_altitude_deg=moon.altitude_deg,
        moon_separation_deg=BESIDE_THE_MOON_DEG if on_moon else _separation_deg(moon.place, target),
        moon_phase_angle_deg=phase_deg,
    )
    loss = extinction_loss_mag(
        altitude_deg=max(altitude, 0.0), extinction_mag=conditions.extinction_mag
    )
    return SkyBehind(altitude, float(luminance), float(loss))


@frozen
class _Light:
    """Sun or Moon: true altitude and J2000 place [deg]."""

    altitude_deg: float
    place: Place


def _asked(circumstance: ViewedSky) -> tuple[_Light, _Light, float]:
    """Ask where Sun and Moon are, and for the Moon's phase angle [deg]."""
    sun = apparent_place(_observer_and_sun(circumstance)[1])
    moon = observe_body(circumstance.ephemeris, circumstance.site, "Moon", [circumstance.instant])
    moon_place = (float(moon.ra_j2000_deg[0]), float(moon.dec_j2000_deg[0]))
    return (
        _Light(float(sun.altaz()[0].degrees[0]), place_of(sun)),
        _Light(float(moon.altitude_deg[0]), moon_place),
        float(moon.phase_deg[0]),
    )


def _read(grid: SkyGrid) -> tuple[_Light, _Light, float]:
    """Read the same from the sky of one instant."""

    def light(altitude_deg: Floats, direction: Floats) -> _Light:
        ra_deg, dec_deg = place_deg(direction[0])
        return _Light(float(altitude_deg[0]), (float(ra_deg), float(dec_deg)))

    return (
        light(grid.sun_altitude_deg, grid.sun_direction),
        light(grid.moon_altitude_deg, grid.moon_direction),
        float(grid.moon_phase_deg[0]),
    )


def _separation_deg(place: Place, target: Target) -> float:
    """Return the distance of a place from a target [deg]."""
    return float(separation_deg(*place, target.ra_deg or 0.0, target.dec_deg or 0.0))
