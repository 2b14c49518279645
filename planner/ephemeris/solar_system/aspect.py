"""Which face a body turns to the observer and to the Sun, and which way up it stands in the sky."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from functools import cached_property
from typing import Any

import numpy as np
from skyfield.constants import C_AUDAY

from planner.ephemeris.kernel import Ephemeris, unix_seconds
from planner.ephemeris.solar_system.rotation import axes_of, longitude_latitude_deg
from planner.model.site import Site
from targets.arrays import Floats
from targets.frozen import frozen
from targets.sphere import angle_deg, position_angle_deg

_J2000_JD = 2_451_545.0


@frozen(slots=False, eq=False)
class Aspect:
    """A body, its observer and the Sun at T instants; vectors in ICRS axes [au], ``(T, 3)``.

    Parameters
    ----------
    name : str
        Of the body.
    days_tdb : ndarray
        Days since J2000.0 (TDB) when the light that is seen left the body, ``(T,)``.
    sight_au : ndarray
        From the observer to the body, light time counted.
    sun_au : ndarray
        From the body to the Sun.
    north : ndarray
        Unit vector to the celestial pole of date, from which angles in the sky count.
    up : ndarray
        Unit vector to the observer's zenith; NaN at the middle of the Earth.
    """

    name: str
    days_tdb: Floats
    sight_au: Floats
    sun_au: Floats
    north: Floats
    up: Floats
    times: Any

    def facing(self, spin: str | None = None) -> tuple[Floats, Floats]:
        """Return longitude (east) and latitude of the middle of the disc [deg], ``(T,)`` each.

        Parameters
        ----------
        spin : str, optional
            Which system of longitudes, such as ``Jupiter II``; the body's own without it.
        """
        return longitude_latitude_deg(axes_of(spin or self.name, self.days_tdb), -self.sight_au)

    def lit(self, spin: str | None = None) -> tuple[Floats, Floats]:
        """Longitude (east) and latitude of where the Sun is overhead [deg], ``(T,)`` each."""
        return longitude_latitude_deg(axes_of(spin or self.name, self.days_tdb), self.sun_au)

    def pole_angle_deg(self, spin: str | None = None) -> Floats:
        """Return the position angle of the body's north pole, from north through east [deg]."""
        pole = axes_of(spin or self.name, self.days_tdb)[:, 2]
        return position_angle_deg(pole, self.sight_au, self.north)

    @cached_property
    def bright_limb_deg(self) -> Floats:
        """Position angle of the middle of the lit edge, from north through east [deg]."""
        return position_angle_deg(self.sun_au, self.sight_au, self.north)

    @cached_property
    def phase_angle_deg(self) -> Floats:
        """Angle at the body between Sun and observer [deg]."""
        return angle_deg(self.sun_au, -self.sight_au)


def aspect_of(
    ephemeris: Ephemeris, site: Site | None, name: str, instants: Sequence[datetime]
) -> Aspect:
    """Find how a body stands to the observer and to the Sun.

    Parameters
    ----------
    site : Site or None
        Where the observer stands; None for the middle of the Earth.
    name : str
        ``Moon``, or ``Mercury`` .. ``Neptune``.
    instants : sequence of datetime.datetime
        Aware, at least one.

    Raises
    ------
    UnknownBodyError
        If the name is not one of those.
    ValueError
        If an instant has no time zone.

    Notes
    -----
    The Sun's light is given its own time on the way to the body. Aberration does not matter here:
    it moves a body and its surroundings alike.
    """
    times = ephemeris.times(unix_seconds(instants))
    middle = ephemeris.kernel["earth"]
    observer = middle.at(times) if site is None else ephemeris.observer(site, times)
    seen = observer.observe(ephemeris.body(name))
    sight = seen.xyz.au.T
    light_days = np.linalg.norm(sight, axis=1) / C_AUDAY
    body = observer.xyz.au.T + sight
    then = ephemeris.timescale.tdb_jd(times.tdb - light_days)
    sun = ephemeris.body("Sun").at(then).xyz.au.T
    travel_days = np.linalg.norm(sun - body, axis=1) / C_AUDAY
    sun = ephemeris.body("Sun").at(ephemeris.timescale.tdb_jd(then.tdb - travel_days)).xyz.au.T
    return Aspect(
        name=name,
        days_tdb=times.tdb - _J2000_JD - light_days,
        sight_au=sight,
        sun_au=sun - body,
        north=np.asarray(times.M)[2].T,
        up=_zenith(site, times),
        times=times,
    )


def _zenith(site: Site | None, times: Any) -> Floats:
    if site is None:
        return np.full((len(times.tt), 3), np.nan)
    sidereal = np.radians(times.gast * 15.0 + site.longitude_deg)
    latitude = np.radians(site.latitude_deg)
    level = np.cos(latitude)
    of_date = [
        level * np.cos(sidereal),
        level * np.sin(sidereal),
        np.full_like(sidereal, np.sin(latitude)),
    ]
    return np.asarray(np.einsum("jit,jt->ti", np.asarray(times.M), np.array(of_date)))
