"""Turns ratings into views: the best train for a target, or all of them, best first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.matcher.case import Case
from planner.matcher.words.comparisons import shortfall
from planner.matcher.words.reasons import grade_of, reasons_for, warnings_for
from planner.matcher.words.summaries import brief_reason
from planner.model.kit import Train, train_words
from planner.model.plan import Grade, View


def best_view(case: Case) -> View:
    """Return the view through the train that rates best, with what the runner-up lacks."""
    return view_through(case, best_column(case))


def best_column(case: Case) -> int:
    """Return the column of the train that rates best for a target."""
    return int(np.argmax(case.ratings.score[case.row]))


def view_through(case: Case, column: int) -> View:
    """Return the view through one train, with what the best of the others lacks beside it.

    Parameters
    ----------
    case : Case
        The target in all trains.
    """
    reasons = reasons_for(case, column)
    rival = _runner_up(case, column)
    if rival is not None:
        words = train_words(case.table.trains[rival])
        reasons = (*reasons, f"{words}: {shortfall(case, column, rival)}")
    return replace(_view(case, column, reasons), brief=brief_reason(case, column, rival))


def ranked_views(case: Case, misfits: Sequence[Train] = ()) -> tuple[View, ...]:
    """Return the views through all trains, best first, those that cannot be put together last.

    Parameters
    ----------
    case : Case
        The target in all usable trains.
    misfits : sequence of Train
        Trains whose parts do not go together.

    Returns
    -------
    tuple of View
        The first says why it won; each other one what it lacks beside the first.
    """
    order = np.argsort(-case.ratings.score[case.row], kind="stable")
    views = [best_view(case)] if order.size else []
    views += [
        _view(case, int(column), (shortfall(case, int(order[0]), int(column)),))
        for column in order[1:]
    ]
    return (*views, *(_misfit_view(train) for train in misfits))


def _runner_up(case: Case, winner: int) -> int | None:
    """Return the best column to be had with another eyepiece or amplifier, None for none."""
    trains, free = case.table.trains, case.free

    def glass(column: int) -> tuple[str, str | None]:
        amplifier = trains[column].amplifier
        return trains[column].eyepiece.name, amplifier.name if amplifier else None

    order = np.argsort(-case.ratings.score[case.row], kind="stable")
    if free is not None:
        order = order[free[order]]
    return next((int(column) for column in order if glass(int(column)) != glass(winner)), None)


def _view(case: Case, column: int, reasons: tuple[str, ...]) -> View:
    fill = float(case.ratings.fill[case.row, column])
    largest = float(case.ratings.fill_max[case.row])
    margin, seen = case.margin_dex(column), case.seen_arcmin(column)
    return View(
        train=case.table.trains[column],
        framing=None if math.isnan(fill) else fill,
        fits=None if math.isnan(fill) else fill <= (1.0 if math.isnan(largest) else largest),
        score=float(case.ratings.score[case.row, column]),
        parts={part: case.value(part, column) for part in case.ratings.parts},
        grade=grade_of(case, column),
        margin_dex=None if math.isnan(margin) else margin,
        reasons=reasons,
        warnings=warnings_for(case, column),
        seen_major_arcmin=seen[0] if seen else None,
        seen_minor_arcmin=seen[1] if seen else None,
        star_limit_mag=(
            None if case.star_limit_mag is None else float(case.star_limit_mag[column])
        ),
    )


def _misfit_view(train: Train) -> View:
    return View(
        train=train,
        framing=None,
        fits=None,
        score=0.0,
        parts={"fit": 0.0},
        grade=Grade.UNKNOWN,
        reasons=train.faults,
    )
