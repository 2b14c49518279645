"""Why targets are not in a plan, and what is to be said of the plan as a whole."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.model.plan import LeftOut, Look, Spare
from planner.planning.circumstances import STEP_MIN, Circumstances
from planner.planning.roster import Roster
from planner.planning.scheduling.candidates import Candidates
from planner.planning.scheduling.scheduler import Session, Slot, fits_alone
from planner.planning.season import culminations_deg
from planner.planning.windows import Windows, hindrance
from planner.planning.worth import EXPECTED
from targets.arrays import Flags

# Early in the session, exit pupils below this show whether the telescope has cooled (common
# practice: high power is not for the first half hour).
COOLING_MIN = 30.0
HIGH_POWER_PUPIL_MM = 1.5
# A plan that leaves this much of its session free says why, and names so many (our choice).
EARLY_END_MIN = 25.0
MOST_NAMED = 4


def omissions(
    roster: Roster,
    candidates: Candidates | None,
    session: Session,
    slots: Sequence[Slot],
    *,
    seen_with: Mapping[int, int],
    by_name: bool,
) -> tuple[LeftOut, ...]:
    """Say why targets are not in the plan: all of a list, else those that one would expect.

    Parameters
    ----------
    roster : Roster
        All targets that were looked into.
    candidates : Candidates or None
        The same as the ordering saw them; None when no eyepiece fits.
    slots : sequence of Slot
        What is in the plan.
    seen_with : mapping of int to int
        Row of the target in whose look another one gets a view, by the row of that one.
    by_name : bool
        The targets are a list of the observer's own.

    Returns
    -------
    tuple of LeftOut
        What is in season first, what never rises last, in each the most wanted first.
    """
    planned = {slot.row for slot in slots}
    rises = ~(culminations_deg(roster.targets, roster.grid.night.site) < 0.0)
    order = np.lexsort((-roster.wanted, ~roster.in_season, ~rises))
    rows = [
        int(row)
        for row in order
        if int(row) not in planned and (by_name or roster.wanted[row] >= EXPECTED)
    ]
    roomy = fits_alone(candidates, session) if candidates else np.zeros(len(roster.targets), bool)
    return tuple(
        LeftOut(
            roster.targets[row],
            f"seen in the look at {roster.targets[seen_with[row]].name}"
            if seen_with.get(row) in planned
            else _why_left_out(roster, candidates, row, roomy=bool(roomy[row])),
            in_season=bool(roster.in_season[row]),
            rises=bool(rises[row]),
        )
        for row in rows
    )


def _why_left_out(roster: Roster, candidates: Candidates | None, row: int, *, roomy: bool) -> str:
    is_open = roster.windows.open[row]
    if not is_open.any():
        return hindrance(roster.windows, roster.tracks, row, span="in this session")
    if candidates is None:
        return "no eyepiece of the kit fits the telescope"
    if not candidates.open[row].any():
        best = float(candidates.quality[row, is_open].max())
        return f"hardly to be seen in this session (worth {best:.2f} of a showpiece)"
    if not roomy:
        return "its window in this session is too short for a look"
    return "no room: others are worth more in this session"


def plan_notes(
    roster: Roster,
    circumstances: Circumstances,
    looks: Sequence[Look],
    session: Session,
    start: datetime,
) -> tuple[str, ...]:
    """Return sentences about a plan: why it is empty or ends early, what it asks for beforehand."""
    if not len(circumstances.table):
        return (f"No eyepiece of the kit fits {circumstances.telescope.name}.",)
    if not looks:
        return (_why_nothing(roster.windows),)
    soon = [look for look in looks if look.start < start + timedelta(minutes=COOLING_MIN)]
    notes = _early_end(roster, looks, session, start)
    if any(look.view.train.exit_pupil_mm < HIGH_POWER_PUPIL_MM for look in soon):
        return ("High power from the start: put the telescope out an hour before, to cool.", *notes)
    return notes


def _early_end(
    roster: Roster, looks: Sequence[Look], session: Session, start: datetime
) -> tuple[str, ...]:
    """Say why a plan ends well before its session, and what is up that might fill it."""
    last_min = (looks[-1].end - start) / timedelta(minutes=1)
    free_min = session.length_min - last_min
    is_full = session.most_looks is not None and len(looks) >= session.most_looks
    if is_full or free_min < EARLY_END_MIN:
        return ()
    step = min(int(np.ceil(last_min / session.step_min)), roster.windows.open.shape[1] - 1)
    planned = {look.target.id for look in looks}
    is_open: Flags = roster.windows.open
    is_up = np.logical_or.reduce(is_open[:, step:], axis=1)
    rest = [
        roster.targets[int(row)].name
        for row in np.argsort(-roster.wanted, kind="stable")
        if is_up[row] and roster.targets[int(row)].id not in planned
    ]
    words = f"The plan ends {free_min:.0f} min before the session"
    if not rest:
        return (f"{words}: nothing else of what was asked for is up and dark enough then.",)
    named = ", ".join(rest[:MOST_NAMED])
    return (f"{words}: what else is up then shows itself too badly or too briefly ({named}).",)


def _why_nothing(windows: Windows) -> str:
    if not windows.dark.any():
        return "Nothing to look at: the sky does not get dark enough in this session."
    if not windows.open.any():
        return "Nothing to look at: all that was asked for is hidden or low in this session."
    return "Nothing to look at: what is up shows itself too badly or too briefly in this session."


# Parts of the sky, and how many spares each gets at most.
SECTORS = 8
MOST_PER_SECTOR = 3


def find_spares(
    roster: Roster,
    candidates: Candidates,
    circumstances: Circumstances,
    columns: NDArray[np.intp],
    planned: Collection[int],
    start: datetime,
) -> tuple[Spare, ...]:
    """Choose the best targets that have no look, some in each part of the sky.

    Parameters
    ----------
    roster, candidates
        N targets, as the ordering saw them.
    circumstances : Circumstances
        With the table of trains.
    columns : ndarray of int
        The train of each target, (N,).
    planned : collection of int
        Rows of those that have a look.
    start : datetime
        Of the session (UTC).

    Returns
    -------
    tuple of Spare
        By sector from north through east, the best of each first.
    """
    worth = np.where(candidates.open, candidates.quality, 0.0)
    step = np.argmax(worth, axis=1)
    every = np.arange(len(worth))
    best = worth[every, step]
    azimuth = candidates.azimuth_deg[every, step]
    sector = np.round(azimuth / (360.0 / SECTORS)).astype(int) % SECTORS
    chosen: list[int] = []
    for part in range(SECTORS):
        rows = [int(r) for r in np.argsort(-best, kind="stable") if sector[r] == part]
        free = [row for row in rows if best[row] > 0.0 and row not in planned]
        chosen += free[:MOST_PER_SECTOR]
    return tuple(
        Spare(
            target=roster.targets[row],
            train=circumstances.table.trains[int(columns[row])],
            at=start + timedelta(minutes=float(STEP_MIN * step[row])),
            altitude_deg=float(candidates.altitude_deg[row, step[row]]),
            azimuth_deg=float(azimuth[row]),
        )
        for row in chosen
    )
