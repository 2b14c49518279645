"""How an observer goes through a night: minutes to find and to look."""

from __future__ import annotations

from dataclasses import dataclass

# Minutes at the eyepiece that the classes of targets are stated for, on average
# (``dwell_minutes`` of ``preferences.toml``).
STATED_LOOK_MIN = 10.0
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

    def finding_min(self, *, driven: bool) -> float:
        """The minutes to find a target, with the note on it [min]."""
        if self.find_min is not None:
            return self.find_min
        return 2.0 if driven else 5.0


USUAL_PACE = ObservingPace()
