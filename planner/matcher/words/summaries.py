"""Says in one line what a plan needs to say of a view; the whole story is in its reasons."""

from __future__ import annotations

import math

from planner.matcher.case import Case
from planner.matcher.words.comparisons import shortfall
from planner.matcher.words.pair_reasons import pair_brief
from planner.matcher.words.reasons import filter_gain_mag, in_field
from planner.model.kit import train_words
from targets.model import Kind

# What is left of a sheet's line beside the times.
WIDTH = 67


def brief_reason(case: Case, winner: int, rival: int | None) -> str:
    """Say why a train won, as far as one line goes.

    Parameters
    ----------
    winner : int
        Column of the train.
    rival : int or None
        Column of the best train with other glass.

    Returns
    -------
    str
        Size in field, what decided, and what the rival lacks, in at most 67 characters: such as
        ``13' in 36'; 1.5-3.0 mm suits; 18 mm 65: shows it small``.
    """
    decider = _leaning(case, winner) or _decider(case, winner)
    first = [clause for clause in (_framing(case, winner), decider) if clause]
    if rival is None:
        return _joined(first)
    name = train_words(case.table.trains[rival])
    against = f"{name}: {shortfall(case, winner, rival).split(', ')[0].split(' (')[0]}"
    for clauses in ([*first, against], [*first[:1], against], [*first, f"next {name}"]):
        if len(_joined(clauses)) <= WIDTH:
            return _joined(clauses)
    return _joined(first)


def _joined(clauses: list[str]) -> str:
    return "; ".join(clauses)


def _framing(case: Case, column: int) -> str:
    fill = float(case.ratings.fill[case.row, column])
    if math.isnan(case.ratings.fill_max[case.row]) or case.target.kind is Kind.DOUBLE_STAR:
        return ""
    if math.isnan(fill):
        return "size unknown"
    return f"does not fit: {in_field(case, column)}" if fill > 1.0 else in_field(case, column)


def _leaning(case: Case, column: int) -> str:
    """Say that experience decided; empty where the train would have won without it."""
    leaning = case.ratings.leaning(case.row, column)
    if leaning is None or leaning.factor < 1.0:
        return ""
    scores = case.ratings.score[case.row] / case.ratings.parts["leaning"][case.row]
    return leaning.brief if scores.max() > scores[column] else ""


def _decider(case: Case, column: int) -> str:
    """Return what the filter gains, whether a pair is split, what the air bears, or what suits."""
    gain_mag = filter_gain_mag(case, column)
    if gain_mag is not None:
        return f"filter gains {gain_mag:.1f} mag"
    if case.target.kind is Kind.DOUBLE_STAR:
        return pair_brief(case, column)
    if math.isnan(case.ratings.fill_max[case.row]) and case.target.kind is not Kind.STAR:
        return f"the air bears {case.ratings.most_power[case.row]:.0f}x"
    asked = case.ratings.exit_pupils
    low, high = asked.ideal_low[case.row, column], asked.ideal_high[case.row, column]
    return f"{low:.1f}-{high:.1f} mm suits"
