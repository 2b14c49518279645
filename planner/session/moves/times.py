"""Moves that take time or give it: longer looks, delays, breaks, the end of the session."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from planner.output.words import clock
from planner.session.clock import (
    pauses_with,
    put_back,
    run_end,
)
from planner.session.moves.moving import Acted, Moved, moved
from planner.session.night import SurveyedNight
from planner.session.replanning import ready_at
from planner.session.state import (
    Pause,
    PauseKind,
    SessionState,
)

# What a pause or a longer look may be [min].
LONGEST_MIN = 240.0


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
