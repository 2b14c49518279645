"""How a target is found: where one starts, the moves from there, and what each ends on."""

from __future__ import annotations

from enum import StrEnum

from targets.frozen import frozen
from targets.model import Target


class FoundBy(StrEnum):
    """How one comes to a target.

    It is plain by itself, to the naked eye or in the finder; one hops to it from a star; circles or
    motors bring the telescope there; or nothing leads by hand, and its coordinates are all.
    """

    EYE = "eye"
    FINDER = "finder"
    HOPS = "hops"
    CIRCLES = "circles"
    GOTO = "goto"
    COORDINATES = "coordinates"


@frozen
class Waypoint:
    """A star or target on the way: J2000 place at the epoch of the night [deg], V or None."""

    name: str
    ra_deg: float
    dec_deg: float
    magnitude: float | None


@frozen
class Step:
    """One move.

    Parameters
    ----------
    start, end : Waypoint
        From where to where.
    separation_deg : float
        How far [deg].
    position_angle_deg : float
        At the start, from north through east [deg].
    direction : str
        As the mount moves: ``up and left``, or ``north-east`` for an equatorial one.
    instrument : str
        What one looks through at the end.
    """

    start: Waypoint
    end: Waypoint
    separation_deg: float
    position_angle_deg: float
    direction: str
    instrument: str
    text: str


@frozen
class Finding:
    """The way to a target.

    Parameters
    ----------
    by : FoundBy
        How.
    start : Waypoint or None
        Where one begins, the target itself where it is plain; None where coordinates lead.
    steps : tuple of Step
        In order; the last ends on the target.
    altitude_deg, azimuth_deg : float
        Of the start, or of the target where coordinates lead, when the way begins [deg].
    minutes : float
        What it takes [min].
    text : str
        Where it begins, or that no more is needed, in words.
    of_date_deg : tuple of float or None
        Where coordinates lead, the target's right ascension and declination of date, as circles
        count [deg].
    """

    by: FoundBy
    start: Waypoint | None
    steps: tuple[Step, ...]
    altitude_deg: float
    azimuth_deg: float
    minutes: float
    text: str
    of_date_deg: tuple[float, float] | None = None


@frozen
class Neighbour:
    """What else is worth a look so near to a target that the telescope is only nudged.

    ``separation_deg`` and ``position_angle_deg`` are from the target to it [deg], ``direction`` as
    of a `Step`.
    """

    target: Target
    separation_deg: float
    position_angle_deg: float
    direction: str
