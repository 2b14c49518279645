"""The targets in question with all that is known of their session."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.solar_system.moon import feature_light, light_share, moon_face
from planner.matcher.lens import Moment
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.train_table import TrainTable
from planner.planning.circumstances import Circumstances
from planner.planning.season import (
    IN_SEASON,
    LEAST_CULMINATION_DEG,
    LEAVING,
    SELDOM,
    best_shares,
    culminations_deg,
    height_share,
    opportunity,
)
from planner.planning.survey import body_at, follow, sky_behind
from planner.planning.windows import SkyTracks, Windows, find_windows
from planner.planning.worth import remembered_share, wanted_before
from targets.arrays import Codes, Flags, Floats
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from targets.model import Kind, Target
from targets.sphere import angles_of_all_deg, unit_vectors

# What a planet gains by its season, which a fixed target gains where it is rather rare: our choice.
PLANET_SEASON = 1.1
# Clusters that no field of the kit holds are for binoculars (common practice).
HELD_BY_A_FIELD = {Kind.OPEN_CLUSTER, Kind.ASTERISM}
# What is left of a feature of the Moon that is well lit only at another time of the session.
LEAST_LIGHT = 0.3


@frozen
class Roster:
    """The targets in question with all that is known of their session; N targets, T steps.

    Parameters
    ----------
    targets, target_table
        The targets; bodies as they are in the middle of the night.
    grid : SkyGrid
        Of the session.
    tracks, moments, windows
        Where they stand, the sky behind them, and when nothing is in the way; shape (N, T).
    wanted : ndarray
        How much each is wanted, shape (N,); more or less by the season, and by `with_companions`
        less where the look at another target shows it too.
    height : ndarray
        How high each stands against what it can reach, 0 .. 1, shape (N, T).
    in_season : ndarray of bool
        Whether it culminates, or nearly so, in the usual hours of such a night, shape (N,); what
        moves counts as in season.
    """

    targets: tuple[Target, ...]
    target_table: TargetTable
    grid: SkyGrid
    tracks: SkyTracks
    moments: Moment
    windows: Windows
    wanted: Floats
    height: Floats
    in_season: Flags


def survey_roster(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    grid: SkyGrid,
    rows: Codes,
    circumstances: Circumstances,
    *,
    min_altitude_deg: float | None,
) -> Roster:
    """Follow targets through a session.

    Parameters
    ----------
    catalogue, ephemeris, grid
        The sky, and the steps of the session.
    rows : ndarray of int
        Which targets of the catalogue, shape (N,).
    min_altitude_deg : float or None
        Floor instead of each class's own [deg].
    """
    night = grid.night
    middle = night.start + (night.end - night.start) / 2
    targets = tuple(body_at(catalogue.target(int(row)), ephemeris, grid, middle) for row in rows)
    target_table = target_table_of(targets, circumstances.preferences)
    tracks = follow(targets, ephemeris, grid)
    tracks = replace(tracks, clear_share=circumstances.clear_share(grid.unix_s))
    windows = find_windows(
        tracks,
        target_table.class_code,
        preferences=circumstances.preferences,
        site=night.site,
        telescope=circumstances.telescope,
        moon_illuminated=night.moon_illuminated,
        min_altitude_deg=min_altitude_deg,
        culmination=culminations_deg(targets, night.site),
    )
    wanted = wanted_before(catalogue, rows)
    moves = np.array([target.moves for target in targets], dtype=bool)
    height, season, in_season = _season(targets, tracks, windows, grid)
    return Roster(
        targets=targets,
        target_table=target_table,
        grid=grid,
        tracks=tracks,
        moments=sky_behind(targets, tracks, grid, circumstances.conditions),
        windows=windows,
        wanted=(
            wanted
            * season
            * remembered_share([one.id for one in targets], moves, circumstances.last_seen, middle)
            * _fits_a_field(targets, circumstances.table)
            * _light_shares(targets, ephemeris, grid)
        ),
        height=height,
        in_season=in_season,
    )


def _season(
    targets: Sequence[Target], tracks: SkyTracks, windows: Windows, grid: SkyGrid
) -> tuple[Floats, Floats, Flags]:
    """How high each stands against what it can reach, (N, T); what the season makes of it, (N,).

    And whether it is in season, (N,).
    """
    site = grid.night.site
    moves = np.array([target.moves for target in targets], dtype=bool)
    reach = culminations_deg(targets, site)
    # What moves is not as high in another season, but when it is: tonight's best counts.
    best_deg = np.where(windows.open, tracks.altitude_deg, 0.0).max(axis=1, initial=0.0)
    reach = np.where(moves, np.maximum(best_deg, LEAST_CULMINATION_DEG), reach)
    height = height_share(tracks.altitude_deg, reach[:, None])
    places = np.array(
        [(np.nan, np.nan) if one.moves else (one.ra_deg, one.dec_deg) for one in targets],
        dtype=float,
    ).reshape(-1, 2)
    day = float(grid.night.date.timetuple().tm_yday)
    tonight = best_shares(
        places[:, 0], places[:, 1], latitude_deg=site.latitude_deg, day_of_year=np.array([day])
    )[:, 0]
    gain = opportunity(
        places[:, 0],
        places[:, 1],
        latitude_deg=site.latitude_deg,
        day_of_year=day,
        best_share=np.where(windows.open, height, 0.0).max(axis=1, initial=0.0),
    )
    # A comet will not be there another year, and a planet has its months of each.
    kinds = np.array([str(target.kind) for target in targets])
    gain = np.where(kinds == str(Kind.COMET), SELDOM + LEAVING, gain)
    gain = np.where(kinds == str(Kind.PLANET), PLANET_SEASON, gain)
    return height, gain, np.asarray(moves | (tonight >= IN_SEASON))


def _fits_a_field(targets: Sequence[Target], table: TrainTable) -> Floats:
    """What is left of the worth of clusters that are larger than every field, (N,)."""
    widest = float(table.true_field_arcmin.max(initial=0.0))
    sizes = [(one.major_arcmin or 0.0) * (one.kind in HELD_BY_A_FIELD) for one in targets]
    return (
        np.asarray(widest / np.maximum(np.array(sizes), widest)) if widest else np.ones(len(sizes))
    )


def _light_shares(
    targets: Sequence[Target], ephemeris: Ephemeris, grid: SkyGrid
) -> NDArray[np.float64]:
    """What the light at the middle step leaves of features of the Moon, 1 for others, (N,)."""
    shares = np.ones(len(targets))
    rows = [row for row, target in enumerate(targets) if target.lunar is not None]
    if rows:
        face = moon_face(ephemeris, grid.night.site, grid.instant(len(grid.unix_s) // 2))
        lights = [light_share(feature_light(face, targets[row])) for row in rows]
        shares[rows] = np.maximum(lights, LEAST_LIGHT)
    return shares


# A target so near the middle of a larger one, in parts of its major axis, is in the field of every
# eyepiece that frames that one; larger ones than this are no single field [arcmin].
INSIDE = 0.55
LARGEST_ARCMIN = 240.0
# What a look of its own at such a target is still worth, of what it would be alone: our choice.
COMPANION_SHARE = 0.25
# So near to each other are two targets of one look, at most, however wide the field [arcmin]; from
# this share of the other's worth on a companion makes a look worth more, by this factor.
MOST_APART_ARCMIN = 60.0
WORTHY_COMPANION, COMPANION_GAIN = 0.5, 1.1
# Of two that are worth nearly the same the brighter one leads, by this share of its worth for each
# magnitude above the second number: our choice.
LEADS_PER_MAG, FAINT_MAG = 0.05, 10.0
# How far from the middle still counts as in the field, in parts of the true field, how far above
# the eye's threshold a companion has to be [dex], and how many are named: our choice.
IN_FIELD = 0.45
PLAIN_DEX = 0.2
MOST_NAMED = 3
# Single stars and pairs beside a target are a matter of course.
NEVER_NAMED = {Kind.STAR, Kind.DOUBLE_STAR}
NUMBER = re.compile(r"(?:NGC|IC) [0-9]+[A-Z]?|[A-Z][A-Za-z0-9]*[0-9]\b")


def companion_share(targets: Sequence[Target], leader: Codes, worth: Floats) -> Floats:
    """Return what is left of the worth of a look of its own where another look shows a target too.

    Parameters
    ----------
    targets, leader, worth
        As for `seconds`.

    Returns
    -------
    ndarray
        Shape (N,): 1; less for what is seen with another target, and nothing for what gets a view
        of its own in that look, which is worth a little more for it.
    """
    share = np.where(leader >= 0, COMPANION_SHARE, 1.0)
    second = seconds(targets, leader, worth)
    share[list(second)], share[list(second.values())] = COMPANION_GAIN, 0.0
    return share


def seconds(targets: Sequence[Target], leader: Codes, worth: Floats) -> dict[int, int]:
    """Return the best companion of each target that has one of half its worth or more, by rows.

    Parameters
    ----------
    targets : sequence of Target
        N of them; single stars and pairs are companions of nothing.
    leader : ndarray of int
        From `leaders`, shape (N,).
    worth : ndarray
        Of a look at each, shape (N,).
    """
    worthy = np.flatnonzero((leader >= 0) & (worth >= WORTHY_COMPANION * worth[leader]))
    worthy = worthy[np.argsort(worth[worthy], kind="stable")]
    glows = [row for row in worthy.tolist() if targets[row].kind not in NEVER_NAMED]
    return {int(leader[row]): row for row in glows}


def leaders(targets: Sequence[Target], worth: Floats, *, field_arcmin: float = 0.0) -> Codes:
    """Find in whose look each target is seen: of two in one field it is that of the worthier one.

    Parameters
    ----------
    targets : sequence of Target
        N of them.
    worth : ndarray
        Of a look at each, shape (N,).
    field_arcmin : float
        The widest true field of the kit.

    Returns
    -------
    ndarray of int
        Row of the target that leads, -1 for what stands for itself; shape (N,). What leads
        has no leader.
    """
    major = np.array([target.major_arcmin or 0.0 for target in targets])
    major = np.where(major <= LARGEST_ARCMIN, major, 0.0)
    apart = _separations_arcmin(targets, targets)
    # A star leads nothing, and is led only by what it stands in.
    is_star = np.array([target.kind in NEVER_NAMED for target in targets], dtype=bool)
    low_field = min(IN_FIELD * field_arcmin, MOST_APART_ARCMIN)
    one_field = (apart <= low_field) & ~is_star[:, None] & ~is_star
    near = one_field | (apart <= INSIDE * np.maximum(major[:, None], major))
    near &= np.tri(len(targets), k=-1, dtype=bool)
    leader = np.full(len(targets), -1, dtype=np.intp)
    magnitude = np.array([FAINT_MAG if t.magnitude is None else t.magnitude for t in targets])
    before = np.lexsort((-major, -worth * (1.0 + LEADS_PER_MAG * (FAINT_MAG - magnitude))))
    rank = np.empty_like(before)
    rank[before] = np.arange(len(before))
    pairs = [
        (row, other) if rank[row] > rank[other] else (other, row)
        for row, other in np.argwhere(near).tolist()
    ]
    for row, other in sorted(pairs, key=lambda pair: (rank[pair[1]], rank[pair[0]])):
        if leader[row] < 0 and leader[other] < 0 and not is_star[other] and worth[other] > 0.0:
            leader[row] = other
    return leader


def in_the_field(
    targets: Sequence[Target],
    row: int,
    *,
    true_field_arcmin: float,
    margin_dex: Callable[[NDArray[np.intp]], Floats],
) -> tuple[str, ...]:
    """Name what stands in the field beside the target of a look.

    Parameters
    ----------
    targets : sequence of Target
        N of them.
    row : int
        The one in the middle.
    margin_dex : callable
        Tells of M rows how far they are above the eye's threshold in that train, shape (M,); nan
        where unknown. It is asked only of what is in the field.

    Returns
    -------
    tuple of str
        The most plainly seen first.
    """
    apart = _separations_arcmin(targets, [targets[row]])[:, 0]
    near = apart <= IN_FIELD * true_field_arcmin
    near[row] = False
    rows = np.array(
        [one for one in np.flatnonzero(near).tolist() if targets[one].kind not in NEVER_NAMED],
        dtype=np.intp,
    )
    if not rows.size:
        return ()
    margins = margin_dex(rows)
    best = np.argsort(-margins, kind="stable")[: np.count_nonzero(margins >= PLAIN_DEX)]
    return tuple(short_name(targets[int(rows[place])].name) for place in best[:MOST_NAMED])


def short_name(name: str) -> str:
    """Return the number of a target where its name begins with one: ``M32``, ``NGC 206``."""
    number = NUMBER.match(name)
    return number[0] if number else name


def _separations_arcmin(targets: Sequence[Target], others: Sequence[Target]) -> Floats:
    """Return how far each target is from each of some others, (N, M); nan for what moves."""
    return 60.0 * angles_of_all_deg(_directions(targets), _directions(others))


def _directions(targets: Sequence[Target]) -> Floats:
    """Return unit vectors, (N, 3); nan for what moves."""
    nowhere = np.nan
    ra = [nowhere if t.ra_deg is None or t.moves else t.ra_deg for t in targets]
    dec = [nowhere if t.dec_deg is None or t.moves else t.dec_deg for t in targets]
    return unit_vectors(ra, dec)


Part = TypeVar("Part", Moment, SkyTracks, Windows)


def steps_of(roster: Roster, steps: slice) -> Roster:
    """Return some of the steps of a roster; its grid stays whole."""
    return replace(
        roster,
        tracks=_cut(roster.tracks, (..., steps)),
        moments=_cut(roster.moments, (..., steps)),
        windows=_cut(roster.windows, (..., steps)),
        height=roster.height[:, steps],
    )


def rows_of_roster(roster: Roster, rows: NDArray[np.intp]) -> Roster:
    """Return some of the targets of a roster."""
    return replace(
        roster,
        targets=tuple(roster.targets[row] for row in rows),
        target_table=roster.target_table.of_rows(rows),
        tracks=_cut(roster.tracks, rows),
        moments=_cut(roster.moments, rows),
        windows=_cut(roster.windows, rows),
        wanted=roster.wanted[rows],
        height=roster.height[rows],
        in_season=roster.in_season[rows],
    )


def _cut(part: Part, index: Any) -> Part:
    """Index the arrays; what belongs to all targets, or to all steps, stays as it is."""
    least = 1 if isinstance(index, tuple) else 2
    values = {item.name: getattr(part, item.name) for item in fields(part)}
    return replace(part, **{n: v[index] if np.ndim(v) >= least else v for n, v in values.items()})
