"""Follows many targets through one night, each in the train that suits it best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris import Ephemeris
from planner.grid import SkyGrid
from planner.matcher import rate_trains
from planner.preferences import Preferences
from planner.subjects import Subjects, subjects_of
from planner.survey import Circumstances, body_at, follow, moment_at, sky_behind
from planner.visibility import Moment, lens_of, margins_dex
from planner.windows import SkyTracks, Windows, find_windows
from planner.worth import wanted_before
from targets.catalogue import Catalogue
from targets.model import Target

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Wanted:
    """N targets of the catalogue, with their classes and how much each is wanted, (N,)."""

    targets: tuple[Target, ...]
    class_code: Codes
    wanted: Floats


@dataclass(frozen=True, slots=True)
class Watch:
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
    altitude_deg : ndarray
        Apparent, of these [deg], (M, T).
    margin_dex : ndarray
        Over the eye's threshold, of these, each in the train that suits it best when it is
        highest in its window; NaN where the brightness is unknown [dex], (M, T).
    """

    tracks: SkyTracks
    windows: Windows
    rows: Codes
    targets: tuple[Target, ...]
    open: Flags
    altitude_deg: Floats
    margin_dex: Floats


def wanted_rows(catalogue: Catalogue, rows: Codes, preferences: Preferences) -> Wanted:
    """Take rows of the catalogue as what is wanted."""
    targets = tuple(catalogue.target(int(row)) for row in rows)
    return Wanted(
        targets, subjects_of(targets, preferences).class_code, wanted_before(catalogue, rows)
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
    night = grid.night
    tracks = follow(wanted.targets, ephemeris, grid)
    windows = find_windows(
        tracks,
        wanted.class_code,
        preferences=circumstances.preferences,
        site=night.site,
        telescope=circumstances.telescope,
        moon_illuminated=night.moon_illuminated,
    )
    rows = np.flatnonzero(windows.open.any(axis=1))
    middle = night.start + (night.end - night.start) / 2
    targets = tuple(body_at(wanted.targets[row], ephemeris, grid, middle) for row in rows)
    watched = _of_rows(tracks, rows)
    is_open = windows.open[rows]
    moments = sky_behind(targets, watched, grid, circumstances.conditions)
    highest = np.argmax(np.where(is_open, watched.altitude_deg, -np.inf), axis=1)
    return Watch(
        tracks=tracks,
        windows=windows,
        rows=rows,
        targets=targets,
        open=is_open,
        altitude_deg=watched.altitude_deg,
        margin_dex=_margins_dex(targets, moments, highest, circumstances),
    )


def _of_rows(tracks: SkyTracks, rows: Codes) -> SkyTracks:
    """Take some of the targets; what belongs to the steps alone stays as it is."""
    arrays = {item.name: getattr(tracks, item.name) for item in fields(tracks)}
    return SkyTracks(**{name: a[rows] if a.ndim == 2 else a for name, a in arrays.items()})


def _margins_dex(
    targets: Sequence[Target], moments: Moment, highest: Codes, circumstances: Circumstances
) -> Floats:
    """Follow the margins of M targets, each in the train that is best at one step, (M, T)."""
    if not targets:
        return np.empty((0, moments.altitude_deg.shape[1]))
    subjects = subjects_of(targets, circumstances.preferences)
    columns = _best_trains(subjects, moment_at(moments, highest), circumstances)
    lens = lens_of(circumstances.table, circumstances.telescope, circumstances.conditions.pupil_mm)
    return margins_dex(subjects, moments, lens.for_each(columns), circumstances.preferences)


def _best_trains(subjects: Subjects, moment: Moment, circumstances: Circumstances) -> Codes:
    ratings = rate_trains(
        subjects,
        moment,
        circumstances.table,
        telescope=circumstances.telescope,
        observer=circumstances.observer,
        conditions=circumstances.conditions,
        preferences=circumstances.preferences,
    )
    return np.asarray(np.argmax(ratings.score, axis=1))
