"""What is left of a night at some moment: its targets under the clouds of that moment."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime

import numpy as np

from planner.matcher.lens import Moment
from planner.planning.candidates import candidates_of, session_of
from planner.planning.circumstances import STEP_MIN
from planner.planning.roster import Roster, rows_of_roster, steps_of
from planner.planning.scheduling.candidates import Candidates, Session
from planner.planning.worth import LEAST_WORTH
from planner.session.cloud_sectors import inside
from planner.session.night import SurveyedNight
from planner.session.state import Closure, CloudKind, SessionState, Status
from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen

# What the observer asks for is worth this much more than anything else.
ADDED_WORTH = 1.0


@frozen
class OpenSky:
    """N targets through the T steps from some moment to the end of the session.

    Parameters
    ----------
    roster : Roster
        These steps of the night, dimmed by thin cloud; without solid cloud.
    session : Session
        Its minutes count from ``origin``.
    candidates : Candidates
        What may come: neither under solid cloud, nor done, nor unwanted.
    columns : ndarray of int
        Train of each, (N,).
    clear : ndarray of bool
        No solid cloud, (N, T).
    loss_mag : ndarray
        What thin cloud takes [mag], (N, T).
    origin : datetime
        First step (UTC).
    """

    roster: Roster
    session: Session
    candidates: Candidates
    columns: Codes
    clear: Flags
    loss_mag: Floats
    origin: datetime


def open_sky(
    night: SurveyedNight, state: SessionState, begin: datetime, *, columns: Codes | None = None
) -> OpenSky:
    """Return what can be looked at from an instant on.

    Parameters
    ----------
    begin : datetime
        UTC; taken down to a step.
    columns : ndarray of int, optional
        Train of each target, (N,); those of the looks, and for the others the best, when not given.
    """
    most = len(night.roster.grid.unix_s) - 1
    first = min(max(math.floor(night.minute(begin) / STEP_MIN), 0), most)
    last = min(max(math.floor(night.minute(state.end) / STEP_MIN), first), most)
    steps = slice(first, last + 1)
    origin, roster = night.instant(first * STEP_MIN), steps_of(night.roster, steps)
    clear, loss_mag = under_clouds(night, state.closures, roster, first)
    if loss_mag.any():
        moments = replace(roster.moments, loss_mag=roster.moments.loss_mag + loss_mag)
        roster = replace(roster, moments=moments)
    columns = columns_of(night, state) if columns is None else columns
    candidates = night.candidates.of_steps(steps)
    unlike = np.flatnonzero(columns != night.columns)
    if unlike.size:
        others = night.in_trains(unlike, columns[unlike]).of_steps(steps)
        candidates = candidates.with_rows(unlike, others)
    dimmed = np.flatnonzero(loss_mag.any(axis=1))
    if dimmed.size:
        candidates = candidates.with_rows(dimmed, _dimmed(night, roster, columns, dimmed))
    return OpenSky(
        roster=roster,
        session=session_of(
            night.circumstances,
            night.night,
            origin,
            state.end,
            most_looks=_most_looks(night, state),
        ),
        candidates=_allowed(night, state, roster, candidates, clear),
        columns=columns,
        clear=clear,
        loss_mag=loss_mag,
        origin=origin,
    )


def _dimmed(night: SurveyedNight, roster: Roster, columns: Codes, rows: Codes) -> Candidates:
    """Some of a roster's targets behind thin cloud."""
    return candidates_of(
        rows_of_roster(roster, rows),
        night.circumstances,
        columns[rows],
        night.shares[rows, columns[rows]],
        finding_min=night.candidates.finding_min[rows],
    )


def under_clouds(
    night: SurveyedNight, closures: tuple[Closure, ...], roster: Roster, first: int
) -> tuple[Flags, Floats]:
    """Tell where no solid cloud stands, and what thin cloud takes [mag]; both (N, T).

    A step is under a cloud when any of the time to the next one is.

    Parameters
    ----------
    roster : Roster
        Steps of the night.
    first : int
        Which step of the night its first one is.
    """
    altitude, azimuth = roster.tracks.altitude_deg, roster.tracks.azimuth_deg
    clear, loss_mag = np.ones(altitude.shape, dtype=bool), np.zeros(altitude.shape)
    for closure in closures:
        begin = max(math.floor(night.minute(closure.since) / STEP_MIN) - first, 0)
        steps = slice(begin, None)
        if closure.until is not None:
            end = math.ceil(night.minute(closure.until) / STEP_MIN) - first
            steps = slice(begin, max(end, begin))
        hidden = inside(closure, azimuth[:, steps], altitude[:, steps])
        if closure.kind is CloudKind.SOLID:
            clear[:, steps] &= ~hidden
        else:
            dimmed = np.where(hidden, closure.loss_mag, 0.0)
            loss_mag[:, steps] = np.maximum(loss_mag[:, steps], dimmed)
    return clear, loss_mag


def moments_under_clouds(
    night: SurveyedNight, closures: tuple[Closure, ...], rows: Codes
) -> Moment:
    """Return the sky behind some targets through the night, with what thin cloud takes [mag]."""
    moments = night.roster.moments.of_rows(rows)
    if all(closure.kind is CloudKind.SOLID for closure in closures):
        return moments
    _, loss_mag = under_clouds(night, closures, rows_of_roster(night.roster, rows), 0)
    return replace(moments, loss_mag=moments.loss_mag + loss_mag)


def columns_of(night: SurveyedNight, state: SessionState) -> Codes:
    """Return the train of each target: that of its look, else the best of the kit, (N,)."""
    columns = night.columns.copy()
    for look in state.looks:
        row, column = night.row_of.get(look.target_id), night.column_of.get(look.train)
        kept = look.chosen or look.status in {Status.NOW, Status.WAITING}
        if row is not None and column is not None and kept:
            columns[row] = column
    last = last_look_row(night, state)
    if last is not None and state.focuser is not None:
        columns[last] = night.column_of.get(state.focuser, columns[last])
    return columns


def last_look_row(night: SurveyedNight, state: SessionState) -> int | None:
    """Return where the telescope points: at the look under way, else at the last that was done."""
    seen = state.with_status(Status.DONE, Status.NOW)
    return night.row_of.get(seen[-1].target_id) if seen else None


def _most_looks(night: SurveyedNight, state: SessionState) -> int | None:
    if night.wishes.count is None:
        return None
    return max(night.wishes.count - len(state.with_status(Status.DONE, Status.NOW)), 0)


def rows_of(night: SurveyedNight, names: tuple[str, ...]) -> Codes:
    """Return the rows of targets by their identities; unknown ones are passed over."""
    return np.array([night.row_of[name] for name in names if name in night.row_of], dtype=np.intp)


def _allowed(
    night: SurveyedNight, state: SessionState, roster: Roster, candidates: Candidates, clear: Flags
) -> Candidates:
    """Close the windows of what is under cloud, done or unwanted; lift what was asked for."""
    quality, is_open = candidates.quality, candidates.open & clear
    added = rows_of(night, state.added)
    if added.size:
        quality = quality.copy()
        quality[added] = np.maximum(quality[added], LEAST_WORTH) + ADDED_WORTH
        is_open[added] = roster.windows.open[added] & clear[added]
    gone = state.with_status(Status.DONE, Status.NOW, Status.SKIPPED)
    is_open[rows_of(night, (*(look.target_id for look in gone), *state.vetoed))] = False
    return replace(candidates, quality=quality, open=is_open)
