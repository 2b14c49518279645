"""The targets in question with all that is known of their session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import datetime, timedelta
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.solar_system.moon import feature_light, light_share, moon_face
from planner.ephemeris.tracks import track_instants
from planner.matcher.lens import Moment
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.train_table import TrainTable
from planner.model.night import Night
from planner.planning.circumstances import STEP_MIN, Circumstances
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


def session_grid(ephemeris: Ephemeris, night: Night, start: datetime, end: datetime) -> SkyGrid:
    """Lay the grid of a session: steps of `STEP_MIN` from its start to its end."""
    step = timedelta(minutes=STEP_MIN)
    instants = [start + k * step for k in range(int((end - start) / step) + 1)]
    return track_instants(ephemeris, night, instants)


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


Part = TypeVar("Part", Moment, SkyTracks, Windows)


def steps_of(roster: Roster, steps: slice) -> Roster:
    """Return some of the steps of a roster; its grid stays whole."""
    return replace(
        roster,
        tracks=cut(roster.tracks, (..., steps)),
        moments=cut(roster.moments, (..., steps)),
        windows=cut(roster.windows, (..., steps)),
        height=roster.height[:, steps],
    )


def rows_of_roster(roster: Roster, rows: NDArray[np.intp]) -> Roster:
    """Return some of the targets of a roster."""
    return replace(
        roster,
        targets=tuple(roster.targets[row] for row in rows),
        target_table=roster.target_table.of_rows(rows),
        tracks=cut(roster.tracks, rows),
        moments=cut(roster.moments, rows),
        windows=cut(roster.windows, rows),
        wanted=roster.wanted[rows],
        height=roster.height[rows],
        in_season=roster.in_season[rows],
    )


def cut(part: Part, index: Any) -> Part:
    """Index the arrays; what belongs to all targets, or to all steps, stays as it is."""
    least = 1 if isinstance(index, tuple) else 2
    values = {item.name: getattr(part, item.name) for item in fields(part)}
    return replace(part, **{n: v[index] if np.ndim(v) >= least else v for n, v in values.items()})
