"""Figures of how targets will look in eyepieces, for the pages."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.config.preferences import Preferences
from planner.model.kit import Train
from planner.output.appearance.png import data_uri
from planner.output.appearance.views import appearances
from planner.output.appearance.words import limit_words
from planner.output.drawing.limiting_magnitude import ViewedSky
from targets.model import Target


def view_figures(
    target: Target,
    captions: Sequence[tuple[Train, str]],
    circumstance: ViewedSky,
    preferences: Preferences,
) -> dict[str, Any]:
    """Return figures of a target in several trains, to one scale, and the words below them.

    Parameters
    ----------
    target : Target
        With a place.
    captions : sequence of (Train, str)
        The trains, and what is written under each.

    Returns
    -------
    dict
        ``figures``, each with ``address``, ``degrees`` (its width before the eye) and ``words``;
        ``close_ups`` of a pair, the same with ``address`` and ``title``, and ``middle`` how wide
        they are; and ``words`` on where what is known ends.
    """
    seen = appearances(target, [train for train, _ in captions], circumstance, preferences)
    return {
        "figures": [
            {
                "address": data_uri(one.picture),
                "degrees": f"{one.apparent_deg:.1f}",
                "words": words,
                "title": f"{target.name} as it will look: {words}",
            }
            for one, (_, words) in zip(seen, captions, strict=True)
        ],
        "close_ups": [
            {"address": data_uri(one.middle), "words": words, "title": f"{target.name}, enlarged"}
            for one, (_, words) in zip(seen, captions, strict=True)
            if one.middle is not None
        ],
        "middle": next((f"{one.middle_deg:.1f}" for one in seen if one.middle_deg), ""),
        "words": limit_words(target, seen),
    }
