"""Says in plain words whether a train splits a pair tonight, and if not, what is in the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.formulas.double_stars import parting_margin_dex
from planner.formulas.resolution import dawes_limit_arcsec, power_to_split
from targets.double_stars.doubles import magnitudes_words, primary_magnitude, separation_words

if TYPE_CHECKING:
    from planner.matcher.case import Case

# Power is praised for splitting up to this many times the least that does; above it any will do.
FAR_ABOVE = 4.0
# The margin is the light's, not the gap's, when it is below what the gap gives by so much [dex].
LIGHT_DECIDES_DEX = 0.01
EASY_DEX = 0.8  # only a pair that is easy is called wide apart: the grade "easy" begins here
SEEN_DEX = 0.1  # the companion is hard below this: the grade "hard" begins here


def pair_praise(case: Case, column: int) -> str:
    """Say that a power splits a pair, and how bright its stars are; empty when it does not."""
    separation, power = case.target.separation_arcsec, case.table.magnification[column]
    if separation is None or pair_fault(case):
        return ""
    least = power_to_split(separation)
    if power < least:
        return ""
    words = separation_words(separation)
    magnitudes = magnitudes_words(case.target)
    stars = f" (magnitudes {magnitudes})" if magnitudes else ""
    if power < FAR_ABOVE * least or case.margin_dex(column) < EASY_DEX:
        return f"{power:.0f}x splits its {words}{stars}"
    return f"its {words} are wide apart at {power:.0f}x{stars}"


def pair_fault(case: Case) -> str:
    """Say what keeps a pair from being split: aperture, glare, air or power; empty if nothing."""
    separation = case.target.separation_arcsec
    if separation is None:
        return ""
    words = separation_words(separation)
    aperture_mm = case.table.trains[0].telescope.aperture_mm
    limit = float(case.ratings.glare_limit_arcsec[case.row])
    air_limit = float(case.ratings.air_limit_arcsec[case.row])
    least, most = case.ratings.least_power[case.row], case.ratings.most_power[case.row]
    if separation < dawes_limit_arcsec(aperture_mm):
        dawes = separation_words(float(dawes_limit_arcsec(aperture_mm)))
        return f"its {words} is closer than the {dawes} that {aperture_mm:.0f} mm parts"
    if separation < limit and air_limit < separation:
        return (
            f"{_fainter(case)}its companion asks for some {separation_words(limit)} beside so "
            f"bright a star in {aperture_mm:.0f} mm, and stands {words} off"
        )
    if separation < air_limit:
        return (
            f"its {words} is closer than the {separation_words(air_limit)} that the air leaves "
            f"apart {case.altitude_deg:.0f} deg up"
        )
    if least > most:
        return f"its {words} asks for {least:.0f}x, more than the {most:.0f}x that the air bears"
    return ""


def companion_fault(case: Case, column: int) -> str:
    """Say that the fainter star of a pair is itself hard to see in a train; else empty."""
    separation, companion = case.target.separation_arcsec, case.target.companion_magnitude
    if separation is None or companion is None or pair_fault(case):
        return ""
    limits = case.ratings.glare_limit_arcsec, case.ratings.air_limit_arcsec
    parted = float(parting_margin_dex(separation, np.maximum(*limits)[case.row]))
    if case.margin_dex(column) >= min(SEEN_DEX, parted - LIGHT_DECIDES_DEX):
        return ""
    return f"its companion of magnitude {companion:.1f} is close to the faintest that is seen"


def pair_brief(case: Case, column: int) -> str:
    """Say in a few words whether a train splits a pair: ``splits 5.7"``, ``5.7" may not part``."""
    separation = case.target.separation_arcsec
    if separation is None:
        return ""
    words = separation_words(separation)
    parted = pair_praise(case, column) and case.margin_dex(column) >= SEEN_DEX
    return f"splits {words}" if parted else f"{words} may not part"


def _fainter(case: Case) -> str:
    primary, companion = primary_magnitude(case.target), case.target.companion_magnitude
    if primary is None or companion is None:
        return ""
    return f"{companion - primary:.1f} mag fainter, "
