"""A feature's place on the Moon against the Sun and the observer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.discs import RADII
from planner.ephemeris.solar_system.lunar_light import (
    LIGHTS,
    angle_between_deg,
    light_quality,
    sun_altitude_deg,
)
from targets.lunar import Form, LunarPlace
from targets.model import Target

FloatArray = NDArray[np.float64]

_KM_PER_DEG = RADII["Moon"].equatorial_km * np.pi / 180.0


def place_quality(place: LunarPlace, altitude: FloatArray) -> FloatArray:
    """Give how well the light shows a feature, or the rays around it, 0 .. 1."""
    quality = light_quality(place.form, altitude)
    if not place.has_rays:
        return quality
    return np.where(altitude >= LIGHTS[Form.BRIGHT_PATCH].best_from_deg, 1.0, quality)


def half_width_deg(place: LunarPlace) -> float:
    """Give how far a feature reaches on either side of its middle, as an angle at the Moon's."""
    return place.diameter_km / 2.0 / float(_KM_PER_DEG)


def place_of(feature: Target) -> LunarPlace:
    """Give a feature's place; ValueError when the target is no feature of the Moon."""
    if feature.lunar is None:
        raise ValueError(f"{feature.name} is no feature of the Moon.")
    return feature.lunar


def sun_over(
    place: LunarPlace, sun_longitude: FloatArray | float, sun_latitude: FloatArray | float
) -> FloatArray:
    """Give how high the Sun stands over a place [deg], from where it is overhead [deg]."""
    return np.asarray(
        sun_altitude_deg(
            np.asarray(place.latitude_deg),
            np.asarray(place.longitude_deg),
            sun_latitude_deg=np.asarray(sun_latitude),
            sun_longitude_deg=np.asarray(sun_longitude),
        )
    )


def from_middle_deg(
    place: LunarPlace, longitude: FloatArray | float, latitude: FloatArray | float
) -> FloatArray:
    """Give how far a place is from the middle of the disc [deg], which is at a place [deg]."""
    return np.asarray(
        angle_between_deg(
            np.asarray(place.latitude_deg),
            np.asarray(place.longitude_deg),
            other_latitude_deg=np.asarray(latitude),
            other_longitude_deg=np.asarray(longitude),
        )
    )


def is_morning(place: LunarPlace, sun_longitude: FloatArray | float) -> NDArray[np.bool_]:
    """Whether the Sun stands to the east of a place: it goes from east to west there too."""
    return np.asarray((np.asarray(sun_longitude) - place.longitude_deg) % 360.0 < 180.0)
