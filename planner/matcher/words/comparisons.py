"""Says in plain words what a train lacks beside the one that won."""

from __future__ import annotations

import math

from planner.matcher.case import Case
from planner.matcher.filter_use import FILTER_GAIN_DEX
from planner.matcher.scoring import DRIFT_WANTED_S, EYE_RELIEF_FOR_LASHES_MM
from planner.matcher.words.reasons import (
    eye_relief_warning,
    grade_of,
    held_s,
    in_field,
    size_words,
    suits,
)
from planner.model.kit import train_words

# A train within this share of the winner's score is called as good.
AS_GOOD = 0.97
# Less than this is not worth a number [mag].
LITTLE_MAG = 0.05


def shortfall(case: Case, winner: int, other: int) -> str:
    """Say what a train lacks beside the one that won, by the part that costs it most."""
    scores = case.ratings.score[case.row]
    if scores[other] >= AS_GOOD * scores[winner]:
        return "as good" if scores[other] * AS_GOOD <= scores[winner] else "better at this moment"
    costs = {
        part: case.value(part, other) / max(case.value(part, winner), 1e-9)
        for part in case.ratings.parts
    }
    part = min(costs, key=lambda name: costs[name])
    return _FAULTS[part](case, winner, other)


def _lacks_sight(case: Case, _winner: int, other: int) -> str:
    return f"shows it a grade worse, {grade_of(case, other)}"


def _lacks_fit(case: Case, _winner: int, other: int) -> str:
    train = case.table.trains[other]
    name = train.filter.name if train.filter else train.eyepiece.name
    return f"{name} does not help {_article(case.target.kind)}"


def _article(word: str) -> str:
    return f"the {word}" if word == "Moon" else f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def _lacks_framing(case: Case, winner: int, other: int) -> str:
    fill, largest = case.ratings.fill[case.row], case.ratings.fill_max[case.row]
    if fill[other] < fill[winner]:
        return f"shows it small, {in_field(case, other)}"
    if fill[other] > largest:
        return f"too small a field, {in_field(case, other)}"
    return f"less sky around it, {in_field(case, other)}"


def _lacks_exit_pupil(case: Case, _winner: int, other: int) -> str:
    size = float(case.table.exit_pupil_mm[other])
    asked = case.ratings.exit_pupils
    side = "large" if size > asked.ideal_high[case.row, other] else "small"
    if asked.ideal_low[case.row, other] <= size <= asked.ideal_high[case.row, other]:
        return f"exit pupil {size:.1f} mm is further from the {_wanted(case, other)} wanted"
    return f"exit pupil {size:.1f} mm is {side} ({suits(case, other)})"


def _wanted(case: Case, column: int) -> str:
    return f"{case.ratings.exit_pupils.wanted[case.row, column]:.1f} mm"


def _lacks_power(case: Case, _winner: int, other: int) -> str:
    power, most = case.table.magnification[other], case.ratings.most_power[case.row]
    if power > most:
        return f"{power:.0f}x is more than the {most:.0f}x that the air bears"
    return f"{power:.0f}x is too little for {size_words(case.target.major_arcmin or 0.0)}"


def _lacks_visibility(case: Case, winner: int, other: int) -> str:
    if case.margin_dex(other) == -math.inf:
        return "the secondary's shadow covers the eye's pupil"
    if case.table.trains[other].filter:
        bare_dex = case.margin_dex(int(case.table.unfiltered[other]))
        if not case.margin_dex(other) - bare_dex >= FILTER_GAIN_DEX:
            return "its filter gains too little"
    lost_mag = 2.5 * (case.margin_dex(winner) - case.margin_dex(other))
    if lost_mag < LITTLE_MAG:
        return "shows it a little fainter"
    return f"shows it {lost_mag:.1f} mag fainter"


def _lacks_comfort(case: Case, winner: int, other: int) -> str:
    table = case.table
    if eye_relief_warning(case, other):
        return eye_relief_warning(case, other)
    if table.eye_relief_mm[other] < EYE_RELIEF_FOR_LASHES_MM:
        return f"eye relief {table.eye_relief_mm[other]:.0f} mm is short"
    if held_s(case, other) < min(DRIFT_WANTED_S, held_s(case, winner)):
        return f"it drifts across in {held_s(case, other):.0f} s"
    if table.amplified[other] and not table.amplified[winner]:
        return "more glass for the same view"
    if table.apparent_field_deg[other] < table.apparent_field_deg[winner]:
        return f"narrower apparent field, {table.apparent_field_deg[other]:.0f} deg"
    return "less comfortable"


def _lacks_leaning(case: Case, winner: int, other: int) -> str:
    own, rival = (case.ratings.leaning(case.row, column) for column in (other, winner))
    if own is not None and own.factor < 1.0:
        return own.brief
    count = f", {rival.count}" if rival is not None else ""
    return f"you preferred {train_words(case.table.trains[winner])}{count}"


_FAULTS = {
    "sight": _lacks_sight,
    "fit": _lacks_fit,
    "framing": _lacks_framing,
    "exit pupil": _lacks_exit_pupil,
    "power": _lacks_power,
    "visibility": _lacks_visibility,
    "comfort": _lacks_comfort,
    "leaning": _lacks_leaning,
}
