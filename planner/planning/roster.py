"""The targets in question with all that is known of their session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.solar_system.moon import feature_light, light_share, moon_face
from planner.matcher.target_classes import Subjects, subjects_of
from planner.matcher.visibility import Moment
from planner.planning.companions import companion_share
from planner.planning.survey import Circumstances, body_at, follow, sky_behind
from planner.planning.windows import SkyTracks, Windows, find_windows
from planner.planning.worth import wanted_before
from targets.catalogue.catalogue import Catalogue
from targets.model import Target

Floats = NDArray[np.float64]
Codes = NDArray[np.intp]

# What is left of a feature of the Moon that is well lit only at another time of the session.
LEAST_LIGHT = 0.3


@dataclass(frozen=True, slots=True)
class Roster:
    """The targets in question with all that is known of their session; N targets, T steps.

    Parameters
    ----------
    targets, subjects
        The targets; bodies as they are in the middle of the night.
    grid : SkyGrid
        Of the session.
    tracks, moments, windows
        Where they stand, the sky behind them, and when nothing is in the way; shape (N, T).
    wanted : ndarray
        How much each is wanted, shape (N,); less where a larger target shows it too.
    """

    targets: tuple[Target, ...]
    subjects: Subjects
    grid: SkyGrid
    tracks: SkyTracks
    moments: Moment
    windows: Windows
    wanted: Floats


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
    subjects = subjects_of(targets, circumstances.preferences)
    tracks = follow(targets, ephemeris, grid)
    windows = find_windows(
        tracks,
        subjects.class_code,
        preferences=circumstances.preferences,
        site=night.site,
        telescope=circumstances.telescope,
        moon_illuminated=night.moon_illuminated,
        min_altitude_deg=min_altitude_deg,
    )
    wanted = wanted_before(catalogue, rows)
    return Roster(
        targets=targets,
        subjects=subjects,
        grid=grid,
        tracks=tracks,
        moments=sky_behind(targets, tracks, grid, circumstances.conditions),
        windows=windows,
        wanted=wanted * companion_share(targets, wanted) * _light_shares(targets, ephemeris, grid),
    )


def _light_shares(
    targets: Sequence[Target], ephemeris: Ephemeris, grid: SkyGrid
) -> NDArray[np.float64]:
    """Give what the light at the middle step leaves of features of the Moon, 1 for others, (N,)."""
    shares = np.ones(len(targets))
    rows = [row for row, target in enumerate(targets) if target.lunar is not None]
    if rows:
        face = moon_face(ephemeris, grid.night.site, grid.instant(len(grid.unix_s) // 2))
        lights = [light_share(feature_light(face, targets[row])) for row in rows]
        shares[rows] = np.maximum(lights, LEAST_LIGHT)
    return shares
