"""Comets and minor planets: where they stand and how bright they are expected to be."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from skyfield.constants import C_AUDAY
from skyfield.vectorlib import VectorFunction

from planner.ephemeris.kepler import orbit_position_au
from planner.ephemeris.kernel import Ephemeris, unix_seconds
from planner.model.site import Site
from targets.arrays import Floats
from targets.elements import Elements
from targets.frozen import frozen
from targets.model import Kind
from targets.sphere import angle_deg

_SUN = 10  # NAIF number
# Velocity comes from a step this long [d]; it only serves the change of light time.
_STEP_DAYS = 0.01
# Slope parameters where a file gives none: G by convention (Bowell et al. 1989), k for 10 log r,
# the usual assumption for comets of which little is known (common practice).
USUAL_G = 0.15
USUAL_K = 4.0


@frozen(eq=False)
class MinorPlace:
    """N comets or minor planets at one instant each; arrays of shape (N,).

    Parameters
    ----------
    ra_deg, dec_deg : ndarray
        Astrometric, J2000 [deg].
    distance_au : ndarray
        From the observer [au].
    elongation_deg : ndarray
        Angle from the Sun in the sky [deg].
    magnitude : ndarray
        Expected; NaN where the elements come without an absolute magnitude.
    """

    ra_deg: Floats
    dec_deg: Floats
    distance_au: Floats
    elongation_deg: Floats
    magnitude: Floats


class _OnOrbit(VectorFunction):  # type: ignore[misc]  # skyfield ships no types
    """A body on undisturbed elements, as skyfield observes it."""

    def __init__(self, elements: Elements) -> None:
        self.center = _SUN
        self.target = self
        self._perihelion_jd = elements.perihelion_jd
        self._shape = _columns([elements])[:, 0]

    @property
    def vector_name(self) -> str:
        return "Orbit"

    def _at(self, t: Any) -> tuple[Floats, Floats, None, None]:
        days = np.asarray(t.whole - self._perihelion_jd + t.tdb_fraction)
        here, ahead = (_on_orbit(days + step, self._shape) for step in (0.0, _STEP_DAYS))
        return np.moveaxis(here, -1, 0), np.moveaxis(ahead - here, -1, 0) / _STEP_DAYS, None, None


def minor_body(ephemeris: Ephemeris, elements: Elements) -> Any:
    """Return a body on its orbit as an object of skyfield, to be observed like a planet."""
    return ephemeris.body("Sun") + _OnOrbit(elements)


def observe_minor(
    ephemeris: Ephemeris, site: Site, bodies: Sequence[tuple[Kind, Elements]], instant: datetime
) -> MinorPlace:
    """Work out how comets and minor planets appear from a site, all at once.

    Parameters
    ----------
    bodies : sequence of (Kind, Elements)
        N of them, of kind COMET or ASTEROID.
    instant : datetime
        Aware.

    Raises
    ------
    OutsideEphemerisError
        If there are no positions for the instant.

    Notes
    -----
    Light time is taken off twice, which leaves less than 0.1 arcsec. No perturbations: see
    `planner.ephemeris.kepler`.
    """
    ephemeris.check_instant(instant)
    time = ephemeris.times(unix_seconds([instant]))[0]
    observer = ephemeris.observer(site, time).xyz.au
    sun = ephemeris.body("Sun").at(time).xyz.au
    elements = [element for _, element in bodies]
    since = np.array([time.tdb - element.perihelion_jd for element in elements])
    away_au, shape = np.zeros(len(elements)), _columns(elements)
    for _ in range(3):
        from_sun = _on_orbit(since - away_au / C_AUDAY, shape)
        seen = from_sun + sun - observer
        away_au = np.linalg.norm(seen, axis=-1)
    sun_distance_au = np.linalg.norm(from_sun, axis=-1)
    to_sun, sun_au = sun - observer, float(np.linalg.norm(sun - observer))
    return MinorPlace(
        ra_deg=np.degrees(np.arctan2(seen[:, 1], seen[:, 0])) % 360.0,
        dec_deg=np.degrees(np.arcsin(seen[:, 2] / away_au)),
        distance_au=away_au,
        elongation_deg=angle_deg(seen, to_sun),
        magnitude=_magnitudes(bodies, away_au, sun_distance_au, sun_au),
    )


def _columns(elements: Sequence[Elements]) -> Floats:
    """Return the shape of N orbits, (5, N)."""
    rows = [
        (e.perihelion_au, e.eccentricity, e.argument_deg, e.node_deg, e.inclination_deg)
        for e in elements
    ]
    return np.array(rows, dtype=float).reshape(-1, 5).T


def _on_orbit(days: Floats, columns: Floats) -> Floats:
    q, e, argument, node, inclination = columns
    return orbit_position_au(
        days,
        perihelion_au=q,
        eccentricity=e,
        argument_deg=argument,
        node_deg=node,
        inclination_deg=inclination,
    )


def _magnitudes(
    bodies: Sequence[tuple[Kind, Elements]], away_au: Floats, sun_au: Floats, earth_au: float
) -> Floats:
    is_comet = np.array([kind is Kind.COMET for kind, _ in bodies], dtype=bool)
    absolute = _column(bodies, "absolute_mag", np.full(len(bodies), np.nan))
    slope = _column(bodies, "slope", np.where(is_comet, USUAL_K, USUAL_G))
    comets = comet_magnitude(absolute, slope_k=slope, distance_au=away_au, sun_distance_au=sun_au)
    asteroids = asteroid_magnitude(
        absolute, slope_g=slope, distance_au=away_au, sun_distance_au=sun_au, earth_sun_au=earth_au
    )
    return np.where(is_comet, comets, asteroids)


def _column(bodies: Sequence[tuple[Kind, Elements]], name: str, usual: Floats) -> Floats:
    known = np.array([getattr(elements, name) for _, elements in bodies], dtype=float)
    return np.where(np.isnan(known), usual, known)


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
    """Return the expected total magnitude of a comet.

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
    """Return the expected V magnitude of a minor planet in the H, G system.

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
    """Return how wide a coma of `COMA_KM` looks [arcmin] from a distance [au]."""
    return np.degrees(COMA_KM / (AU_KM * distance_au)) * 60.0  # type: ignore[no-any-return]
