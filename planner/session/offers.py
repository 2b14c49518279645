"""What is best at this moment: with the eyepiece that is in, with any; and what is nearly gone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.matcher.rating import Ratings
from planner.matcher.views import ranked_views, view_through
from planner.model.plan import View
from planner.output.night_words import slack_words
from planner.planning.candidates import LEAST_SEEN
from planner.planning.circumstances import STEP_MIN
from planner.planning.slack import slack_of
from planner.planning.survey import moment_at
from planner.planning.windows import first_of_run, window_closing
from planner.planning.worth import look_worth, wanted_under
from planner.session.night import SurveyedNight
from planner.session.open_sky import OpenSky, moments_under_clouds, open_sky
from planner.session.state import SessionLook, SessionState
from targets.arrays import Codes, Floats
from targets.frozen import frozen
from targets.model import Target

MOST_OFFERED = 5
# What is best now is judged by the sky of so long a time, whenever the session ends.
REACH = timedelta(hours=2)
# What closes within this time is about to be lost [min].
SOON_MIN = 30.0
# Only what is worth this much is missed when it is gone, a showpiece being worth 1.
MISSED = 0.3


@frozen
class Offer:
    """Something to look at now.

    Parameters
    ----------
    target, view
        What, and through what.
    worth : float
        1 for a showpiece at its best in the right train.
    reason : str
        A clause on the view, and one on how long it lasts.
    """

    target: Target
    view: View
    worth: float
    reason: str


@frozen
class _Present:
    """The open sky of this moment: N targets in K trains."""

    night: SurveyedNight
    sky: OpenSky
    ratings: Ratings
    worths: Floats
    is_open: NDArray[np.bool_]


def best_in_focuser(night: SurveyedNight, state: SessionState, now: datetime) -> tuple[Offer, ...]:
    """Return what is best now in the open sky with what is in the focuser, best first.

    Empty when nothing is in it yet.
    """
    column = night.column_of.get(state.focuser) if state.focuser else None
    if column is None:
        return ()
    return _with(column, _look_around(night, state, now))


def offers_by_group(
    night: SurveyedNight, state: SessionState, now: datetime
) -> tuple[tuple[Offer, ...], tuple[Offer, ...], tuple[Offer, ...]]:
    """Return the best with what is in the focuser, the best of all, and what is nearly lost.

    The best come first, each of all in its best train. What is nearly lost is worth a look now and
    gone within half an hour, the first to go first; what comes back in the session, as from behind
    the zenith, is not lost.
    """
    present = _look_around(night, state, now)
    column = night.column_of.get(state.focuser) if state.focuser else None
    here = () if column is None else _with(column, present)
    return here, _best(present), _soon_gone(present)


def views_for(
    night: SurveyedNight, state: SessionState, look: SessionLook, at: datetime
) -> tuple[View, ...]:
    """Return how the target of a look shows at a time in every train, the best first."""
    row = night.row_of[look.target_id]
    last = len(night.roster.grid.unix_s) - 1
    step = np.array([min(max(round(night.minute(at) / STEP_MIN), 0), last)])
    moment = moment_at(moments_under_clouds(night, state.closures, np.array([row])), step)
    table = night.roster.target_table.of_rows(np.array([row]))
    ratings, altitude_deg = night.circumstances.rate(table, moment), moment.altitude_deg[0, 0]
    target = night.roster.targets[row]
    return ranked_views(night.circumstances.case(target, 0, ratings, float(altitude_deg)))


def _with(column: int, present: _Present) -> tuple[Offer, ...]:
    columns = np.full(len(present.worths), column)
    return _offers(present, _ranked(present, columns), columns)


def _best(present: _Present) -> tuple[Offer, ...]:
    columns = np.argmax(present.ratings.score, axis=1)
    return _offers(present, _ranked(present, columns), columns)


def _soon_gone(present: _Present) -> tuple[Offer, ...]:
    columns = np.argmax(present.ratings.score, axis=1)
    worth = present.worths[np.arange(len(columns)), columns]
    rows = np.flatnonzero(present.is_open & (worth >= MISSED)).tolist()
    ends = {row: _end_min(present, row) for row in rows}
    soon = sorted((row for row in rows if ends[row] <= SOON_MIN), key=lambda row: ends[row])
    return _offers(present, soon[:MOST_OFFERED], columns)


def _end_min(present: _Present, row: int) -> float:
    """Return after how long the window closes for the session [min]; infinite when it does not."""
    floor_deg = float(present.night.floors_deg[row])
    closing = window_closing(present.sky.roster.windows, row, 0, floor_deg=floor_deg)
    if closing is None or _comes_back(present.sky, row, closing.last_step + 1):
        return math.inf
    return closing.last_step * STEP_MIN


def _comes_back(sky: OpenSky, row: int, step: int) -> bool:
    needed = math.ceil(float(sky.candidates.dwell_min[row]) / STEP_MIN) + 1
    return first_of_run(sky.candidates.open[row], step, needed=needed) is not None


def _look_around(night: SurveyedNight, state: SessionState, now: datetime) -> _Present:
    now = max(now, state.clock)
    sky = open_sky(night, replace(state, end=max(state.end, min(now + REACH, night.end))), now)
    moment = moment_at(sky.roster.moments, np.zeros(len(sky.columns), dtype=np.intp))
    ratings = night.circumstances.rate(sky.roster.target_table, moment)
    seen = np.maximum(ratings.parts["visibility"], LEAST_SEEN)
    worths = look_worth(
        wanted_under(
            sky.roster.wanted,
            sky.roster.target_table.kinds,
            moment.sky_cd_m2,
            rating=sky.roster.target_table.rating,
        ),
        margin_dex=ratings.margin_dex,
        altitude_deg=moment.altitude_deg,
        train_share=ratings.score / seen,
        height=sky.roster.height[:, :1],
    )
    # A train that is not the best for a target takes as much from it as from the score.
    best = ratings.score.max(axis=1, keepdims=True)
    worths = worths * ratings.score / np.maximum(best, LEAST_SEEN)
    return _Present(night, sky, ratings, worths, _stays_open(sky))


def _stays_open(sky: OpenSky) -> NDArray[np.bool_]:
    """Tell what is open now and for the whole of a look."""
    needed = np.ceil(sky.candidates.dwell_min / STEP_MIN).astype(int) + 1
    steps = np.arange(sky.candidates.open.shape[1])
    within = steps < needed[:, None]
    fits = needed <= len(steps)
    return np.asarray(fits & (sky.candidates.open | ~within).all(axis=1))


def _ranked(present: _Present, columns: Codes) -> list[int]:
    worth = present.worths[np.arange(len(columns)), columns]
    worth = np.where(present.is_open, worth, 0.0)
    order = np.argsort(-worth, kind="stable")[:MOST_OFFERED]
    return [int(row) for row in order if worth[row] > 0.0]


def _offers(present: _Present, rows: Sequence[int], columns: Codes) -> tuple[Offer, ...]:
    return tuple(_offer(present, row, int(columns[row])) for row in rows)


def _offer(present: _Present, row: int, column: int) -> Offer:
    night, sky = present.night, present.sky
    target = sky.roster.targets[row]
    altitude_deg = float(sky.roster.tracks.altitude_deg[row, 0])
    case = night.circumstances.case(target, row, present.ratings, altitude_deg)
    view = view_through(case, column)
    slack = slack_of(
        sky.roster,
        sky.candidates,
        sky.session,
        row=row,
        start_min=0.0,
        origin=sky.origin,
        floor_deg=float(night.floors_deg[row]),
        clear=sky.clear[row],
    )
    about = (view.brief,) if view.brief else view.reasons[:1]
    clauses = (*about, slack_words(slack, night.night.site, sky.origin))
    return Offer(target, view, float(present.worths[row, column]), "; ".join(clauses))


def spare_words(night: SurveyedNight, state: SessionState) -> dict[str, str]:
    """Say of each look that waits how long it could wait yet.

    Returns
    -------
    dict of str to str
        Clauses by the identity of the target: ``can wait until 20:37``.
    """
    if not state.waiting:
        return {}
    begin = min(state.waiting[0].start, state.end - timedelta(minutes=STEP_MIN))
    sky, site = open_sky(night, state, begin), night.night.site
    words = {}
    for look in state.waiting:
        row = night.row_of[look.target_id]
        slack = slack_of(
            sky.roster,
            sky.candidates,
            sky.session,
            row=row,
            start_min=(look.start - sky.origin) / timedelta(minutes=1),
            origin=sky.origin,
            floor_deg=float(night.floors_deg[row]),
            clear=sky.clear[row],
        )
        words[look.target_id] = slack_words(slack, site, look.start)
    return words
