"""How an observer goes through a night: minutes to find and to look."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.model.kit import Pointing

# Minutes at the eyepiece that the classes of targets are stated for, on average
# (``dwell_minutes`` of ``preferences.toml``).
STATED_LOOK_MIN = 10.0
# What a way by hops takes on average over what is worth a look in a December night under 20.9
# mag/arcsec2, and the share of the time to find that goes into focus and the note (our choice).
USUAL_HOPS_MIN, NOTE_SHARE = 3.5, 0.5
# A look as long as this is long at any pace but a calmer one (our choice).
LONG_LOOK_MIN = 20.0


@dataclass(frozen=True, slots=True)
class ObservingPace:
    """The pace of a session. The defaults suit somebody with two years of practice.

    A practised observer sees six to ten targets in an evening of three to four hours, a beginner
    four or five; the eye needs five to ten minutes on a faint target (common practice).

    Parameters
    ----------
    find_min : float or None
        To find a target [min]; None for the usual 5 by hand, 2 with a driven telescope.
    look_min : float
        At the eyepiece, for a target that asks for no more and no less than most [min].
    """

    find_min: float | None = None
    look_min: float = 14.0

    @property
    def look_share(self) -> float:
        """Length of looks against the stated ones."""
        return self.look_min / STATED_LOOK_MIN

    def dwell_min(self, stated_min: float) -> float:
        """The minutes at the eyepiece [min] of a class; what has long looks gets none longer."""
        longest = max(stated_min, LONG_LOOK_MIN)
        return float(round(min(stated_min * self.look_share, longest)))

    def finding_min(self, *, driven: bool, pointing: Pointing = Pointing.HAND) -> float:
        """The minutes to find a usual target, with the note on it [min]."""
        if self.find_min is not None:
            return self.find_min
        if driven or pointing is Pointing.GOTO:
            return 2.0
        return 3.5 if pointing is Pointing.CIRCLES else 5.0

    def found_in_min(self, usual_min: float, hops_min: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the minutes to find targets by hand, with the note on each [min].

        Parameters
        ----------
        usual_min : float
            From `finding_min` [min].
        hops_min : ndarray
            What the ways to them take [min].
        """
        return usual_min * (NOTE_SHARE + (1.0 - NOTE_SHARE) * hops_min / USUAL_HOPS_MIN)


USUAL_PACE = ObservingPace()
