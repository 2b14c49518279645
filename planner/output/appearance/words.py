"""What has to be said of such pictures: what they are, what they hold, and what they do not."""

from __future__ import annotations

from collections.abc import Sequence

from planner.output.appearance.views import OF_STARS, Appearance
from targets.model import Kind, Target

MODEL = (
    "A model to compare eyepieces by, not a photograph: no structure is drawn that the catalogue "
    "does not hold, and nothing that lies below the threshold of this eye."
)
SCALE = "Views beside each other have one scale of apparent angle: what is larger is so to the eye."
BODIES = (Kind.MOON, Kind.LUNAR_FEATURE, Kind.PLANET)


def limit_words(target: Target, views: Sequence[Appearance]) -> str:
    """Return sentences on where what is known of a target and its field ends; empty for none."""
    sentences = []
    ends = [view.drawing.faintest_mag for view in views if view.drawing.limit_mag is not None]
    if any(view.has_rest for view in views):
        sentences.append(
            f"Stars are drawn to magnitude {ends[0]:.0f}, where the star file ends; the light of "
            "the fainter ones in the cluster is drawn as a glow, though more will be seen singly."
            if ends and ends[0] is not None
            else "The light of stars that no list holds singly is drawn as a glow."
        )
    elif ends and ends[0] is not None:
        more = " in the cluster too" if target.kind in OF_STARS else ""
        sentences.append(
            f"Stars are drawn to magnitude {ends[0]:.0f}, where the star file ends; the eyepiece "
            f"shows fainter ones{more}."
        )
    if _is_round_for_want_of_an_angle(target):
        sentences.append("Drawn round with its mean size, as its angle is not known.")
    if target.kind in BODIES:
        sentences.append("Of discs the phase is drawn, no markings.")
    return " ".join(sentences)


def _is_round_for_want_of_an_angle(target: Target) -> bool:
    if target.position_angle_deg is not None or target.kind in BODIES:
        return False
    major, minor = target.major_arcmin, target.minor_arcmin
    return major is not None and minor is not None and minor < major
