"""Follows many targets through one night, each in the train that suits it best."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import datetime

import numpy as np

from planner.config.conditions import Conditions
from planner.config.preferences import Preferences
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.formulas.visibility_limit import GRADE_BOUNDS_DEX, GRADES
from planner.matcher.lens import Moment
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.visibility import margins_dex
from planner.model.plan import Grade
from planner.planning.circumstances import Circumstances
from planner.planning.roster import cut
from planner.planning.season import culminations_deg
from planner.planning.survey import body_at, follow, moment_at, sky_behind
from planner.planning.windows import SkyTracks, Windows, find_windows, preferred_steps
from planner.planning.worth import air_share, wanted_before, wanted_under
from targets.arrays import Codes, Flags, Floats
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from targets.model import Target

# The least margin of what counts as shown, the lower bound of this grade [dex].
SHOWN_DEX = GRADE_BOUNDS_DEX[GRADES.index(Grade.HARD) - 1]
# A target that the Moon leaves less of its worth than this is not well placed (our choice).
LEAST_UNDER_MOON = 0.6
# Margins above this count as this: a planet is no better for being brighter still [dex].
BRIGHT_ENOUGH_DEX = 2.0


@frozen
class Wanted:
    """N targets of the catalogue, with their classes and how much each is wanted, (N,)."""

    targets: tuple[Target, ...]
    class_code: Codes
    wanted: Floats


@frozen
class Followed:
    """N targets through the T steps of a grid, and the M among them that have a window.

    Parameters
    ----------
    tracks, windows : SkyTracks, Windows
        Of all N.
    rows : ndarray of int
        Which have a window, (M,).
    targets : tuple of Target
        These, bodies with their place and size that night.
    open : ndarray of bool
        When each of these can be looked at, (M, T).
    moments : Moment
        The sky behind these, (M, T).
    """

    tracks: SkyTracks
    windows: Windows
    rows: Codes
    targets: tuple[Target, ...]
    open: Flags
    moments: Moment


@frozen
class Watch(Followed):
    """The same with trains.

    Parameters
    ----------
    target_table : TargetTable
        Those with a window, as the matcher sees them.
    margin_dex : ndarray
        Over the eye's threshold, of these, each in the train that suits it best when it is
        highest in its window; NaN where the brightness is unknown [dex], (M, T).
    """

    target_table: TargetTable
    margin_dex: Floats


def wanted_rows(catalogue: Catalogue, rows: Codes, preferences: Preferences) -> Wanted:
    """Take rows of the catalogue as what is wanted."""
    targets = tuple(catalogue.target(int(row)) for row in rows)
    return Wanted(
        targets, target_table_of(targets, preferences).class_code, wanted_before(catalogue, rows)
    )


def follow_wanted(
    wanted: Wanted, ephemeris: Ephemeris, grid: SkyGrid, circumstances: Circumstances, at: datetime
) -> Followed:
    """Follow targets through a grid, whatever they are looked at with.

    Parameters
    ----------
    wanted : Wanted
        N targets.
    ephemeris, grid
        The sky, T steps of it.
    circumstances : Circumstances
        Who looks with which telescope under what sky; trains play no part.
    at : datetime
        For when bodies have their place and size (UTC).
    """
    night = grid.night
    tracks = follow(wanted.targets, ephemeris, grid)
    tracks = replace(tracks, clear_share=circumstances.clear_share(grid.unix_s))
    windows = find_windows(
        tracks,
        wanted.class_code,
        preferences=circumstances.preferences,
        site=night.site,
        telescope=circumstances.telescope,
        moon_illuminated=night.moon_illuminated,
        culmination=culminations_deg(wanted.targets, night.site),
    )
    rows = np.flatnonzero(windows.open.any(axis=1))
    targets = tuple(body_at(wanted.targets[row], ephemeris, grid, at) for row in rows)
    return Followed(
        tracks=tracks,
        windows=windows,
        rows=rows,
        targets=targets,
        open=windows.open[rows],
        moments=sky_behind(targets, cut(tracks, rows), grid, circumstances.conditions),
    )


def watch_targets(
    wanted: Wanted, ephemeris: Ephemeris, grid: SkyGrid, circumstances: Circumstances
) -> Watch:
    """Follow targets through a grid.

    Parameters
    ----------
    wanted : Wanted
        N targets.
    ephemeris, grid
        The sky, T steps of it.
    circumstances : Circumstances
        Who looks, through what (one train at least), under what sky.
    """
    middle = grid.night.start + (grid.night.end - grid.night.start) / 2
    seen = follow_wanted(wanted, ephemeris, grid, circumstances, middle)
    target_table = target_table_of(seen.targets, circumstances.preferences)
    highest = np.argmax(np.where(seen.open, seen.moments.altitude_deg, -np.inf), axis=1)
    return Watch(
        **{item.name: getattr(seen, item.name) for item in fields(seen)},
        target_table=target_table,
        margin_dex=_margins_dex(target_table, seen.moments, highest, circumstances),
    )


def moon_share(watch: Watch, grid: SkyGrid, conditions: Conditions) -> Floats:
    """Return what the Moon leaves of the worth of each of the M targets, 0 .. 1, (M, T).

    Under the sky as it is, against the same sky without the Moon.
    """
    tracks = cut(watch.tracks, watch.rows)
    moonless = replace(tracks, moon_altitude_deg=np.full_like(tracks.moon_altitude_deg, -90.0))
    kinds = np.array([str(target.kind) for target in watch.targets])
    rating = np.array([target.visual_rating or np.nan for target in watch.targets])
    all_of_it = np.ones(len(watch.targets))
    lit, dark = (
        wanted_under(all_of_it, kinds, moment.sky_cd_m2, rating=rating)
        for moment in (watch.moments, sky_behind(watch.targets, moonless, grid, conditions))
    )
    return np.minimum(lit / dark, 1.0)


def well_shown(watch: Watch, grid: SkyGrid, conditions: Conditions) -> Flags:
    """Tell at which steps the M targets are open, seen, and not spoilt by the Moon, (M, T).

    A target of unknown brightness counts as seen: nothing speaks against it.
    """
    shown = watch.open & ~(watch.margin_dex < SHOWN_DEX)
    return np.asarray(shown & (moon_share(watch, grid, conditions) >= LEAST_UNDER_MOON))


def clearest_dex(watch: Watch, row: int, circumstances: Circumstances) -> Floats:
    """Return the margin of one of the M targets in whichever train shows it most clearly.

    Unlike the margin in the train that suits best, which on a bright night may be one with a
    filter, it compares nights: a brighter sky never raises it.

    Returns
    -------
    ndarray
        Over the eye's threshold [dex], (T,); NaN where the brightness is unknown.
    """
    moments = watch.moments
    each_step = replace(
        moments,
        altitude_deg=moments.altitude_deg[row, :, None],
        sky_cd_m2=moments.sky_cd_m2[row, :, None],
        loss_mag=moments.loss_mag[row, :, None],
    )
    same = watch.target_table.of_rows(np.full(watch.open.shape[1], row, dtype=np.intp))
    margins = margins_dex(same, each_step, circumstances.lens, circumstances.preferences)
    return np.asarray(np.fmax.reduce(margins, axis=1))


def best_step(watch: Watch, row: int, circumstances: Circumstances) -> tuple[int, Floats]:
    """Find when one of the M targets comes out best in its windows.

    Parameters
    ----------
    row : int
        Which of its M targets.
    circumstances : Circumstances
        With one train at least.

    Returns
    -------
    step : int
        Of the grid, with the Sun well down where there is a choice; where several are as good, the
        one at which the target is highest.
    quality_dex : ndarray
        By which they compare: the clearest margin, less what the air spoils beyond dimming [dex],
        (T,); minus infinity outside the windows.
    """
    is_open, altitude_deg = watch.open[row], watch.moments.altitude_deg[row]
    margin_dex = np.nan_to_num(clearest_dex(watch, row, circumstances)[is_open])
    quality_dex = np.full(len(is_open), -np.inf)
    air_dex = np.log10(air_share(altitude_deg[is_open]))
    quality_dex[is_open] = np.minimum(margin_dex, BRIGHT_ENOUGH_DEX) + air_dex
    # What is bright enough and high enough is equally good for hours.
    preferred = preferred_steps(is_open, watch.tracks.sun_altitude_deg)
    as_good = preferred & (quality_dex == quality_dex[preferred].max())
    return int(np.argmax(np.where(as_good, altitude_deg, -np.inf))), quality_dex


def _margins_dex(
    target_table: TargetTable, moments: Moment, highest: Codes, circumstances: Circumstances
) -> Floats:
    """Follow the margins of M targets, each in the train that is best at one step, (M, T)."""
    if not len(target_table):
        return np.empty(moments.altitude_deg.shape)
    columns = _best_trains(target_table, moment_at(moments, highest), circumstances)
    lens = circumstances.lens.for_each(columns)
    return margins_dex(target_table, moments, lens, circumstances.preferences)


def _best_trains(target_table: TargetTable, moment: Moment, circumstances: Circumstances) -> Codes:
    ratings = circumstances.rate(target_table, moment)
    return np.asarray(np.argmax(ratings.score, axis=1))
