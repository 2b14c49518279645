"""The Moon's features on a night: the light on them, libration, and when the light comes back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.aspect import Aspect, aspect_of
from planner.bodies import observe_body
from planner.discs import AU_KM, RADII
from planner.ephemeris import Ephemeris
from planner.lunar_light import (
    LIGHTS,
    TURNED_AWAY_DEG,
    Lit,
    angle_between_deg,
    colongitude_deg,
    foreshortened,
    light_quality,
    sun_altitude_deg,
)
from planner.refraction import SUNSET_ALTITUDE_DEG
from planner.site import Site
from targets.lunar import Form, LunarPlace
from targets.model import Origin, Target

FloatArray = NDArray[np.float64]

SYNODIC_MONTH_DAYS = 29.53
# How far ahead the light is looked for, and in which steps.
_AHEAD = timedelta(days=SYNODIC_MONTH_DAYS + 1.5)
_STEP = timedelta(minutes=20)
# The Moon must stand this high for a feature to be offered on a coming night [deg].
_LEAST_ALTITUDE_DEG = 15.0
# Seas and bright patches look the same for days: what the night's light shows goes before them.
_STEADY = (Form.SEA, Form.BRIGHT_PATCH)
_STEADY_SHARE = 0.5
_KM_PER_DEG = RADII["Moon"].equatorial_km * np.pi / 180.0


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class FeatureLight:
    """A feature at an instant.

    Parameters
    ----------
    target : Target
        The feature.
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


@dataclass(frozen=True, slots=True)
class LightSpan:
    """A stretch of good light on a feature.

    Parameters
    ----------
    start, end : datetime
        UTC, to 20 minutes; of the light, wherever the Moon is.
    is_morning : bool
        Whether the Sun rises there.
    nights : tuple of (datetime, datetime)
        When, within it, the Moon stands 15 deg high at the site with the Sun down, and the feature
        is turned to the observer.
    is_turned_away : bool
        Whether libration hides the feature all the while.
    """

    start: datetime
    end: datetime
    is_morning: bool
    nights: tuple[tuple[datetime, datetime], ...]
    is_turned_away: bool = False


def moon_face(ephemeris: Ephemeris, site: Site | None, instant: datetime) -> MoonFace:
    """Give the Moon's face for a site, or for the middle of the Earth, at an instant (aware)."""
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
    """Give the light on a feature.

    Raises
    ------
    ValueError
        If the target is no feature of the Moon.
    """
    place = _place(feature)
    altitude = _sun_altitude(place, face.sun_longitude_deg, face.sun_latitude_deg)
    middle = _from_middle(place, face.libration_longitude_deg, face.libration_latitude_deg)
    shown = middle - half_width_deg(place) <= TURNED_AWAY_DEG
    return FeatureLight(
        target=feature,
        sun_altitude_deg=float(altitude),
        is_morning=bool(_is_morning(place, face.sun_longitude_deg)),
        from_middle_deg=float(middle),
        quality=float(_quality(place, altitude)) if shown else 0.0,
    )


def best_lit(face: MoonFace, features: Sequence[Target]) -> list[FeatureLight]:
    """Give the features that the light shows well, the finest first.

    Notes
    -----
    Ordered by light times rating; what looks the same for days counts half.
    """
    lights = [feature_light(face, feature) for feature in features]
    good = [light for light in lights if light.quality >= 0.99]
    return sorted(good, key=lambda light: (-_appeal(light), light.sun_altitude_deg))


def _appeal(light: FeatureLight) -> float:
    place = _place(light.target)
    of_relief = float(light_quality(place.form, np.asarray(light.sun_altitude_deg)))
    share = _STEADY_SHARE if place.form in _STEADY or light.quality > of_relief else 1.0
    return share * light.quality * (light.target.visual_rating or 0)


def light_over(ephemeris: Ephemeris, site: Site, feature: Target, unix_s: FloatArray) -> FloatArray:
    """Give how well the light shows a feature at steps [s since 1970 UTC], 0 .. 1, ``(T,)``."""
    ends = [datetime.fromtimestamp(float(second), UTC) for second in (unix_s[0], unix_s[-1])]
    longitude, latitude = (
        _between(values, unix_s) for values in aspect_of(ephemeris, site, "Moon", ends).lit()
    )
    place = _place(feature)
    return _quality(place, _sun_altitude(place, longitude, latitude))


def lit_steps(
    ephemeris: Ephemeris, site: Site, features: Sequence[Target], unix_s: FloatArray
) -> NDArray[np.int8]:
    """Tell at which steps the light shows features.

    Parameters
    ----------
    ephemeris, site
        Where.
    features : sequence of Target
        N of the Moon's.
    unix_s : ndarray
        Steps [s since 1970 UTC], ``(T,)``.

    Returns
    -------
    ndarray of int8
        `planner.windows.Lit`, ``(N, T)``.
    """
    ends = [datetime.fromtimestamp(float(second), UTC) for second in (unix_s[0], unix_s[-1])]
    aspect = aspect_of(ephemeris, site, "Moon", ends)
    sun_lon, sun_lat = (_between(values, unix_s) for values in aspect.lit())
    lon, lat = (_between(values, unix_s) for values in aspect.facing())
    codes = np.empty((len(features), len(unix_s)), dtype=np.int8)
    for row, feature in enumerate(features):
        place = _place(feature)
        codes[row] = _lit_codes(
            place, _sun_altitude(place, sun_lon, sun_lat), _from_middle(place, lon, lat)
        )
    return codes


def _between(ends: FloatArray, unix_s: FloatArray) -> FloatArray:
    """Draw a line between two angles [deg] that may lie on either side of 180."""
    first, last = np.unwrap(ends, period=360.0)
    span = max(float(unix_s[-1] - unix_s[0]), 1.0)
    return np.asarray(first + (last - first) * (unix_s - unix_s[0]) / span)


def _quality(place: LunarPlace, altitude: FloatArray) -> FloatArray:
    """Give how well the light shows a feature, or the rays around it, 0 .. 1."""
    quality = light_quality(place.form, altitude)
    if not place.has_rays:
        return quality
    return np.where(altitude >= LIGHTS[Form.BRIGHT_PATCH].best_from_deg, 1.0, quality)


def _lit_codes(place: LunarPlace, altitude: FloatArray, middle: FloatArray) -> NDArray[np.int8]:
    light = LIGHTS[place.form]
    return np.select(
        [
            middle - half_width_deg(place) > TURNED_AWAY_DEG,
            _quality(place, altitude) > 0.0,
            altitude < min(light.from_deg, 1.0),
            altitude < light.from_deg,
            altitude > light.until_deg,
        ],
        [Lit.TURNED_AWAY, Lit.WELL, Lit.NIGHT, Lit.TOO_LOW, Lit.TOO_HIGH],
        default=Lit.WELL,
    ).astype(np.int8)


def coming_light(
    ephemeris: Ephemeris, site: Site, feature: Target, start: datetime
) -> tuple[LightSpan, ...]:
    """Find when, within a month, the light shows a feature best, and the Moon can be seen then.

    Parameters
    ----------
    ephemeris, site, feature
        Where, and what.
    start : datetime
        Aware.

    Returns
    -------
    tuple of LightSpan
        In order of time; the first may have begun before the start.
    """
    count = int(_AHEAD / _STEP)
    instants = [start.astimezone(UTC) + k * _STEP for k in range(count)]
    instants = [i for i in instants if ephemeris.first_night <= i.date() <= ephemeris.last_night]
    if not instants:
        return ()
    aspect = aspect_of(ephemeris, site, "Moon", instants)
    place = _place(feature)
    (sun_lon, sun_lat), (lon, lat) = aspect.lit(), aspect.facing()
    good = light_quality(place.form, _sun_altitude(place, sun_lon, sun_lat)) >= 0.99
    shown = _from_middle(place, lon, lat) - half_width_deg(place) <= TURNED_AWAY_DEG
    seen = shown & _is_up(ephemeris, site, aspect, instants)
    morning = _is_morning(place, sun_lon)
    return tuple(
        LightSpan(
            start=instants[first],
            end=instants[last],
            is_morning=bool(morning[(first + last) // 2]),
            nights=tuple(
                (instants[first + a], instants[first + b])
                for a, b in _runs(seen[first : last + 1])
                if b > a
            ),
            is_turned_away=not bool(shown[first : last + 1].any()),
        )
        for first, last in _runs(good)
        if last > first
    )


def _is_up(
    ephemeris: Ephemeris, site: Site, aspect: Aspect, instants: Sequence[datetime]
) -> NDArray[np.bool_]:
    moon = observe_body(ephemeris, site, "Moon", instants)
    # The Sun's way is asked for through the Moon's aspect, which has both.
    from_observer = aspect.sight_au + aspect.sun_au
    sine = np.einsum("tj,tj->t", from_observer, aspect.up) / np.linalg.norm(from_observer, axis=1)
    sun_down = np.degrees(np.arcsin(sine)) < SUNSET_ALTITUDE_DEG
    return np.asarray((moon.altitude_deg >= _LEAST_ALTITUDE_DEG) & sun_down)


def _runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Give first and last index of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def feature_at(target: Target, moon: Target, face: MoonFace, distance_au: float) -> Target:
    """Give a feature as it is seen: with the Moon's place and its own size.

    Parameters
    ----------
    target : Target
        The feature.
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
    place = _place(target)
    size = float(np.degrees(place.diameter_km / (distance_au * AU_KM)) * 60.0)
    middle = _from_middle(place, face.libration_longitude_deg, face.libration_latitude_deg)
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
    """Give the position angle of the long axis of a round feature that the limb narrows [deg]."""
    phi, middle = np.radians([place.latitude_deg, face.libration_latitude_deg])
    east = np.radians(place.longitude_deg - face.libration_longitude_deg)
    x = np.cos(phi) * np.sin(east)
    y = np.sin(phi) * np.cos(middle) - np.cos(phi) * np.sin(middle) * np.cos(east)
    # The Moon's own east is toward the west of the sky.
    toward_limb = face.pole_angle_deg + float(np.degrees(np.arctan2(-x, y)))
    return (toward_limb + 90.0) % 180.0


def half_width_deg(place: LunarPlace) -> float:
    """Give how far a feature reaches on either side of its middle, as an angle at the Moon's."""
    return place.diameter_km / 2.0 / float(_KM_PER_DEG)


def _place(feature: Target) -> LunarPlace:
    if feature.lunar is None:
        raise ValueError(f"{feature.name} is no feature of the Moon.")
    return feature.lunar


def _sun_altitude(
    place: LunarPlace, sun_longitude: FloatArray | float, sun_latitude: FloatArray | float
) -> FloatArray:
    return np.asarray(
        sun_altitude_deg(
            np.asarray(place.latitude_deg),
            np.asarray(place.longitude_deg),
            sun_latitude_deg=np.asarray(sun_latitude),
            sun_longitude_deg=np.asarray(sun_longitude),
        )
    )


def _from_middle(
    place: LunarPlace, longitude: FloatArray | float, latitude: FloatArray | float
) -> FloatArray:
    return np.asarray(
        angle_between_deg(
            np.asarray(place.latitude_deg),
            np.asarray(place.longitude_deg),
            other_latitude_deg=np.asarray(latitude),
            other_longitude_deg=np.asarray(longitude),
        )
    )


def _is_morning(place: LunarPlace, sun_longitude: FloatArray | float) -> NDArray[np.bool_]:
    """Whether the Sun stands to the east of a place: it goes from east to west there too."""
    return np.asarray((np.asarray(sun_longitude) - place.longitude_deg) % 360.0 < 180.0)
