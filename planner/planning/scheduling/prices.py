"""What a minute costs in a session, and one more look at a kind: prices for the search."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.planning.scheduling.pace import Pace
from targets.arrays import Codes, Floats
from targets.frozen import frozen

# Rounds in which the price of repeats settles.
FILLINGS = 8
# Minutes from one look to the next beside the finding, to price the time of a look.
USUAL_CHANGE_MIN = 2.0


@frozen
class Prices:
    """What time, looks and repeats cost, and what targets bring above that.

    ``of_repeats`` has shape (N,): what one more look at the kind of each target costs. ``bonus``
    has shape (N, T + 1): of each target from each step on. ``others`` is the bonus of all the
    other targets together.
    """

    per_min: float
    per_look: float
    of_repeats: Floats
    bonus: Floats
    others: Floats


def find_prices(pace: Pace, factors: Sequence[float]) -> list[Prices]:
    """Find what a minute is worth in this session, or a look where their number is limited.

    Parameters
    ----------
    factors : sequence of float
        Each raises the price of time.

    Returns
    -------
    list of Prices
        For each factor. The price of time is the worth per minute at which the best targets just
        fill the session; it is 0 when all of them fit, or when the number of looks is the limit.
    """
    best = _best_from(pace)
    first = min(math.ceil(pace.beginning.minute / pace.session.step_min), pace.steps)
    duration = pace.candidates.dwell_min + pace.finding_min + USUAL_CHANGE_MIN
    of_repeats = _repeat_prices(pace, best[:, first], duration)
    best = best - of_repeats[:, None]
    density = best[:, first] / duration
    order, fitting = _filling(pace, density, duration)
    limit = pace.session.most_looks
    least, per_look = 0.0, 0.0
    if limit is not None and limit < min(fitting, len(best)):
        per_look = float(np.sort(best[:, first])[::-1][limit])
    elif fitting < len(best):
        least = max(float(density[order[fitting]]), 0.0)
    found = []
    for per_min in (factor * least for factor in factors):
        price = per_min * duration + per_look
        bonus = np.maximum(best - price[:, None], 0.0)
        found.append(Prices(per_min, per_look, of_repeats, bonus, bonus.sum(axis=0) - bonus))
    return found


def _repeat_prices(pace: Pace, best: Floats, duration: Floats) -> Floats:
    """Find what one more look at the kind of each target costs, once the session is full, (N,).

    How many looks at a kind there will be depends on the price, and the price on how many: both
    settle when each filling is averaged with those before.
    """
    kind, seen = pace.candidates.kind, pace.seen_before
    many = seen
    for number in range(FILLINGS):
        price = pace.repeat_worth * np.maximum(many - 0.5, 0.0)[kind]
        order, fitting = _filling(pace, (best - price) / duration, duration)
        chosen = order[:fitting]
        chosen = chosen[best[chosen] > price[chosen]]
        found = seen + np.bincount(kind[chosen], minlength=len(seen))
        many = many + (found - many) / (number + 1)
    return np.asarray(pace.repeat_worth * np.maximum(many - 0.5, 0.0)[kind])


def _filling(pace: Pace, density: Floats, duration: Floats) -> tuple[Codes, int]:
    """Put targets in order of worth per minute; tell how many of them the session has time for."""
    order = np.argsort(-density, kind="stable")
    left_min = pace.session.length_min - pace.beginning.minute
    return order, int(np.searchsorted(np.cumsum(duration[order]), left_min))


def _best_from(pace: Pace) -> Floats:
    """Return the most that a look at each target from each step on is worth, (N, T + 1)."""
    begins = np.arange(pace.steps)
    half = np.round(pace.candidates.dwell_min / 2.0 / pace.session.step_min).astype(int)
    middle = np.minimum(begins + half[:, None], pace.steps - 1)
    worth = np.take_along_axis(pace.quality, middle, axis=1)
    worth = np.where(pace.first_begin[:, :-1] == begins, worth, 0.0)
    worth = np.pad(worth, ((0, 0), (0, 1)))
    worth[pace.done] = 0.0
    return np.asarray(np.maximum.accumulate(worth[:, ::-1], axis=1)[:, ::-1])
