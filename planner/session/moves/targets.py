"""Moves by target: asking for one, beginning it at this moment, keeping it out."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from planner.formulas.visibility_limit import grade_word
from planner.model.plan import Grade
from planner.output.words import clock
from planner.planning.circumstances import STEP_MIN
from planner.planning.survey import moment_at
from planner.planning.windows import first_of_run
from planner.session.clock import interrupted, is_hidden, run_end
from planner.session.moves.moving import Acted, Moved, moved
from planner.session.night import SurveyedNight, key_words
from planner.session.open_sky import open_sky
from planner.session.replanning import ready_at
from planner.session.state import (
    LossCause,
    PauseKind,
    SessionLook,
    SessionState,
    Status,
    TrainKey,
)
from planner.session.words import why_lost

# What is asked for may end the session so much later; a longer night is the observer's to say.
LONGEST_ADDITION = timedelta(hours=1)
# Where others lose their places by it, ends are tried so far apart.
STEP_LATER = timedelta(minutes=15)
# Whether a target shows at all is tried at every so many of the night's steps.
STEPS_TRIED = 6
# Between sunset and the first step of a night something bright can be begun already.
BEFORE_DUSK = timedelta(hours=1)


def add_target(night: SurveyedNight, state: SessionState, now: datetime, target_id: str) -> Moved:
    """Ask for a target, whatever it is worth; it is planned when there is any room for it.

    The session ends up to an hour later where only that gives it a place. What cannot be seen
    tonight takes nothing from what can.
    """
    after, words = _added(night, state, now, target_id)
    if len(after.added) == len(state.added):
        return after, words
    name, site = night.roster.targets[night.row_of[target_id]].name, night.night.site
    is_planned = _is_planned(after, target_id)
    if is_planned and not _gone(state, after):
        return after, _first(name, words)
    loss = why_lost(night, after, open_sky(night, after, ready_at(after)), (target_id,))[0]
    end, first = _later_end(night, after, target_id, has_place=is_planned)
    if end is not None and (is_planned or loss.cause in {LossCause.WINDOW, LossCause.NO_ROOM}):
        longer, told = _longer(night, state, now, target_id, end)
        gains = len(_gone(state, longer)) < len(_gone(state, after)) or not is_planned
        if _is_planned(longer, target_id) and gains:
            told, until = _first(name, told), clock(longer.end, site)
            return longer, (*told[:1], f"The session goes on until {until}", *told[1:])
    if is_planned:
        return after, _first(name, words)
    if first is not None and first > after.end:
        reason = f"it can be looked at from {clock(first, site)} on; t goes on until then"
        return after, (f"{name} finds no place yet: {reason}", *words)
    return after, (f"{name} finds no place: {loss.reason}", *words)


def _longer(
    night: SurveyedNight, state: SessionState, now: datetime, target_id: str, end: datetime
) -> Moved:
    """Add a target to a session that ends later: as little as leaves the others their places."""
    latest = min(max(state.end, now) + LONGEST_ADDITION, night.end)
    after, words = _added(night, state, now, target_id, end=end)
    while _gone(state, after) and end < latest:
        end = min(end + STEP_LATER, latest)
        other, told = _added(night, state, now, target_id, end=end)
        if len(_gone(state, other)) < len(_gone(state, after)):
            after, words = other, told
    return after, words


def _first(name: str, words: tuple[str, ...]) -> tuple[str, ...]:
    """Put what is said of a target before the rest."""
    return tuple(sorted(words, key=lambda told: not told.startswith(name)))


def _gone(before: SessionState, after: SessionState) -> set[str]:
    """Return what waited before and finds no place any more."""
    waited = {look.target_id for look in before.waiting}
    return waited & {look.target_id for look in after.with_status(Status.LOST)}


def _is_planned(state: SessionState, target_id: str) -> bool:
    look = state.look_at(target_id)
    return look is not None and look.counts


def _added(
    night: SurveyedNight,
    state: SessionState,
    now: datetime,
    target_id: str,
    end: datetime | None = None,
) -> Moved:
    def act(state: SessionState) -> Acted:
        refusal = _refusal(night, state, target_id)
        if refusal:
            return None, (refusal,)
        look, name = state.look_at(target_id), night.roster.targets[night.row_of[target_id]].name
        given_up = look is not None and look.status is Status.SKIPPED
        after = replace(
            state,
            end=max(state.end, end or state.end),
            looks=tuple(old for old in state.looks if not (given_up and old is look)),
            vetoed=tuple(name for name in state.vetoed if name != target_id),
            added=(*state.added, target_id),
        )
        if look and look.status is Status.WAITING:
            at = clock(look.start, night.night.site)
            return after, (f"{name} is planned at {at}: it stays",)
        return after, ()

    row = night.row_of.get(target_id)
    name = f"{night.roster.targets[row].name} added" if row is not None else ""
    return moved(night, state, now, act, name=name)


def _refusal(night: SurveyedNight, state: SessionState, target_id: str) -> str:
    """Say why a target cannot be asked for; empty when it can."""
    look, row = state.look_at(target_id), night.row_of.get(target_id)
    if row is None:
        return f"{target_id[:40]} is not among the targets of this night."
    name = night.roster.targets[row].name
    if look and look.status in {Status.NOW, Status.DONE}:
        return look.already
    if state.clock >= night.end:
        return f"{name} cannot be added: this night is over."
    if target_id in state.added:
        return f"{name} has been asked for already."
    is_too_faint = _is_too_faint(night, state, target_id)
    return f"{name} cannot be made out tonight: it is not added." if is_too_faint else ""


def _is_too_faint(night: SurveyedNight, state: SessionState, target_id: str) -> bool:
    """Whether a target comes into its window in the rest of the night, and no train shows it."""
    roster, row = night.roster, night.row_of[target_id]
    first = max(math.floor(night.minute(ready_at(state)) / STEP_MIN), 0)
    steps = first + np.flatnonzero(roster.windows.open[row, first:])[::STEPS_TRIED]
    if not steps.size:
        return False
    rows = np.full(len(steps), row)
    ratings = night.circumstances.rate(
        roster.target_table.of_rows(rows), moment_at(roster.moments.of_rows(rows), steps)
    )
    return grade_word(float(ratings.margin_dex.max())) is Grade.UNLIKELY


def _later_end(
    night: SurveyedNight, state: SessionState, target_id: str, *, has_place: bool
) -> tuple[datetime | None, datetime | None]:
    """Return the end that gives a target a place, and when it can be looked at first.

    None for the end when none within the hour does; None for the other when nothing does. One that
    ``has_place`` gets the time for it on top.
    """
    ready = ready_at(state)
    sky = open_sky(night, replace(state, end=night.end), ready)
    row = night.row_of[target_id]
    way = math.ceil(night.finding_min / STEP_MIN) + 1
    needed = math.ceil(float(sky.candidates.dwell_min[row]) / STEP_MIN) + 1
    first = first_of_run(sky.candidates.open[row], way, needed=needed)
    if first is None:
        return None, None
    end = sky.origin + timedelta(minutes=(first + needed + 1) * STEP_MIN)
    more = max(state.end, ready) + timedelta(minutes=(way + needed) * STEP_MIN)
    end = more if has_place else max(end, min(more, night.end))
    fits = state.end < end <= min(max(state.end, ready) + LONGEST_ADDITION, night.end)
    return end if fits else None, sky.origin + timedelta(minutes=first * STEP_MIN)


def start_now(
    night: SurveyedNight,
    state: SessionState,
    now: datetime,
    target_id: str,
    *,
    train: TrainKey | None = None,
    is_found: bool = True,
) -> Moved:
    """Begin a look at this moment, or the way to it, and put the rest behind it.

    The look under way counts as done when half of it was had, and waits again otherwise. The
    session ends later where the look needs that.

    Parameters
    ----------
    train : TrainKey, optional
        What it is looked at in; that of its look, or the best, when not given.
    is_found : bool
        Whether the telescope points at it; else it is looked for from now on.
    """

    def act(state: SessionState) -> Acted:
        look, row = state.look_at(target_id), night.row_of.get(target_id)
        if row is None:
            return None, (f"{target_id[:40]} is not among the targets of this night.",)
        name = night.roster.targets[row].name
        if look and look.status in {Status.NOW, Status.DONE}:
            return None, (look.already,)
        hindrance = _hindrance(night, state, target_id)
        if hindrance:
            return None, (f"{name} {hindrance}",)
        begun = _begun(night, state, target_id, train=train, is_found=is_found)
        after = interrupted(night, state, f"left for {name}").with_looks(begun)
        vetoed = tuple(known for known in state.vetoed if known != target_id)
        # Whoever is at a target neither rests nor is late any more.
        pauses = tuple(
            pause
            for pause in state.pauses
            if pause.end <= state.clock
            or (pause.kind is PauseKind.BREAK and pause.start > state.clock)
        )
        start, end = min(state.start, begun.start), max(state.end, begun.end)
        after = replace(after, start=start, end=end, vetoed=vetoed, pauses=pauses)
        after = replace(after, focuser=begun.train) if is_found else after
        return after, (_beginning_words(night, state, begun),)

    after, words = moved(night, state, now, act)
    begun = after.now  # what is told of it first is not told again
    return after, tuple(x for x in words if begun is None or not x.startswith(f"Now {begun.name} "))


def _begun(
    night: SurveyedNight,
    state: SessionState,
    target_id: str,
    *,
    train: TrainKey | None,
    is_found: bool,
) -> SessionLook:
    """Return the look that begins now, or after the way to it."""
    row, look = night.row_of[target_id], state.look_at(target_id)
    way = timedelta(0) if is_found else timedelta(minutes=night.finding_min)
    start = min(state.clock + way, night.end)
    usual = start + night.dwell(target_id)
    end = min(usual, run_end(night, state, target_id) or usual, night.end)
    end = max(end, start + timedelta(minutes=1))
    known = look.train if look else night.train_key(int(night.columns[row]))
    return SessionLook(
        target_id=target_id,
        name=night.roster.targets[row].name,
        status=Status.NOW if is_found else Status.WAITING,
        start=start,
        end=end,
        train=train or known,
        chosen=train not in {None, known} or (look is not None and look.chosen),
        sought_from=state.clock,
        due=end if is_found else None,
    )


def _beginning_words(night: SurveyedNight, state: SessionState, begun: SessionLook) -> str:
    site, row = night.night.site, night.row_of[begun.target_id]
    in_what = f"in the {key_words(begun.train)}, until {clock(begun.end, site)}"
    if begun.status is not Status.NOW:
        return f"On the way to {begun.name} now: at {clock(begun.start, site)} {in_what}"
    words = f"At {begun.name} now, {in_what}"
    if run_end(night, state, begun.target_id) is not None:
        return words
    return f"{words}; outside of its window, {_altitude_deg(night, state, row):.0f} deg up"


def _hindrance(night: SurveyedNight, state: SessionState, target_id: str) -> str:
    """Say why nobody can be at a target now; empty when somebody can."""
    row, step = night.row_of[target_id], math.floor(night.minute(state.clock) / STEP_MIN)
    if step >= len(night.roster.grid.unix_s) - 1:
        return "cannot be begun: this night is over."
    if is_too_early(night, state.clock):
        return f"cannot be begun yet: {_earliest_words(night)}."
    step = max(step, 0)
    if not night.roster.windows.clear_of_sun[row, step : step + 2].all():
        return "stands too near to the Sun."
    if _altitude_deg(night, state, row) <= 0.0:
        return "is below the horizon."
    return (
        "is behind the cloud that is noted; o opens the sky."
        if is_hidden(night, state, target_id)
        else ""
    )


def is_too_early(night: SurveyedNight, now: datetime) -> bool:
    """Whether nothing can be begun yet: the Sun is up, or the night's first step is far."""
    sunset = night.night.sunset
    return now < night.start and (
        (sunset is not None and now < sunset) or night.start - now > BEFORE_DUSK
    )


def _earliest_words(night: SurveyedNight) -> str:
    sunset, site = night.night.sunset, night.night.site
    if sunset is not None:
        return f"the Sun sets at {clock(sunset, site)}"
    return f"the session begins at {clock(night.start, site)}"


def _altitude_deg(night: SurveyedNight, state: SessionState, row: int) -> float:
    track = night.roster.tracks.altitude_deg[row]
    return float(np.interp(night.minute(state.clock) / STEP_MIN, np.arange(len(track)), track))


def veto_target(night: SurveyedNight, state: SessionState, now: datetime, target_id: str) -> Moved:
    """Keep a target out of the rest of the session."""

    def act(state: SessionState) -> Acted:
        look, row = state.look_at(target_id), night.row_of.get(target_id)
        if row is None:
            return None, (f"{target_id[:40]} is not among the targets of this night.",)
        name = night.roster.targets[row].name
        if target_id in state.vetoed:
            return None, (f"{name} is kept out already.",)
        if look and look.status is Status.DONE:
            return None, (f"{name} is done already.",)
        added = tuple(known for known in state.added if known != target_id)
        after = replace(state, vetoed=(*state.vetoed, target_id), added=added)
        if look:
            vetoed = replace(look, status=Status.SKIPPED, reason="vetoed", cause=None)
            after = after.with_looks(vetoed)
        return after, (f"{name} does not come again in this session",)

    return moved(night, state, now, act)
