"""How long a look could wait, and what waiting would cost."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from planner.model.plan import Look, Slack
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.roster import Roster
from planner.planning.scheduling.candidates import Candidates, Session, Slot
from planner.planning.season import culminations_deg
from planner.planning.windows import (
    NEAR_CULMINATION_DEG,
    altitude_floors_deg,
    first_of_run,
    last_open_step,
    window_closing,
)
from targets.arrays import Flags, Floats

# What waiting costs is told for this long [min].
WAITING_MIN = 30.0
# What culminates lower than this is told to be at its best there (our choice).
LOW_DEG = 35.0


def with_slack(
    looks: Sequence[Look],
    roster: Roster,
    candidates: Candidates,
    session: Session,
    slots: Sequence[Slot],
    circumstances: Circumstances,
    wishes: Wishes,
) -> tuple[Look, ...]:
    """Tell of each look, one for each slot, how long it could wait."""
    culmination = culminations_deg(roster.targets, roster.grid.night.site)
    floors_deg = altitude_floors_deg(
        roster.target_table.class_code,
        circumstances.preferences,
        wishes.min_altitude_deg,
        culmination=culmination,
    )
    return tuple(
        replace(
            look,
            timing=_timing(look.altitude_deg, float(culmination[slot.row])),
            slack=slack_of(
                roster,
                candidates,
                session,
                row=slot.row,
                start_min=slot.start_min,
                origin=look.start - timedelta(minutes=slot.start_min),
                floor_deg=float(floors_deg[slot.row]),
            ),
        )
        for look, slot in zip(looks, slots, strict=True)
    )


def _timing(altitude_deg: float, culmination_deg: float) -> str:
    """Say that a target is as high as it ever gets, where that is not high."""
    if culmination_deg < LOW_DEG and altitude_deg >= culmination_deg - NEAR_CULMINATION_DEG:
        return f"best now, culminates at {culmination_deg:.0f} deg"
    return ""


def slack_of(
    roster: Roster,
    candidates: Candidates,
    session: Session,
    *,
    row: int,
    start_min: float,
    origin: datetime,
    floor_deg: float,
    clear: Flags | None = None,
) -> Slack:
    """Find how long a look could wait.

    Parameters
    ----------
    roster, candidates, session
        All targets, as the ordering saw them.
    start_min : float
        Start of its look [min after ``origin``]; the window is open then.
    origin : datetime
        Of the first step (UTC).
    floor_deg : float
        How high the target has to stand [deg], for the words.
    clear : ndarray of bool, optional
        Where no cloud hides the target, shape (T,); everywhere when not given.
    """
    step, is_open = int(start_min // session.step_min), candidates.open[row]
    last = last_open_step(is_open, step)
    last = step if last is None else last
    until_min, cause, again = session.length_min, "", None
    dwell_min = float(candidates.dwell_min[row])
    if last < len(is_open) - 1:
        until_min, cause = last * session.step_min, "fades"
        needed = math.ceil(dwell_min / session.step_min) + 1
        again = first_of_run(is_open, last + 1, needed=needed)
        closing = window_closing(roster.windows, row, step, floor_deg=floor_deg)
        if closing is not None and closing.last_step == last:
            cause = closing.cause
        elif clear is not None and not clear[last + 1]:
            cause = "goes behind cloud"
    return Slack(
        slack_min=max(until_min - dwell_min - start_min, 0.0),
        closes=origin + timedelta(minutes=until_min) if cause else None,
        cause=cause,
        loss=_loss(candidates.quality[row], start_min + dwell_min / 2.0, session.step_min),
        opens_again=None if again is None else origin + timedelta(minutes=again * session.step_min),
    )


def _loss(quality: Floats, middle_min: float, step_min: float) -> float:
    """Return the share of a look's worth that is gone after a while, 0 when it is worth as much."""
    steps = np.array([middle_min, middle_min + WAITING_MIN]) / step_min
    now, later = np.interp(steps, np.arange(len(quality)), quality)
    return max(1.0 - float(later / now), 0.0) if now > 0.0 else 0.0
