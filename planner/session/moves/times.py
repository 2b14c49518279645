"""Moves that take time or give it: longer looks, delays, breaks, the end of the session."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import NamedTuple

from planner.output.words import clock
from planner.session.clock import (
    pauses_with,
    put_back,
    run_end,
)
from planner.session.moves.moving import Acted, Moved, moved
from planner.session.night import SurveyedNight
from planner.session.replanning import being_found, ready_at
from planner.session.state import Pause, PauseKind, SessionState, Status

# What a pause or a longer look may be [min].
LONGEST_MIN = 240.0


def _wrong_minutes(minutes: float) -> tuple[None, tuple[str, ...]] | None:
    if 1.0 <= minutes <= LONGEST_MIN:
        return None
    return None, (f"{minutes:g} minutes cannot be; allowed is 1 to {LONGEST_MIN:.0f}.",)


def longer_here(night: SurveyedNight, state: SessionState, now: datetime, minutes: float) -> Moved:
    """Stay longer with the look under way, as long as its window is open [min].

    The session ends later where that is needed.
    """

    def act(state: SessionState) -> Acted:
        wrong, look = _wrong_minutes(minutes), state.now
        if wrong or look is None:
            return wrong or (None, ("No look is under way to stay with.",))
        until = run_end(night, state, look.target_id) or look.end
        end = min(look.end + timedelta(minutes=minutes), until, night.end)
        site = night.night.site
        if end <= look.end:
            return None, (f"{look.name} cannot be looked at beyond {clock(look.end, site)}.",)
        gained = (end - look.end) / timedelta(minutes=1)
        words = f"{look.name} {gained:.0f} min longer, until {clock(end, site)}"
        after = state.with_looks(replace(look, end=end, due=end))
        return replace(after, end=max(state.end, end)), (words,)

    return moved(night, state, now, act)


def running_late(night: SurveyedNight, state: SessionState, now: datetime, minutes: float) -> Moved:
    """Put off all that waits [min]."""

    def act(state: SessionState) -> Acted:
        wrong = _wrong_minutes(minutes)
        if wrong:
            return wrong
        delay, found = timedelta(minutes=minutes), being_found(night, state)
        start = ready_at(state) if found is None else state.clock
        pause = Pause(PauseKind.DELAY, start, start + delay)
        words = f"All that waits begins after {clock(pause.end, night.night.site)}"
        if found is not None:  # the way there goes on: it takes so much longer, and no more
            later = replace(found, start=found.start + delay, end=found.end + delay)
            state = state.with_looks(later)
            words += f", {found.name} at {clock(later.start, night.night.site)}"
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


def go_on(night: SurveyedNight, state: SessionState, now: datetime, end: datetime) -> Moved:
    """Go on until another time, with the rest planned anew: what was lost may come again.

    A session of which nothing was done begins now; the time that passed since a session ended
    counts as rest.
    """

    def act(state: SessionState) -> Acted:
        fault = _wrong_end(night, state, end)
        if fault:
            return None, (fault,)
        kept = tuple(look for look in state.looks if look.status is not Status.LOST)
        after = replace(state, looks=kept, end=end)
        if is_untouched(state) and state.clock > state.start:
            pauses = tuple(pause for pause in state.pauses if pause.end > state.clock)
            start = state.now.start if state.now else state.clock
            after = replace(after, start=start, pauses=pauses)
        elif state.clock > state.end:
            rest = Pause(PauseKind.BREAK, max(state.end, last_end(state)), state.clock)
            after = replace(after, pauses=pauses_with(state, rest))
        return after, (f"The session goes on until {clock(end, night.night.site)}",)

    return moved(night, state, now, act)


def is_untouched(state: SessionState) -> bool:
    """Whether nothing of a session was done and no move was made."""
    return not state.past and not state.with_status(Status.DONE, Status.SKIPPED)


def last_end(state: SessionState) -> datetime:
    """Return when the last look ended that was done; the session's start when none was."""
    return max([state.start, *(look.end for look in state.with_status(Status.DONE))])


class Ending(NamedTuple):
    """A time until which a session can go on (UTC), and how that is told."""

    at: datetime
    words: str


def endings(
    night: SurveyedNight, state: SessionState, now: datetime, *, is_anew: bool = False
) -> tuple[Ending, ...]:
    """Return the times until which a session could go on, in their order.

    They count from its present end; from now when that is over, or when it begins anew: then the
    longest comes first, since a session takes hours.
    """
    site, sky = night.night.site, night.night
    is_anew = is_anew or state.end <= now
    base, more = (now, "from now") if is_anew else (state.end, "more")
    spans = [(30, "half an hour"), (60, "an hour"), (120, "2 hours"), (240, "4 hours")]
    found = [
        Ending(base + timedelta(minutes=minutes), f"{words} {more}")
        for minutes, words in sorted(spans, reverse=is_anew)
    ]
    edges = (
        (sky.moonrise, "the Moon rises"),
        (sky.dark_end, "as long as it is fully dark"),
        (min(sky.civil_dawn or night.end, night.end), "dawn, as long as anything shows"),
    )
    found += [Ending(at, words) for at, words in edges if at is not None]
    fitting = [ending for ending in found if now < ending.at <= night.end]
    if not is_anew:
        fitting.sort(key=lambda ending: ending.at)
    return tuple(
        Ending(ending.at, f"until {clock(ending.at, site)}: {ending.words}") for ending in fitting
    )


def _wrong_end(night: SurveyedNight, state: SessionState, end: datetime) -> str | None:
    """Say why a session cannot end at a time."""
    site = night.night.site
    if end <= state.clock:
        at = f"{clock(end, site)}: it is {clock(state.clock, site)} already"
        return f"The session cannot end at {at}."
    if end > night.end:
        at = f"{clock(end, site)}; this night is known until {clock(night.end, site)}"
        return f"The session cannot last until {at}."
    return None
