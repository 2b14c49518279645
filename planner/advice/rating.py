"""Rates trains over a year of looks, by a measure that does not depend on what else is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.advice.year import Year
from planner.config.preferences import Preferences
from planner.matcher.rating import FILTER_GAIN_DEX, IDLE_FILTER, Ratings
from planner.matcher.requirements import fill_limits
from planner.matcher.scoring import framing_part, seen_well
from planner.matcher.train_table import TrainTable, tabulate_trains
from planner.model.kit import Eyepiece, Train
from planner.planning.circumstances import Circumstances
from targets.arrays import Floats


@dataclass(frozen=True, slots=True)
class Rated:
    """K usable trains over the N looks of a year.

    Parameters
    ----------
    year : Year
    table : TrainTable
        The trains.
    score : ndarray
        Of each look in each train, 0 .. 1, shape (N, K).
    """

    year: Year
    table: TrainTable
    score: Floats

    @property
    def weight(self) -> Floats:
        """How much each of the N looks counts, on all nights together."""
        return self.year.weight * self.year.count

    def of_eyepieces(self, eyepieces: Sequence[Eyepiece]) -> Floats:
        """The best score of each look with each eyepiece, (N, E); 0 where it fits nowhere."""
        best = np.zeros((len(self.score), len(eyepieces)))
        for column, eyepiece in enumerate(eyepieces):
            own = [k for k, train in enumerate(self.table.trains) if train.eyepiece == eyepiece]
            best[:, column] = np.max(self.score[:, own], axis=1, initial=0.0)
        return best


def rate_year(year: Year, circumstances: Circumstances, trains: Sequence[Train]) -> Rated:
    """Rate trains for every look of a year; those that do not fit together are left out.

    Notes
    -----
    The parts are the matcher's. Two of them, which the matcher relates to the best of the trains
    at hand, are taken absolutely, so that another train never changes what these are worth: the
    framing of a target too large for all of them, and how well a target is seen. That is the
    chance to see it at its margin; up to the reference of the look, what may be given up for a
    smaller exit pupil is added first.
    """
    table = tabulate_trains(trains)
    if not len(table):
        return Rated(year, table, np.zeros((len(year.weight), 0)))
    ratings = replace(circumstances, table=table, leanings=()).rate(year.target_table, year.moment)
    weights = circumstances.preferences.weights
    score = ratings.parts["fit"]
    parts = {
        "framing": _framing(year, ratings, table, circumstances.preferences),
        "exit_pupil": ratings.parts["exit pupil"],
        "power": ratings.parts["power"],
        "visibility": _seen(ratings.margin_dex, year, table, weights.margin_given_up_dex),
        "comfort": ratings.parts["comfort"],
    }
    for name, part in parts.items():
        score = score * part ** getattr(weights, name)
    return Rated(year, table, np.asarray(score))


def _framing(year: Year, ratings: Ratings, table: TrainTable, preferences: Preferences) -> Floats:
    low, high, largest = fill_limits(year.target_table, preferences)
    small = np.array([c.small_in_field for c in preferences.classes])
    size_arcmin = year.target_table.major_arcmin[:, None] * ratings.seen_share
    return framing_part(
        size_arcmin / table.true_field_arcmin,
        ideal_low=low,
        ideal_high=high,
        largest=largest,
        small_in_field=small[year.target_table.class_code, None],
    )


def _seen(margin_dex: Floats, year: Year, table: TrainTable, given_up_dex: float) -> Floats:
    reference = year.reference_dex[:, None]
    part = seen_well(np.maximum(margin_dex, np.minimum(margin_dex + given_up_dex, reference)))
    lifts = margin_dex >= margin_dex[:, table.unfiltered] + FILTER_GAIN_DEX
    idle = (table.filter_code > 0) & ~lifts
    without = part[:, table.unfiltered]
    return np.where(idle, IDLE_FILTER * np.minimum(part, without), part)
