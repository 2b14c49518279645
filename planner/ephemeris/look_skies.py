"""The sky over one target at each of many instants that may lie years apart.

A night's sky comes from polynomials, see `planner.ephemeris.interpolation`; here every instant is
asked for itself, with a shorter series for the nodding of the Earth's axis: it is good to a
thousandth of an arcsecond, which is more than enough for how high a target stood.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.discs import phase_angle_deg
from planner.ephemeris.interpolation import altitude_deg, azimuth_deg, local_axes
from planner.ephemeris.kernel import Ephemeris
from planner.formulas.refraction import apparent_altitude_deg
from planner.model.site import Site
from targets.arrays import Floats
from targets.frozen import frozen
from targets.sphere import angle_deg, unit_vectors


@frozen(eq=False)
class LookSkies:
    """Where targets, the Sun and the Moon stood at N looks, a target each; all ``(N,)``.

    Parameters
    ----------
    altitude_deg, azimuth_deg : ndarray
        Of the targets, apparent; azimuths from north through east [deg].
    sun_altitude_deg, moon_altitude_deg : ndarray
        Of their centres, without refraction [deg].
    sun_separation_deg, moon_separation_deg : ndarray
        From the targets [deg].
    moon_phase_deg : ndarray
        Angle at the Moon between Sun and observer [deg], 0 when full.
    """

    altitude_deg: Floats
    azimuth_deg: Floats
    sun_altitude_deg: Floats
    sun_separation_deg: Floats
    moon_altitude_deg: Floats
    moon_separation_deg: Floats
    moon_phase_deg: Floats

    def of_rows(self, rows: NDArray[np.intp]) -> LookSkies:
        """Return some of the looks, or all in another order."""
        return LookSkies(*(getattr(self, item.name)[rows] for item in fields(self)))


def joined_skies(parts: Sequence[LookSkies]) -> LookSkies:
    """Return the looks of several sites as one."""
    names = [item.name for item in fields(LookSkies)]
    return LookSkies(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


def skies_of_looks(
    ephemeris: Ephemeris, site: Site, *, unix_s: Floats, ra_deg: Floats, dec_deg: Floats
) -> LookSkies:
    """Return the sky at N looks from one site.

    Parameters
    ----------
    site : Site
        Its coordinates count.
    unix_s : ndarray
        When, in seconds since 1970-01-01 UTC; each in the span of the ephemeris.
    ra_deg, dec_deg : ndarray
        At what, J2000 [deg].

    Notes
    -----
    The aberration of light is left out (20 arcsec).

    References
    ----------
    McCarthy and Luzum 2003, Celestial Mechanics and Dynamical Astronomy 85, 37 (IAU 2000B).
    """
    times = ephemeris.times(unix_s)
    observer = ephemeris.observer(site, times)
    turn = np.radians(times.gast * 15.0 + site.longitude_deg)
    axes = local_axes(turn, site.latitude_deg) @ np.moveaxis(times.M, -1, 0)
    sun, moon = (observer.observe(ephemeris.body(name)).xyz.au.T for name in ("Sun", "Moon"))
    targets = np.atleast_2d(unit_vectors(ra_deg, dec_deg))
    return LookSkies(
        altitude_deg=np.asarray(
            apparent_altitude_deg(altitude_deg(axes, targets), elevation_m=site.elevation_m)
        ),
        azimuth_deg=azimuth_deg(axes, targets),
        sun_altitude_deg=altitude_deg(axes, sun),
        sun_separation_deg=angle_deg(targets, sun),
        moon_altitude_deg=altitude_deg(axes, moon),
        moon_separation_deg=angle_deg(targets, moon),
        moon_phase_deg=phase_angle_deg(moon, sun),
    )
