"""A session under way: the moves of an observer, each giving a new state and what it changed.

Every move takes the night, the state and the time, and gives a state and sentences. A move that
cannot be made leaves all but the time as it is and says why. Nothing here reads a clock or writes
a file.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from planner.output.words import clock
from planner.session.clock import (
    clock_fault,
    misfit,
    pauses_with,
    put_back,
    run_end,
    settle,
    without_leap,
)
from planner.session.night import SurveyedNight, key_words
from planner.session.replanning import ready_at
from planner.session.state import (
    Pause,
    PauseKind,
    SessionLook,
    SessionState,
    Status,
    TrainKey,
    remember,
)
from planner.session.words import change_words

Moved = tuple[SessionState, tuple[str, ...]]
# The state after a move and what to say of it; None for a state when the move cannot be made.
Acted = tuple[SessionState | None, tuple[str, ...]]

# What a pause or a longer look may be [min].
LONGEST_MIN = 240.0
# A look that is done so near to its end is done on time: no news.
ON_TIME = timedelta(minutes=1)


def moved(
    night: SurveyedNight,
    state: SessionState,
    now: datetime,
    act: Callable[[SessionState], Acted],
    *,
    news: bool = True,
) -> Moved:
    """Make a move: bring the session to the time, act, and put what is left in order.

    Parameters
    ----------
    night, state, now
        As for every move.
    act : callable
        Gives the state after the move, or None and the reason why it cannot be made.
    news : bool
        Whether what is left may have to be ordered anew.
    """
    fault = misfit(night, state)
    if fault:
        return state, (fault,)
    said = clock_fault(state, now, night.night.site)
    known = without_leap(state, now)
    settled = settle(night, known, now)
    after, told = act(settled)
    if after is None:
        return settled, (*said, *change_words(state, settled, night.night.site), *told)
    after = remember(known, replace(settle(night, after, now, news=news), before_leap=None))
    return after, (*said, *told, *change_words(state, after, night.night.site))


def done(
    night: SurveyedNight, state: SessionState, now: datetime, target_id: str | None = None
) -> Moved:
    """Say that a look is done: the one under way, else the next; or any other, by its target."""
    known = without_leap(state, now)
    settled = settle(night, known, now) if misfit(night, state) is None else state
    look = _subject(settled, target_id)
    on_time = look is not None and look is settled.now and abs(settled.clock - look.end) <= ON_TIME
    return moved(night, state, now, lambda s: _done(s, target_id), news=not on_time)


def _subject(state: SessionState, target_id: str | None) -> SessionLook | None:
    if target_id is None:
        return state.now or next(iter(state.waiting), None)
    look = state.look_at(target_id)
    return look if look and look.status in {Status.NOW, Status.WAITING, Status.LOST} else None


def _no_such_look(state: SessionState, target_id: str | None) -> tuple[None, tuple[str, ...]]:
    look = state.look_at(target_id) if target_id else None
    if look:
        return None, (f"{look.name} is {look.status} already.",)
    if target_id:
        return None, (f"{target_id[:40]} is not in the plan.",)
    return None, ("No look is under way and none waits.",)


def _done(state: SessionState, target_id: str | None) -> Acted:
    look = _subject(state, target_id)
    if look is None:
        return _no_such_look(state, target_id)
    if look.status is Status.NOW:
        finished = replace(look, status=Status.DONE, end=max(look.start, state.clock))
        return state.with_looks(finished), ()
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
    return after, (f"{look.name} done, out of turn",)


def skip(
    night: SurveyedNight, state: SessionState, now: datetime, target_id: str | None = None
) -> Moved:
    """Return a look up: the one under way, else the next; or any other, by its target."""

    def act(state: SessionState) -> Acted:
        look = _subject(state, target_id)
        if look is None:
            return _no_such_look(state, target_id)
        skipped = replace(look, status=Status.SKIPPED, reason="skipped", cause=None)
        return state.with_looks(skipped), (f"{look.name} skipped",)

    return moved(night, state, now, act)


def _wrong_minutes(minutes: float) -> tuple[None, tuple[str, ...]] | None:
    if 1.0 <= minutes <= LONGEST_MIN:
        return None
    return None, (f"{minutes:g} minutes cannot be; allowed is 1 to {LONGEST_MIN:.0f}.",)


def longer_here(night: SurveyedNight, state: SessionState, now: datetime, minutes: float) -> Moved:
    """Stay longer with the look under way, as long as its window is open [min]."""

    def act(state: SessionState) -> Acted:
        wrong, look = _wrong_minutes(minutes), state.now
        if wrong or look is None:
            return wrong or (None, ("No look is under way to stay with.",))
        until = run_end(night, state, look.target_id) or look.end
        end = min(look.end + timedelta(minutes=minutes), until, state.end)
        site = night.night.site
        if end <= look.end:
            return None, (f"{look.name} cannot be looked at beyond {clock(look.end, site)}.",)
        gained = (end - look.end) / timedelta(minutes=1)
        words = f"{look.name} {gained:.0f} min longer, until {clock(end, site)}"
        return state.with_looks(replace(look, end=end)), (words,)

    return moved(night, state, now, act)


def running_late(night: SurveyedNight, state: SessionState, now: datetime, minutes: float) -> Moved:
    """Put off all that waits [min]."""

    def act(state: SessionState) -> Acted:
        wrong = _wrong_minutes(minutes)
        if wrong:
            return wrong
        start = ready_at(state)
        pause = Pause(PauseKind.DELAY, start, start + timedelta(minutes=minutes))
        words = f"All that waits begins after {clock(pause.end, night.night.site)}"
        return replace(state, pauses=pauses_with(state, pause)), (words,)

    return moved(night, state, now, act)


def take_break(night: SurveyedNight, state: SessionState, now: datetime, minutes: float) -> Moved:
    """Rest at once [min]; the look under way waits until after it."""

    def act(state: SessionState) -> Acted:
        wrong = _wrong_minutes(minutes)
        if wrong:
            return wrong
        pause = Pause(PauseKind.BREAK, state.clock, state.clock + timedelta(minutes=minutes))
        over = [
            replace(old, end=min(old.end, state.clock))
            for old in state.pauses
            if old.start < state.clock
        ]
        words = f"Break until {clock(pause.end, night.night.site)}"
        return replace(put_back(state), pauses=(*over, pause)), (words,)

    return moved(night, state, now, act)


def end_at(night: SurveyedNight, state: SessionState, now: datetime, end: datetime) -> Moved:
    """End the session earlier or later than planned."""

    def act(state: SessionState) -> Acted:
        site = night.night.site
        if end <= state.clock:
            at = f"{clock(end, site)}: it is {clock(state.clock, site)} already"
            return None, (f"The session cannot end at {at}.",)
        if end > night.end:
            at = f"{clock(end, site)}; this night is known until {clock(night.end, site)}"
            return None, (f"The session cannot last until {at}.",)
        return replace(state, end=end), (f"The session ends at {clock(end, site)}",)

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
    night, state, now
        As for every move.
    train : TrainKey
        Eyepiece, setting, amplifier and filter; one of ``night.column_of``.
    target_id : str, optional
        Without it the train goes into the focuser at once.
    """

    def act(state: SessionState) -> Acted:
        if train not in night.column_of:
            telescope = night.circumstances.telescope.name
            return None, (f"{key_words(train)[:80]} does not go together with {telescope}.",)
        look = state.now if target_id is None else _subject(state, target_id)
        if look is None and target_id is not None:
            return _no_such_look(state, target_id)
        after = state
        if look is not None:
            after = state.with_looks(replace(look, train=train, chosen=True))
        if look is None or look.status is Status.NOW:
            after = replace(after, focuser=train)
        where = look.name if look else "the focuser"
        return after, (f"{key_words(train)} for {where}",)

    return moved(night, state, now, act)
