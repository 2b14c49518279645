"""Narrows the whole catalogue to the targets that tonight's session may be worth spending on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.ephemeris.sky_grid import SkyGrid
from planner.formulas.filters import lifts_light
from planner.formulas.refraction import apparent_altitude_deg
from planner.matcher.lens import Moment, moment_under, plain_lens
from planner.matcher.target_classes import SPECTRA, TargetTable, target_table_from_columns
from planner.matcher.train_table import FILTER_CODES
from planner.matcher.visibility import margins_dex
from planner.planning.circumstances import Circumstances
from planner.planning.season import culmination_deg, height_share
from planner.planning.worth import EXPECTED, STARS, look_worth, wanted_before
from targets.arrays import Codes, Floats
from targets.catalogue.catalogue import Catalogue
from targets.catalogue.values import KINDS
from targets.files import slices, watched
from targets.model import Kind

# How many go on to the full pass beside those that an observer expects to be told of.
SHORTLIST = 250
# The longest list of which every target is looked at closely, to say what is against it (our
# choice: more reasons are read by nobody, and take seconds).
MOST_EXPLAINED = 1_200
# How many of them may be pairs and single stars: every night has over a hundred bright ones up, of
# which a plan takes a handful.
MOST_STARS = 80
# Exit pupils by which the catalogue is sifted [mm], beside the eye's own; the kit's come later.
SIFTING_EXIT_PUPILS_MM = np.array([1.0, 2.0, 4.0])
# Every third step is enough to see how high a target gets.
SIFTING_STRIDE = 3
# So many targets are sifted at once: more take more memory, and no less time.
SIFTED_AT_ONCE = 20_000
FULL_DARKNESS_DEG = -30.0


def shortlist(
    catalogue: Catalogue,
    grid: SkyGrid,
    circumstances: Circumstances,
    *,
    rows: Codes | None,
    keep_all: bool,
) -> Codes:
    """Choose the targets that are looked at closely.

    Parameters
    ----------
    grid : SkyGrid
        Of the session.
    rows : ndarray of int or None
        What the observer chooses from; None for all.
    keep_all : bool
        Keep all ``rows``, hopeless or not, as long as they are no more than `MOST_EXPLAINED`.

    Returns
    -------
    ndarray of int
        Rows in order: those of ``rows`` that promise most, and all among them that are wanted
        much, or that move.
    """
    # By counting, not by np.unique, which takes more than its share of time of a million.
    rows = np.arange(len(catalogue)) if rows is None else np.flatnonzero(np.bincount(rows))
    if len(rows) <= (MOST_EXPLAINED if keep_all else SHORTLIST):
        return rows
    if len(rows) > len(catalogue) // 2:  # nobody has asked for craters: the Moon's look names them
        rows = rows[~catalogue.of_kind(Kind.LUNAR_FEATURE)[rows]]
    wanted = wanted_before(catalogue, rows)
    promise = _promise(catalogue, grid, circumstances, rows, wanted)
    ranked = rows[np.argsort(-promise, kind="stable")]
    is_star = catalogue.of_kind(*STARS)[ranked]
    kept = np.zeros(len(catalogue), dtype=bool)
    kept[ranked[~is_star | (np.cumsum(is_star) <= MOST_STARS)][:SHORTLIST]] = True
    kept[rows[(wanted >= EXPECTED) | catalogue.moves[rows]]] = True
    return np.flatnonzero(kept)


def _promise(
    catalogue: Catalogue, grid: SkyGrid, circumstances: Circumstances, rows: Codes, wanted: Floats
) -> Floats:
    """Return what each target may be worth at its highest, whatever the eyepiece; 0 for bodies."""
    promise = np.zeros(len(rows))
    fixed = np.flatnonzero(~catalogue.moves[rows])
    sparse = grid.every(SIFTING_STRIDE)
    for some in watched(slices(len(fixed), SIFTED_AT_ONCE), "Sifting"):
        part = fixed[some]
        promise[part] = _promise_of_fixed(
            catalogue, sparse, circumstances, rows[part], wanted[part]
        )
    return promise


def _promise_of_fixed(
    catalogue: Catalogue, grid: SkyGrid, circumstances: Circumstances, rows: Codes, wanted: Floats
) -> Floats:
    promise = np.zeros(len(rows))
    altitude = apparent_altitude_deg(
        grid.altitudes(catalogue.ra_deg[rows], catalogue.dec_deg[rows]),
        elevation_m=grid.night.site.elevation_m,
    )
    up = np.flatnonzero(altitude.max(axis=1) > 0.0)
    rows, step = rows[up], np.argmax(altitude[up], axis=1)
    moment = _moment(catalogue, grid, circumstances, rows, altitude[up], step)
    target_table = table_of_rows(catalogue, circumstances, rows)
    promise[up] = look_worth(
        wanted[up],
        margin_dex=best_margin_dex(
            target_table, moment, circumstances, circumstances.table.filter_code
        ),
        altitude_deg=moment.altitude_deg[:, 0],
        train_share=np.ones(len(rows)),
        height=height_share(
            moment.altitude_deg[:, 0],
            culmination_deg(catalogue.dec_deg[rows], grid.night.site.latitude_deg),
        ),
    )
    return promise


def best_margin_dex(
    target_table: TargetTable, moment: Moment, circumstances: Circumstances, filter_codes: Codes
) -> Floats:
    """Return the margin in the best exit pupil and, where one may help, the best filter, (N,).

    ``filter_codes`` says which filters there are.
    """
    pupil_mm = circumstances.conditions.pupil_mm
    exit_pupils_mm = np.append(SIFTING_EXIT_PUPILS_MM[pupil_mm > SIFTING_EXIT_PUPILS_MM], pupil_mm)
    best = np.full(len(target_table), np.nan)
    for code in sorted({0, *filter_codes.tolist()}):
        rows = np.flatnonzero(may_help(code)[target_table.spectrum_code])
        lens = plain_lens(
            circumstances.telescope,
            exit_pupil_mm=exit_pupils_mm,
            pupil_mm=pupil_mm,
            filter_code=code,
        )
        margin = margins_dex(
            target_table.of_rows(rows), moment.of_rows(rows), lens, circumstances.preferences
        )
        best[rows] = np.fmax(best[rows], margin.max(axis=1))
    return best


def may_help(code: int) -> NDArray[np.bool_]:
    """Tell which of the lights a filter may help; none at all is for every one."""
    kind = FILTER_CODES[code]
    return np.array([kind is None or lifts_light(kind, light) for light in SPECTRA])


def _moment(
    catalogue: Catalogue,
    grid: SkyGrid,
    circumstances: Circumstances,
    rows: Codes,
    altitude_deg: Floats,
    step: Codes,
) -> Moment:
    """Return the sky behind targets at one step each, without twilight."""
    own = np.arange(len(rows))
    separation = grid.moon_separations(catalogue.ra_deg[rows], catalogue.dec_deg[rows])
    return moment_under(
        circumstances.conditions,
        altitude_deg=altitude_deg[own, step][:, None],
        sun_altitude_deg=FULL_DARKNESS_DEG,
        sun_separation_deg=180.0,
        moon_altitude_deg=grid.moon_altitude_deg[step][:, None],
        moon_separation_deg=separation[own, step][:, None],
        moon_phase_angle_deg=grid.moon_phase_deg[step][:, None],
    )


def table_of_rows(catalogue: Catalogue, circumstances: Circumstances, rows: Codes) -> TargetTable:
    """Return rows of the catalogue as the matcher sees them, no ``Target`` built."""
    return target_table_from_columns(
        ids=np.array([catalogue.ids[row] for row in rows], dtype=np.str_),
        kinds=np.array(KINDS, dtype=np.str_)[catalogue.kind_code[rows]],
        dec_deg=catalogue.dec_deg[rows],
        major_arcmin=catalogue.major_arcmin[rows],
        minor_arcmin=catalogue.minor_arcmin[rows],
        magnitude=catalogue.magnitude[rows],
        companion_magnitude=catalogue.companion_magnitude[rows],
        rating=catalogue.visual_rating[rows],
        bulge_share=catalogue.bulge_share[rows],
        core_radius_arcmin=catalogue.core_radius_arcmin[rows],
        concentration=catalogue.concentration[rows],
        preferences=circumstances.preferences,
    )
