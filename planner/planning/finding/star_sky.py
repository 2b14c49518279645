"""Stars under the sky of one moment: how high they stand, and through what each is plain."""

from __future__ import annotations

import numpy as np

from planner.config.conditions import Conditions
from planner.ephemeris.sky_grid import SkyGrid
from planner.formulas.refraction import apparent_altitude_deg
from planner.matcher.lens import Moment, moment_under
from planner.planning.finding.instruments import Instruments
from targets.arrays import Flags, Floats
from targets.frozen import frozen
from targets.sphere import angle_deg, position_angle_deg

# 2000-01-01 12:00 UTC.
J2000_UNIX_S = 946_728_000.0
# A star is plain when it is this much brighter than the faintest that is seen (our choice).
PLAIN_MAG = 1.0
# Nobody looks for a star lower than this (our choice).
LOWEST_DEG = 3.0


@frozen
class MomentSky:
    """The sky of one step of a grid.

    Parameters
    ----------
    grid, step
        Whose sky it is.
    """

    grid: SkyGrid
    step: int
    conditions: Conditions

    @property
    def axes(self) -> Floats:
        """Unit vectors to north, east and up in ICRS axes, ``(3, 3)``."""
        return np.asarray(self.grid.axes[self.step])

    def altitude_deg(self, directions: Floats) -> Floats:
        """Return the apparent altitudes of directions ``(M, 3)`` [deg]."""
        true_deg = np.degrees(np.arcsin(np.clip(directions @ self.axes[2], -1.0, 1.0)))
        elevation_m = self.grid.night.site.elevation_m
        return np.asarray(apparent_altitude_deg(true_deg, elevation_m=elevation_m))

    def azimuth_deg(self, directions: Floats) -> Floats:
        """Return the azimuths of directions ``(M, 3)``, from north through east [deg]."""
        north, east = directions @ self.axes[0], directions @ self.axes[1]
        return np.asarray(np.degrees(np.arctan2(east, north)) % 360.0)

    def behind(self, directions: Floats) -> Moment:
        """Return the sky behind M directions and the air before them, arrays of shape (M, 1)."""
        grid, step, conditions = self.grid, self.step, self.conditions
        return moment_under(
            conditions,
            altitude_deg=self.altitude_deg(directions)[:, None],
            sun_altitude_deg=float(grid.sun_altitude_deg[step]),
            sun_separation_deg=angle_deg(directions, grid.sun_direction[step])[:, None],
            moon_altitude_deg=float(grid.moon_altitude_deg[step]),
            moon_separation_deg=angle_deg(directions, grid.moon_direction[step])[:, None],
            moon_phase_angle_deg=float(grid.moon_phase_deg[step]),
        )

    def limits_mag(self, directions: Floats, instruments: Instruments) -> Floats:
        """Return the V of the faintest star that each instrument shows, ``(3, M)`` [mag]."""
        behind = self.behind(directions)
        gain_mag = behind.eye_mag - behind.loss_mag
        every = (instruments.eye, instruments.finder, instruments.eyepiece)
        return np.stack([(one.limit_mag(behind.sky_cd_m2) + gain_mag)[:, 0] for one in every])

    def zenith_angle_deg(self, direction: Floats) -> float:
        """Return the position angle of the way to the zenith at a direction ``(3,)`` [deg]."""
        return float(position_angle_deg(self.axes[2], direction))

    def of_date_deg(self, direction: Floats) -> tuple[float, float]:
        """Return right ascension and declination of date of a direction ``(3,)`` [deg].

        Good to some arcseconds: the sidereal time is the mean one.

        References
        ----------
        Meeus 1998, "Astronomical Algorithms", eq. 12.4.
        """
        site, (north, east, up) = self.grid.night.site, self.axes
        latitude = np.radians(site.latitude_deg)
        pole = np.cos(latitude) * north + np.sin(latitude) * up
        equator = np.cos(latitude) * up - np.sin(latitude) * north  # where it crosses the meridian
        hour_deg = np.degrees(np.arctan2(-direction @ east, direction @ equator))
        days = (float(self.grid.unix_s[self.step]) - J2000_UNIX_S) / 86400.0
        sidereal_deg = 280.46061837 + 360.98564736629 * days + site.longitude_deg
        dec_deg = np.degrees(np.arcsin(np.clip(direction @ pole, -1.0, 1.0)))
        return float((sidereal_deg - hour_deg) % 360.0), float(dec_deg)

    def is_up(self, directions: Floats) -> Flags:
        """Tell which directions ``(M, 3)`` are above the skyline and not too low."""
        altitude_deg = self.altitude_deg(directions)
        skyline_deg = self.grid.night.site.horizon_altitude_deg(self.azimuth_deg(directions))
        return np.asarray(altitude_deg > np.maximum(skyline_deg, LOWEST_DEG))
