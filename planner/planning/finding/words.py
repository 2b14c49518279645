"""A way in words: directions as the mount moves, and what stands at the end of each move."""

from __future__ import annotations

from planner.model.finding import Waypoint
from planner.planning.finding.instruments import Instrument

# In steps of 45 degrees: from the zenith to the right, as one who faces that part of the sky has
# it; and from north through east.
BY_THE_ZENITH = (
    "up", "up and right", "right", "down and right", "down", "down and left", "left", "up and left",
)  # fmt: skip
BY_THE_POLE = (
    "north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west",
)  # fmt: skip


def direction_words(angle_deg: float, *, equatorial: bool) -> str:
    """Return one of eight directions.

    Parameters
    ----------
    angle_deg : float
        From the zenith to the right or, for an equatorial mount, from north through east [deg].
    equatorial : bool
        Which of the two.
    """
    return (BY_THE_POLE if equatorial else BY_THE_ZENITH)[round(angle_deg / 45.0) % 8]


def degrees_words(degrees: float) -> str:
    """Write a length: ``0.4 deg``, ``12 deg``."""
    return f"{degrees:.1f} deg" if degrees < 9.95 else f"{degrees:.0f} deg"


def length_words(degrees: float, instrument: Instrument) -> str:
    """Write how far in degrees and in fields: ``2.6 deg (0.4 fields of the 6x30 finder)``."""
    fields = degrees / instrument.field_deg
    return f"{degrees_words(degrees)} ({fields:.1f} fields of the {instrument.name})"


def end_words(end: Waypoint) -> str:
    """Say on what star a move ends: ``mu And, magnitude 3.9, the brightest there``."""
    # A star without a name is told by its magnitude already.
    is_told = "magnitude" in end.name or end.magnitude is None
    return f"{end.name}{'' if is_told else f', magnitude {end.magnitude:.1f}'}, the brightest there"
