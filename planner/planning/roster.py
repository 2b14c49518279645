"""The targets in question with all that is known of their session."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.solar_system.moon import feature_light, light_share, moon_face
from planner.matcher.lens import Moment
from planner.matcher.target_classes import TargetTable, target_table_of
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
from planner.planning.worth import wanted_before
from targets.arrays import Codes, Flags, Floats
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind, Target
from targets.sphere import angles_of_all_deg, unit_vectors

# What is left of a feature of the Moon that is well lit only at another time of the session.
LEAST_LIGHT = 0.3


@dataclass(frozen=True, slots=True)
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
        How much each is wanted, shape (N,); less where a larger target shows it too, and more or
        less by the season.
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
    circumstances : Circumstances
        Who looks, through what, under what sky.
    min_altitude_deg : float or None
        Floor instead of each class's own [deg].

    Returns
    -------
    Roster
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
            * companion_share(targets, wanted)
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
    # A comet will not be there another year.
    is_comet = np.array([target.kind is Kind.COMET for target in targets], dtype=bool)
    gain = np.where(is_comet, SELDOM + LEAVING, gain)
    return height, gain, np.asarray(moves | (tonight >= IN_SEASON))


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
COMPANION_SHARE = 0.4
# How far from the middle still counts as in the field, in parts of the true field, how far above
# the eye's threshold a companion has to be [dex], and how many are named: our choice.
IN_FIELD = 0.45
PLAIN_DEX = 0.2
MOST_NAMED = 3
# Single stars and pairs beside a target are a matter of course.
NEVER_NAMED = {Kind.STAR, Kind.DOUBLE_STAR}
NUMBER = re.compile(r"(?:NGC|IC) [0-9]+[A-Z]?|[A-Z][A-Za-z0-9]*[0-9]\b")


def companion_share(targets: Sequence[Target], wanted: Floats) -> Floats:
    """Return what a look of its own is worth where another target shows this one too.

    Parameters
    ----------
    targets : sequence of Target
        N of them.
    wanted : ndarray
        How much each is wanted, shape (N,).

    Returns
    -------
    ndarray
        1, or less for what stands inside a larger target that is wanted as much, shape (N,).
    """
    major = np.array([target.major_arcmin or 0.0 for target in targets])
    major = np.where(major <= LARGEST_ARCMIN, major, 0.0)
    inside = _separations_arcmin(targets, targets) <= INSIDE * major[None, :]
    smaller = (major[:, None] < major[None, :]) & (wanted[:, None] <= wanted[None, :])
    return np.where((inside & smaller).any(axis=1), COMPANION_SHARE, 1.0)


def in_the_field(
    targets: Sequence[Target], row: int, *, true_field_arcmin: float, margin_dex: Floats
) -> tuple[str, ...]:
    """Name what stands in the field beside the target of a look.

    Parameters
    ----------
    targets : sequence of Target
        N of them.
    row : int
        The one in the middle.
    true_field_arcmin : float
    margin_dex : ndarray
        How far each is above the eye's threshold in that train, shape (N,); nan where unknown.

    Returns
    -------
    tuple of str
        The most plainly seen first.
    """
    apart = _separations_arcmin(targets, [targets[row]])[:, 0]
    near = (apart <= IN_FIELD * true_field_arcmin) & (margin_dex >= PLAIN_DEX)
    near &= np.array([target.kind not in NEVER_NAMED for target in targets], dtype=bool)
    near[row] = False
    rows = np.flatnonzero(near)
    best = rows[np.argsort(-margin_dex[rows], kind="stable")][:MOST_NAMED]
    return tuple(_short_name(targets[int(other)].name) for other in best)


def _short_name(name: str) -> str:
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
