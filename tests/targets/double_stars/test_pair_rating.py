"""How pairs are rated: by light, gap, colour and ease of finding, one after the other."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pair_rating import pair_rating, ratings_of_table

from targets.tables import read_tables

PAIRS = read_tables().pairs
RATING = {line["id"]: int(line["visual_rating"]) for line in PAIRS}
# What observers show first, of either half of the sky, and what only looks for pairs turn to
# (common practice).
SHOWN = (
    "betaCyg, gammaAnd, zetaUMa, alphaGem, epsilonLyr, gammaLeo, etaCas, gammaDel, alphaCVn, "
    "iotaCnc, gammaAri, thetaSer, betaMon, 145CMa, alphaCru, alphaCen, gammaVel, thetaEri, "
    "beta1Tuc, gamma2Vol, mu1Cru, theta1Ori"
)
FOR_FEW = "36And, etaCrB, zetaBoo, lambdaCyg, 99Her, alphaCMa, muBooBC, iotaCasAB, epsilon2Lyr"
MAGNITUDES = st.floats(0.0, 6.5)
GAPS = st.floats(0.5, 240.0)
COLOURS = st.floats(-0.3, 3.0)


def rate(primary: float, companion: float, gap: float, *colours: float) -> int:
    """Rate a pair."""
    first, second = colours or (math.nan, math.nan)
    return pair_rating(
        primary_mag=primary,
        companion_mag=companion,
        separation_arcsec=gap,
        primary_bp_rp_mag=first,
        companion_bp_rp_mag=second,
    )


def test_the_table_has_the_ratings_of_the_rule() -> None:
    """Row by row: no rating was put in by hand."""
    assert ratings_of_table(PAIRS) == [int(line["visual_rating"]) for line in PAIRS]


@pytest.mark.parametrize("identifier", SHOWN.split(", "))
def test_what_is_shown_to_visitors_has_a_five(identifier: str) -> None:
    """North and south."""
    assert RATING[identifier] == 5


@pytest.mark.parametrize("identifier", FOR_FEW.split(", "))
def test_what_is_for_few_has_two_at_most(identifier: str) -> None:
    """Tight, very unequal, or one more pair of a system."""
    assert RATING[identifier] <= 2


def test_the_finest_are_few() -> None:
    """Thirty to fifty of over five hundred, and a third of them south of the equator."""
    finest = [line for line in PAIRS if line["visual_rating"] == "5"]
    assert 30 <= len(finest) <= 50
    assert sum(float(line["dec_deg"]) < 0.0 for line in finest) >= len(finest) / 3


@given(primary=MAGNITUDES, fainter=st.floats(0.0, 4.0), gap=GAPS, gain=st.floats(0.0, 2.0))
def test_more_light_is_no_worse(primary: float, fainter: float, gap: float, gain: float) -> None:
    """Both stars brighter by as much."""
    bright = rate(primary - gain, primary + fainter - gain, gap)
    assert bright >= rate(primary, primary + fainter, gap)


@given(primary=MAGNITUDES, fainter=st.floats(0.0, 6.0), gap=st.floats(0.5, 60.0))
def test_up_to_a_minute_of_arc_a_wider_gap_is_no_worse(
    primary: float, fainter: float, gap: float
) -> None:
    """Wider by a tenth."""
    companion = primary + fainter
    assert rate(primary, companion, min(1.1 * gap, 60.0)) >= rate(primary, companion, gap)


@given(primary=MAGNITUDES, fainter=st.floats(0.0, 4.0), gap=GAPS, first=COLOURS, second=COLOURS)
def test_colour_only_helps(
    primary: float, fainter: float, gap: float, first: float, second: float
) -> None:
    """Known colours are no worse than unknown ones, and it does not matter whose is whose."""
    coloured = rate(primary, primary + fainter, gap, first, second)
    assert coloured >= rate(primary, primary + fainter, gap)
    assert coloured == rate(primary, primary + fainter, gap, second, first)


def test_each_part_counts() -> None:
    """A plain pair gains by a nearer light, a fit gap and contrast, each by itself."""
    plain = rate(5.0, 7.0, 2.0, 0.3, 0.3)
    assert rate(3.0, 5.0, 2.0, 0.3, 0.3) > plain
    assert rate(5.0, 7.0, 12.0, 0.3, 0.3) > plain
    assert rate(5.0, 7.0, 2.0, 1.5, 0.0) > plain
