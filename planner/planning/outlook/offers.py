"""What each of many nights offers to a list: in which slots it shows which targets, how well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from math import ceil
from statistics import fmean

import numpy as np

from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.tracks import track_night
from planner.formulas.visibility_limit import grade_word
from planner.matcher.train_table import TrainTable
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.outlook.coming_nights import NightsAsked, sessions_of
from planner.planning.outlook.coverage import SHOWN_DEX, Wanted, Watch, watch_targets, well_shown
from planner.planning.season import culminations_deg, height_share
from planner.planning.session_times import SessionTimes
from planner.planning.windows import hindrance
from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen
from targets.model import Target
from targets.sphere import angles_of_all_deg, unit_vectors

# Heights are known, and looks begin, at steps of so many minutes.
STEP_MIN = 10
# Targets nearer to each other than this share of the widest field are looked at together.
TOGETHER_SHARE = 0.5
# A look that stands at its floor still counts for a little, so that it is better than none.
LEAST_QUALITY = 0.05
# What a target that is well shown all the same loses under a full Moon (our choice).
MOONLIGHT_COSTS = 0.15


@frozen
class NightOffer:
    """What one night offers to G groups of targets in S slots."""

    night: Night
    session: SessionTimes
    grid: SkyGrid
    quality: Floats
    altitude_deg: Floats


@frozen
class Search:
    """What is the same for every night; ``groups`` are rows of ``wanted`` that share a field."""

    ephemeris: Ephemeris
    circumstances: Circumstances
    wanted: Wanted
    groups: tuple[Codes, ...]
    slot_steps: int


@dataclass
class BestSeen:
    """How well each target does on the best of the nights; shape (N,) each."""

    highest_deg: Floats
    on_night: Codes
    margin_dex: Floats
    is_open: Flags


def nights_asked(ephemeris: Ephemeris, site: Site, asked: NightsAsked) -> list[Night]:
    """Return the nights that are asked for, without those to leave out."""
    days = (asked.first + timedelta(days=number) for number in range(asked.count))
    return [find_night(ephemeris, site, day) for day in days if day not in asked.not_on]


def look_minutes(wanted: Wanted, circumstances: Circumstances) -> int:
    """Return how long a look of this list takes on average, in whole steps [min]."""
    pace, telescope = circumstances.pace, circumstances.telescope
    classes = circumstances.preferences.classes
    find_min = pace.finding_min(driven=telescope.driven, pointing=telescope.pointing)
    dwell_min = fmean(pace.dwell_min(classes[c].dwell_minutes) for c in wanted.class_code)
    least_min = 60.0 / pace.most_an_hour if pace.most_an_hour else 0.0
    return max(ceil(max(find_min + dwell_min, least_min) / STEP_MIN - 0.25), 1) * STEP_MIN


def field_groups(targets: Sequence[Target], table: TrainTable) -> tuple[Codes, ...]:
    """Put targets of one field together, those with most neighbours in the middle first.

    Returns
    -------
    tuple of ndarray of int
        Every target in one group.
    """
    fields = [train.true_field_arcmin for train in table.trains if train.usable]
    fixed = [(None, None) if t.moves else (t.ra_deg, t.dec_deg) for t in targets]
    places = unit_vectors(*np.array(fixed, dtype=float).reshape(-1, 2).T)
    near = angles_of_all_deg(places, places) <= TOGETHER_SHARE * max(fields, default=0.0) / 60.0
    np.fill_diagonal(near, val=True)
    left = np.ones(len(targets), dtype=bool)
    groups: list[Codes] = []
    for row in np.argsort(-near.sum(axis=1), kind="stable"):
        if left[row]:
            groups.append(np.flatnonzero(near[row] & left))
            left[groups[-1]] = False
    return tuple(groups)


def offers_of(
    search: Search, nights: Sequence[Night], asked: NightsAsked
) -> tuple[list[NightOffer], BestSeen]:
    """Return what each night with a session offers, and how well each target does on the best.

    Raises InputError if the session asked for is impossible on every night.
    """
    count = len(search.wanted.targets)
    best = BestSeen(
        np.full(count, -np.inf), np.zeros(count, dtype=np.intp), np.full(count, -np.inf),
        np.zeros(count, dtype=bool),
    )  # fmt: skip
    offers: list[NightOffer] = []
    for night, session in zip(nights, sessions_of(nights, asked), strict=True):
        if isinstance(session, str):
            continue
        grid = track_night(search.ephemeris, night, STEP_MIN).between(session.start, session.end)
        watch = watch_targets(search.wanted, search.ephemeris, grid, search.circumstances)
        _note_best(best, watch, len(offers))
        offers.append(_offer(search, night, session, grid, watch))
    return offers, best


def _note_best(best: BestSeen, watch: Watch, number: int) -> None:
    highest = watch.tracks.altitude_deg.max(axis=1)
    higher = highest > best.highest_deg
    best.highest_deg[higher], best.on_night[higher] = highest[higher], number
    best.is_open[watch.rows] = True
    margin = np.where(watch.open, np.nan_to_num(watch.margin_dex, nan=SHOWN_DEX), -np.inf)
    best.margin_dex[watch.rows] = np.maximum(
        best.margin_dex[watch.rows], margin.max(axis=1, initial=-np.inf)
    )


def _offer(
    search: Search, night: Night, session: SessionTimes, grid: SkyGrid, watch: Watch
) -> NightOffer:
    """Rate each group in each slot: the height of its lowest against what that can reach.

    Less under the Moon: of nights that show a target well the darker one is better.
    """
    slots = max((len(grid.unix_s) - 1) // search.slot_steps, 0)
    shown = np.zeros(watch.tracks.altitude_deg.shape, dtype=bool)
    shown[watch.rows] = well_shown(watch, grid, search.circumstances.conditions)
    begin = np.arange(slots) * search.slot_steps
    whole = np.ones((len(shown), slots), dtype=bool)
    for step in range(search.slot_steps + 1):
        whole &= shown[:, begin + step]
    altitude = watch.tracks.altitude_deg[:, begin + search.slot_steps // 2]
    reach = culminations_deg(search.wanted.targets, night.site)[:, None]
    quality = np.where(whole, np.maximum(height_share(altitude, reach), LEAST_QUALITY), 0.0)
    moonlit = grid.moon_altitude_deg[begin + search.slot_steps // 2] > 0.0
    quality = quality * (1.0 - MOONLIGHT_COSTS * night.moon_illuminated * moonlit)
    lowest = [quality[rows].min(axis=0) for rows in search.groups]
    heights = [altitude[rows].min(axis=0) for rows in search.groups]
    return NightOffer(night, session, grid, np.array(lowest), np.array(heights))


def why_never(search: Search, offers: Sequence[NightOffer], best: BestSeen, row: int) -> str:
    """Say why no night shows a target for the length of a look."""
    target = search.wanted.targets[row]
    if best.is_open[row]:
        grade = grade_word(float(best.margin_dex[row]))
        if best.margin_dex[row] < SHOWN_DEX:
            return f"{grade.value} at best"
        return f"{grade.value} at best, but never for a whole look, or only under the Moon"
    offer = offers[int(best.on_night[row])]
    one = Wanted(
        (target,), search.wanted.class_code[row : row + 1], search.wanted.wanted[row : row + 1]
    )
    watch = watch_targets(one, search.ephemeris, offer.grid, search.circumstances)
    if len(watch.rows):
        return "never for a whole look in these hours"
    why = hindrance(watch.windows, watch.tracks, 0, span="on any of these nights")
    return why.replace("below the horizon on any", "below the horizon on all")
