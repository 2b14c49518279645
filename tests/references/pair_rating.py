"""How well a pair shows and how well it looks, 1 .. 5: the visual rating of the table by rule."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from targets.sphere import angles_of_all_deg, unit_vectors
from targets.tables import Row, numbers

# Points for what makes a pair worth a look; all limits are ours, and fit what observers show to
# visitors, in both halves of the sky (common practice). From the first bound 2, from the next 1.
EASE_OF_FINDING_MAG = (3.6, 4.7)  # V of the primary: plain in a town's sky, in a suburb's
LIGHT_OF_COMPANION_MAG = (5.6, 7.6)
CONTRAST_OF_COLOUR_MAG = (0.6, 0.35)  # between the BP - RP of both
RED_MAG = 1.25  # BP - RP of a K star: two orange stars count as much as a little contrast
# Two stars of one light part easily at 2"; the gap that is wanted grows with their difference, by
# ten times for ten magnitudes. At 1.4 times that it is comfortable, up to a width that low powers
# still show as a pair.
EQUAL_GAP_ARCSEC, DEX_PER_MAG = 2.0, 0.1
COMFORTABLE, WIDE_ARCSEC, WIDEST_ARCSEC = 1.4, 60.0, 120.0
COMFORTABLE_POINTS = 2
# Points asked for a rating of 4, 3 and 2. A 5 asks for one more than a 4, a comfortable gap, a
# primary that a fair sky shows to the naked eye, and a companion for any telescope.
POINTS_OF_RATINGS = {4: 4, 3: 3, 2: 2}
FINEST_POINTS, FINEST_PRIMARY_MAG, FINEST_COMPANION_MAG = 5, 5.2, 7.6
# Four stars in one view, which no rule for two can see.
BY_NAME = {"epsilonLyr": 5, "theta1Ori": 5}
# Another pair so near to one that is rated higher is part of the same look.
ONE_LOOK_ARCSEC, MOST_FOR_ANOTHER = 240.0, 2
# Below this share of the gap that is wanted, or below 1.5", a pair is plain at best; below 1" few
# nights part it.
HARD_SHARE, HARD_ARCSEC, HARDEST_ARCSEC = 0.6, 1.5, 1.0


def ratings_of_table(rows: Sequence[Row]) -> list[int]:
    """Return the visual rating of each row of ``double_stars.csv``."""
    ratings = np.array([BY_NAME.get(row["id"], _rating_of(row)) for row in rows])
    places = unit_vectors(numbers(rows, "ra_deg"), numbers(rows, "dec_deg"))
    merit = ratings - 0.01 * numbers(rows, "v_mag_a") - 1e-6 * np.arange(len(rows))
    near = 3600.0 * angles_of_all_deg(places, places) < ONE_LOOK_ARCSEC
    is_another = np.any(near & (merit[None, :] > merit[:, None]), axis=1)
    rated = np.where(is_another, np.minimum(ratings, MOST_FOR_ANOTHER), ratings)
    return [int(rating) for rating in rated]


def _rating_of(row: Row) -> int:
    return pair_rating(
        primary_mag=float(row["v_mag_a"]),
        companion_mag=float(row["v_mag_b"]),
        separation_arcsec=float(row["separation_arcsec"]),
        primary_bp_rp_mag=float(row["bp_rp_a"] or "nan"),
        companion_bp_rp_mag=float(row["bp_rp_b"] or "nan"),
    )


def pair_rating(
    *,
    primary_mag: float,
    companion_mag: float,
    separation_arcsec: float,
    primary_bp_rp_mag: float = math.nan,
    companion_bp_rp_mag: float = math.nan,
) -> int:
    """Return the visual rating of a pair from light, gap, colour and ease of finding.

    Parameters
    ----------
    primary_mag, companion_mag : float
        V of both stars.
    separation_arcsec : float
        Their distance [arcsec].
    primary_bp_rp_mag, companion_bp_rp_mag : float
        Their colours in Gaia's bands; NaN where they are not known, which earns nothing.

    Returns
    -------
    int
        5 shown to visitors, 4 fine, 3 plain, 2 for those who look for pairs, 1 hard or dull.
    """
    gap = _gap(separation_arcsec, companion_mag - primary_mag)
    points = _below(primary_mag, EASE_OF_FINDING_MAG) + gap
    points += _below(companion_mag, LIGHT_OF_COMPANION_MAG)
    points += _colour(primary_bp_rp_mag, companion_bp_rp_mag)
    is_for_all = primary_mag <= FINEST_PRIMARY_MAG and companion_mag <= FINEST_COMPANION_MAG
    if points >= FINEST_POINTS and gap == COMFORTABLE_POINTS and is_for_all:
        return 5
    rating = next((r for r, least in POINTS_OF_RATINGS.items() if points >= least), 1)
    return min(rating, _most_at(separation_arcsec, companion_mag - primary_mag))


def _most_at(separation_arcsec: float, difference_mag: float) -> int:
    """Return the best rating that a gap allows to what is not comfortable."""
    if separation_arcsec < HARDEST_ARCSEC:
        return 1
    hard_arcsec = max(HARD_ARCSEC, HARD_SHARE * _wanted_arcsec(difference_mag))
    return 3 if separation_arcsec < hard_arcsec else 4


def _wanted_arcsec(difference_mag: float) -> float:
    return EQUAL_GAP_ARCSEC * math.pow(10.0, DEX_PER_MAG * difference_mag)


def _below(value: float, bounds: tuple[float, float]) -> int:
    return sum(value <= bound for bound in bounds)


def _gap(separation_arcsec: float, difference_mag: float) -> int:
    wanted_arcsec = _wanted_arcsec(difference_mag)
    if separation_arcsec < wanted_arcsec or separation_arcsec > WIDEST_ARCSEC:
        return 0
    is_comfortable = COMFORTABLE * wanted_arcsec <= separation_arcsec <= WIDE_ARCSEC
    return COMFORTABLE_POINTS if is_comfortable else 1


def _colour(first_mag: float, second_mag: float) -> int:
    contrast = abs(first_mag - second_mag)
    if min(first_mag, second_mag) >= RED_MAG:
        return 1
    return sum(contrast >= bound for bound in CONTRAST_OF_COLOUR_MAG)
