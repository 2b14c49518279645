"""Says in plain words what speaks for a train and what to know before looking through it."""

from __future__ import annotations

import math

from planner.formulas.pupil import SHADOW_OF_PUPIL, WIDE_BEAM
from planner.formulas.visibility_limit import (
    GRADE_BOUNDS_DEX,
    GRADES,
    grade_codes,
    grade_word,
)
from planner.matcher.case import Case
from planner.matcher.filter_use import FILTER_GAIN_DEX
from planner.matcher.leaning import leaning_clause
from planner.matcher.scoring import (
    DRIFT_WANTED_S,
    EYE_RELIEF_LEAST_WITH_SPECTACLES_MM,
    SPECTACLES_OFF_BELOW_MM,
)
from planner.matcher.sight import WIDEST_SHARE
from planner.matcher.words.pair_reasons import FAR_ABOVE, companion_fault, pair_fault, pair_praise
from planner.model.plan import Grade
from targets.model import Kind

# A glow of which so much is made out is called whole.
WHOLLY_SEEN = 0.95


# The model of the eye is good to about this [dex] (Crumey 2014: his fit to the laboratory's data).
MODEL_DEX = 0.1


def _doubt(case: Case, column: int) -> str:
    """Say between which grades a view stands, where the model cannot tell them apart."""
    margin = case.margin_dex(column)
    low, high = grade_codes(margin - MODEL_DEX), grade_codes(margin + MODEL_DEX)
    near = min(abs(margin - bound) for bound in GRADE_BOUNDS_DEX)
    if math.isnan(margin) or low == high or near > MODEL_DEX / 2.0:
        return ""
    return f"between {GRADES[int(low)]} and {GRADES[int(high)]}: the model is no surer than that"


def grade_of(case: Case, column: int) -> Grade:
    """Return the grade of a train's view."""
    return grade_word(case.margin_dex(column))


def reasons_for(case: Case, winner: int) -> tuple[str, ...]:
    """Say what speaks for a train: framing, exit pupil, power, filter; clauses without a stop."""
    clauses = (
        _framing(case, winner),
        _seen(case, winner),
        _exit_pupil(case, winner),
        _power(case, winner),
        _filter(case, winner),
        _leaning(case, winner),
        _doubt(case, winner),
    )
    return tuple(clause for clause in clauses if clause)


def warnings_for(case: Case, column: int) -> tuple[str, ...]:
    """Say what an observer should know before looking through a train; whole clauses."""
    return tuple(
        clause
        for clause in (
            _does_not_fit(case, column),
            _too_wide_a_beam(case, column),
            _shadow(case, column),
            _too_much_power(case, column),
            _too_fine(case),
            companion_fault(case, column),
            eye_relief_warning(case, column),
            _drifts(case, column),
            _grade_warning(case, column),
            "size approximate" if case.target.size_is_approximate else "",
        )
        if clause
    )


def size_words(arcmin: float) -> str:
    """Write a size: seconds of arc below 1', one decimal below 10 of either."""
    if arcmin < 1.0:
        return f'{arcmin * 60.0:.2g}"' if arcmin * 60.0 < 9.5 else f'{arcmin * 60.0:.0f}"'
    return f"{arcmin:.1f}'" if arcmin < 9.95 else f"{arcmin:.0f}'"


def in_field(case: Case, column: int) -> str:
    """Return size, as it is seen, and field, as ``95' in 104'``; empty when that is unknown."""
    if case.target.major_arcmin is None:
        return ""
    about = "about " if case.target.size_is_approximate else ""
    field = float(case.table.true_field_arcmin[column])
    size = float(case.ratings.fill[case.row, column]) * field
    return f"{about}{size_words(size)} in {size_words(field)}"


def _seen(case: Case, column: int) -> str:
    """Say how much of a glow is made out, where that is less than the catalogue has."""
    seen, major = case.seen_arcmin(column), case.target.major_arcmin
    if seen is None or major is None or seen[0] > WHOLLY_SEEN * major:
        return ""
    whole = major, case.target.minor_arcmin or major
    axes = (" by ".join(dict.fromkeys(size_words(axis) for axis in pair)) for pair in (seen, whole))
    return "you will see some {} of its {}".format(*axes)


def _framing(case: Case, column: int) -> str:
    fill = float(case.ratings.fill[case.row, column])
    largest = float(case.ratings.fill_max[case.row])
    if math.isnan(largest):
        return ""
    if math.isnan(fill):
        return "size unknown, so framing was not judged"
    if fill > 1.0:
        fields = case.table.true_field_arcmin
        widest = fields[column] >= WIDEST_SHARE * fields.max()
        lead = "widest field of the kit, yet it does not fit" if widest else "does not fit"
        return f"{lead}: {in_field(case, column)}"
    if case.target.kind is Kind.DOUBLE_STAR and fill <= largest:
        return ""
    if fill > largest:
        return f"nearly fills the field: {in_field(case, column)}"
    return f"fills {fill:.0%} of the field ({in_field(case, column)})"


def suits(case: Case, column: int) -> str:
    """Return the exit pupils that suit the target in a train; if the air forbids them, say so."""
    asked = case.ratings.exit_pupils
    low, high, borne = (
        values[case.row, column]
        for values in (asked.ideal_low, asked.suited_high, asked.ideal_high)
    )
    words = f"{low:.1f} to {high:.1f} mm suits it"
    is_other = borne > high and f"{borne:.1f}" != f"{high:.1f}"
    return f"{words}, in tonight's air about {borne:.1f} mm" if is_other else words


def _exit_pupil(case: Case, column: int) -> str:
    size = float(case.table.exit_pupil_mm[column])
    asked, told = case.ratings.exit_pupils, f"exit pupil {size:.1f} mm"
    low = asked.ideal_low[case.row, column]
    high = max(asked.suited_high[case.row, column], asked.ideal_high[case.row, column])
    if round(low, 1) <= round(size, 1) <= round(high, 1):
        return f"{told} ({suits(case, column)})"
    return f"{told}, where {suits(case, column)}"


def _power(case: Case, column: int) -> str:
    most, least = case.ratings.most_power[case.row], case.ratings.least_power[case.row]
    power = case.table.magnification[column]
    if praise := pair_praise(case, column):
        return praise
    if least <= power < FAR_ABOVE * least and case.target.major_arcmin and not _too_fine(case):
        return f"{power:.0f}x shows its {size_words(case.target.major_arcmin)}"
    if power > 0.75 * most:
        return (
            f"{power:.0f}x is near the {most:.0f}x that the air bears "
            f"{case.altitude_deg:.0f} deg up"
        )
    return ""


def filter_gain_mag(case: Case, column: int) -> float | None:
    """Return what the filter lifts the contrast by [mag]; None without one that is worth it."""
    if case.table.trains[column].filter is None:
        return None
    gain = case.margin_dex(column) - case.margin_dex(int(case.table.unfiltered[column]))
    return 2.5 * gain if gain >= FILTER_GAIN_DEX else None


def _filter(case: Case, column: int) -> str:
    part, gain_mag = case.table.trains[column].filter, filter_gain_mag(case, column)
    if part is None or gain_mag is None:
        return ""
    return f"{part.name} lifts the contrast by {gain_mag:.1f} mag"


def _leaning(case: Case, column: int) -> str:
    leaning = case.ratings.leaning(case.row, column)
    return leaning_clause(leaning) if leaning else ""


def _does_not_fit(case: Case, column: int) -> str:
    if not case.ratings.fill[case.row, column] > 1.0:
        return ""
    return f"does not fit: {in_field(case, column)}"


def _too_wide_a_beam(case: Case, column: int) -> str:
    size = float(case.table.exit_pupil_mm[column])
    if size <= case.pupil_mm * WIDE_BEAM:
        return ""
    aperture = case.table.magnification[column] * case.pupil_mm
    return (
        f"exit pupil {size:.1f} mm is wider than the eye's {case.pupil_mm:.1f} mm: "
        f"works as {aperture:.0f} mm of aperture"
    )


def _shadow(case: Case, column: int) -> str:
    telescope = case.table.trains[column].telescope
    shadow = case.table.exit_pupil_mm[column] * telescope.obstruction_mm / telescope.aperture_mm
    if shadow <= SHADOW_OF_PUPIL * case.pupil_mm:
        return ""
    if shadow >= case.pupil_mm:
        return f"the secondary's shadow, {shadow:.1f} mm wide, covers the eye's pupil"
    return f"the secondary's shadow, {shadow:.1f} mm wide, may show"


def _too_much_power(case: Case, column: int) -> str:
    most, power = case.ratings.most_power[case.row], case.table.magnification[column]
    if power <= most * 1.05:
        return ""
    return f"{power:.0f}x is more than the {most:.0f}x that the air bears"


def _too_fine(case: Case) -> str:
    """Say that a pair or a disc is too small for the aperture or for the air."""
    if case.target.kind is Kind.DOUBLE_STAR:
        return pair_fault(case)
    least, most = case.ratings.least_power[case.row], case.ratings.most_power[case.row]
    if case.target.major_arcmin is None or least <= 0.0:
        return ""
    if least > most:
        return (
            f"its {size_words(case.target.major_arcmin)} asks for {least:.0f}x, "
            f"more than the {most:.0f}x that the air bears"
        )
    return ""


def eye_relief_warning(case: Case, column: int) -> str:
    """Say that spectacles are in the way; empty when they are not."""
    relief = float(case.table.eye_relief_mm[column])
    off = case.table.exit_pupil_mm[column] < SPECTACLES_OFF_BELOW_MM
    if not case.observer.spectacles or off or not relief < EYE_RELIEF_LEAST_WITH_SPECTACLES_MM:
        return ""
    return f"eye relief {relief:.0f} mm is short for spectacles"


def _drifts(case: Case, column: int) -> str:
    held = held_s(case, column)
    return f"drifts across the field in {held:.0f} s" if held < 0.5 * DRIFT_WANTED_S else ""


def held_s(case: Case, column: int) -> float:
    """Return how long the field holds the target in an undriven telescope [s]."""
    drift = case.ratings.drift_s
    return float(drift[case.row if len(drift) > 1 else 0, column])


def _grade_warning(case: Case, column: int) -> str:
    grade = grade_of(case, column)
    if grade is Grade.UNLIKELY:
        return "unlikely to be seen tonight"
    if grade is Grade.UNKNOWN:
        return "brightness unknown, so it may not be seen"
    return ""
