"""Puts what is left of a session in order anew, keeping the present order where that serves."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from planner.planning.candidates import best_trains
from planner.planning.scheduling.beam_search import best_sequence
from planner.planning.scheduling.candidates import Beginning, Candidates, Order, Session
from planner.planning.scheduling.pace import BREAK_MIN, Pace
from planner.planning.scheduling.scheduler import play
from planner.session.night import SurveyedNight
from planner.session.open_sky import OpenSky, open_sky, rows_of
from planner.session.state import Pause, PauseKind, SessionLook, SessionState, Status
from targets.arrays import Codes
from targets.frozen import frozen

# The most promising targets are searched, at steps as fine as keep their number below the second
# figure: together these bound the time that an observer in the dark waits.
SEARCHED = 32
MOST_STEPS = 36
# What this takes from the worth of an order is 0.1 percent on average, and a third of the time.
BREADTH = 2.0 / 3.0
# A new order is taken only when it is worth this much more than the present one, a showpiece being
# worth 1: a plan that changes with every key is of no use (our choice).
WORTH_A_CHANGE = 0.1
# Who is free by so much later than planned begins to look for the next target in time.
ON_TIME = timedelta(minutes=1)
# For the same reason a look that is in the plan is worth this much more than it is.
KEPT_WORTH = 0.1


@frozen
class Remainder:
    """What is to come, in order: rows of the night's targets, and the sky that they come from."""

    sky: OpenSky
    order: Order

    def instant(self, minute: float) -> datetime:
        """Return an instant (UTC) by its minutes after the sky's first step."""
        return self.sky.origin + timedelta(minutes=minute)


def ready_at(state: SessionState) -> datetime:
    """Return the earliest moment at which something new can be looked at or looked for (UTC)."""
    busy = [look.end for look in state.with_status(Status.DONE, Status.NOW)]
    pauses = [pause.end for pause in state.pauses if is_fixed(pause, state.clock)]
    return max([state.start, state.clock, *busy, *pauses])


def joined(pauses: Iterable[Pause]) -> tuple[Pause, ...]:
    """Return pauses in order of time, breaks that overlap as one."""
    found: list[Pause] = []
    for pause in sorted(pauses, key=lambda item: item.start):
        breaks = [k for k, one in enumerate(found) if one.kind is PauseKind.BREAK]
        last = breaks[-1] if breaks and pause.kind is PauseKind.BREAK else None
        if last is not None and pause.start < found[last].end:
            found[last] = replace(found[last], end=max(found[last].end, pause.end))
        else:
            found.append(pause)
    return tuple(found)


def is_fixed(pause: Pause, clock: datetime) -> bool:
    """Whether a pause stays when the rest is put in order: it has begun, or is a delay."""
    return pause.kind is PauseKind.DELAY or pause.start <= clock


def being_found(night: SurveyedNight, state: SessionState) -> SessionLook | None:
    """Return the look that the observer is on the way to; None when there is none.

    It is the next one, from when on it was to be looked for until it begins, if nothing else was
    under way then, and if it can still be looked at as planned.
    """
    # One that was just left waits again, and nobody looks for it.
    look = next((x for x in state.waiting if x.sought_from is not None), None)
    if look is None or state.now is not None or look.sought_from is None:
        return None
    free = look.sought_from + ON_TIME
    late = any(done.end > free for done in state.with_status(Status.DONE))
    breaks = [pause for pause in state.pauses if pause.kind is PauseKind.BREAK]
    resting = any(pause.end > free and pause.start < look.end for pause in breaks)
    is_time = look.sought_from <= state.clock <= look.start and look.end <= state.end
    if late or resting or not is_time:
        return None
    return look if _fits(night, open_sky(night, state, look.start), look) else None


def put_in_order(night: SurveyedNight, state: SessionState) -> tuple[SessionState, OpenSky]:
    """Order what is left of a session, behind what is being found.

    Parameters
    ----------
    night, state
        The looks that wait are kept in their order where no other order is worth more.

    Returns
    -------
    SessionState
        With the looks to come and the breaks between them. Looks that find no place are gone from
        it.
    OpenSky
        What they were chosen from.
    """
    found = being_found(night, state)
    if found is None:
        return _put_in_order(night, state)
    begun = state.with_looks(replace(found, status=Status.NOW))
    after, sky = _put_in_order(night, replace(begun, focuser=found.train))
    return replace(after.with_looks(found), focuser=state.focuser), sky


def _put_in_order(night: SurveyedNight, state: SessionState) -> tuple[SessionState, OpenSky]:
    """Order all of what is left of a session."""
    ready = ready_at(state)
    kept = rows_of(night, tuple(look.target_id for look in state.waiting))
    sky = _preferring(kept, open_sky(night, state, ready))
    beginning = Beginning(
        minute=(ready - sky.origin) / timedelta(minutes=1),
        rested_min=(_rested_at(state) - sky.origin) / timedelta(minutes=1),
        done=_seen_rows(night, state),
    )
    order = _best_order(sky, kept, beginning)
    columns = _refitted(night, state, sky, order, kept)
    if (columns != sky.columns).any():
        refitted = _preferring(kept, open_sky(night, state, ready, columns=columns))
        again = _play(refitted, [slot.row for slot in order.slots], beginning)
        # Another train may take longer to change to, and a target be gone by then.
        if again.worth > order.worth - WORTH_A_CHANGE:
            sky, order = refitted, again
    return _with_order(night, state, Remainder(sky, order)), sky


def _preferring(kept: Codes, sky: OpenSky) -> OpenSky:
    """Lift the worth of the looks that are in the plan."""
    quality = sky.candidates.quality.copy()
    quality[kept] += KEPT_WORTH
    return replace(sky, candidates=replace(sky.candidates, quality=quality))


def _rested_at(state: SessionState) -> datetime:
    """Return when the observer last rested: a break, or a long time without looks (UTC)."""
    rested = reached = state.start
    for look in state.with_status(Status.DONE, Status.NOW):
        if look.start - reached >= timedelta(minutes=BREAK_MIN):
            rested = look.start
        reached = max(reached, look.end)
    breaks = [p.end for p in state.pauses if p.kind is PauseKind.BREAK and p.start <= state.clock]
    return max([rested, *breaks])


def _seen_rows(night: SurveyedNight, state: SessionState) -> tuple[int, ...]:
    looks = state.with_status(Status.DONE, Status.NOW)
    return tuple(rows_of(night, tuple(look.target_id for look in looks)).tolist())


def _best_order(sky: OpenSky, kept: Codes, beginning: Beginning) -> Order:
    """Return the present order as far as it holds, or a new one that is worth more."""
    rows = _searched(sky, kept, beginning)
    part, start = sky.candidates.of_rows(rows), _renamed(beginning, rows)
    present = play(part, sky.session, np.searchsorted(rows, kept), start)
    coarse, session = _coarse(part, sky.session)
    sequence = best_sequence(Pace(coarse, session, start), breadth=BREADTH)
    found = play(part, sky.session, sequence, start)
    best = found if found.worth > present.worth + WORTH_A_CHANGE else present
    return replace(best, slots=tuple(replace(s, row=int(rows[s.row])) for s in best.slots))


def _searched(sky: OpenSky, kept: Codes, beginning: Beginning) -> Codes:
    """Choose the targets that promise most, beside those that wait or are done; in order."""
    first = math.ceil(beginning.minute / sky.session.step_min)
    worth = np.where(sky.candidates.open, sky.candidates.quality, 0.0)[:, first:]
    best = worth.max(axis=1, initial=0.0)
    top = np.argsort(-best, kind="stable")[:SEARCHED]
    return np.union1d(top[best[top] > 0.0], np.concatenate([kept, _done(beginning)]))


def _done(beginning: Beginning) -> Codes:
    return np.array(beginning.done, dtype=np.intp)


def _renamed(beginning: Beginning, rows: Codes) -> Beginning:
    return replace(beginning, done=tuple(np.searchsorted(rows, _done(beginning)).tolist()))


def _play(sky: OpenSky, sequence: list[int], beginning: Beginning) -> Order:
    """Play a sequence through the sky, only with those that take part in it."""
    rows = np.union1d(np.array(sequence, dtype=np.intp), _done(beginning))
    part, start = sky.candidates.of_rows(rows), _renamed(beginning, rows)
    order = play(part, sky.session, np.searchsorted(rows, sequence), start)
    return replace(order, slots=tuple(replace(s, row=int(rows[s.row])) for s in order.slots))


def _coarse(candidates: Candidates, session: Session) -> tuple[Candidates, Session]:
    """Take wider steps when there are many; a wide one is open when all that it spans are."""
    steps = candidates.open.shape[1]
    stride = math.ceil(steps / MOST_STEPS)
    if stride == 1:
        return candidates, session
    starts = np.arange(0, steps, stride)
    wide = replace(
        candidates,
        quality=candidates.quality[:, ::stride],
        open=np.logical_and.reduceat(candidates.open, starts, axis=1),
        altitude_deg=candidates.altitude_deg[:, ::stride],
        azimuth_deg=candidates.azimuth_deg[:, ::stride],
    )
    return wide, replace(session, step_min=stride * session.step_min)


def _refitted(
    night: SurveyedNight, state: SessionState, sky: OpenSky, order: Order, kept: Codes
) -> Codes:
    """Return the trains again, those of new looks as is best at their own time, (N,)."""
    new = [
        slot
        for slot in order.slots
        if slot.row not in kept and not _is_chosen(night, state, slot.row)
    ]
    if not new:
        return sky.columns
    rows = np.array([slot.row for slot in new], dtype=np.intp)
    middle = [(slot.start_min + slot.end_min) / 2.0 / sky.session.step_min for slot in new]
    steps = np.minimum(np.round(middle).astype(np.intp), sky.clear.shape[1] - 1)
    columns = sky.columns.copy()
    columns[rows] = best_trains(sky.roster, night.circumstances, rows, steps)[0]
    return columns


def _is_chosen(night: SurveyedNight, state: SessionState, row: int) -> bool:
    look = state.look_at(night.roster.targets[row].id)
    return look is not None and look.chosen


def _with_order(night: SurveyedNight, state: SessionState, rest: Remainder) -> SessionState:
    """Put what is to come in the place of what waited."""
    looks = [
        SessionLook(
            target_id=(target := night.roster.targets[slot.row]).id,
            name=target.name,
            status=Status.WAITING,
            start=rest.instant(slot.start_min),
            end=rest.instant(slot.end_min),
            train=night.train_key(int(rest.sky.columns[slot.row])),
            chosen=_is_chosen(night, state, slot.row),
            sought_from=rest.instant(slot.start_min - slot.way_min),
        )
        for slot in rest.order.slots
    ]
    waited = {look.target_id for look in state.waiting}
    others = tuple(look for look in state.looks if look.target_id not in waited)
    breaks = [
        Pause(PauseKind.BREAK, rest.instant(start), rest.instant(end))
        for start, end in rest.order.breaks
    ]
    pauses = joined([*(old for old in state.pauses if is_fixed(old, state.clock)), *breaks])
    return replace(state, looks=others, pauses=pauses).with_looks(*looks)


def still_holds(night: SurveyedNight, state: SessionState) -> bool:
    """Whether all that is to come is still in order: no overlap, inside its window, not closed."""
    reached = ready_at(state)
    if not state.waiting:
        return True
    sky = open_sky(night, state, min(reached, state.waiting[0].start))
    to_come = [pause for pause in state.pauses if not is_fixed(pause, state.clock)]
    items: list[SessionLook | Pause] = [*state.waiting, *to_come]
    for item in sorted(items, key=lambda item: item.start):
        if item.start < reached or not item.start < item.end <= state.end:
            return False
        if isinstance(item, SessionLook) and not _fits(night, sky, item):
            return False
        reached = item.end
    return True


def _fits(night: SurveyedNight, sky: OpenSky, look: SessionLook) -> bool:
    row = night.row_of.get(look.target_id)
    if row is None:
        return False
    step = timedelta(minutes=sky.session.step_min)
    first, last = (look.start - sky.origin) // step, -((sky.origin - look.end) // step)
    steps = sky.candidates.open[row, first : last + 1]
    return bool(len(steps) == last + 1 - first and steps.all())
