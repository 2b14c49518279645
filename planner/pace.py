"""How a session passes: finding, slewing, changing, looking, resting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.candidates import Beginning, Candidates, Codes, Flags, Floats, Session

# Minutes, common practice: finding a target, a slew across 90 degrees of sky, a change.
FINDING_DRIVEN_MIN = 1.5
FINDING_BY_HAND_MIN = 3.0
SLEW_MIN_PER_90_DEG = 1.0
EYEPIECE_CHANGE_MIN = 1.0
BARREL_CHANGE_MIN = 0.5
FILTER_CHANGE_MIN = 1.0
AMPLIFIER_CHANGE_MIN = 0.5
REBALANCE_MIN = 1.5
BREAK_MIN = 12.0
BREAK_AFTER_MIN = 90.0
# No break so shortly before the end.
BREAK_BEFORE_END_MIN = 30.0
# After the Moon the eye needs this long before it sees faint things again (common practice: most
# of the adaptation comes back in 10 to 20 minutes).
ADAPTATION_MIN = 15.0

# The rest is our choice. Worth lost for each minute of finding and changing, a showpiece at its
# best being worth 1. Waiting costs nothing: it is what is left when nothing is worth a look.
WORTH_PER_MIN = 0.01
# Worth lost for each minute that a target waits whose window closes at once; less, the later it
# closes. Of equals the one that sets first goes first, and delays cost less.
URGENCY_PER_MIN = 0.0005
# A look is worth more by the square root of its length against this [min]: what deserves time must
# not lose against many quick looks.
USUAL_DWELL_MIN = 10.0
# Each further target of one kind is worth this share of the one before.
VARIETY = 0.94


@dataclass(frozen=True, slots=True)
class Looks:
    """Looks that follow whatever went before; arrays of one shape.

    Parameters
    ----------
    begin_min, end_min : ndarray
        Of the looks [min].
    rested_min : ndarray
        When the observer last rested [min].
    pause_end_min : ndarray
        End of the break before the look [min], NaN where there is none.
    worth : ndarray
        What the look adds before its kind counts for variety, less the way there.
    way_worth : ndarray
        What the way there costs of it.
    fits : ndarray of bool
        Inside the target's window and the session for its whole length.
    """

    begin_min: Floats
    end_min: Floats
    rested_min: Floats
    pause_end_min: Floats
    worth: Floats
    way_worth: Floats
    fits: Flags


class Pace:
    """The candidates of a session, ready to be looked at one after another from a beginning on."""

    def __init__(
        self, candidates: Candidates, session: Session, beginning: Beginning | None = None
    ) -> None:
        self.candidates = candidates
        self.session = session
        self.beginning = beginning or Beginning()
        self.steps = candidates.open.shape[1]
        self.first_begin = _first_begins(candidates, session)
        length = np.sqrt(candidates.dwell_min / USUAL_DWELL_MIN)
        self.quality = candidates.quality * length[:, None] - _urgency(candidates, session)
        self.travel_min = travel_min(candidates, session)

    @property
    def finding_min(self) -> float:
        """What it takes to find a target [min]."""
        return FINDING_DRIVEN_MIN if self.session.driven else FINDING_BY_HAND_MIN

    @property
    def first_travel_min(self) -> Floats:
        """What it takes to get to each target at the beginning [min], shape (N,)."""
        if self.beginning.done:
            return np.asarray(self.travel_min[self.beginning.done[-1]])
        return np.full(len(self.candidates), self.finding_min)

    @property
    def done(self) -> Codes:
        """Targets that were looked at before the beginning."""
        return np.array(self.beginning.done, dtype=np.intp)

    @property
    def seen_before(self) -> Floats:
        """How many of each kind were looked at before the beginning, shape (kinds,)."""
        kinds = int(self.candidates.kind.max(initial=0)) + 1
        return np.bincount(self.candidates.kind[self.done], minlength=kinds).astype(float)

    def follow(self, now_min: Floats, rested_min: Floats, travel: Floats, row: Codes) -> Looks:
        """Give the looks at ``row`` that begin as early as can be after ``now_min``.

        Parameters
        ----------
        now_min, rested_min : ndarray
            Time, and end of the last rest [min].
        travel : ndarray
            To each target [min].
        row : ndarray of int
            The targets.

        Returns
        -------
        Looks
            Of the shape that the arguments broadcast to.
        """
        left = self.session.length_min - now_min
        due = (now_min - rested_min >= BREAK_AFTER_MIN) & (left > BREAK_MIN + BREAK_BEFORE_END_MIN)
        now_min = np.where(due, now_min + BREAK_MIN, now_min)
        ready = now_min + travel
        begin, fits = self._begin(row, ready)
        end = begin + self.candidates.dwell_min[row]
        # A long wait is as good as a break.
        rested = np.where(begin - ready >= BREAK_MIN, begin, np.where(due, now_min, rested_min))
        return Looks(
            begin_min=begin,
            end_min=end,
            rested_min=rested,
            pause_end_min=np.where(due, now_min, np.nan),
            worth=self._worth(row, begin, end),
            way_worth=WORTH_PER_MIN * travel,
            fits=fits,
        )

    def _begin(self, row: Codes, ready_min: Floats) -> tuple[Floats, Flags]:
        """Give when looks begin that could begin at some minute, and whether there is room left.

        They begin on a step, unless the window is open already: then on the full minute.
        """
        earliest = np.minimum(np.ceil(ready_min / self.session.step_min), self.steps).astype(int)
        first = self.first_begin[row, earliest]
        at_once = (first == earliest) & self.candidates.open[row, earliest - 1]
        begin = np.where(at_once, np.ceil(ready_min), first * self.session.step_min)
        return begin, first < self.steps

    def _worth(self, row: Codes, begin_min: Floats, end_min: Floats) -> Floats:
        middle = np.round((begin_min + end_min) / 2.0 / self.session.step_min).astype(int)
        return np.asarray(self.quality[row, np.minimum(middle, self.steps - 1)])


def travel_min(candidates: Candidates, session: Session) -> Floats:
    """Give the minutes from the end of each look to the start of each other.

    Parameters
    ----------
    candidates, session

    Returns
    -------
    ndarray
        Finding, slewing, changes of eyepiece, barrel, amplifier and filter, rebalancing, getting
        the eye used to the dark again [min], shape (N, N): from row to column.
    """
    minutes = np.full(
        (len(candidates), len(candidates)),
        FINDING_DRIVEN_MIN if session.driven else FINDING_BY_HAND_MIN,
    )
    minutes += SLEW_MIN_PER_90_DEG / 90.0 * _slew_deg(candidates)
    for codes, cost in (
        (candidates.eyepiece, EYEPIECE_CHANGE_MIN),
        (candidates.barrel, BARREL_CHANGE_MIN),
        (candidates.amplifier, AMPLIFIER_CHANGE_MIN),
        (candidates.filter, FILTER_CHANGE_MIN),
    ):
        minutes += np.where(codes[:, None] != codes, cost, 0.0)
    if session.balance_g is not None:
        change = np.abs(candidates.mass_g[:, None] - candidates.mass_g)
        minutes += np.where(change > session.balance_g, REBALANCE_MIN, 0.0)
    minutes += ADAPTATION_MIN * (candidates.dazzling[:, None] & candidates.faint)
    return minutes


def _slew_deg(candidates: Candidates) -> Floats:
    """Angle on the sky between targets in the middle of the session [deg], shape (N, N)."""
    step = candidates.altitude_deg.shape[1] // 2
    altitude = np.radians(candidates.altitude_deg[:, step])
    azimuth = np.radians(candidates.azimuth_deg[:, step])
    places = np.stack(
        [np.cos(altitude) * np.cos(azimuth), np.cos(altitude) * np.sin(azimuth), np.sin(altitude)],
        axis=1,
    )
    return np.asarray(np.degrees(np.arccos(np.clip(places @ places.T, -1.0, 1.0))))


def _urgency(candidates: Candidates, session: Session) -> Floats:
    """Give what is lost by a look at each step because its target may be gone, (N, T)."""
    steps = candidates.open.shape[1]
    closes = np.where(candidates.open, np.arange(steps), 0).max(axis=1, initial=0)
    hurry = 1.0 - closes / max(steps - 1, 1)
    return np.asarray(URGENCY_PER_MIN * session.step_min * np.arange(steps) * hurry[:, None])


def _first_begins(candidates: Candidates, session: Session) -> Codes:
    """Give for each target and step the first step, that one or later, at which a look fits whole.

    Shape (N, T + 1); T means never.
    """
    count, steps = candidates.open.shape
    needed = np.ceil(candidates.dwell_min / session.step_min).astype(int) + 1
    run = np.zeros(count, dtype=int)
    first = np.full((count, steps + 1), steps, dtype=np.intp)
    for step in range(steps - 1, -1, -1):
        run = np.where(candidates.open[:, step], run + 1, 0)
        first[:, step] = np.where(run >= needed, step, first[:, step + 1])
    return first
