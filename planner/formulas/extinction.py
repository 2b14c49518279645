"""What the air takes away: air mass and extinction."""

from __future__ import annotations

import numpy as np

from targets.arrays import Numbers

# Green 1992, from memory: zenith extinction in V at sea level [mag] and scale heights [km]; they
# give back his printed table of averages.
RAYLEIGH_MAG = 0.1451
RAYLEIGH_SCALE_HEIGHT_KM = 7.996
AEROSOL_MAG = 0.120
AEROSOL_SCALE_HEIGHT_KM = 1.5
OZONE_MAG = 0.016


def air_mass(altitude_deg: Numbers) -> Numbers:
    """Return the air that light crosses, in units of the zenith's.

    Parameters
    ----------
    altitude_deg : float or ndarray
        Apparent altitude [deg]. Below the horizon counts as the horizon, where it is 37.92.

    Returns
    -------
    float or ndarray
        Relative optical air mass.

    References
    ----------
    Kasten & Young 1989, "Revised optical air mass tables and approximation formula",
    Applied Optics 28, 4735, doi:10.1364/AO.28.004735.
    """
    above_deg = np.maximum(altitude_deg, 0.0)
    bent = 0.50572 * np.power(above_deg + 6.07995, -1.6364)
    return 1.0 / (np.sin(np.radians(above_deg)) + bent)


def extinction_mag_at(elevation_m: Numbers) -> Numbers:
    """Return the usual extinction of clear air by elevation.

    Parameters
    ----------
    elevation_m : float or ndarray
        Height above the sea [m].

    Returns
    -------
    float or ndarray
        V extinction per air mass [mag]: gas, average aerosol and ozone. Haze can double it.

    References
    ----------
    Green 1992, "Correcting for atmospheric extinction", International Comet Quarterly 14, 55.
    """
    height_km = elevation_m / 1000.0
    rayleigh = RAYLEIGH_MAG * np.exp(-height_km / RAYLEIGH_SCALE_HEIGHT_KM)
    aerosol = AEROSOL_MAG * np.exp(-height_km / AEROSOL_SCALE_HEIGHT_KM)
    return rayleigh + aerosol + OZONE_MAG


def extinction_loss_mag(*, altitude_deg: Numbers, extinction_mag: Numbers) -> Numbers:
    """Return the light lost between the top of the air and the observer.

    Parameters
    ----------
    altitude_deg : float or ndarray
        Apparent altitude [deg].
    extinction_mag : float or ndarray
        Extinction per air mass [mag].

    Returns
    -------
    float or ndarray
        To add to a catalogue magnitude or surface brightness [mag].
    """
    return extinction_mag * air_mass(altitude_deg)
