"""The Moon and planets as they appear at chosen instants: place, size, brightness, phase."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from skyfield.constellationlib import load_constellation_map
from skyfield.framelib import ecliptic_frame
from skyfield.magnitudelib import planetary_magnitude
from skyfield.positionlib import position_of_radec

from planner.ephemeris.discs import (
    RADII,
    angular_diameter_arcsec,
    lit_fraction,
    moon_magnitude,
    phase_angle_deg,
    ring_axes_arcsec,
    ring_tilt_deg,
    tilted_diameter_arcsec,
)
from planner.ephemeris.kernel import (
    BODIES,
    Ephemeris,
    UnknownBodyError,
    apparent_place,
    unix_seconds,
)
from planner.model.site import Site
from targets.arrays import Floats
from targets.frozen import frozen


@frozen(eq=False)
class Rings:
    """Saturn's rings, outer edge of ring A; each ``(T,)``.

    Parameters
    ----------
    major_arcsec, minor_arcsec : ndarray
        Full axes [arcsec].
    tilt_deg : ndarray
        Toward the observer [deg]; positive when the northern face is seen.
    """

    major_arcsec: Floats
    minor_arcsec: Floats
    tilt_deg: Floats


@frozen(eq=False)
class BodyEphemeris:
    """A body as seen from a site at chosen instants; each array ``(T,)``.

    Parameters
    ----------
    name : str
        Such as ``Saturn``.
    ra_deg, dec_deg : ndarray
        Apparent place, true equator and equinox of date [deg].
    ra_j2000_deg, dec_j2000_deg : ndarray
        Astrometric place among catalogue stars [deg].
    altitude_deg, azimuth_deg : ndarray
        Of the centre, without refraction; azimuth from north through east [deg].
    distance_au : ndarray
        From the observer [au].
    equatorial_arcsec, polar_arcsec : ndarray
        Long and short axis of the disc [arcsec]; Saturn without its rings.
    magnitude : ndarray
        V; NaN where its formula is not valid, see `magnitude_at`.
    phase_deg : ndarray
        Angle at the body between Sun and observer [deg].
    illuminated : ndarray
        Lit fraction of the disc, 0 .. 1.
    elongation_deg : ndarray
        Angle between the body and the Sun in the sky [deg].
    rings : Rings or None
        Saturn's.
    """

    name: str
    ra_deg: Floats
    dec_deg: Floats
    ra_j2000_deg: Floats
    dec_j2000_deg: Floats
    altitude_deg: Floats
    azimuth_deg: Floats
    distance_au: Floats
    equatorial_arcsec: Floats
    polar_arcsec: Floats
    magnitude: Floats
    phase_deg: Floats
    illuminated: Floats
    elongation_deg: Floats
    rings: Rings | None = None

    def magnitude_at(self, index: int) -> float | None:
        """Return the V magnitude at one instant, None where it is unknown."""
        value = float(self.magnitude[index])
        return None if np.isnan(value) else value


def observe_body(
    ephemeris: Ephemeris, site: Site, name: str, instants: Sequence[datetime]
) -> BodyEphemeris:
    """Work out how the Moon or a planet appears from a site.

    Parameters
    ----------
    name : str
        ``Moon``, or ``Mercury`` .. ``Neptune``.
    instants : sequence of datetime.datetime
        Aware, at least one.

    Returns
    -------
    BodyEphemeris
        Arrays in the order of the instants.

    Raises
    ------
    UnknownBodyError
        If the name is not one of those.
    ValueError
        If an instant has no time zone.
    OutsideEphemerisError
        If there are no positions for an instant.

    Notes
    -----
    Magnitudes of planets leave out the turning of Mars (0.06 mag) and take the Sun to stand at
    the barycentre of the solar system, which shifts Mercury by up to some 0.1 mag.

    References
    ----------
    Mallama and Hilton 2018, "Computing apparent planetary magnitudes for The Astronomical
    Almanac", Astronomy and Computing 25, 10. Meeus 1998, "Astronomical Algorithms", ch. 45.
    """
    if name not in BODIES:
        raise UnknownBodyError(f"{name!r} cannot be observed; allowed are {', '.join(BODIES)}.")
    seconds = unix_seconds(instants)
    for instant in instants:
        ephemeris.check_instant(instant)
    observer, sun = observer_and_sun(ephemeris, site, tuple(seconds.tolist()))
    astrometric = observer.observe(ephemeris.body(name))
    phase_deg = phase_angle_deg(astrometric.xyz.au.T, sun.xyz.au.T)
    distance_au = astrometric.distance().au
    rings = _rings(astrometric) if name == "Saturn" else None
    return BodyEphemeris(
        name=name,
        distance_au=distance_au,
        magnitude=_magnitude(name, astrometric, sun, phase_deg),
        phase_deg=phase_deg,
        illuminated=lit_fraction(phase_deg),
        elongation_deg=astrometric.separation_from(sun).degrees,
        rings=rings,
        **_places(astrometric),
        **_disc(name, distance_au, rings),
    )


@lru_cache(maxsize=32)
def observer_and_sun(ephemeris: Ephemeris, site: Site, unix_s: tuple[float, ...]) -> Any:
    """Return where the observer and the Sun are: the same for all bodies of an instant."""
    observer = ephemeris.observer(site, ephemeris.times(np.array(unix_s)))
    return observer, observer.observe(ephemeris.body("Sun"))


def find_constellation(ra_deg: float, dec_deg: float) -> str:
    """Name the constellation in which a place lies; see `find_constellations`."""
    return str(find_constellations(ra_deg, dec_deg))


def find_constellations(ra_deg: ArrayLike, dec_deg: ArrayLike) -> NDArray[np.str_]:
    """Name the constellations in which places lie.

    Parameters
    ----------
    ra_deg, dec_deg : array_like
        J2000 [deg].

    Returns
    -------
    ndarray of str
        Three-letter IAU abbreviations, such as ``Oph``, of the same shape.

    References
    ----------
    Roman 1987, "Identification of a constellation from a position", PASP 99, 695.
    """
    ra_h = np.asarray(ra_deg, dtype=float) / 15.0
    places = position_of_radec(ra_h, np.asarray(dec_deg, dtype=float))
    return np.asarray(_constellations()(places))


@cache
def _constellations() -> Any:
    return load_constellation_map()


def _places(astrometric: Any) -> dict[str, Floats]:
    apparent = apparent_place(astrometric)
    right_ascension, declination, _ = apparent.radec(epoch="date")
    j2000_right_ascension, j2000_declination, _ = astrometric.radec()
    altitude, azimuth, _ = apparent.altaz()
    return {
        "ra_deg": right_ascension.hours * 15.0,
        "dec_deg": declination.degrees,
        "ra_j2000_deg": j2000_right_ascension.hours * 15.0,
        "dec_j2000_deg": j2000_declination.degrees,
        "altitude_deg": altitude.degrees,
        "azimuth_deg": azimuth.degrees,
    }


def _disc(name: str, distance_au: Floats, rings: Rings | None) -> dict[str, Floats]:
    """Return the axes of the disc. Only Saturn leans far enough to look rounder than it is."""
    equatorial = angular_diameter_arcsec(RADII[name].equatorial_km, distance_au)
    polar = angular_diameter_arcsec(RADII[name].polar_km, distance_au)
    if rings is not None:
        polar = tilted_diameter_arcsec(equatorial, polar, tilt_deg=rings.tilt_deg)
    return {"equatorial_arcsec": equatorial, "polar_arcsec": polar}


def _rings(astrometric: Any) -> Rings:
    latitude, longitude, distance = astrometric.frame_latlon(ecliptic_frame)
    centuries = (astrometric.t.J - 2000.0) / 100.0
    tilt_deg = ring_tilt_deg(longitude.degrees, latitude.degrees, centuries=centuries)
    major_arcsec, minor_arcsec = ring_axes_arcsec(distance.au, tilt_deg)
    return Rings(major_arcsec, minor_arcsec, tilt_deg)


def _magnitude(name: str, astrometric: Any, sun: Any, phase_deg: Floats) -> Floats:
    if name != "Moon":
        return np.asarray(planetary_magnitude(astrometric), dtype=np.float64)
    return moon_magnitude(
        phase_deg,
        distance_au=astrometric.distance().au,
        sun_distance_au=np.linalg.norm(astrometric.xyz.au - sun.xyz.au, axis=0),
    )
