"""How every move is made: the session brought to the time, then the act, then the rest in order.

A move takes the night, the state and the time, and gives a state and sentences. One that
cannot be made leaves all but the time as it is and says why. Nothing here reads a clock or writes
a file.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from planner.session.clock import (
    TAKEN_AS_DONE,
    clock_fault,
    misfit,
    settle,
    without_leap,
)
from planner.session.night import SurveyedNight
from planner.session.state import (
    SessionLook,
    SessionState,
    Status,
    remember,
)
from planner.session.words import change_words

Moved = tuple[SessionState, tuple[str, ...]]
# The state after a move and what to say of it; None for a state when the move cannot be made.
Acted = tuple[SessionState | None, tuple[str, ...]]


def moved(
    night: SurveyedNight,
    state: SessionState,
    now: datetime,
    act: Callable[[SessionState], Acted],
    *,
    news: bool = True,
    name: str = "",
) -> Moved:
    """Make a move: bring the session to the time, act, and put what is left in order.

    Parameters
    ----------
    act : callable
        Gives the state after the move, or None and the reason why it cannot be made.
    news : bool
        Whether what is left may have to be ordered anew.
    name : str
        What the move is, for undo; what it gives as its first sentence when not given.
    """
    fault = misfit(night, state)
    if fault:
        return state, (fault,)
    said = clock_fault(state, now, night.night.site)
    known = without_leap(state, now)
    settled = settle(night, known, now)
    after, told = act(settled)
    if after is None:
        return settled, (*said, *told, *change_words(state, settled, night.night.site))
    settled = replace(settle(night, after, now, news=news), before_leap=None)
    words = (*told, *change_words(state, settled, night.night.site))
    return remember(known, settled, name or next(iter(words), "")), (*said, *words)


def subject(state: SessionState, target_id: str | None) -> SessionLook | None:
    """Return the look that is meant: by its target, else the one under way, else the next.

    One that was taken as done without a word can still be spoken of.
    """
    if target_id is None:
        return state.now or next(iter(state.waiting), None)
    look = state.look_at(target_id)
    if look and look.status is Status.DONE and look.reason == TAKEN_AS_DONE:
        return look
    return look if look and look.status in {Status.NOW, Status.WAITING, Status.LOST} else None


def no_such_look(state: SessionState, target_id: str | None) -> tuple[None, tuple[str, ...]]:
    """Say why there is no look to which a move could be made."""
    look = state.look_at(target_id) if target_id else None
    if look:
        return None, (look.already,)
    if target_id:
        return None, (f"{target_id[:40]} is not in the plan.",)
    return None, ("No look is under way and none waits.",)
