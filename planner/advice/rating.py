"""Rates trains over a year of looks, by a measure that does not depend on what else is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from planner.advice.year import Year
from planner.matcher.filter_use import idle_filters, less_with_idle_filter
from planner.matcher.requirements import framed
from planner.matcher.scoring import seen_well
from planner.matcher.train_table import TrainTable, tabulate_trains
from planner.model.kit import Eyepiece, Telescope, Train
from planner.model.leaning import MOST, Leaning
from planner.planning.circumstances import Circumstances
from planner.planning.shortlist import may_help
from targets.arrays import Floats
from targets.frozen import frozen

# Of the eyepiece that a telescope is balanced for [g], and for how long one looks through one that
# it must be balanced for [min] (common practice; the plan's own minutes).
USUAL_MASS_G = 200.0
BALANCE_MIN, USUAL_LOOK_MIN = 1.5, 14.0


@frozen
class Rated:
    """K usable trains over the N looks of a year.

    Parameters
    ----------
    trains : tuple of Train
        Plain ones first.
    score : ndarray
        Of each look in each train, 0 .. 1, shape (N, K).
    """

    year: Year
    trains: tuple[Train, ...]
    score: Floats

    @property
    def weight(self) -> Floats:
        """How much each of the N looks counts, on all nights together."""
        return self.year.weight * self.year.count

    def best(self, columns: Any = slice(None)) -> Floats:
        """The best score of each look in some of the trains, (N,); 0 where there is none."""
        return np.asarray(np.max(self.score[:, columns], axis=1, initial=0.0))

    def of_eyepieces(self, eyepieces: Sequence[Eyepiece]) -> Floats:
        """The best score of each look with each eyepiece, (N, E); 0 where it fits nowhere."""
        best = np.zeros((len(self.score), len(eyepieces)))
        for column, eyepiece in enumerate(eyepieces):
            own = [k for k, train in enumerate(self.trains) if train.eyepiece == eyepiece]
            best[:, column] = self.best(own)
        return best


def rate_year(year: Year, circumstances: Circumstances, trains: Sequence[Train]) -> Rated:
    """Rate trains for every look of a year; those that do not fit together are left out.

    Notes
    -----
    The parts are the matcher's. Two of them, which the matcher relates to the best of the trains
    at hand, are taken absolutely, so that another train never changes what these are worth: the
    framing of a target too large for all of them, and how well a target is seen. That is the
    chance to see it at its margin; up to the reference of the look, what may be given up for a
    smaller exit pupil is added first. What is so heavy that the telescope must be balanced anew
    costs the time for that. What the journal prefers counts by apparent field, for owned and new
    eyepieces alike, within a tenth.

    Trains with a filter are rated for those looks that a filter may help, and rate 0 for others.
    """
    table = tabulate_trains(trains)
    score = np.zeros((len(year.weight), len(table)))
    plain = [train for train in table.trains if train.filter is None]
    if not plain:
        return Rated(year, table.trains, score)
    columns = np.flatnonzero(table.filter_code == 0)
    score[:, columns] = _scores(year, circumstances, tabulate_trains(plain))
    codes = np.unique(table.filter_code[table.filter_code > 0])
    helped = [may_help(int(code))[year.target_table.spectrum_code] for code in codes]
    rows = np.flatnonzero(np.logical_or.reduce(helped)) if helped else np.zeros(0, dtype=np.intp)
    if rows.size:
        score[rows] = _scores(year.of_rows(rows), circumstances, table)
    return Rated(year, table.trains, score)


def _scores(year: Year, circumstances: Circumstances, table: TrainTable) -> Floats:
    ratings = replace(circumstances, table=table, leanings=()).rate(year.target_table, year.moment)
    weights = circumstances.preferences.weights
    score = ratings.parts["fit"]
    parts = {
        "framing": framed(
            year.target_table.major_arcmin[:, None] * ratings.seen_share / table.true_field_arcmin,
            year.target_table,
            circumstances.preferences,
        ),
        "exit_pupil": ratings.parts["exit pupil"],
        "power": ratings.parts["power"],
        "visibility": _seen(ratings.margin_dex, year, table, weights.margin_given_up_dex),
        "comfort": ratings.parts["comfort"],
    }
    for name, part in parts.items():
        score = score * part ** getattr(weights, name)
    taste = taste_for_width(circumstances.leanings, circumstances.table.trains)
    score = score * taste_part(taste, table.apparent_field_deg)
    return np.minimum(score * balance_share(table.mass_g, circumstances.telescope), 1.0)


def balance_share(mass_g: Floats, telescope: Telescope) -> Floats:
    """Return what is left of a look that begins and ends with balancing the telescope anew.

    Parameters
    ----------
    mass_g : ndarray
        On the focuser [g]; NaN where it is not stated, which costs nothing.
    telescope : Telescope
        Its ``balance_g`` says which change it bears; the usual eyepiece is the one it is balanced
        for.
    """
    if telescope.balance_g is None:
        return np.ones(len(mass_g))
    heavy = np.nan_to_num(mass_g) > USUAL_MASS_G + telescope.balance_g
    return np.where(heavy, 1.0 - BALANCE_MIN / (BALANCE_MIN + USUAL_LOOK_MIN), 1.0)


def _seen(margin_dex: Floats, year: Year, table: TrainTable, given_up_dex: float) -> Floats:
    reference = year.reference_dex[:, None]
    part = seen_well(np.maximum(margin_dex, np.minimum(margin_dex + given_up_dex, reference)))
    return less_with_idle_filter(part, idle_filters(margin_dex, table), table)


def taste_for_width(leanings: Sequence[Leaning], trains: Sequence[Train]) -> Floats | None:
    """Find how an observer's liking goes with the apparent field.

    Parameters
    ----------
    leanings : sequence of Leaning
        What is preferred and passed over, by eyepiece.
    trains : sequence of Train
        Of the eyepieces that are owned.

    Returns
    -------
    ndarray or None
        Gain for each octave of apparent field, as a natural logarithm, and the field from which it
        counts [deg]; None where nothing shows a liking.

    Notes
    -----
    A straight line through the middle of the owned fields, by least squares; an opinion counts by
    how often it was shown.
    """
    fields_deg = {
        (t.eyepiece.name, t.amplifier.name if t.amplifier else ""): t.apparent_field_deg
        for t in trains
    }
    known = [one for one in leanings if (one.eyepiece, one.amplifier) in fields_deg]
    if not known:
        return None
    middle_deg = float(np.exp(np.mean(np.log(list(fields_deg.values())))))
    wider = np.log2([fields_deg[one.eyepiece, one.amplifier] / middle_deg for one in known])
    liking = np.log([one.factor for one in known])
    times = np.array([one.times for one in known], dtype=float)
    spread = float(times @ wider**2)
    return np.array([float(times @ (wider * liking)) / spread, middle_deg]) if spread else None


def taste_part(taste: Floats | None, apparent_field_deg: Floats) -> Floats:
    """Return what scores are multiplied by, 1 - ``MOST`` .. 1 + ``MOST``."""
    if taste is None:
        return np.ones(len(apparent_field_deg))
    slope, middle_deg = taste
    part = np.exp(slope * np.log2(apparent_field_deg / middle_deg))
    return np.asarray(np.clip(part, 1.0 - MOST, 1.0 + MOST))
