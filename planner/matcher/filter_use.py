"""Which filters suit a target, which are worth the trouble, and what that leaves of a train."""

from __future__ import annotations

import numpy as np

from planner.formulas.filters import FILTER_EXCEPTIONS, filter_suits
from planner.matcher.target_classes import TargetTable
from planner.matcher.train_table import FILTER_CODES, TrainTable
from targets.arrays import Flags, Floats
from targets.model import Kind

# A filter is proposed where it lifts the margin by this much, a quarter of a magnitude: our choice.
FILTER_GAIN_DEX = 0.1
# What is left of a train whose filter is not worth the trouble.
IDLE_FILTER = 0.7
# What is left of a train that could have a filter which lifts this much: with it goes before
# without it, since whoever owns a filter wants to use it where it pays (common practice).
FILTER_LEFT_OUT = 0.97


def fit_part(target_table: TargetTable, table: TrainTable) -> Floats:
    """1 where the filter, if any, suits what the target shines with, else 0; shape (N, K)."""
    suited = np.ones((len(target_table), len(FILTER_CODES)))
    kinds, inverse = np.unique(target_table.kinds, return_inverse=True)
    ids = enumerate(target_table.ids.tolist())
    exceptions = [row for row, name in ids if name in FILTER_EXCEPTIONS]
    for code in sorted(set(table.filter_code.tolist())):
        filter_kind = FILTER_CODES[code]
        if filter_kind is None:
            continue
        by_kind = [filter_suits(filter_kind, kind=Kind(kind), target_id="") for kind in kinds]
        suited[:, code] = np.array(by_kind, dtype=float)[inverse]
        for row in exceptions:
            kind, target_id = Kind(target_table.kinds[row]), str(target_table.ids[row])
            suited[row, code] = filter_suits(filter_kind, kind=kind, target_id=target_id)
    return np.asarray(suited[:, table.filter_code])


def idle_filters(margin: Floats, table: TrainTable) -> Flags:
    """Tell where a filter is not worth the trouble, shape (N, K)."""
    lifts = margin >= margin[:, table.unfiltered] + FILTER_GAIN_DEX
    # Where no light arrives at all there is nothing to lift, and no number to compare.
    lifts &= np.isfinite(margin)
    return np.asarray((table.filter_code > 0) & ~lifts)


def less_without_filter(part: Floats, lifts: Flags, table: TrainTable) -> Floats:
    """Return the part of a score, (N, K), with less for trains that a filter would lift."""
    could_lift = np.zeros(part.shape, dtype=bool)
    for column in np.flatnonzero(lifts.any(axis=0)):
        could_lift[:, table.unfiltered[column]] |= lifts[:, column]
    return np.where(could_lift, FILTER_LEFT_OUT * part, part)


def less_with_idle_filter(part: Floats, idle: Flags, table: TrainTable) -> Floats:
    """Return the part of a score, (N, K), with less for trains with a filter that lifts nothing."""
    without = part[:, table.unfiltered]
    return np.where(idle, IDLE_FILTER * np.minimum(part, without), part)
