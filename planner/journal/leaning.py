"""Finds out from the journal what the observer prefers.

An entry speaks *for* the eyepiece that was used when it was rated 4 or 5, or when it was taken
instead of the planned one and not rated low. It speaks *against* the one that was used when it was
rated 1 or 2, and against the planned one that another was taken for. Entries that follow the plan
without a clear rating say nothing, and neither do those in which nothing was seen: that is the
sky's doing more often than the eyepiece's. All of this is our choice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from planner.model.leaning import Leaning
from targets.frozen import frozen

LEAST_TIMES = 5  # fewer opinions than these are no habit
GOOD, BAD = 4, 2

Glass = tuple[str, str]  # eyepiece and amplifier by name


@frozen
class GlassChoice:
    """What one entry says about glass.

    Parameters
    ----------
    used : tuple of str
        Eyepiece and amplifier.
    planned : tuple of str or None
        What the plan had; None when it had nothing, or it is not known.
    rating : int or None
        1 .. 5.
    """

    target_class: str
    used: Glass
    planned: Glass | None
    rating: int | None


def find_leanings(uses: Iterable[GlassChoice]) -> tuple[Leaning, ...]:
    """Return what is preferred or avoided on each class of target.

    Parameters
    ----------
    uses : iterable of GlassChoice
        Of looks in which something was seen or suspected.

    Returns
    -------
    tuple of Leaning
        Only where at least ``LEAST_TIMES`` entries show an opinion, and more of them on one side.
    """
    for_it: Counter[tuple[str, Glass]] = Counter()
    against: Counter[tuple[str, Glass]] = Counter()
    for use in uses:
        rating = use.rating or 3
        overruled = use.planned is not None and use.planned != use.used
        if rating <= BAD:
            against[use.target_class, use.used] += 1
        elif rating >= GOOD or overruled:
            for_it[use.target_class, use.used] += 1
        if overruled and use.planned and rating > BAD:
            against[use.target_class, use.planned] += 1
    return tuple(
        Leaning(target_class, *glass, favoured=for_it[target_class, glass], times=times)
        for (target_class, glass), times in sorted((for_it + against).items())
        if times >= LEAST_TIMES and 2 * for_it[target_class, glass] != times
    )
