"""The year of a fixed target at a site: how high it gets, and how often it is as well placed.

Everything here is closed form: a fixed target at hour angle H stands at
``sin(alt) = sin(lat) sin(dec) + cos(lat) cos(dec) cos(H)`` (Meeus, Astronomical Algorithms, 13.6),
and the Sun's right ascension says which hour angles a night of the year has in its dark hours.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.model.site import Site
from targets.arrays import Floats
from targets.model import Target

# The nights that stand for a year, and how far ahead a target counts as leaving [days].
STEP_DAYS = 5.0
YEAR_DAYS = 365.2422
AHEAD_DAYS = 45.0
# The hours of a night in which most people observe: from dusk on, and no longer than this [h].
# Dusk is a Sun this far down [deg]. Both are common practice.
USUAL_HOURS = 5.0
DUSK_SUN_DEG = -12.0
# A night counts as as good as another from this share of its best height on: our choice.
AS_GOOD = 0.97
# In season is what gets so near to its culmination in the usual hours: within some two hours of
# it (common practice: what culminates in the evening).
IN_SEASON = 0.9
# The worth of a target that is always as well placed as tonight, of one that hardly ever is, and
# what is added where the coming weeks will not bring it back: our choice.
ALWAYS, SELDOM, LEAVING = 0.8, 1.15, 0.2
# Lowest culmination that is reckoned with [deg]: below it a share of the height means nothing.
LEAST_CULMINATION_DEG = 4.0
OBLIQUITY_DEG = 23.4393
SUN_AT_PERIHELION_DAY, ECCENTRICITY = 3.0, 0.0167  # day of the year; of the Earth's orbit


def culmination_deg(dec_deg: Floats, latitude_deg: float) -> Floats:
    """Return the altitude of the upper culmination, without air.

    Parameters
    ----------
    dec_deg : ndarray
        Declination [deg].
    latitude_deg : float
        Of the site, north positive [deg].

    Returns
    -------
    ndarray
        [deg]; below 0 for what never rises.
    """
    return np.asarray(90.0 - np.abs(dec_deg - latitude_deg))


def culminations_deg(targets: Sequence[Target], site: Site) -> Floats:
    """Return how high each of N targets can get at a site [deg], (N,); NaN without a place."""
    dec_deg = np.array([one.dec_deg for one in targets], dtype=float)
    return culmination_deg(dec_deg, site.latitude_deg)


def height_share(altitude_deg: Floats, culmination: Floats) -> Floats:
    """Return how high a target stands against what it can reach: a ratio of sines, 0 .. 1.

    Parameters
    ----------
    altitude_deg : ndarray
        Now [deg].
    culmination : ndarray
        From `culmination_deg` [deg]; NaN where it is not known (rates 1).

    Returns
    -------
    ndarray
        1 at the culmination, 0 at the horizon; the arguments broadcast. The inverse ratio of the
        air masses, as far as those follow the cosecant.
    """
    reach = np.sin(np.radians(np.maximum(culmination, LEAST_CULMINATION_DEG)))
    share = np.sin(np.radians(np.maximum(altitude_deg, 0.0))) / reach
    return np.where(np.isnan(share), 1.0, np.clip(share, 0.0, 1.0))


def opportunity(
    ra_deg: Floats, dec_deg: Floats, *, latitude_deg: float, day_of_year: float, best_share: Floats
) -> Floats:
    """Return how much a target gains or loses by the season: what is rare comes before the rest.

    Parameters
    ----------
    ra_deg, dec_deg : ndarray
        Place of each, shape (N,) [deg]; NaN for what moves (rates 1).
    latitude_deg : float
        Of the site [deg].
    day_of_year : float
        Of the evening, 1 .. 366.
    best_share : ndarray
        The best `height_share` of tonight's session, (N,).

    Returns
    -------
    ndarray
        (N,): from `ALWAYS` for what is as well placed on every night of the year to `SELDOM` for
        what is so on next to none, and up to `LEAVING` more where it is at its best and the coming
        weeks are worse.
    """
    days = day_of_year + np.arange(0.0, YEAR_DAYS, STEP_DAYS)
    best = best_shares(ra_deg, dec_deg, latitude_deg=latitude_deg, day_of_year=days)
    as_good = best >= AS_GOOD * best_share[:, None]
    ahead = as_good[:, : round(AHEAD_DAYS / STEP_DAYS)]
    gain = SELDOM + (ALWAYS - SELDOM) * as_good.mean(axis=1)
    gain += LEAVING * (1.0 - ahead.mean(axis=1)) * best_share**3
    return np.where(np.isnan(ra_deg), 1.0, gain)


def best_shares(
    ra_deg: Floats, dec_deg: Floats, *, latitude_deg: float, day_of_year: Floats
) -> Floats:
    """Return the best `height_share` that the usual hours of nights of a year offer.

    Parameters
    ----------
    ra_deg, dec_deg : ndarray
        (N,) [deg].
    latitude_deg : float
        [deg].
    day_of_year : ndarray
        (D,); days beyond the year's end are the next year's.

    Returns
    -------
    ndarray
        0 .. 1, shape (N, D); 0 for nights in which the Sun does not get 12 deg down.
    """
    first_deg, length_deg = dark_hours(latitude_deg, day_of_year)
    middle_deg = first_deg + length_deg / 2.0
    hour_angle = (middle_deg - np.asarray(ra_deg)[:, None] + 180.0) % 360.0 - 180.0
    nearest = np.maximum(np.abs(hour_angle) - length_deg / 2.0, 0.0)
    lat, dec = np.radians(latitude_deg), np.radians(np.asarray(dec_deg))[:, None]
    sine = np.sin(lat) * np.sin(dec) + np.cos(lat) * np.cos(dec) * np.cos(np.radians(nearest))
    altitude = np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0)))
    share = height_share(altitude, culmination_deg(np.asarray(dec_deg), latitude_deg)[:, None])
    return np.where(length_deg > 0.0, share, 0.0)


def dark_hours(latitude_deg: float, day_of_year: Floats) -> tuple[Floats, Floats]:
    """Return the sidereal hours of nights of a year in which one observes.

    Parameters
    ----------
    latitude_deg : float
        [deg].
    day_of_year : ndarray
        (D,).

    Returns
    -------
    first_deg : ndarray
        Sidereal time at dusk [deg], (D,).
    length_deg : ndarray
        From then on, up to dawn and no longer than `USUAL_HOURS` [deg], (D,); 0 where it does not
        get dark.
    """
    ra_deg, dec_deg = sun_place(day_of_year)
    lat, dec = np.radians(latitude_deg), np.radians(dec_deg)
    with np.errstate(divide="ignore", invalid="ignore"):
        cosine = (np.sin(np.radians(DUSK_SUN_DEG)) - np.sin(lat) * np.sin(dec)) / (
            np.cos(lat) * np.cos(dec)
        )
    dusk_deg = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
    night_deg = 360.0 - 2.0 * dusk_deg
    return np.asarray(ra_deg + dusk_deg), np.minimum(night_deg, 15.0 * USUAL_HOURS)


def sun_place(day_of_year: Floats) -> tuple[Floats, Floats]:
    """Return the Sun's right ascension and declination [deg] on days of a year.

    Within 1 deg (the leap year's shift included): low-precision formulas of the Astronomical
    Almanac, section C, rewritten for the day of the year.
    """
    anomaly = np.radians((day_of_year - SUN_AT_PERIHELION_DAY) * 360.0 / YEAR_DAYS)
    centre = np.degrees(2.0 * ECCENTRICITY) * np.sin(anomaly)
    longitude = np.radians(np.degrees(anomaly) + 282.94 + centre)
    tilt = np.radians(OBLIQUITY_DEG)
    ra = np.arctan2(np.cos(tilt) * np.sin(longitude), np.cos(longitude))
    return np.degrees(ra) % 360.0, np.degrees(np.arcsin(np.sin(tilt) * np.sin(longitude)))
