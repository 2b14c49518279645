"""What can be chosen from: eyepieces for a look, and what is best now."""

from __future__ import annotations

from datetime import datetime

from planner.model.kit import train_words
from planner.model.plan import View
from planner.session.offers import Offer, offers_by_group
from tui.night.scene import Scene

GROUPS = "here: the eyepiece that is in; any: the best; soon: nearly lost"
# Of each group.
MOST_OFFERED = 4


def offers_now(scene: Scene, now: datetime) -> list[tuple[str, Offer]]:
    """Return what is best now, each target once, with its group."""
    groups = zip(
        ("here", "any", "soon"), offers_by_group(scene.night, scene.state, now), strict=True
    )
    found: dict[str, tuple[str, Offer]] = {}
    for group, offers in groups:
        for offer in offers[:MOST_OFFERED]:
            found.setdefault(offer.target.id, (group, offer))
    return list(found.values())


def offer_words(group: str, offer: Offer) -> str:
    """Return the line of something that can be looked at now."""
    return f"{group}: {offer.target.name}, {train_words(offer.view.train)}; {offer.reason}"


def view_words(view: View, *, tells_grade: bool = True) -> str:
    """Return the line of an eyepiece that could be used."""
    if not tells_grade:
        return f"{train_words(view.train)}, {view.train.magnification:.0f}x"
    why = view.reasons[0] if view.reasons else ""
    return f"{train_words(view.train)}, {view.train.magnification:.0f}x, {view.grade}; {why}"
