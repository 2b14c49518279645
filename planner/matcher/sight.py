"""Lets sight decide which train comes first, so that a worse sky never betters a grade."""

from __future__ import annotations

import numpy as np

from planner.config.preferences import Preferences
from planner.formulas.visibility_limit import GRADES, grade_codes
from planner.matcher.requirements import SOFT_EDGE
from planner.matcher.target_classes import TargetTable
from planner.matcher.train_table import TrainTable
from planner.model.plan import Grade
from targets.arrays import Flags, Floats

# A worse grade comes this close behind a better one, and no train falls below the second.
BELOW_A_BETTER_GRADE = 0.98
LEAST_FLOOR = 1e-6
# Where no field holds the whole target with room, fields this near the widest count as the widest.
WIDEST_SHARE = 0.97


def serving(
    target_table: TargetTable,
    table: TrainTable,
    *,
    fit: Floats,
    whole_fill: Floats,
    most_power: Floats,
    preferences: Preferences,
    pupil_mm: float,
) -> Flags:
    """Tell which trains serve each target whatever the sky.

    They hold it, waste no light, have an exit pupil that its class accepts (with a filter also a
    larger one), and are borne by the air, the lowest power of them in any air. The target's own
    size counts, not the one seen tonight: what serves is then the same in haze.

    Parameters
    ----------
    target_table, table
        N targets and K trains.
    fit, whole_fill : ndarray
        Whether train and target go together, and long axis over true field, (N, K).
    most_power : ndarray
        That the air bears, (N,).
    pupil_mm : float
        Of the eye [mm].

    Returns
    -------
    ndarray of bool
        Shape (N, K), one at least for each target.
    """
    least = np.min(whole_fill, axis=1, keepdims=True, initial=np.inf)
    serves = np.isnan(whole_fill) | (whole_fill <= 1.0) | (whole_fill * WIDEST_SHARE <= least)
    size = table.exit_pupil_mm
    accepted = target_table.preferred("exit_pupil_ok_mm", preferences)
    low, high = accepted[:, :1], accepted[:, 1:]
    for narrower in (
        fit > 0.0,
        size <= pupil_mm * SOFT_EDGE,
        size >= low,
        (size <= high) | (table.filter_code > 0),
    ):
        narrowed = serves & narrower
        serves = np.where(narrowed.any(axis=1, keepdims=True), narrowed, serves)
    power = np.where(serves, table.magnification, np.inf)
    lowest = np.min(power, axis=1, keepdims=True, initial=np.inf)
    return np.asarray(serves & (table.magnification <= np.maximum(most_power[:, None], lowest)))


def sight_part(score: Floats, margin_dex: Floats, *, serves: Flags) -> Floats:
    """Return what lets sight decide: the winner shows the target as well as any train that serves.

    So its grade is the best of theirs. As that set is the same under every sky, and each margin
    falls with the sky, the air and the haze, none of these ever betters the winner's grade.

    Parameters
    ----------
    score : ndarray
        Of N targets in K trains by everything else, (N, K).
    margin_dex : ndarray
        Over the eye's threshold [dex]; NaN where the brightness is unknown, which is ranked by the
        score alone.
    serves : ndarray of bool
        Trains that may set the grade, (N, K).

    Returns
    -------
    ndarray
        1 for the trains of that grade and below 1 for those of another that would come before;
        within one grade the order stays.
    """
    grade = np.where(np.isnan(margin_dex), -1, grade_codes(margin_dex))
    best = np.max(np.where(serves, grade, -1), axis=1, keepdims=True, initial=-1)
    part = np.ones(score.shape)
    floor = np.full((len(score), 1), np.inf)
    for level in range(GRADES.index(Grade.EASY), -1, -1):
        here = grade == level
        top = np.max(np.where(here, score, 0.0), axis=1, keepdims=True, initial=0.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(top > floor, BELOW_A_BETTER_GRADE * floor / top, 1.0)
        part = np.where(here, share, part)
        held = np.where(here & serves, part * score, np.inf)
        lowest = np.min(held, axis=1, keepdims=True, initial=np.inf)
        floor = np.minimum(floor, np.maximum(lowest, LEAST_FLOOR))
    # A train that does not serve may show more, but not come first for it.
    leads = np.where(serves & (grade == best), part * score, 0.0)
    first = np.max(leads, axis=1, keepdims=True, initial=0.0)
    over = np.where(grade > best, part * score, 0.0)
    top = np.max(over, axis=1, keepdims=True, initial=0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where((top > first) & (best >= 0), BELOW_A_BETTER_GRADE * first / top, 1.0)
    return np.where(grade > best, share * part, part)
