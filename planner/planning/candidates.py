"""What the targets of a roster promise, each in one train, as the ordering sees them."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np

from planner.config.preferences import Preferences
from planner.formulas.photometry import surface_brightness_mag_arcsec2
from planner.formulas.visibility_limit import GRADE_BOUNDS_DEX
from planner.matcher.lens import lens_of
from planner.matcher.visibility import margins_dex
from planner.model.kit import Mount, Pointing
from planner.model.night import Night
from planner.planning.circumstances import STEP_MIN, Circumstances
from planner.planning.companions import companion_share, leaders, seconds
from planner.planning.finding.estimate import finding_minutes
from planner.planning.left_out import COOLING_MIN, HIGH_POWER_PUPIL_MM
from planner.planning.roster import Roster
from planner.planning.scheduling.candidates import Candidates, Session
from planner.planning.survey import moment_at
from planner.planning.worth import LEAST_WORTH, look_worth, wanted_under
from targets.arrays import Codes, Flags, Floats
from targets.model import Kind

# What asks for a Sun as low as this asks for a dark-adapted eye too.
FAINT_BELOW_SUN_DEG = -13.0
# Under a brighter sky, moonlit or lamplit, no eye gets used to the dark (our choice).
DARK_ENOUGH_TO_ADAPT_MAG_ARCSEC2 = 20.0
# What blinds an eye for faint things.
DAZZLING = (Kind.MOON, Kind.LUNAR_FEATURE)
KIND_CODES = {kind: code for code, kind in enumerate(Kind)}
# Whoever owns a filter wants to use it where it pays (common practice: on two or three nebulae of a
# dark night): what a look gains for each dex by which its filter lifts the contrast, by the margin
# without it [dex], since it pays most for what hardly shows; and the most dex that count. Our
# choice.
FILTER_PAYS_PER_DEX, MOST_GAIN_DEX = ((0.8, 1.6), (1.2, 0.4)), 0.6
# Keeps a score from being divided by nothing where a target is out of reach.
LEAST_SEEN = 1e-6

# Who wants easy targets alone leaves this share of the worth of others, times a half (our choice).
EASY_COUNTS = 1.6
# Nothing hard is planned while something easy of half its renown is free (common practice).
HARD_COUNTS = 0.5


def session_of(
    circumstances: Circumstances,
    night: Night,
    start: datetime,
    end: datetime,
    *,
    most_looks: int | None,
) -> Session:
    """Return what the ordering has to know of a session.

    Parameters
    ----------
    circumstances, night
        Whose session, and when.
    start, end : datetime
        UTC.
    most_looks : int or None
        None for as many as fit.
    """
    telescope = circumstances.telescope
    length_min, pace = (end - start) / timedelta(minutes=1), circumstances.pace
    limits = [limit for limit in (most_looks, pace.most_looks(length_min)) if limit is not None]
    return Session(
        length_min=length_min,
        step_min=STEP_MIN,
        driven=telescope.driven,
        balance_g=telescope.balance_g,
        most_looks=min(limits, default=None),
        cooled_min=_cooling_min(night, start),
        # An equatorial mount is taken for a German one, the usual kind (common practice).
        flips=telescope.mount is Mount.EQUATORIAL,
        finding_min=_usual_finding_min(circumstances),
        look_share=pace.look_share,
        variety=pace.variety,
    )


def _cooling_min(night: Night, start: datetime) -> float:
    """How long after its start a session has no high power: the telescope is out at sunset."""
    if night.sunset is None:
        return 0.0
    return max(COOLING_MIN - (start - night.sunset) / timedelta(minutes=1), 0.0)


def best_trains(
    roster: Roster,
    circumstances: Circumstances,
    rows: Codes,
    step: Codes,
    *,
    free: Flags | None = None,
) -> tuple[Codes, Floats]:
    """Find the best trains of some targets.

    Parameters
    ----------
    roster, circumstances
        All N targets, T steps.
    rows, step : ndarray of int
        M targets, and the step at which each is judged, shape (M,).
    free : ndarray of bool, optional
        Which of K trains can be had for each, shape (M, K); all of them when not given.

    Returns
    -------
    columns : ndarray of int
        In the table of trains, (M,).
    share : ndarray
        Score but for the visibility, (M,).
    """
    moment = moment_at(roster.moments.of_rows(rows), step)
    ratings = circumstances.rate(roster.target_table.of_rows(rows), moment)
    columns = np.argmax(
        ratings.score if free is None else np.where(free, ratings.score, -1.0), axis=1
    )
    own = np.arange(len(rows))
    seen = np.maximum(ratings.parts["visibility"][own, columns], LEAST_SEEN)
    return columns, np.asarray(ratings.score[own, columns] / seen)


def candidates_of(
    roster: Roster,
    circumstances: Circumstances,
    columns: Codes,
    share: Floats,
    *,
    finding_min: Floats | None = None,
) -> Candidates:
    """Return the targets of a roster, each in one train, as candidates for a look.

    Parameters
    ----------
    roster, circumstances
        N targets, T steps.
    columns : ndarray of int
        Train of each, (N,).
    share : ndarray
        Its score but for the visibility, (N,).
    finding_min : ndarray, optional
        To find each [min], (N,), where that is known from before.
    """
    if finding_min is None:
        finding_min = _finding_min(roster, circumstances)
    table, preferences = circumstances.table, circumstances.preferences
    lens = lens_of(table, circumstances.telescope, circumstances.conditions.pupil_mm)
    margin_dex = margins_dex(
        roster.target_table, roster.moments, lens.for_each(columns), preferences
    )
    quality = look_worth(
        wanted_under(
            roster.wanted,
            roster.target_table.kinds,
            roster.moments.sky_cd_m2,
            rating=roster.target_table.rating,
        ),
        margin_dex=margin_dex,
        altitude_deg=roster.tracks.altitude_deg,
        train_share=share[:, None],
        height=roster.height,
    )
    quality *= 1.0 + _filter_pays(roster, circumstances, columns, margin_dex)
    quality *= _liked(margin_dex, circumstances.pace.easy_share)
    good, clear_share = quality, roster.tracks.clear_share
    if clear_share is not None:
        quality = quality * clear_share
    pace = circumstances.pace
    dwell = np.array([pace.dwell_min(c.dwell_minutes) for c in preferences.classes])
    is_open = roster.windows.open & (good >= LEAST_WORTH)
    if circumstances.pace.guests:
        is_open &= ~(margin_dex < GRADE_BOUNDS_DEX[-1])
    return Candidates(
        quality=quality,
        open=is_open,
        dwell_min=dwell[roster.target_table.class_code],
        altitude_deg=roster.tracks.altitude_deg,
        azimuth_deg=roster.tracks.azimuth_deg,
        kind=np.array([KIND_CODES[target.kind] for target in roster.targets], dtype=np.intp),
        dazzling=np.array([target.kind in DAZZLING for target in roster.targets], dtype=bool),
        faint=_asks_for_a_dark_eye(roster, preferences),
        eyepiece=table.eyepiece[columns],
        barrel=table.barrel[columns],
        amplifier=table.amplifier[columns],
        filter=table.filter[columns],
        mass_g=table.mass_g[columns],
        high_power=table.exit_pupil_mm[columns] < HIGH_POWER_PUPIL_MM,
        finding_min=finding_min,
    )


class WithCompanions(NamedTuple):
    """N targets, and which of them are seen in the look at another one.

    ``seconds`` has the row of the second target of each look that has one worth its while, by the
    row of the first.
    """

    roster: Roster
    candidates: Candidates
    seconds: dict[int, int]


def with_companions(
    roster: Roster, candidates: Candidates, circumstances: Circumstances
) -> WithCompanions:
    """Let two targets in one field of the kit be one look: the other one is then worth less alone.

    Parameters
    ----------
    roster, candidates
        N targets, as they are one by one.
    circumstances : Circumstances
        With the kit.
    """
    worth = np.where(candidates.open, candidates.quality, 0.0).max(axis=1, initial=0.0)
    widest = float(circumstances.table.true_field_arcmin.max(initial=0.0))
    leader = leaders(roster.targets, worth, field_arcmin=widest)
    share = companion_share(roster.targets, leader, worth)
    quality = candidates.quality * share[:, None]
    return WithCompanions(
        replace(roster, wanted=roster.wanted * share),
        replace(candidates, quality=quality, open=roster.windows.open & (quality >= LEAST_WORTH)),
        seconds(roster.targets, leader, worth),
    )


def _usual_finding_min(circumstances: Circumstances) -> float:
    telescope = circumstances.telescope
    return circumstances.pace.finding_min(driven=telescope.driven, pointing=telescope.pointing)


def _finding_min(roster: Roster, circumstances: Circumstances) -> Floats:
    """Return what it takes to find each target where it is highest, (N,) [min].

    NaN, which stands for the usual, where it is not found by hand, or the observer says how long.
    """
    by_hand = circumstances.telescope.pointing is Pointing.HAND
    if not by_hand or circumstances.pace.find_min is not None:
        return np.full(len(roster.targets), np.nan)
    highest = np.argmax(np.where(roster.windows.open, roster.tracks.altitude_deg, -90.0), axis=1)
    moment = moment_at(roster.moments, highest)
    hops_min = finding_minutes(roster.targets, moment, circumstances)
    return circumstances.pace.found_in_min(_usual_finding_min(circumstances), hops_min)


def _liked(margin_dex: Floats, easy_share: float) -> Floats:
    """Return what is left of the worth of easy looks and of others, by taste, (N, T)."""
    others = 1.0 - EASY_COUNTS * max(easy_share - 0.5, 0.0)
    easy = 1.0 - EASY_COUNTS * max(0.5 - easy_share, 0.0)
    hard = np.where(margin_dex < GRADE_BOUNDS_DEX[-2], HARD_COUNTS * others, others)
    return np.where(margin_dex >= GRADE_BOUNDS_DEX[-1], easy, hard)


def _filter_pays(
    roster: Roster, circumstances: Circumstances, columns: Codes, margin_dex: Floats
) -> Floats:
    """Return what the filter of each look adds to its worth, as a share of it, (N, T)."""
    table, pays = circumstances.table, np.zeros(margin_dex.shape)
    rows = np.flatnonzero(table.filter_code[columns] > 0)
    if rows.size:
        lens = lens_of(table, circumstances.telescope, circumstances.conditions.pupil_mm)
        without = margins_dex(
            roster.target_table.of_rows(rows),
            roster.moments.of_rows(rows),
            lens.for_each(table.unfiltered[columns[rows]]),
            circumstances.preferences,
        )
        gains = np.clip(np.nan_to_num(margin_dex[rows] - without), 0.0, MOST_GAIN_DEX)
        pays[rows] = gains * np.nan_to_num(np.interp(without, *FILTER_PAYS_PER_DEX))
    return pays


def _asks_for_a_dark_eye(roster: Roster, preferences: Preferences) -> Flags:
    """Tell what is faint, under a sky that lets the eye get used to the dark."""
    ordered_mag = np.sort(surface_brightness_mag_arcsec2(roster.moments.sky_cd_m2), axis=1)
    steps = ordered_mag.shape[1]
    # The median; the library's own loads masked arrays first, which nothing else here needs.
    usual_mag = ordered_mag[:, [(steps - 1) // 2, steps // 2]].mean(axis=1)
    is_faint = _sun_limits(roster, preferences) <= FAINT_BELOW_SUN_DEG
    return np.asarray(is_faint & (usual_mag >= DARK_ENOUGH_TO_ADAPT_MAG_ARCSEC2))


def _sun_limits(roster: Roster, preferences: Preferences) -> Floats:
    """Return how far down each target wants the Sun [deg]."""
    limits = np.array([c.sun_altitude_max_deg for c in preferences.classes])
    return np.asarray(limits[roster.target_table.class_code])
