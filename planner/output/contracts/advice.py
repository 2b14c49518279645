"""Advice as JSON, which other programs may rely on: more keys may be added."""

from __future__ import annotations

import math
from collections.abc import Sequence

from planner.advice.barrels import Barrels
from planner.advice.market import pair_of
from planner.advice.results import (
    Duel,
    EyepieceRole,
    JudgedCandidates,
    Part,
    SetEyepiece,
    Start,
    Trial,
    YearHeading,
    number_of_targets,
)
from planner.advice.starter_set import Priced
from planner.advice.year import EVERY_DAYS
from planner.model.kit import Amplifier, Eyepiece, train_words
from planner.model.site import Site
from planner.output.contracts.plan import Json, target_json, time_json


def trials_json(judged: JudgedCandidates, heading: YearHeading) -> Json:
    """Return the same as the object of the ``fieldstop.kit-try/1`` contract."""
    return {
        "schema": "fieldstop.kit-try/1",
        **_heading_json(heading),
        "candidates": [
            {**_trial_json(trial, heading.site), "cost": judged.costs.get(trial.part.name)}
            for trial in judged.trials
        ],
        "against": None if judged.against is None else _duel_json(judged.against),
    }


def _duel_json(against: Duel) -> Json:
    return {
        "candidates": [
            {
                "name": part.name,
                "looks_better": looks,
                "targets": [target.id for target in targets],
                "gain_percent": _percent(share),
            }
            for part, looks, targets, share in zip(
                against.parts, against.looks_won, against.targets, against.gain_share, strict=True
            )
        ],
        "both_gain_percent": _percent(against.both_share),
    }


def barrels_json(barrels: Barrels, heading: YearHeading) -> Json:
    """Return the same as the object of the ``fieldstop.kit-barrels/1`` contract."""
    return {
        "schema": "fieldstop.kit-barrels/1",
        **_heading_json(heading),
        "longest_useful_focal_length_mm": round(barrels.longest_mm, 1),
        "barrels": [
            {
                "barrel": report.barrel.value,
                "field_stop_mm": report.stop_mm,
                "true_field_deg": round(report.field_deg, 4),
                "filling_apparent_field_deg": round(report.apparent_field_deg, 1),
                "too_large": [target_json(target) for target in report.too_large],
                "worth_percent": round(100.0 * report.worth, 1),
                "lightest_g": barrels.masses_g.get(report.barrel, (None, None))[0],
                "heaviest_g": barrels.masses_g.get(report.barrel, (None, None))[1],
            }
            for report in barrels.reports
        ],
    }


def start_json(
    start: Start, heading: YearHeading, *, barlow: float | None, priced: Priced | None = None
) -> Json:
    """Return the same as the object of the ``fieldstop.kit-start/1`` contract."""
    return {
        "schema": "fieldstop.kit-start/1",
        **_heading_json(heading),
        "barlow": barlow,
        "eyepieces": [
            {
                **_eyepiece_json(choice.eyepiece),
                "owned": choice.is_there,
                "buy_number": None if choice.is_there else choice.number,
                "adds_percent": _percent(choice.adds),
                **_class_json(choice.eyepiece),
                "cost": _cost(choice, priced),
                "role": choice.role,
                "magnification": round(choice.magnification, 1),
                "exit_pupil_mm": round(choice.exit_pupil_mm, 2),
                "true_field_deg": round(choice.true_field_deg, 3),
                "looks": choice.looks,
            }
            for choice in start.choices
        ],
        "powers": [round(power, 1) for power in start.powers],
        "highest_useful_power": round(start.highest_power, 1),
        "widest_useful_field_deg": round(start.widest_deg, 3),
        "reaches_both_ends": start.is_whole,
        "no_more_is_worth_it": start.is_enough,
        "budget": None if priced is None else priced.budget,
        "worth_percent": _percent(start.worth),
        "most_percent": _percent(start.most),
        "small_barrel_percent": None if start.small_worth is None else _percent(start.small_worth),
        "usual": [_eyepiece_json(choice.eyepiece) for choice in start.usual],
        "usual_percent": _percent(start.usual_worth),
        "best_three_percent": _percent(start.three_worth),
        "next": None if start.next is None else _eyepiece_json(start.next),
        "with_next_percent": _percent(start.next_worth),
    }


def _cost(choice: SetEyepiece, priced: Priced | None) -> float | None:
    return None if priced is None or choice.is_there else priced.cost(choice.eyepiece, ())


def _class_json(eyepiece: Eyepiece) -> Json:
    """Return what is usual in the class of an eyepiece; null for those of no class."""
    pair = pair_of(eyepiece)
    return {
        "class_apparent_field_deg": None if pair is None else list(pair.apparent_deg),
        "class_eye_relief_mm": None if pair is None else list(pair.eye_relief_mm),
        "class_mass_g": None if pair is None else list(pair.mass_g),
    }


def uses_json(uses: Sequence[EyepieceRole], heading: YearHeading) -> Json:
    """Return the same as the ``year`` of the ``fieldstop.kit/1`` contract."""
    return {
        **_heading_json(heading),
        "eyepieces": [
            {
                "eyepiece": use.eyepiece.name,
                "looks": use.looks,
                "loss_percent": _percent(use.loss_share),
                "targets": [target.id for target in use.targets],
            }
            for use in uses
        ],
    }


def _trial_json(trial: Trial, site: Site) -> Json:
    return {
        "candidate": _part_json(trial.part),
        "looks_won": trial.looks_won,
        "gain_percent": _percent(trial.gain_share),
        "gain_where_won_percent": _percent(trial.gain_where_won),
        "targets": [
            {
                "target": target_json(gain.target),
                "looks": gain.looks,
                "at": time_json(gain.instant, site),
                "present": None if gain.present is None else train_words(gain.present),
                "train": train_words(gain.train),
                "present_score": round(gain.present_score, 3),
                "score": round(gain.score, 3),
                "gain_percent": _percent(gain.worth),
            }
            for gain in trial.gains
        ],
        "redundant": list(trial.redundant),
        "misfits": list(trial.misfits),
        "remarks": list(trial.remarks),
        "verdict": trial.verdict,
    }


def _part_json(part: Part) -> Json:
    if isinstance(part, Eyepiece):
        return {"kind": "eyepiece", **_eyepiece_json(part)}
    own = {"kind": part.kind.value, "name": part.name, "barrel": part.barrel.value}
    return {**own, "factor": part.factor} if isinstance(part, Amplifier) else own


def _eyepiece_json(eyepiece: Eyepiece) -> Json:
    def one_or_two(values: tuple[float, ...]) -> float | list[float]:
        return values[0] if len(values) == 1 else list(values)

    return {
        "name": eyepiece.name,
        "focal_length_mm": one_or_two(eyepiece.focal_lengths_mm),
        "apparent_field_deg": one_or_two(eyepiece.apparent_fields_deg),
        "barrel": eyepiece.barrel.value,
    }


def _heading_json(heading: YearHeading) -> Json:
    return {
        "telescope": heading.circumstances.telescope.name,
        "site": heading.site.name,
        "first_night": heading.first.isoformat(),
        "every_days": EVERY_DAYS,
        "nights": heading.year.nights,
        "nights_used": heading.year.nights_used,
        "looks": heading.year.looks,
        "targets": number_of_targets(heading.year),
    }


def _percent(share: float) -> float | None:
    return round(100.0 * share, 2) if math.isfinite(share) else None
