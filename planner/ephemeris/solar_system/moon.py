"""The Moon's features at an instant: the light on them, libration, how large they look."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from planner.ephemeris.discs import AU_KM
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.aspect import aspect_of
from planner.ephemeris.solar_system.lunar_light import (
    TURNED_AWAY_DEG,
    colongitude_deg,
    foreshortened,
    from_middle_deg,
    half_width_deg,
    is_morning,
    light_quality,
    on_the_disc,
    place_of,
    place_quality,
    sun_over,
)
from planner.model.site import Site
from targets.frozen import frozen
from targets.lunar import Form, LunarPlace
from targets.model import Origin, Target

# Seas and bright patches look the same for days: what the night's light shows goes before them.
_STEADY = (Form.SEA, Form.BRIGHT_PATCH)
_STEADY_SHARE = 0.5


@frozen
class MoonFace:
    """What the Moon turns to the observer and to the Sun at an instant.

    Parameters
    ----------
    colongitude_deg : float
        Of the Sun [deg], 0 .. 360.
    libration_longitude_deg, libration_latitude_deg : float
        Place in the middle of the disc for the observer, east and north positive [deg].
    sun_longitude_deg, sun_latitude_deg : float
        Where the Sun is overhead [deg].
    pole_angle_deg, bright_limb_deg : float
        Position angles of the north pole and of the middle of the lit edge [deg].
    """

    colongitude_deg: float
    libration_longitude_deg: float
    libration_latitude_deg: float
    sun_longitude_deg: float
    sun_latitude_deg: float
    pole_angle_deg: float
    bright_limb_deg: float


@frozen
class FeatureLight:
    """A feature at an instant.

    Parameters
    ----------
    sun_altitude_deg : float
        Over its middle [deg].
    is_morning : bool
        Whether the Sun rises there.
    from_middle_deg : float
        Its distance from the middle of the disc, as an angle at the Moon's middle [deg].
    quality : float
        0 .. 1, how well the light shows what it is; 0 too when it is turned away.
    """

    target: Target
    sun_altitude_deg: float
    is_morning: bool
    from_middle_deg: float
    quality: float


def moon_face(ephemeris: Ephemeris, site: Site | None, instant: datetime) -> MoonFace:
    """Return the Moon's face for a site, or for the middle of the Earth, at an instant (aware)."""
    aspect = aspect_of(ephemeris, site, "Moon", [instant])
    (longitude,), (latitude,) = aspect.facing()
    (sun_longitude,), (sun_latitude,) = aspect.lit()
    return MoonFace(
        colongitude_deg=float(colongitude_deg(sun_longitude)),
        libration_longitude_deg=float(longitude),
        libration_latitude_deg=float(latitude),
        sun_longitude_deg=float(sun_longitude),
        sun_latitude_deg=float(sun_latitude),
        pole_angle_deg=float(aspect.pole_angle_deg()[0]),
        bright_limb_deg=float(aspect.bright_limb_deg[0]),
    )


def feature_light(face: MoonFace, feature: Target) -> FeatureLight:
    """Return the light on a feature.

    Raises ValueError if the target is not a feature of the Moon.
    """
    place = place_of(feature)
    altitude = sun_over(place, face.sun_longitude_deg, face.sun_latitude_deg)
    middle = from_middle_deg(place, face.libration_longitude_deg, face.libration_latitude_deg)
    shown = middle - half_width_deg(place) <= TURNED_AWAY_DEG
    return FeatureLight(
        target=feature,
        sun_altitude_deg=float(altitude),
        is_morning=bool(is_morning(place, face.sun_longitude_deg)),
        from_middle_deg=float(middle),
        quality=float(place_quality(place, altitude)) if shown else 0.0,
    )


def best_lit(face: MoonFace, features: Sequence[Target]) -> list[FeatureLight]:
    """Return the features that the light shows well, the finest first.

    Notes
    -----
    Ordered by light times rating; what looks the same for days counts half.
    """
    lights = [feature_light(face, feature) for feature in features]
    good = [light for light in lights if light.quality >= 0.99]
    return sorted(good, key=lambda light: (-_appeal(light), light.sun_altitude_deg))


def _appeal(light: FeatureLight) -> float:
    return light_share(light) * (light.target.visual_rating or 0)


def light_share(light: FeatureLight) -> float:
    """What the light leaves of a feature's worth, 0 .. 1: half for what looks so for days."""
    place = place_of(light.target)
    of_relief = float(light_quality(place.form, np.asarray(light.sun_altitude_deg)))
    share = _STEADY_SHARE if place.form in _STEADY or light.quality > of_relief else 1.0
    return share * light.quality


def feature_at(target: Target, moon: Target, face: MoonFace, distance_au: float) -> Target:
    """Return a feature as it is seen: with the Moon's place and its own size.

    Parameters
    ----------
    moon : Target
        The Moon at that instant.
    face : MoonFace
        At that instant.
    distance_au : float
        To the Moon [au].

    Notes
    -----
    A feature is at most 0.27 deg from the Moon's middle, whose place and altitude it is given. Its
    magnitude is its share of the Moon's light, as if all that is lit were equally bright.
    """
    place = place_of(target)
    size = float(np.degrees(place.diameter_km / (distance_au * AU_KM)) * 60.0)
    middle = from_middle_deg(place, face.libration_longitude_deg, face.libration_latitude_deg)
    short = max(float(foreshortened(size, from_middle_deg=float(middle))), 0.1 * size)
    magnitude = moon.magnitude
    if magnitude is not None:
        magnitude += 2.5 * float(np.log10((moon.major_arcmin or size) ** 2 / (size * short)))
    return replace(
        target,
        constellation=moon.constellation,
        ra_deg=moon.ra_deg,
        dec_deg=moon.dec_deg,
        major_arcmin=size,
        minor_arcmin=short,
        position_angle_deg=_along_limb_deg(place, face),
        magnitude=magnitude,
        size_origin=Origin.COMPUTED,
        magnitude_origin=Origin.COMPUTED,
    )


def _along_limb_deg(place: LunarPlace, face: MoonFace) -> float:
    """Return the position angle of the long axis of a round feature that the limb narrows [deg]."""
    toward_limb, _ = on_the_disc(
        place,
        middle=(face.libration_longitude_deg, face.libration_latitude_deg),
        pole_angle_deg=face.pole_angle_deg,
    )
    return (toward_limb + 90.0) % 180.0
