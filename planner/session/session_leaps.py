"""Leaps of the clock: a session that was carried off by a wrong one is brought back."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from planner.ephemeris.kernel import unix_seconds
from planner.model.site import Site
from planner.output.words import WEEKDAYS, clock
from planner.session.state import SessionState

# Time that passes at once by this much is a leap: a laptop woke up, or its clock is wrong.
LEAP = timedelta(minutes=30)
# A clock that goes back by less is only set right.
SMALL_STEP_BACK = timedelta(minutes=1)


def note_leap(before: SessionState, after: SessionState) -> SessionState:
    """Keep what stood before a leap that changed looks, until the observer's next move."""
    if after.clock - before.clock < LEAP or after.looks == before.looks:
        return after
    kept = before.before_leap or replace(before, past=(), before_leap=None)
    return replace(after, before_leap=kept)


def without_leap(state: SessionState, now: datetime) -> SessionState:
    """Give what stood before a leap when the clock is back from it, else the state itself."""
    kept = state.before_leap
    is_back = kept is not None and kept.clock - SMALL_STEP_BACK <= now
    if kept is None or not is_back or state.clock - now <= SMALL_STEP_BACK:
        return state
    return replace(kept, past=state.past)


def clock_fault(state: SessionState, now: datetime, site: Site) -> tuple[str, ...]:
    """Say so when the clock has gone back, and from where the session goes on."""
    unix_seconds([now])  # refuses what has no time zone
    if state.clock - now <= SMALL_STEP_BACK:
        return ()
    then, there = _times(state.clock, now, site)
    went = f"The clock went back from {then} to {there}"
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
