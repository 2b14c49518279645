"""What is in a focuser, and what of it is left for the other telescope."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TypeAlias

import numpy as np

from planner.matcher.train_table import TrainTable
from planner.model.kit import Kit, Train
from targets.arrays import Flags

# Kind and name of things, with how many.
Things: TypeAlias = Counter[tuple[str, str]]


def things_of(train: Train) -> Things:
    """Return what a train takes out of the box: a binoviewer takes two of its eyepiece."""
    things = Counter({("eyepiece", train.eyepiece.name): train.eyes})
    if train.amplifier is not None:
        things["amplifier", train.amplifier.name] = 1
    if train.filter is not None:
        things["filter", train.filter.name] = 1
    return things


def things_owned(kit: Kit) -> Things:
    """Return what is in the box, with how many of each."""
    things = Things()
    for eyepiece in kit.eyepieces:
        things["eyepiece", eyepiece.name] += eyepiece.count
    things.update(("amplifier", part.name) for part in kit.amplifiers)
    things.update(("filter", part.name) for part in kit.filters)
    return things


def things_left(owned: Things, taken: Iterable[Train]) -> Things:
    """Return what is left in the box beside trains that are in one telescope, one after another."""
    most = Things()
    for train in taken:
        most |= things_of(train)
    left = Counter(owned)
    left.subtract(most)
    return left


def missing(train: Train, left: Things) -> tuple[str, ...]:
    """Name what a train takes and the box has not."""
    return tuple(
        name for (kind, name), count in things_of(train).items() if left[kind, name] < count
    )


def free_columns(table: TrainTable, left: Things) -> Flags:
    """Tell which of K trains can be made of what is left, (K,)."""
    return np.array([not missing(train, left) for train in table.trains], dtype=bool)
