"""What the observer asks of a plan, and the step of time that all of planning takes."""

from __future__ import annotations

from targets.arrays import Codes
from targets.frozen import frozen

STEP_MIN = 5.0


@frozen
class Wishes:
    """What the observer asks of the plan.

    Parameters
    ----------
    rows : ndarray of int or None
        Rows of the catalogue to choose from; None for all.
    by_name : bool
        The rows are a list of the observer's own: each gets a reason when it is left out.
    count : int or None
        Most looks; None for as many as fit.
    min_altitude_deg : float or None
        Floor instead of each class's own [deg].
    teach : bool
        Whether two of the looks are such as tell most about the observer's eye.
    """

    rows: Codes | None = None
    by_name: bool = False
    count: int | None = None
    min_altitude_deg: float | None = None
    teach: bool = False
