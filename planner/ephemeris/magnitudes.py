"""How bright comets and minor planets are expected to be, and how wide a coma is taken to be."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

FloatOrArray = TypeVar("FloatOrArray", float, NDArray[np.float64])

AU_KM = 149_597_870.7
# Comas that observers report measure from some 50,000 to more than a million km across; one value
# for all is our assumption, and wrong by a factor of two or three for many comets.
COMA_KM = 200_000.0


def comet_magnitude(
    absolute_mag: FloatOrArray,
    *,
    slope_k: FloatOrArray,
    distance_au: FloatOrArray,
    sun_distance_au: FloatOrArray,
) -> FloatOrArray:
    """Give the expected total magnitude of a comet.

    Parameters
    ----------
    absolute_mag : float or ndarray
        g: magnitude at 1 au from the Earth and from the Sun.
    slope_k : float or ndarray
        k of ``2.5 k log r``.
    distance_au, sun_distance_au : float or ndarray
        From the observer and from the Sun [au].

    Returns
    -------
    float or ndarray
        Magnitude; the arguments broadcast. Comets stray from it by a magnitude and more.

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", ch. 33: m = g + 5 log(distance) + kappa log(r), with
    kappa = 2.5 k in the tables of the Minor Planet Center.
    """
    return (  # type: ignore[no-any-return]
        absolute_mag + 5.0 * np.log10(distance_au) + 2.5 * slope_k * np.log10(sun_distance_au)
    )


def asteroid_magnitude(
    absolute_mag: FloatOrArray,
    *,
    slope_g: FloatOrArray,
    distance_au: FloatOrArray,
    sun_distance_au: FloatOrArray,
    earth_sun_au: float,
) -> FloatOrArray:
    """Give the expected V magnitude of a minor planet in the H, G system.

    Parameters
    ----------
    absolute_mag, slope_g : float or ndarray
        H and G.
    distance_au, sun_distance_au : float or ndarray
        From the observer and from the Sun [au].
    earth_sun_au : float
        From the observer to the Sun [au].

    Returns
    -------
    float or ndarray
        Magnitude; the arguments broadcast.

    References
    ----------
    Bowell et al. 1989, in "Asteroids II", 524; Meeus 1998, "Astronomical Algorithms", ch. 33.
    Phase angles up to 120 degrees; beyond, the formula is only a guess.
    """
    cosine = (distance_au**2 + sun_distance_au**2 - earth_sun_au**2) / (
        2.0 * distance_au * sun_distance_au
    )
    tangent = np.tan(np.arccos(np.clip(cosine, -1.0, 1.0)) / 2.0)
    phi1, phi2 = np.exp(-3.33 * tangent**0.63), np.exp(-1.87 * tangent**1.22)
    dimming = np.maximum((1.0 - slope_g) * phi1 + slope_g * phi2, 1e-9)
    distance = 5.0 * np.log10(distance_au * sun_distance_au)
    return absolute_mag + distance - 2.5 * np.log10(dimming)  # type: ignore[no-any-return]


def coma_arcmin(distance_au: FloatOrArray) -> FloatOrArray:
    """Give how wide a coma of `COMA_KM` looks [arcmin] from a distance [au]."""
    return np.degrees(COMA_KM / (AU_KM * distance_au)) * 60.0  # type: ignore[no-any-return]
