"""A session as time goes by: begun with a plan, taken up again, and ticking on."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from planner.model.plan import Plan
from planner.session.clock import (
    clock_fault,
    misfit,
    note_leap,
    put_back,
    rearrange,
    settle,
    without_leap,
)
from planner.session.moves.moving import Moved
from planner.session.night import SurveyedNight, key_of
from planner.session.state import Pause, PauseKind, SessionLook, SessionState, Status
from planner.session.words import change_words


def begin_session(night: SurveyedNight, plan: Plan, now: datetime) -> Moved:
    """Begin a session with a plan.

    Parameters
    ----------
    night : SurveyedNight
        Of the plan's night, session, kit and wishes.
    now : datetime
        Aware; may be before the session.

    Returns
    -------
    SessionState
        Usable even when the plan has no looks.
    tuple of str
        Sentences.
    """
    finding = timedelta(minutes=night.finding_min)
    looks = tuple(
        SessionLook(
            target_id=look.target.id,
            name=look.target.name,
            status=Status.WAITING,
            start=look.start,
            end=look.end,
            train=key_of(look.view.train),
            sought_from=look.start - finding,
        )
        for look in plan.looks
    )
    breaks = tuple(Pause(PauseKind.BREAK, *span) for span in plan.breaks)
    state = _unbegun(night, plan.start, plan.end, now)
    after, words = tick(night, replace(state, looks=looks, pauses=breaks), now)
    return after, words if looks else (*plan.notes, *words)


def begin_at_once(
    night: SurveyedNight, start: datetime, end: datetime, now: datetime
) -> SessionState:
    """Begin a session in the order that is found first, while its plan is being made.

    Parameters
    ----------
    start, end : datetime
        Of the session (UTC).
    now : datetime
        Aware; may be before the session.
    """
    return tick(night, rearrange(night, _unbegun(night, start, end, now)), now)[0]


def _unbegun(night: SurveyedNight, start: datetime, end: datetime, now: datetime) -> SessionState:
    """Return a session of which nothing is known but when it is to be."""
    return SessionState(
        kit=night.kit,
        site=night.night.site.name,
        evening=night.night.date,
        start=start,
        end=end,
        clock=min(now, start),
    )


def resume(night: SurveyedNight, state: SessionState, now: datetime) -> Moved:
    """Take a session up again after it was read from a file.

    With another kit, what is done is kept and the rest is planned for this one. A session of
    another night or place stays as it is.
    """
    if state.kit == night.kit or (state.evening, state.site) != (
        night.night.date,
        night.night.site.name,
    ):
        return tick(night, state, now)
    fresh = [replace(look, chosen=False) for look in state.looks]
    state = replace(state, kit=night.kit, looks=tuple(fresh), focuser=None, past=())
    after = settle(night, put_back(state), now, news=True)
    words = "The session was made with another kit: what is done is kept, the rest planned anew."
    return after, (words, *change_words(state, after, night.night.site))


def tick(night: SurveyedNight, state: SessionState, now: datetime) -> Moved:
    """Let time pass: looks begin, overrun and are lost; with no news nothing else changes."""
    fault = misfit(night, state)
    if fault:
        return state, (fault,)
    told = clock_fault(state, now, night.night.site)
    known = without_leap(state, now)
    after = note_leap(known, settle(night, known, now))
    return after, (*told, *change_words(state, after, night.night.site))
