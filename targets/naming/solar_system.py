"""The Moon and the planets as targets; their places and sizes come from an ephemeris."""

from __future__ import annotations

from targets.model import Kind
from targets.naming.designations import name_key

MOON = "Moon"
PLANETS = ("Mercury", "Venus", "Mars", "Jupiter", "Saturn", "Uranus", "Neptune")
BODIES = {MOON: Kind.MOON} | dict.fromkeys(PLANETS, Kind.PLANET)
OTHER_NAMES = {"Luna": MOON}

SUN_CAUTION = (
    "the Sun is never a target here: look at it through a telescope, eyepiece or finder only with "
    "a filter made for that, over the front of the instrument; without one the eye is destroyed "
    "at once"
)


def means_the_sun(text: str) -> bool:
    """Tell whether a person asks for the Sun."""
    return name_key(text) in {"sun", "sol"}
