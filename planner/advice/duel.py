"""Sets two candidates against each other, over the same year beside the same kit."""

from __future__ import annotations

import numpy as np

from planner.advice.candidate import WINS_BY, kit_with
from planner.advice.rating import rate_year
from planner.advice.results import Duel, Part
from planner.advice.year import Year
from planner.matcher.trains import make_trains
from planner.model.kit import Kit
from planner.planning.circumstances import Circumstances
from targets.arrays import Flags, Floats
from targets.model import Target


def duel(year: Year, circumstances: Circumstances, kit: Kit, one: Part, other: Part) -> Duel | None:
    """Set two candidates against each other; None where the kit shows nothing to compare with."""
    weight = year.weight * year.count
    kits = (kit, kit_with(kit, one), kit_with(kit, other), kit_with(kit_with(kit, one), other))
    now, first, second, both = (
        rate_year(year, circumstances, make_trains(circumstances.telescope, each)).best()
        for each in kits
    )
    first, second = np.maximum(first, now), np.maximum(second, now)
    both = np.maximum.reduce([both, first, second])
    worth = float(weight @ now)
    if not worth > 0.0:
        return None
    won = (first > WINS_BY * second, second > WINS_BY * first)
    gains = tuple(float(weight @ each) / worth - 1.0 for each in (first, second))
    return Duel(
        parts=(one, other),
        looks_won=(int(year.count[won[0]].sum()), int(year.count[won[1]].sum())),
        targets=(
            _targets(year, won[0], weight * (first - second)),
            _targets(year, won[1], weight * (second - first)),
        ),
        gain_share=(gains[0], gains[1]),
        both_share=float(weight @ both) / worth - 1.0,
    )


def _targets(year: Year, won: Flags, gained: Floats) -> tuple[Target, ...]:
    sums: dict[str, float] = {}
    found: dict[str, Target] = {}
    for row in np.flatnonzero(won):
        target = year.targets[row]
        sums[target.id] = sums.get(target.id, 0.0) + float(gained[row])
        found.setdefault(target.id, target)
    return tuple(found[name] for name in sorted(sums, key=lambda name: -sums[name]))
