"""Moves that change what a session is made of: asking for a target, and keeping one out."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from planner.session.moves.moving import Acted, Moved, moved
from planner.session.night import SurveyedNight
from planner.session.open_sky import open_sky
from planner.session.replanning import ready_at
from planner.session.state import SessionState, Status
from planner.session.words import why_lost


def add_target(night: SurveyedNight, state: SessionState, now: datetime, target_id: str) -> Moved:
    """Ask for a target, whatever it is worth; it is planned when there is any room for it."""

    def act(state: SessionState) -> Acted:
        look, row = state.look_at(target_id), night.row_of.get(target_id)
        if row is None:
            return None, (f"{target_id[:40]} is not among the targets of this night.",)
        if look and look.status in {Status.NOW, Status.DONE}:
            return None, (f"{look.name} is {look.status} already.",)
        if target_id in state.added:
            return None, (f"{night.roster.targets[row].name} has been asked for already.",)
        given_up = look is not None and look.status is Status.SKIPPED
        return replace(
            state,
            looks=tuple(old for old in state.looks if not (given_up and old is look)),
            vetoed=tuple(name for name in state.vetoed if name != target_id),
            added=(*state.added, target_id),
        ), ()

    after, words = moved(night, state, now, act)
    look = after.look_at(target_id)
    if len(after.added) > len(state.added) and (look is None or not look.counts):
        name = night.roster.targets[night.row_of[target_id]].name
        sky = open_sky(night, after, ready_at(after))
        words = (
            *words,
            f"{name} finds no place: {why_lost(night, after, sky, (target_id,))[0].reason}",
        )
    return after, words


def veto_target(night: SurveyedNight, state: SessionState, now: datetime, target_id: str) -> Moved:
    """Keep a target out of the rest of the session."""

    def act(state: SessionState) -> Acted:
        look, row = state.look_at(target_id), night.row_of.get(target_id)
        if row is None:
            return None, (f"{target_id[:40]} is not among the targets of this night.",)
        name = night.roster.targets[row].name
        if target_id in state.vetoed:
            return None, (f"{name} is vetoed already.",)
        if look and look.status is Status.DONE:
            return None, (f"{name} is done already.",)
        added = tuple(known for known in state.added if known != target_id)
        after = replace(state, vetoed=(*state.vetoed, target_id), added=added)
        if look:
            vetoed = replace(look, status=Status.SKIPPED, reason="vetoed", cause=None)
            after = after.with_looks(vetoed)
        return after, (f"{name} does not come again in this session",)

    return moved(night, state, now, act)
