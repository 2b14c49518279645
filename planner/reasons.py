"""Says in plain words why a train won, what is wrong with it, and what another one lacks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.eye import GRADES, grade_codes
from planner.kit import Observer, Train
from planner.matcher import FILTER_GAIN_DEX, Ratings
from planner.scoring import (
    DRIFT_WANTED_S,
    EYE_RELIEF_LEAST_WITH_SPECTACLES_MM,
    SPECTACLES_OFF_BELOW_MM,
)
from planner.trains_table import TrainTable
from planner.view import Grade
from targets.model import Target

# A runner-up within this share of the winner's score is called as good.
AS_GOOD = 0.97
# Beyond this the shadow of the secondary mirror begins to show (common practice).
SHADOW_OF_PUPIL = 0.35


@dataclass(frozen=True, slots=True)
class Case:
    """One row of the ratings: a target in all trains, and what is needed to talk about it."""

    target: Target
    row: int
    ratings: Ratings
    table: TrainTable
    observer: Observer
    pupil_mm: float
    altitude_deg: float

    def value(self, part: str, column: int) -> float:
        """Give a part of the score; those alike for all targets are stored once."""
        array = self.ratings.parts[part]
        return float(array[self.row if len(array) > 1 else 0, column])

    def margin_dex(self, column: int) -> float:
        """Give the margin over the eye's threshold [dex]; NaN when unknown."""
        return float(self.ratings.margin_dex[self.row, column])


def train_words(train: Train) -> str:
    """Name a train: ``12 mm 60 + 2x Barlow + O III``; a zoom with its setting."""
    name = train.eyepiece.name
    if train.eyepiece.is_zoom:
        name = f"{name} at {train.focal_length_mm:.3g} mm"
    extras = [part.name for part in (train.amplifier, train.filter) if part]
    return " + ".join([name, *extras])


def grade_of(case: Case, column: int) -> Grade:
    """Give the grade of a train's view."""
    return GRADES[int(grade_codes(case.margin_dex(column)))]


def reasons_for(case: Case, winner: int, runner_up: int | None) -> tuple[str, ...]:
    """Say why a train won.

    Parameters
    ----------
    case : Case
        The target.
    winner : int
        Column of the train.
    runner_up : int or None
        Column of the best train with another eyepiece or amplifier.

    Returns
    -------
    tuple of str
        Framing, exit pupil, power, filter, and what the runner-up lacks; clauses without a stop.
    """
    clauses = [
        _framing(case, winner),
        _exit_pupil(case, winner),
        _power(case, winner),
        _filter(case, winner),
    ]
    if runner_up is not None:
        name = train_words(case.table.trains[runner_up])
        clauses.append(f"{name}: {shortfall(case, winner, runner_up)}")
    return tuple(clause for clause in clauses if clause)


def shortfall(case: Case, winner: int, other: int) -> str:
    """Say what a train lacks beside the one that won, by the part that costs it most."""
    scores = case.ratings.score[case.row]
    if scores[other] >= AS_GOOD * scores[winner]:
        return "as good"
    costs = {
        part: case.value(part, other) / max(case.value(part, winner), 1e-9)
        for part in case.ratings.parts
    }
    part = min(costs, key=lambda name: costs[name])
    return _FAULTS[part](case, winner, other)


def warnings_for(case: Case, column: int) -> tuple[str, ...]:
    """Say what an observer should know before looking through a train; whole clauses."""
    return tuple(
        clause
        for clause in (
            _does_not_fit(case, column),
            _too_wide_a_beam(case, column),
            _shadow(case, column),
            _too_much_power(case, column),
            _eye_relief(case, column),
            _drifts(case, column),
            _grade_warning(case, column),
            "size approximate" if case.target.size_is_approximate else "",
        )
        if clause
    )


def _size(arcmin: float) -> str:
    if arcmin < 1.0:
        return f'{arcmin * 60.0:.2g}"' if arcmin * 60.0 < 9.5 else f'{arcmin * 60.0:.0f}"'
    return f"{arcmin:.1f}'" if arcmin < 9.95 else f"{arcmin:.0f}'"


def _in_field(case: Case, column: int) -> str:
    size = case.target.major_arcmin
    if size is None:
        return ""
    about = "about " if case.target.size_is_approximate else ""
    return f"{about}{_size(size)} in {_size(float(case.table.true_field_arcmin[column]))}"


def _framing(case: Case, column: int) -> str:
    fill = float(case.ratings.fill[case.row, column])
    largest = float(case.ratings.fill_max[case.row])
    if math.isnan(largest):
        return ""
    if math.isnan(fill):
        return "size unknown, so framing was not judged"
    if fill > 1.0:
        return f"widest field of the kit, yet it does not fit: {_in_field(case, column)}"
    if fill > largest:
        return f"nearly fills the field: {_in_field(case, column)}"
    return f"fills {fill:.0%} of the field ({_in_field(case, column)})"


def _suits(case: Case, column: int) -> str:
    asked = case.ratings.exit_pupils
    low, high = asked.ideal_low[case.row, column], asked.ideal_high[case.row, column]
    return f"{low:.1f} to {high:.1f} mm suits it"


def _exit_pupil(case: Case, column: int) -> str:
    size = float(case.table.exit_pupil_mm[column])
    return f"exit pupil {size:.1f} mm ({_suits(case, column)})"


def _power(case: Case, column: int) -> str:
    most, least = case.ratings.most_power[case.row], case.ratings.least_power[case.row]
    power = case.table.magnification[column]
    if least > 0.0 and power >= least and case.target.major_arcmin:
        return f"{power:.0f}x shows its {_size(case.target.major_arcmin)}"
    if power > 0.75 * most:
        return (
            f"{power:.0f}x is near the {most:.0f}x that the air bears "
            f"{case.altitude_deg:.0f} deg up"
        )
    return ""


def _filter(case: Case, column: int) -> str:
    train = case.table.trains[column]
    if train.filter is None:
        return ""
    gain = case.margin_dex(column) - case.margin_dex(int(case.table.unfiltered[column]))
    if not gain >= FILTER_GAIN_DEX:
        return ""
    return f"{train.filter.name} lifts the contrast by {2.5 * gain:.1f} mag"


def _does_not_fit(case: Case, column: int) -> str:
    if not case.ratings.fill[case.row, column] > 1.0:
        return ""
    return f"does not fit: {_in_field(case, column)}"


def _too_wide_a_beam(case: Case, column: int) -> str:
    size = float(case.table.exit_pupil_mm[column])
    if size <= case.pupil_mm * 1.02:
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
    return f"the secondary's shadow, {shadow:.1f} mm wide, may show"


def _too_much_power(case: Case, column: int) -> str:
    most, power = case.ratings.most_power[case.row], case.table.magnification[column]
    if power <= most * 1.05:
        return ""
    return f"{power:.0f}x is more than the {most:.0f}x that the air bears"


def _eye_relief(case: Case, column: int) -> str:
    relief = float(case.table.eye_relief_mm[column])
    off = case.table.exit_pupil_mm[column] < SPECTACLES_OFF_BELOW_MM
    if not case.observer.spectacles or off or not relief < EYE_RELIEF_LEAST_WITH_SPECTACLES_MM:
        return ""
    return f"eye relief {relief:.0f} mm is short for spectacles"


def _drifts(case: Case, column: int) -> str:
    held = _held_s(case, column)
    return f"drifts across the field in {held:.0f} s" if held < 0.5 * DRIFT_WANTED_S else ""


def _held_s(case: Case, column: int) -> float:
    drift = case.ratings.drift_s
    return float(drift[case.row if len(drift) > 1 else 0, column])


def _grade_warning(case: Case, column: int) -> str:
    grade = grade_of(case, column)
    if grade is Grade.UNLIKELY:
        return "unlikely to be seen tonight"
    if grade is Grade.UNKNOWN:
        return "brightness unknown, so it may not be seen"
    return ""


def _lacks_fit(case: Case, _winner: int, other: int) -> str:
    train = case.table.trains[other]
    name = train.filter.name if train.filter else train.eyepiece.name
    return f"{name} does not help {_article(case.target.kind)}"


def _article(word: str) -> str:
    return f"the {word}" if word == "Moon" else f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def _lacks_framing(case: Case, winner: int, other: int) -> str:
    fill = case.ratings.fill[case.row]
    if fill[other] > fill[winner]:
        return f"too small a field, {_in_field(case, other)}"
    return f"shows it small, {_in_field(case, other)}"


def _lacks_exit_pupil(case: Case, _winner: int, other: int) -> str:
    size = float(case.table.exit_pupil_mm[other])
    asked = case.ratings.exit_pupils
    side = "large" if size > asked.ideal_high[case.row, other] else "small"
    if asked.ideal_low[case.row, other] <= size <= asked.ideal_high[case.row, other]:
        return f"exit pupil {size:.1f} mm is further from the {_wanted(case, other)} wanted"
    return f"exit pupil {size:.1f} mm is {side} ({_suits(case, other)})"


def _wanted(case: Case, column: int) -> str:
    return f"{case.ratings.exit_pupils.wanted[case.row, column]:.1f} mm"


def _lacks_power(case: Case, _winner: int, other: int) -> str:
    power, most = case.table.magnification[other], case.ratings.most_power[case.row]
    if power > most:
        return f"{power:.0f}x is more than the {most:.0f}x that the air bears"
    return f"{power:.0f}x is too little for {_size(case.target.major_arcmin or 0.0)}"


def _lacks_visibility(case: Case, winner: int, other: int) -> str:
    lost = 2.5 * (case.margin_dex(winner) - case.margin_dex(other))
    if case.table.trains[other].filter and not lost > 0.0:
        return "its filter is not needed here"
    if case.table.trains[other].filter and lost < 2.5 * FILTER_GAIN_DEX:
        return "its filter gains too little"
    return f"shows it {lost:.1f} mag fainter"


def _lacks_comfort(case: Case, winner: int, other: int) -> str:
    table = case.table
    if table.amplified[other] and not table.amplified[winner]:
        return "more glass for the same view"
    if _eye_relief(case, other):
        return _eye_relief(case, other)
    if _held_s(case, other) < min(DRIFT_WANTED_S, _held_s(case, winner)):
        return f"it drifts across in {_held_s(case, other):.0f} s"
    if table.apparent_field_deg[other] < table.apparent_field_deg[winner]:
        return f"narrower apparent field, {table.apparent_field_deg[other]:.0f} deg"
    return "less comfortable"


_FAULTS = {
    "fit": _lacks_fit,
    "framing": _lacks_framing,
    "exit pupil": _lacks_exit_pupil,
    "power": _lacks_power,
    "visibility": _lacks_visibility,
    "comfort": _lacks_comfort,
}
