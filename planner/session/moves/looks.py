"""Moves that end a look, give it up, or change what is in the focuser."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from planner.session.clock import (
    misfit,
    put_back,
    settle,
    without_leap,
)
from planner.session.moves.moving import Acted, Moved, moved, no_such_look, subject
from planner.session.night import SurveyedNight, key_words
from planner.session.state import (
    SessionLook,
    SessionState,
    Status,
    TrainKey,
)

# A look that is done so near to its end is done on time: no news.
ON_TIME = timedelta(minutes=1)


def done(
    night: SurveyedNight, state: SessionState, now: datetime, target_id: str | None = None
) -> Moved:
    """Say that a look is done: the one under way, else the next; or any other, by its target."""
    known = without_leap(state, now)
    settled = settle(night, known, now) if misfit(night, state) is None else state
    look = subject(settled, target_id)
    on_time = look is not None and look is settled.now and abs(settled.clock - look.end) <= ON_TIME
    name = f"{look.name} done" if look else ""
    return moved(night, state, now, lambda s: _done(s, target_id), news=not on_time, name=name)


def _done(state: SessionState, target_id: str | None) -> Acted:
    look = subject(state, target_id)
    if look is None:
        return no_such_look(state, target_id)
    if look.status is Status.NOW:
        finished = replace(look, status=Status.DONE, end=max(look.start, state.clock))
        return state.with_looks(finished), ()
    if look.status is Status.DONE:
        return _confirmed(state, look)
    is_next = look is next(iter(state.waiting), None) and state.now is None
    begun = state.now.start if state.now else state.clock - (look.end - look.start)
    free = replace(put_back(state), clock=min(begun, state.clock))
    reached = [old.end for old in state.with_status(Status.DONE)]
    start = min(max([begun, *reached]), state.clock) if reached else begun
    finished = replace(
        look,
        status=Status.DONE,
        start=start,
        end=max(start, state.clock),
        reason="",
        cause=None,
    )
    after = replace(free.with_looks(finished), clock=state.clock, focuser=look.train)
    return after, (f"{look.name} done",) if is_next else (f"{look.name} done, out of turn",)


def _confirmed(state: SessionState, look: SessionLook) -> Acted:
    """Let a look that was taken as done end when it did: now, or when the next was looked for."""
    later = [
        other for other in state.with_status(Status.DONE, Status.NOW) if other.start > look.end
    ]
    ends = [other.sought_from or other.start for other in later]
    end = max(look.start, min([state.clock, *ends]))
    return state.with_looks(replace(look, end=end, reason="")), (f"{look.name} done",)


def skip(
    night: SurveyedNight, state: SessionState, now: datetime, target_id: str | None = None
) -> Moved:
    """Return a look up: the one under way, else the next; or any other, by its target."""

    def act(state: SessionState) -> Acted:
        look = subject(state, target_id)
        if look is None:
            return no_such_look(state, target_id)
        end = max(look.start, state.clock) if look.status is Status.NOW else look.end
        skipped = replace(look, status=Status.SKIPPED, end=end, reason="skipped", cause=None)
        return state.with_looks(skipped), (f"{look.name} skipped",)

    return moved(night, state, now, act)


def use_train(
    night: SurveyedNight,
    state: SessionState,
    now: datetime,
    train: TrainKey,
    target_id: str | None = None,
) -> Moved:
    """Use another eyepiece: for the look under way, or for one that waits, by its target.

    Parameters
    ----------
    train : TrainKey
        Eyepiece, setting, amplifier and filter; one of ``night.column_of``.
    target_id : str, optional
        Without it the train goes into the focuser at once.
    """

    def act(state: SessionState) -> Acted:
        if train not in night.column_of:
            telescope = night.circumstances.telescope.name
            return None, (f"{key_words(train)[:80]} does not go together with {telescope}.",)
        look = state.now if target_id is None else subject(state, target_id)
        if look is None and target_id is not None:
            return no_such_look(state, target_id)
        after = state
        if look is not None:
            after = state.with_looks(replace(look, train=train, chosen=True))
        if look is None or look.status is Status.NOW:
            after = replace(after, focuser=train)
        where = look.name if look else "the focuser"
        return after, (f"{key_words(train)} for {where}",)

    return moved(night, state, now, act)
