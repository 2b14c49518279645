"""How an observer goes through a night: minutes to find and to look."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from planner.model.kit import Pointing
from targets.frozen import frozen

# Minutes at the eyepiece that the classes of targets are stated for, on average
# (``dwell_minutes`` of ``preferences.toml``).
STATED_LOOK_MIN = 10.0
# What a way by hops takes on average over what is worth a look in a December night under 20.9
# mag/arcsec2, and the share of the time to find that goes into focus and the note (our choice).
USUAL_HOPS_MIN, NOTE_SHARE = 3.5, 0.5
# A look as long as this is long at any pace but a calmer one (our choice).
LONG_LOOK_MIN = 20.0


# A guest steps up, looks and makes room for the next; before them the host centres and says what
# it is (common practice: one to two minutes a guest) [min].
MINUTES_A_GUEST, FOR_THE_HOST_MIN = 1.5, 3.0


@frozen
class ObservingPace:
    """The pace of a session. The defaults suit somebody with two years of practice.

    A practised observer sees six to ten targets in an evening of three to four hours, a beginner
    four or five; the eye needs five to ten minutes on a faint target (common practice).

    Parameters
    ----------
    find_min : float or None
        To find a target [min]; None for the usual 6 by hand, 2 with a driven telescope.
    look_min : float
        At the eyepiece, for a target that asks for no more and no less than most [min].
    most_an_hour : float or None
        Most looks in an hour; None for as many as fit.
    easy_share : float
        How much easy targets are preferred, 0 (challenges) .. 1; at 0.5 neither.
    variety : float
        How much a further target of one kind loses, 0 (nothing) .. 3; 1 is usual.
    guests : int
        How many people look one after the other; 0 for the observer alone.
    """

    find_min: float | None = None
    look_min: float = 16.0
    most_an_hour: float | None = None
    easy_share: float = 0.5
    variety: float = 1.0
    guests: int = 0

    @property
    def look_share(self) -> float:
        """Length of looks against the stated ones."""
        return self.look_min / STATED_LOOK_MIN

    def dwell_min(self, stated_min: float) -> float:
        """The minutes at the eyepiece [min] of a class; what has long looks gets none longer.

        Guests take `MINUTES_A_GUEST` each, whatever they look at.
        """
        if self.guests:
            return float(round(MINUTES_A_GUEST * self.guests + FOR_THE_HOST_MIN))
        longest = max(stated_min, LONG_LOOK_MIN)
        return float(round(min(stated_min * self.look_share, longest)))

    def finding_min(self, *, driven: bool, pointing: Pointing = Pointing.HAND) -> float:
        """The minutes to find a usual target, with the note on it [min]."""
        if self.find_min is not None:
            return self.find_min
        if driven or pointing is Pointing.GOTO:
            return 2.0
        return 3.5 if pointing is Pointing.CIRCLES else 6.0

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

    def at(self, tempo: Tempo) -> ObservingPace:
        """The same observer on a calmer or a quicker night."""
        share = TEMPO_SHARES[tempo]
        find_min = None if self.find_min is None else self.find_min * share
        return replace(self, find_min=find_min, look_min=self.look_min * share)

    def learned(self, gaps_min: Sequence[float], *, driven: bool) -> ObservingPace | None:
        """Return the pace that the times between looks show [min]; None where they show nothing.

        That is where they are fewer than `LEAST_GAPS`, or the configuration says otherwise.
        """
        shares = [self.look_min / USUAL_PACE.look_min - share for share in TEMPO_SHARES.values()]
        if len(gaps_min) < LEAST_GAPS or min(map(abs, shares)) > 1e-9:
            return None
        from statistics import median  # noqa: PLC0415  # only with a journal

        look_min = median(gaps_min) - self.finding_min(driven=driven) - CHANGE_MIN
        low, high = LEARNED_LOOK_MIN
        return replace(self, look_min=min(max(look_min, low), high))

    def most_looks(self, length_min: float) -> int | None:
        """Most looks in a session so long [min]; None for as many as fit."""
        if self.most_an_hour is None:
            return None
        return max(round(self.most_an_hour * length_min / 60.0), 1)


class Tempo(StrEnum):
    """How much one wants to see on a night."""

    CALM = "calm"
    USUAL = "usual"
    QUICK = "quick"


# From so many times between looks on a pace is learned; a longer time is a break, and a change of
# eyepiece takes its own; a look comes out between these (our choice).
LEAST_GAPS = 10
LONGEST_GAP_MIN = 45.0
CHANGE_MIN = 1.0
LEARNED_LOOK_MIN = (4.0, 25.0)
# Minutes against the usual ones (our choice: a calm evening of four hours has some 8 looks, a quick
# one some 18).
TEMPO_SHARES = {Tempo.CALM: 1.4, Tempo.USUAL: 1.0, Tempo.QUICK: 0.55}

USUAL_PACE = ObservingPace()
