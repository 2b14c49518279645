"""How a session passes: finding, slewing, changing, looking, resting."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np

from planner.planning.scheduling.candidates import Beginning, Candidates, Session
from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen
from targets.sphere import angles_of_all_deg, unit_vectors

# Minutes, common practice: finding a target, a slew across 90 degrees of sky, a change.
FINDING_DRIVEN_MIN = 1.5
FINDING_BY_HAND_MIN = 3.0
# From one target to another so near, a low field or two away, the telescope is only nudged (common
# practice).
NEAR_DEG = 2.0
FINDING_NEAR_MIN = 1.0
# From one telescope to another beside it; what stands so near to where that one points is then
# found in this share of the time, for its stars are known (our choice).
TURN_MIN = 1.0
SHOWN_SHARE = 0.5
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
# A German equatorial mount turns both its axes by half a circle to change sides, and then the
# target has to be found again; it looks at nothing so near to the meridian (common practice).
FLIP_MIN = 3.0
MERIDIAN_BAND_MIN = 10.0

# The rest is our choice. Worth lost for each minute of finding and changing, a showpiece at its
# best being worth 1. Waiting costs nothing: it is what is left when nothing is worth a look.
WORTH_PER_MIN = 0.01
# Worth lost for each minute that a target waits whose window closes at once; less, the later it
# closes. Of equals the one that sets first goes first, and delays cost less.
URGENCY_PER_MIN = 0.0005
# A look is worth more by the square root of its length against this [min]: what deserves time must
# not lose against many quick looks.
USUAL_DWELL_MIN = 10.0
# Worth lost by each pair of looks at targets of one kind: the second loses this, the third twice
# as much, whatever comes between them.
REPEAT_WORTH = 0.015


@frozen
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
        What the look adds before repeats and the way there are taken off.
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
        self.repeat_worth = REPEAT_WORTH * session.variety
        self.beginning = beginning or Beginning()
        self.steps = candidates.open.shape[1]
        self.east = np.sin(np.radians(candidates.azimuth_deg)) > 0.0
        each = session.telescopes
        self.flips = np.array([one.flips for one in each], dtype=bool)[candidates.telescope]
        self.open = self._open()
        self.first_begin = _first_begins(candidates, self.open, step_min=session.step_min)
        self._earliest_min = self._earliest()
        length = np.sqrt(candidates.dwell_min / (USUAL_DWELL_MIN * session.look_share))
        self.quality = candidates.quality * length[:, None] - _urgency(candidates, session)
        self.finding_min = _finding_min(candidates, session)

    @cached_property
    def travel_min(self) -> Floats:
        """Minutes from each target, and from nothing yet in the last row, -1, to each: (N + 1, N).

        Not everybody asks for them.
        """
        among = travel_min(self.candidates, self.session)
        return np.concatenate([among, self.finding_min[None, :]])

    def way_min(self, last: Codes, now_min: Floats, row: Codes) -> Floats:
        """Return what it takes to get from one target to another.

        Parameters
        ----------
        last : ndarray of int
            Where the telescope points; -1 where it points at none.
        now_min : ndarray
            When it leaves [min].

        Returns
        -------
        ndarray
            [min], of the shape that the arguments broadcast to.
        """
        # Flat indices are faster; below 0 they reach the last row, the way from nowhere.
        way = self.travel_min.take(last * len(self.candidates) + row, mode="wrap")
        if self.flips.any():
            step = np.ceil(now_min / self.session.step_min).astype(int)
            step = np.minimum(step, self.steps - 1)
            flips = (self.east[last, step] != self.east[row, step]) & (last >= 0) & self.flips[row]
            way += np.where(flips, FLIP_MIN, 0.0)
        return np.asarray(way)

    @property
    def last(self) -> int:
        """Where the telescope points at the beginning; -1 for nowhere."""
        return self.beginning.done[-1] if self.beginning.done else -1

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
        """Return the looks at ``row`` that begin as early as can be after ``now_min``.

        Parameters
        ----------
        now_min, rested_min : ndarray
            Time, and end of the last rest [min].
        travel : ndarray
            To each target [min].

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
            worth=self.worth_of(row, begin, end),
            way_worth=WORTH_PER_MIN * travel,
            fits=fits,
        )

    def _begin(self, row: Codes, ready_min: Floats) -> tuple[Floats, Flags]:
        """Return when looks begin that could begin at some minute, and whether there is room left.

        They begin on a step, unless the window is open already: then on the full minute.
        """
        step_min, steps = self.session.step_min, self.steps
        step = np.minimum(np.ceil(ready_min / step_min), steps).astype(np.intp)
        earliest_min = self._earliest_min.take(row * (steps + 1) + step)
        begin = np.maximum(np.ceil(ready_min), earliest_min)
        return begin, begin < steps * step_min

    def _earliest(self) -> Floats:
        """When a look can begin that is ready between the step before and this one, (N, T + 1).

        At once, as 0, where the window is open on both sides of it; after the last step for never.
        """
        earliest_min = self.session.step_min * self.first_begin
        at_once = self.open[:, :-1] & (self.first_begin[:, 1:-1] == np.arange(1, self.steps))
        earliest_min[:, 1:-1][at_once] = 0.0
        return np.asarray(earliest_min)

    def _open(self) -> Flags:
        """Close the windows for what is still to cool, and for a flip, (N, T)."""
        session, is_open = self.session, self.candidates.open
        if session.cooled_min > 0.0:
            warm = np.arange(self.steps) * session.step_min < session.cooled_min
            is_open = is_open & ~(self.candidates.high_power[:, None] & warm)
        if self.flips.any():
            near = _near_meridian(self.east, step_min=session.step_min)
            is_open = is_open & ~(near & self.flips[:, None])
        return is_open

    def worth_of(self, row: Codes, begin_min: Floats, end_min: Floats) -> Floats:
        """Return what looks add by their middle, before repeats and the way there."""
        middle = np.rint((begin_min + end_min) / (2.0 * self.session.step_min)).astype(np.intp)
        place = row * self.steps + np.minimum(middle, self.steps - 1)
        return np.asarray(self.quality.take(place))


def travel_min(candidates: Candidates, session: Session) -> Floats:
    """Return the minutes from the end of each look to the start of each other.

    Returns
    -------
    ndarray
        Finding, slewing, changes of eyepiece, barrel, amplifier and filter, rebalancing, getting
        the eye used to the dark again [min], shape (N, N): from row to column.
    """
    slew_deg = _slew_deg(candidates)
    finding_min = _finding_min(candidates, session)
    near_min = np.minimum(finding_min, FINDING_NEAR_MIN)
    minutes = np.where(slew_deg <= NEAR_DEG, near_min, finding_min)
    turns = candidates.telescope[:, None] != candidates.telescope
    if turns.any():
        shown_min = np.maximum(near_min, SHOWN_SHARE * finding_min)
        turned_min = TURN_MIN + np.where(slew_deg <= NEAR_DEG, shown_min, finding_min)
        minutes = np.where(turns, turned_min, minutes)
    minutes += SLEW_MIN_PER_90_DEG / 90.0 * slew_deg
    for codes, cost in (
        (candidates.eyepiece, EYEPIECE_CHANGE_MIN),
        (candidates.barrel, BARREL_CHANGE_MIN),
        (candidates.amplifier, AMPLIFIER_CHANGE_MIN),
        (candidates.filter, FILTER_CHANGE_MIN),
    ):
        minutes += cost * (codes[:, None] != codes)
    bears_g = [np.inf if one.balance_g is None else one.balance_g for one in session.telescopes]
    if np.isfinite(bears_g).any():
        change = np.abs(candidates.mass_g[:, None] - candidates.mass_g)
        heavy = change > np.array(bears_g)[candidates.telescope]
        minutes += np.where(heavy, REBALANCE_MIN, 0.0)
    minutes += ADAPTATION_MIN * (candidates.dazzling[:, None] & candidates.faint)
    return minutes


def _finding_min(candidates: Candidates, session: Session) -> Floats:
    """Return what it takes to find each target from anywhere [min], (N,)."""
    usual_min = np.array([_usual_min(one) for one in session.telescopes])[candidates.telescope]
    return np.where(np.isnan(candidates.finding_min), usual_min, candidates.finding_min)


def _usual_min(session: Session) -> float:
    if session.finding_min is not None:
        return session.finding_min
    return FINDING_DRIVEN_MIN if session.driven else FINDING_BY_HAND_MIN


def _slew_deg(candidates: Candidates) -> Floats:
    """Angle on the sky between targets in the middle of the session [deg], shape (N, N)."""
    step = candidates.altitude_deg.shape[1] // 2
    places = unit_vectors(candidates.azimuth_deg[:, step], candidates.altitude_deg[:, step])
    return angles_of_all_deg(places, places)


def _urgency(candidates: Candidates, session: Session) -> Floats:
    """Return what is lost by a look at each step because its target may be gone, (N, T)."""
    steps = candidates.open.shape[1]
    closes = np.where(candidates.open, np.arange(steps), 0).max(axis=1, initial=0)
    slack = 1.0 - closes / max(steps - 1, 1)
    return np.asarray(URGENCY_PER_MIN * session.step_min * np.arange(steps) * slack[:, None])


def _near_meridian(east: Flags, *, step_min: float) -> Flags:
    """Find the steps too near to a passage from east to west of the meridian, (N, T)."""
    reach = math.ceil(MERIDIAN_BAND_MIN / step_min)
    near = np.zeros_like(east)
    for row, step in zip(*np.nonzero(east[:, :-1] & ~east[:, 1:]), strict=True):
        near[row, max(step + 1 - reach, 0) : step + 1 + reach] = True
    return near


def _first_begins(candidates: Candidates, is_open: Flags, *, step_min: float) -> Codes:
    """For each target and step the first step, that one or later, at which a look fits whole.

    Shape (N, T + 1); T means never.
    """
    count, steps = is_open.shape
    needed = np.ceil(candidates.dwell_min / step_min).astype(int) + 1
    run = np.zeros(count, dtype=int)
    first = np.full((count, steps + 1), steps, dtype=np.intp)
    for step in range(steps - 1, -1, -1):
        run = np.where(is_open[:, step], run + 1, 0)
        first[:, step] = np.where(run >= needed, step, first[:, step + 1])
    return first
