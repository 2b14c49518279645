"""Looks that end by what is said of them, and sessions that are over or late."""

from __future__ import annotations

from datetime import datetime, timedelta

from planner.journal.records import Outcome
from planner.session.clock import TAKEN_AS_DONE
from planner.session.moves.looks import done, skip
from planner.session.moves.moving import moved
from planner.session.moves.times import is_untouched
from planner.session.night import SurveyedNight
from planner.session.state import SessionState, Status, with_entry
from tui.night.log_entry import Answer
from tui.night.logbook import Logbook

# Looks that can still be ended.
OPEN_ENDED = {Status.NOW, Status.WAITING, Status.LOST}
# A session that nobody began by so much after its start is to be planned from now on.
LATE = timedelta(minutes=15)


def ended(
    night: SurveyedNight,
    state: SessionState,
    target_id: str,
    answer: Answer,
    now: datetime,
    *,
    ends: bool,
) -> tuple[SessionState, tuple[str, ...]]:
    """End a look by what came of it; one that is over, or is to go on, is only spoken of."""
    look = state.look_at(target_id)
    if look is None:
        return state, ()
    can_end = look.status in OPEN_ENDED or look.reason == TAKEN_AS_DONE
    if not ends or not can_end:
        name = f"{look.name} written"
        return moved(night, state, now, lambda s: (s, ()), news=False, name=name)
    leave = skip if answer.outcome is Outcome.SKIPPED else done
    return leave(night, state, now, target_id)


def with_entries(
    logbook: Logbook, surveyed: SurveyedNight, state: SessionState
) -> tuple[SessionState, tuple[str, ...]]:
    """End the looks of which the journal has entries that the night does not know."""
    said: list[str] = []
    for entry in logbook.written_elsewhere(state.entries):
        look = state.look_at(entry.target.id or "")
        if look is not None and look.status in OPEN_ENDED and state.kit == surveyed.kit:
            leave = skip if entry.outcome is Outcome.SKIPPED else done
            state, _ = leave(surveyed, state, entry.at, look.target_id)
            said.append(f"{look.name} is in the journal, and so it is done.")
        state = with_entry(state, entry.id)
    return state, tuple(said)


def is_behind(state: SessionState, night: SurveyedNight, now: datetime) -> bool:
    """Whether a session is over, or should have begun long ago, while the night goes on."""
    has_ended = state.end <= now
    is_late = is_untouched(state) and now - state.start >= LATE
    return now < night.end and (has_ended or is_late)
