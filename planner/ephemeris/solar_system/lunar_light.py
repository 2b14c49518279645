"""SunAltitudes on the Moon: how high the Sun stands over a place, how a place lies on the disc.

Longitudes are selenographic, east positive: Mare Crisium is east, at the right edge as the naked
eye sees it from the northern hemisphere.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.discs import RADII
from targets.arrays import Floats
from targets.frozen import frozen
from targets.lunar import Form, LunarPlace
from targets.model import Target
from targets.sphere import separation_deg

FloatOrArray = TypeVar("FloatOrArray", float, Floats)


class Sunlight(IntEnum):
    """What the Sun does for a feature of the Moon."""

    WELL = 0
    NIGHT = 1
    TOO_LOW = 2
    TOO_HIGH = 3
    TURNED_AWAY = 4


@frozen
class SunAltitudes:
    """Altitudes of the Sun that show a form of feature [deg].

    Parameters
    ----------
    from_deg, best_from_deg, best_until_deg, until_deg : float
        Worth a look from the first to the last, best between the two in the middle.
    """

    from_deg: float
    best_from_deg: float
    best_until_deg: float
    until_deg: float


# Common practice: domes and ridges 1 to 4 deg, craters, rilles and scarps 3 to 15, peaks and
# terraces to 25, rays and bright patches above 40. The seas, which have no published range, ask
# for the whole of them to be lit (our choice).
_NEVER_TOO_HIGH_DEG = 91.0
_RELIEF = SunAltitudes(1.5, 3.0, 15.0, 25.0)
_LOW_RELIEF = SunAltitudes(0.5, 1.0, 4.0, 8.0)
SUN_ALTITUDES = {
    Form.SEA: SunAltitudes(3.0, 10.0, 90.0, _NEVER_TOO_HIGH_DEG),
    Form.BAY: _RELIEF,
    Form.CRATER: _RELIEF,
    Form.MOUNTAIN: _RELIEF,
    Form.CHAIN: _RELIEF,
    Form.SCARP: SunAltitudes(1.5, 3.0, 15.0, 20.0),
    Form.VALLEY: SunAltitudes(1.5, 3.0, 15.0, 20.0),
    Form.RILLE: SunAltitudes(1.5, 3.0, 15.0, 20.0),
    Form.RIDGE: _LOW_RELIEF,
    Form.DOME: _LOW_RELIEF,
    Form.LOW_RELIEF: _LOW_RELIEF,
    Form.BRIGHT_PATCH: SunAltitudes(25.0, 40.0, 90.0, _NEVER_TOO_HIGH_DEG),
}
# Farther than this from the middle of the disc a place is seen edge on (our choice) [deg].
TURNED_AWAY_DEG = 86.0


def sun_altitude_deg(
    latitude_deg: FloatOrArray,
    longitude_deg: FloatOrArray,
    *,
    sun_latitude_deg: FloatOrArray,
    sun_longitude_deg: FloatOrArray,
) -> Floats:
    """Return how high the middle of the Sun stands over a place on the Moon.

    Parameters
    ----------
    latitude_deg, longitude_deg : float or ndarray
        Of the place [deg], east positive.
    sun_latitude_deg, sun_longitude_deg : float or ndarray
        Where the Sun is overhead [deg], east positive.

    Returns
    -------
    ndarray
        Above the horizon of a smooth Moon [deg]; the arguments broadcast.

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 53, with 90 deg - l for the colongitude.
    """
    return 90.0 - separation_deg(longitude_deg, latitude_deg, sun_longitude_deg, sun_latitude_deg)


def colongitude_deg(sun_longitude_deg: FloatOrArray) -> FloatOrArray:
    """Return the Sun's selenographic colongitude from where it is overhead [deg, east positive].

    Returns
    -------
    float or ndarray
        The western longitude of the morning terminator [deg], 0 .. 360: about 270 at new Moon, 0
        at first quarter, 90 at full, 180 at last quarter.

    References
    ----------
    Meeus 1998, "Astronomical Algorithms", 2nd ed., ch. 53.
    """
    return (90.0 - sun_longitude_deg) % 360.0


def light_quality(form: Form, altitude_deg: Floats) -> Floats:
    """Return how well the Sun's altitude [deg] shows a form: 1 at best, 0 where it does not."""
    light = SUN_ALTITUDES[form]
    knots = [light.from_deg, light.best_from_deg, light.best_until_deg, light.until_deg]
    inside = (altitude_deg >= light.from_deg) & (altitude_deg <= light.until_deg)
    return np.where(inside, np.interp(altitude_deg, knots, [0.3, 1.0, 1.0, 0.3]), 0.0)


def foreshortened(size_arcmin: FloatOrArray, *, from_middle_deg: FloatOrArray) -> FloatOrArray:
    """Return the short axis of a round place on the Moon as the limb narrows it.

    Parameters
    ----------
    size_arcmin : float or ndarray
        Seen face on [arcmin].
    from_middle_deg : float or ndarray
        From the middle of the disc, as an angle at the Moon's middle [deg].

    Returns
    -------
    float or ndarray
        Toward the limb [arcmin]; 0 beyond it.
    """
    return size_arcmin * np.maximum(np.cos(np.radians(from_middle_deg)), 0.0)  # type: ignore[no-any-return]


_KM_PER_DEG = RADII["Moon"].equatorial_km * np.pi / 180.0


def place_quality(place: LunarPlace, altitude: Floats) -> Floats:
    """Return how well the light shows a feature, or the rays around it, 0 .. 1."""
    quality = light_quality(place.form, altitude)
    if not place.has_rays:
        return quality
    return np.where(altitude >= SUN_ALTITUDES[Form.BRIGHT_PATCH].best_from_deg, 1.0, quality)


def half_width_deg(place: LunarPlace) -> float:
    """Return how far a feature reaches on either side of its middle, as an angle at the Moon's."""
    return place.diameter_km / 2.0 / float(_KM_PER_DEG)


def place_of(feature: Target) -> LunarPlace:
    """Return a feature's place; ValueError when the target is not a feature of the Moon."""
    if feature.lunar is None:
        raise ValueError(f"{feature.name} is not a feature of the Moon.")
    return feature.lunar


def sun_over(
    place: LunarPlace, sun_longitude: Floats | float, sun_latitude: Floats | float
) -> Floats:
    """Return how high the Sun stands over a place [deg], from where it is overhead [deg]."""
    return np.asarray(
        sun_altitude_deg(
            np.asarray(place.latitude_deg),
            np.asarray(place.longitude_deg),
            sun_latitude_deg=np.asarray(sun_latitude),
            sun_longitude_deg=np.asarray(sun_longitude),
        )
    )


def from_middle_deg(
    place: LunarPlace, longitude: Floats | float, latitude: Floats | float
) -> Floats:
    """Return how far a place is from the middle of the disc [deg], which is at a place [deg]."""
    return separation_deg(place.longitude_deg, place.latitude_deg, longitude, latitude)


def on_the_disc(
    place: LunarPlace, *, middle: tuple[float, float], pole_angle_deg: float
) -> tuple[float, float]:
    """Find where on the Moon's disc a feature is seen, as from far away.

    Parameters
    ----------
    place : LunarPlace
        Of the feature.
    middle : tuple of float
        Longitude and latitude in the middle of the disc, east and north positive [deg].
    pole_angle_deg : float
        Position angle of the Moon's north pole [deg].

    Returns
    -------
    position_angle_deg : float
        From the middle of the disc, north through east in the sky [deg].
    part : float
        Distance from the middle in radii, 0 .. 1.

    References
    ----------
    Snyder 1987, "Map Projections: A Working Manual", USGS Professional Paper 1395, eqs. 20-3, 20-4.
    """
    latitude, center = np.radians([place.latitude_deg, middle[1]])
    east = np.radians(place.longitude_deg - middle[0])
    x = np.cos(latitude) * np.sin(east)
    y = np.sin(latitude) * np.cos(center) - np.cos(latitude) * np.sin(center) * np.cos(east)
    # The Moon's own east is toward the west of the sky.
    angle = pole_angle_deg + np.degrees(np.arctan2(-x, y))
    return float(angle % 360.0), float(np.hypot(x, y))


def is_morning(place: LunarPlace, sun_longitude: Floats | float) -> NDArray[np.bool_]:
    """Whether the Sun stands to the east of a place: it goes from east to west there too."""
    return np.asarray((np.asarray(sun_longitude) - place.longitude_deg) % 360.0 < 180.0)
