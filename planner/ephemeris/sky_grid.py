"""The sky over a site at each step of a night, and where fixed targets stand in it.

Altitudes here are true ones, without air; ``planner.formulas.refraction`` lifts them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import UTC, datetime

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.ephemeris.discs import lit_fraction
from planner.ephemeris.kernel import unix_seconds
from planner.model.night import Night
from targets.arrays import Floats, runs_of
from targets.frozen import frozen
from targets.sphere import unit_vectors

# Rows of targets worked on together: their products stay in the processor's cache.
_BLOCK = 256


@frozen(eq=False)
class SkyGrid:
    """The sky over a site at each step of a night; ``T`` steps.

    Parameters
    ----------
    night : Night
        Whose sky it is, with its site.
    unix_s : ndarray
        The steps, in order of time, in seconds since 1970-01-01 UTC, ``(T,)``.
    sun_altitude_deg, moon_altitude_deg : ndarray
        Of their centres, without refraction [deg], ``(T,)``.
    sun_highest_deg : ndarray
        The Sun's highest altitude from a quarter of an hour before each step to one after it
        [deg], ``(T,)``; never below ``sun_altitude_deg``.
    moon_phase_deg : ndarray
        Angle at the Moon between Sun and observer [deg], 0 when full, ``(T,)``.
    axes : ndarray
        Unit vectors to north, east and up in ICRS axes, ``(T, 3, 3)``.
    velocity : ndarray
        The observer's velocity over that of light in ICRS axes, ``(T, 3)``.
    sun_direction, moon_direction : ndarray
        Unit vectors to their apparent places in ICRS axes, ``(T, 3)``.
    """

    night: Night
    unix_s: Floats
    sun_altitude_deg: Floats
    sun_highest_deg: Floats
    moon_altitude_deg: Floats
    moon_phase_deg: Floats
    axes: Floats
    velocity: Floats
    sun_direction: Floats
    moon_direction: Floats

    @property
    def moon_illuminated(self) -> Floats:
        """Lit fraction of the Moon's disc, 0 .. 1, ``(T,)``."""
        return lit_fraction(self.moon_phase_deg)

    def between(self, start: datetime, end: datetime) -> SkyGrid:
        """Return the part of the grid from one instant to another, both included.

        Parameters
        ----------
        start, end : datetime.datetime
            Aware.

        Returns
        -------
        SkyGrid
            The same arrays cut to those steps; none if no step lies there.

        Raises
        ------
        ValueError
            If an instant has no time zone.
        """
        start_s, end_s = unix_seconds([start, end])
        first = np.searchsorted(self.unix_s, start_s, side="left")
        last = np.searchsorted(self.unix_s, end_s, side="right")
        arrays = {
            f.name: getattr(self, f.name)[first:last] for f in fields(self) if f.name != "night"
        }
        return replace(self, **arrays)

    def instant(self, step: int) -> datetime:
        """Return the instant of a step (UTC), to the second, and not outside the night."""
        instant = datetime.fromtimestamp(round(float(self.unix_s[step])), UTC)
        return min(max(instant, self.night.start), self.night.end).astimezone(UTC)

    def spans(self, flags: NDArray[np.bool_]) -> tuple[tuple[datetime, datetime], ...]:
        """Return the first and last step (UTC) of each run of True in an array ``(T,)``."""
        return tuple((self.instant(first), self.instant(end - 1)) for first, end in runs_of(flags))

    def every(self, stride: int) -> SkyGrid:
        """Return the grid with only one step in so many, the first included."""
        arrays = {f.name: getattr(self, f.name)[::stride] for f in fields(self)[1:]}
        return replace(self, **arrays)

    def place(self, ra_deg: ArrayLike, dec_deg: ArrayLike) -> tuple[Floats, Floats]:
        """Return true altitudes and azimuths of fixed targets at each step; see `altitudes`."""
        return self.altitudes(ra_deg, dec_deg), self.azimuths(ra_deg, dec_deg)

    def altitudes(self, ra_deg: ArrayLike, dec_deg: ArrayLike) -> Floats:
        """Return the true altitudes of fixed targets at each step.

        Parameters
        ----------
        ra_deg, dec_deg : float or array_like
            J2000 places [deg], ``(N,)``.

        Returns
        -------
        ndarray
            Altitude without refraction [deg], ``(N, T)``.

        Notes
        -----
        Precession, nutation and the aberration of year and day are in; the bending of light by
        the Sun (under 0.1 arcsec from 5 degrees off) and polar motion (0.3 arcsec) are left out.

        References
        ----------
        Urban and Seidelmann 2013, "Explanatory Supplement to the Astronomical Almanac", 3rd ed.,
        sec. 7.2 (apparent places).
        """
        out = self._components(ra_deg, dec_deg, self.axes[:, 2])
        for rows in _blocks(len(out)):
            np.degrees(np.arcsin(out[rows], out=out[rows]), out=out[rows])
        return out

    def azimuths(self, ra_deg: ArrayLike, dec_deg: ArrayLike) -> Floats:
        """Return the azimuths of fixed targets at each step; parameters as for `altitudes`.

        Returns
        -------
        ndarray
            From north through east [deg], 0 .. 360, ``(N, T)``.
        """
        targets = np.atleast_2d(unit_vectors(ra_deg, dec_deg))
        north, east = self.axes[:, 0], self.axes[:, 1]
        east_shift, north_shift = along(self.velocity, east), along(self.velocity, north)
        out = np.empty((len(targets), len(north)))
        for rows in _blocks(len(out)):
            toward_east = targets[rows] @ east.T + east_shift
            toward_north = targets[rows] @ north.T + north_shift
            np.degrees(np.arctan2(toward_east, toward_north), out=out[rows])
            out[rows] %= 360.0
        return out

    def moon_separations(self, ra_deg: ArrayLike, dec_deg: ArrayLike) -> Floats:
        """Return the angles between fixed targets and the Moon's centre [deg], ``(N, T)``."""
        return self._separations(ra_deg, dec_deg, self.moon_direction)

    def sun_separations(self, ra_deg: ArrayLike, dec_deg: ArrayLike) -> Floats:
        """Return the angles between fixed targets and the Sun's centre [deg], ``(N, T)``."""
        return self._separations(ra_deg, dec_deg, self.sun_direction)

    def _separations(self, ra_deg: ArrayLike, dec_deg: ArrayLike, direction: Floats) -> Floats:
        out = self._components(ra_deg, dec_deg, direction)
        for rows in _blocks(len(out)):
            np.degrees(np.arccos(out[rows], out=out[rows]), out=out[rows])
        return out

    def _components(self, ra_deg: ArrayLike, dec_deg: ArrayLike, axis: Floats) -> Floats:
        """Return how far the apparent unit vectors of targets reach along an axis ``(T, 3)``.

        Aberration adds the velocity to the unit vector. The sum's length is one plus its part
        along the target; what is neglected there is of the order of a milliarcsecond.
        """
        targets = np.atleast_2d(unit_vectors(ra_deg, dec_deg))
        shift = along(self.velocity, axis)
        out = np.empty((len(targets), len(axis)))
        for rows in _blocks(len(out)):
            np.matmul(targets[rows], axis.T, out=out[rows])
            out[rows] += shift
            out[rows] /= 1.0 + targets[rows] @ self.velocity.T
            np.clip(out[rows], -1.0, 1.0, out=out[rows])
        return out


def along(vectors: Floats, axes: Floats) -> Floats:
    """Return the scalar products of two tracks of vectors ``(T, 3)``, ``(T,)``."""
    return np.asarray(np.einsum("tj,tj->t", vectors, axes))


def _blocks(rows: int) -> Iterator[slice]:
    return (slice(first, first + _BLOCK) for first in range(0, rows, _BLOCK))
