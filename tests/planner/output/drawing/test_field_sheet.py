"""Which eyepieces are drawn."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from planner.model.plan import Grade, View
from planner.output.text.fields import different_eyepieces


def test_each_eyepiece_is_drawn_once_and_only_what_can_be_used(train: Any) -> None:
    """The best view of each, in their order; a train that does not go together is left out."""
    plain = train()
    names = ("a", "a", "b", "c", "d")
    trains = [replace(plain, eyepiece=replace(plain.eyepiece, name=name)) for name in names]
    trains[2] = replace(trains[2], faults=("does not go in",))
    views = [
        View(train, None, None, 1.0 - 0.1 * number, {}, Grade.EASY)
        for number, train in enumerate(trains)
    ]
    assert different_eyepieces(views, 3) == [views[0], views[3], views[4]]
    assert different_eyepieces(views, 1) == [views[0]]
    assert different_eyepieces([views[2]], 3) == []
