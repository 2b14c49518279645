"""The move by which looks come into the night whose outcome tells most about the observer's eye."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime

import numpy as np

from planner.planning.circumstances import STEP_MIN
from planner.planning.teaching_looks import MOST_LESSONS, doubts, lesson_rows
from planner.session.moves.moving import Acted, Moved, moved
from planner.session.night import SurveyedNight
from planner.session.state import SessionState, Status

NOTHING_TEACHES = "Nothing in the rest of this session would tell more about your eye."
ENOUGH = "What teaches is in the night already: the list says which."


def teach(night: SurveyedNight, state: SessionState, now: datetime) -> Moved:
    """Ask for the looks, two a night at most, that tell most about the eye.

    How easily they should be seen is not told until it is written whether they were.
    """

    def act(state: SessionState) -> Acted:
        room = MOST_LESSONS - len(state.lessons)
        if room <= 0:
            return None, (ENOUGH,)
        names = _most_telling(night, state, now)[:room]
        if not names:
            return None, (NOTHING_TEACHES,)
        called = [night.roster.targets[night.row_of[name]].name for name in names]
        wanted = [name for name in names if name not in state.added]
        after = replace(state, added=(*state.added, *wanted), lessons=(*state.lessons, *names))
        return after, (f"Asked for to learn your eye: {' and '.join(called)}",)

    return moved(night, state, now, act, name="looks that teach added")


def _most_telling(night: SurveyedNight, state: SessionState, now: datetime) -> list[str]:
    """Return the targets that tell most in what is left of the session, the best first."""
    doubt = doubts(night.roster, night.circumstances, night.columns)
    first = max(math.ceil(night.minute(now) / STEP_MIN), 0)
    last = math.floor(night.minute(state.end) / STEP_MIN)
    left = np.zeros_like(doubt)
    left[:, first:last] = doubt[:, first:last]
    over = {Status.NOW, Status.DONE, Status.SKIPPED}
    for name in (
        *state.vetoed,
        *state.lessons,
        *(x.target_id for x in state.looks if x.status in over),
    ):
        if name in night.row_of:
            left[night.row_of[name]] = 0.0
    rows = lesson_rows(left, night.roster.wanted)
    return [night.roster.targets[row].id for row in rows.tolist()]
