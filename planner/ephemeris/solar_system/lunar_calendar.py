"""When the light shows features of the Moon: through a night, and through the month to come."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.almanac import hidden_sun_deg
from planner.ephemeris.bodies import observe_body
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.solar_system.aspect import Aspect, aspect_of
from planner.ephemeris.solar_system.lunar_light import (
    SUN_ALTITUDES,
    TURNED_AWAY_DEG,
    Sunlight,
    from_middle_deg,
    half_width_deg,
    is_morning,
    light_quality,
    place_of,
    place_quality,
    sun_over,
)
from planner.model.site import Site
from targets.arrays import Floats, runs_of
from targets.frozen import frozen
from targets.lunar import LunarPlace
from targets.model import Target

SYNODIC_MONTH_DAYS = 29.53
# How far ahead the light is looked for, and in which steps.
_AHEAD = timedelta(days=SYNODIC_MONTH_DAYS + 1.5)
_STEP = timedelta(minutes=20)
# The Moon must stand this high for a feature to be offered on a coming night [deg].
_LEAST_ALTITUDE_DEG = 15.0
_OVERHEAD_DEG = 90.0


@frozen
class LightSpan:
    """A stretch of good light on a feature.

    Parameters
    ----------
    start, end : datetime
        UTC, to 20 minutes; of the light, wherever the Moon is.
    is_morning : bool or None
        Whether the Sun rises there; None for what a high Sun shows too, such as a sea.
    nights : tuple of (datetime, datetime)
        When, within it, the Moon stands 15 deg high at the site with the Sun down, and the feature
        is turned to the observer.
    is_turned_away : bool
        Whether libration hides the feature all the while.
    """

    start: datetime
    end: datetime
    is_morning: bool | None
    nights: tuple[tuple[datetime, datetime], ...]
    is_turned_away: bool = False


def light_over(ephemeris: Ephemeris, site: Site, feature: Target, unix_s: Floats) -> Floats:
    """Return how well the light shows a feature at steps [s since 1970 UTC], 0 .. 1, ``(T,)``."""
    ends = [datetime.fromtimestamp(float(second), UTC) for second in (unix_s[0], unix_s[-1])]
    longitude, latitude = (
        _between(values, unix_s) for values in aspect_of(ephemeris, site, "Moon", ends).lit()
    )
    place = place_of(feature)
    return place_quality(place, sun_over(place, longitude, latitude))


def lit_steps(
    ephemeris: Ephemeris, site: Site, features: Sequence[Target], unix_s: Floats
) -> NDArray[np.int8]:
    """Tell at which steps the light shows features.

    Parameters
    ----------
    features : sequence of Target
        N of the Moon's.
    unix_s : ndarray
        Steps [s since 1970 UTC], ``(T,)``.

    Returns
    -------
    ndarray of int8
        `planner.planning.windows.Sunlight`, ``(N, T)``.
    """
    ends = [datetime.fromtimestamp(float(second), UTC) for second in (unix_s[0], unix_s[-1])]
    aspect = aspect_of(ephemeris, site, "Moon", ends)
    sun_lon, sun_lat = (_between(values, unix_s) for values in aspect.lit())
    lon, lat = (_between(values, unix_s) for values in aspect.facing())
    codes = np.empty((len(features), len(unix_s)), dtype=np.int8)
    for row, feature in enumerate(features):
        place = place_of(feature)
        codes[row] = _lit_codes(
            place, sun_over(place, sun_lon, sun_lat), from_middle_deg(place, lon, lat)
        )
    return codes


def _between(ends: Floats, unix_s: Floats) -> Floats:
    """Draw a line between two angles [deg] that may lie on either side of 180."""
    first, last = np.unwrap(ends, period=360.0)
    span = max(float(unix_s[-1] - unix_s[0]), 1.0)
    return np.asarray(first + (last - first) * (unix_s - unix_s[0]) / span)


def _lit_codes(place: LunarPlace, altitude: Floats, middle: Floats) -> NDArray[np.int8]:
    light = SUN_ALTITUDES[place.form]
    return np.select(
        [
            middle - half_width_deg(place) > TURNED_AWAY_DEG,
            place_quality(place, altitude) > 0.0,
            altitude < min(light.from_deg, 1.0),
            altitude < light.from_deg,
            altitude > light.until_deg,
        ],
        [Sunlight.TURNED_AWAY, Sunlight.WELL, Sunlight.NIGHT, Sunlight.TOO_LOW, Sunlight.TOO_HIGH],
        default=Sunlight.WELL,
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
    place = place_of(feature)
    (sun_lon, sun_lat), (lon, lat) = aspect.lit(), aspect.facing()
    good = light_quality(place.form, sun_over(place, sun_lon, sun_lat)) >= 0.99
    shown = from_middle_deg(place, lon, lat) - half_width_deg(place) <= TURNED_AWAY_DEG
    seen = shown & _is_up(ephemeris, site, aspect, instants)
    in_morning = is_morning(place, sun_lon)
    is_low_light = SUN_ALTITUDES[place.form].best_until_deg < _OVERHEAD_DEG
    return tuple(
        LightSpan(
            start=instants[first],
            end=instants[end - 1],
            is_morning=bool(in_morning[(first + end - 1) // 2]) if is_low_light else None,
            nights=tuple(
                (instants[first + a], instants[first + b - 1])
                for a, b in runs_of(seen[first:end])
                if b - a > 1
            ),
            is_turned_away=not bool(shown[first:end].any()),
        )
        for first, end in runs_of(good)
        if end - first > 1
    )


def _is_up(
    ephemeris: Ephemeris, site: Site, aspect: Aspect, instants: Sequence[datetime]
) -> NDArray[np.bool_]:
    moon = observe_body(ephemeris, site, "Moon", instants)
    # The Sun's way is asked for through the Moon's aspect, which has both.
    from_observer = aspect.sight_au + aspect.sun_au
    sine = np.einsum("tj,tj->t", from_observer, aspect.up) / np.linalg.norm(from_observer, axis=1)
    sun_down = np.degrees(np.arcsin(sine)) < hidden_sun_deg(site)
    return np.asarray((moon.altitude_deg >= _LEAST_ALTITUDE_DEG) & sun_down)
