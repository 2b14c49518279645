"""Brings a session to the time: what is under way now, what has to move, what can come no more."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from planner.ephemeris.kernel import unix_seconds
from planner.model.site import Site
from planner.output.words import WEEKDAYS, clock
from planner.planning.circumstances import STEP_MIN
from planner.planning.roster import steps_of
from planner.planning.windows import last_open_step
from planner.session.night import SurveyedNight
from planner.session.open_sky import under_clouds
from planner.session.replanning import is_fixed, joined, put_in_order, still_holds
from planner.session.state import (
    LossCause,
    Pause,
    PauseKind,
    SessionLook,
    SessionState,
    Status,
    alone,
)
from planner.session.words import why_lost

# A look that cloud ends counts as done when it had this share of its usual length (our choice).
ENOUGH_OF_A_LOOK = 0.5
CUT_SHORT = "cut short by cloud"
TAKEN_AS_DONE = "over for long"


def misfit(night: SurveyedNight, state: SessionState) -> str | None:
    """Say why a session does not belong to a night; None when it does."""
    here, there = night.night, state.site
    if state.evening != here.date or there != here.site.name:
        return (
            f"This session is of the night of {state.evening} at {there}, not of {here.date} at "
            f"{here.site.name}; it stays as it is."
        )
    if state.kit != night.kit:
        return "This session was made with another kit; take it up again to plan it for this one."
    return None


def settle(
    night: SurveyedNight, state: SessionState, now: datetime, *, news: bool = False
) -> SessionState:
    """Bring a session to a time.

    Parameters
    ----------
    now : datetime
        Aware; the state's own clock when it is later.
    news : bool
        Whether to look for a better order even when the present one still holds.

    Returns
    -------
    SessionState
        The same looks when nothing but time has changed and the order still holds.
    """
    unix_seconds([now])  # refuses what has no time zone
    time = max(now.astimezone(UTC), state.clock)
    closures = tuple(c for c in state.closures if c.until is None or c.until > time)
    news = news or len(closures) < len(state.closures)
    state = _hold(night, replace(state, clock=time, closures=closures))
    overdue, state = state.now, _without_overdue(night, state)
    news = news or state.now is not overdue
    state = _begin_next(replace(state, pauses=_trimmed(state)))
    if news or not still_holds(night, state):
        state = _begin_next(rearrange(night, state))
    return state


def rearrange(night: SurveyedNight, state: SessionState) -> SessionState:
    """Put what is left in order, and keep what finds no place as lost, each with its reason."""
    after, sky = put_in_order(night, state)
    kept = {look.target_id for look in after.looks}
    gone = [look for look in state.waiting if look.target_id not in kept]
    # The cloud that took a look may have gone while there is no place for it for another reason.
    gone += [look for look in after.with_status(Status.LOST) if look.cause is LossCause.CLOUD]
    losses = why_lost(night, after, sky, tuple(look.target_id for look in gone))
    lost = [
        replace(look, status=Status.LOST, reason=loss.reason, cause=loss.cause)
        for look, loss in zip(gone, losses, strict=True)
    ]
    return after.with_looks(*lost)


def run_end(night: SurveyedNight, state: SessionState, target_id: str) -> datetime | None:
    """Return until when a target can be looked at without a gap from now on.

    Returns
    -------
    datetime or None
        UTC; None when it is hidden or out of its window now.
    """
    row = night.row_of[target_id]
    step = math.floor(night.minute(state.clock) / STEP_MIN)
    if not 0 <= step < len(night.roster.grid.unix_s):
        return None
    roster = steps_of(night.roster, slice(step, None))
    clear, _ = under_clouds(night, state.closures, roster, step)
    last = last_open_step(roster.windows.open[row] & clear[row], 0)
    return None if last is None else night.instant((step + last) * STEP_MIN)


def is_hidden(night: SurveyedNight, state: SessionState, target_id: str) -> bool:
    """Whether solid cloud stands before a target now."""
    step = math.floor(night.minute(state.clock) / STEP_MIN)
    step = min(max(step, 0), len(night.roster.grid.unix_s) - 1)
    roster = steps_of(night.roster, slice(step, step + 1))
    clear, _ = under_clouds(night, state.closures, roster, step)
    return not bool(clear[night.row_of[target_id], 0])


def _hold(night: SurveyedNight, state: SessionState) -> SessionState:
    """Stay with the look under way while nothing ends it; cloud sends it back to wait."""
    look = state.now
    if look is None or look.target_id not in night.row_of:
        return state
    until = run_end(night, state, look.target_id)
    if until is None:
        hidden = is_hidden(night, state, look.target_id)
        return interrupted(night, state, CUT_SHORT) if hidden else state
    until = min(until, max(state.end, look.start))
    if look.end > until:  # cloud lies ahead, or the session ends earlier
        if until <= state.clock:
            return interrupted(night, state, CUT_SHORT)
        return state.with_looks(replace(look, end=until, due=min(look.due or until, until)))
    return state.with_looks(replace(look, end=min(max(look.end, state.clock), until)))


def _without_overdue(night: SurveyedNight, state: SessionState) -> SessionState:
    """Take a look that is over for long as done when it was to end."""
    look, limit = state.now, timedelta(minutes=night.circumstances.observer.overdue_min)
    if look is None or look.due is None or state.clock - look.due < limit:
        return state
    taken = replace(look, status=Status.DONE, end=look.due, reason=TAKEN_AS_DONE)
    return state.with_looks(taken)


def interrupted(night: SurveyedNight, state: SessionState, reason: str) -> SessionState:
    """Count the look under way as done when half of it was had; else it waits again."""
    look = state.now
    if look is None or state.clock - look.start < ENOUGH_OF_A_LOOK * night.dwell(look.target_id):
        return put_back(state)
    return state.with_looks(replace(look, status=Status.DONE, end=state.clock, reason=reason))


def _trimmed(state: SessionState) -> tuple[Pause, ...]:
    """Cut from the breaks and delays what was spent looking."""
    pauses = list(state.pauses)
    for look in state.with_status(Status.DONE, Status.NOW):
        pauses = [left for pause in pauses for left in _without(pause, look)]
    return tuple(pauses)


def _without(pause: Pause, look: SessionLook) -> tuple[Pause, ...]:
    """Return what a look leaves of a pause."""
    if pause.end <= look.start or pause.start >= look.end:
        return (pause,)
    if pause.kind is PauseKind.DELAY and pause.end > look.end:
        return (replace(pause, start=look.end),)
    return (replace(pause, end=look.start),) if pause.start < look.start else ()


def _begin_next(state: SessionState) -> SessionState:
    """Let the next look begin when its time has come."""
    if state.now is not None or not state.waiting:
        return state
    look = state.waiting[0]
    resting = any(pause.start <= state.clock < pause.end for pause in state.pauses)
    if resting or not look.start <= state.clock < look.end:
        return state
    begun = replace(look, status=Status.NOW, due=look.end)
    return replace(state.with_looks(begun), focuser=look.train)


def put_back(state: SessionState) -> SessionState:
    """Send the look under way back to those that wait, with its time over."""
    look = state.now
    if look is None:
        return state
    end = max(look.start, state.clock)
    return state.with_looks(
        replace(look, status=Status.WAITING, end=end, sought_from=None, due=None)
    )


def pauses_with(state: SessionState, pause: Pause) -> tuple[Pause, ...]:
    """Add a pause to those that stay."""
    return joined([*(old for old in state.pauses if is_fixed(old, state.clock)), pause])


# Time that passes at once by this much is a leap: a laptop woke up, or its clock is wrong.
LEAP = timedelta(minutes=30)
# A clock that goes back by less is only set right.
SMALL_STEP_BACK = timedelta(minutes=1)
# Begins what is said of a clock that has gone back.
WENT_BACK = "The clock went back from"


def note_leap(before: SessionState, after: SessionState) -> SessionState:
    """Keep what stood before a leap that changed looks, until the observer's next move."""
    if after.clock - before.clock < LEAP or after.looks == before.looks:
        return after
    kept = before.before_leap or alone(before)
    return replace(after, before_leap=kept)


def without_leap(state: SessionState, now: datetime) -> SessionState:
    """Return what stood before a leap when the clock is back from it, else the state itself."""
    kept = state.before_leap
    if kept is None or state.clock - now <= SMALL_STEP_BACK:
        return state
    return replace(kept, past=state.past, ahead=state.ahead)


def clock_fault(state: SessionState, now: datetime, site: Site) -> tuple[str, ...]:
    """Say so when the clock has gone back, and from where the session goes on."""
    unix_seconds([now])  # refuses what has no time zone
    if state.clock - now <= SMALL_STEP_BACK:
        return ()
    then, there = _times(state.clock, now, site)
    went = f"{WENT_BACK} {then} to {there}"
    if without_leap(state, now) is not state:
        return (f"{went}: the session goes on as it was before the clock leapt.",)
    words = (
        f"{went}; what was done stands, and the session goes on from {then}. Undo takes back a "
        "move made while the clock was wrong."
    )
    return (words,)


def _times(first: datetime, second: datetime, site: Site) -> tuple[str, str]:
    """Write two times, with their days where these are not the same."""
    locals_ = [instant.astimezone(site.zone) for instant in (first, second)]
    told = [clock(local, site) for local in locals_]
    if locals_[0].date() != locals_[1].date():
        told = [
            f"{WEEKDAYS[local.weekday()]} {local.day} {words}"
            for local, words in zip(locals_, told, strict=True)
        ]
    return told[0], told[1]
