"""Where the observer stands."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from targets.frozen import frozen


@frozen
class Site:
    """A place to observe from.

    Parameters
    ----------
    name : str
        As the observer calls it.
    latitude_deg, longitude_deg : float
        Geodetic position [deg]; north and east are positive.
    elevation_m : float
        Above sea level [m].
    timezone : str
        Name of its time zone, such as ``Europe/London``.
    sky_mag_arcsec2 : float
        Brightness of the moonless zenith [V mag/arcsec2].
    sky_source : str
        How that brightness is known: ``"measured"``, ``"Bortle class 4"`` or ``"assumed"``.
    extinction_mag : float or None
        Per air mass [mag]; None to take it from the elevation.
    seeing : str
        Antoniadi scale, ``"I"`` (best) .. ``"V"``.
    horizon : tuple of (float, float)
        Azimuth and altitude [deg] of the skyline, in order of azimuth; empty for a flat one.
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float = 0.0
    timezone: str = "UTC"
    sky_mag_arcsec2: float = 20.9
    sky_source: str = "assumed"
    extinction_mag: float | None = None
    seeing: str = "III"
    horizon: tuple[tuple[float, float], ...] = ()

    @property
    def zone(self) -> ZoneInfo:
        """The time zone itself."""
        return ZoneInfo(self.timezone)

    @property
    def lowest_skyline_deg(self) -> float:
        """The lowest point of the skyline [deg]; 0 for a flat one."""
        return min((altitude_deg for _, altitude_deg in self.horizon), default=0.0)

    def horizon_altitude_deg(self, azimuth_deg: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the altitude of the skyline toward an azimuth.

        Parameters
        ----------
        azimuth_deg : ndarray
            From north through east [deg], any shape.

        Returns
        -------
        ndarray
            Altitude [deg], same shape; straight lines between the given points, across north too.
        """
        if not self.horizon:
            return np.zeros_like(azimuth_deg)
        azimuths, altitudes = zip(*self.horizon, strict=True)
        return np.asarray(np.interp(azimuth_deg, azimuths, altitudes, period=360.0))
