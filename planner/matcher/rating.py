"""Rates every train for every target in one pass, from parts that can each be shown."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.config.conditions import Conditions
from planner.config.preferences import Preferences, Weights
from planner.formulas.double_stars import air_limit_arcsec, glare_limit_arcsec, magnitude_difference
from planner.formulas.filters import Spectrum
from planner.formulas.optics import transit_time_s
from planner.formulas.profiles import light_within
from planner.matcher.filter_use import (
    fit_part,
    idle_filters,
    less_with_idle_filter,
    less_without_filter,
)
from planner.matcher.leaning import NO_LEANING, leaning_codes, leaning_part
from planner.matcher.lens import Lens, Moment, lens_of
from planner.matcher.requirements import (
    ExitPupils,
    exit_pupils_asked,
    framed,
    largest_fill,
    power_limits,
)
from planner.matcher.scoring import comfort_part, exit_pupil_part, power_part, visibility_part
from planner.matcher.sight import WIDEST_SHARE, serving, sight_part
from planner.matcher.target_classes import SPECTRA, TargetTable
from planner.matcher.train_table import TrainTable
from planner.matcher.visibility import margins_dex, seen_axes
from planner.model.kit import Observer, Telescope
from planner.model.leaning import Leaning
from targets.arrays import Flags, Floats
from targets.frozen import frozen
from targets.model import Kind

# A disc or a pair is shown larger only as far as the air allows: this share of the cap.
LEAST_OF_CAP = 0.8
# From the first margin of the best train up, the wanted exit pupil begins to count; from the second
# on it counts in full [dex], [share]: our choice.
ASSURED_DEX = ([0.1, 0.4, 0.8], [0.5, 0.8, 1.0])
# The framing of what fades outward, when nearly all of its light is in a field that cuts it.
CUT_FRAMING = 0.25
# Of what another train of the kit shows of a target, so much at least is to be framed: our choice.
LEAST_FRAMED = 0.7


@frozen
class Ratings:
    """N targets in K trains; arrays of shape (N, K) unless said otherwise.

    Parameters
    ----------
    score : ndarray
        Product of the parts, 0 .. 1.
    parts : dict of str to ndarray
        ``fit``, ``framing``, ``exit pupil``, ``power``, ``visibility``, ``comfort``, ``sight``
        (one kit's trains beside each other); with leanings also ``leaning``, 0.9 .. 1.1.
    seen_share : ndarray
        How much of the catalogue's axes is seen.
    fades : ndarray of bool
        For which targets that differs from train to train, shape (N,).
    fill : ndarray
        Long axis, as it is seen, over true field; NaN when the size is unknown.
    fill_max : ndarray
        Largest that fits, shape (N,); NaN where framing does not matter.
    margin_dex : ndarray
        Over the eye's threshold; NaN when the brightness is unknown.
    least_power, most_power : ndarray
        What the target asks for and what the air bears, shape (N,).
    glare_limit_arcsec, air_limit_arcsec : ndarray
        How close two stars as unlike as the pair's may stand to be seen apart, shape (N,); of
        other targets NaN.
    exit_pupils : ExitPupils
        What suits.
    drift_s : ndarray
        Time in which an undriven telescope loses the target [s], shape (N, K) or (1, K).
    leanings : tuple of Leaning
        What the observer prefers by experience.
    leaning_code : ndarray of int or None
        Which of them counts, -1 for none; None where there are no leanings.
    """

    score: Floats
    parts: dict[str, Floats]
    seen_share: Floats
    fades: Flags
    fill: Floats
    fill_max: Floats
    margin_dex: Floats
    least_power: Floats
    most_power: Floats
    glare_limit_arcsec: Floats
    air_limit_arcsec: Floats
    exit_pupils: ExitPupils
    drift_s: Floats
    leanings: tuple[Leaning, ...] = ()
    leaning_code: NDArray[np.intp] | None = None

    def leaning(self, row: int, column: int) -> Leaning | None:
        """Return what the observer's experience says of a target in a train."""
        if self.leaning_code is None or self.leaning_code[row, column] == NO_LEANING:
            return None
        return self.leanings[int(self.leaning_code[row, column])]


def rate_trains(
    target_table: TargetTable,
    moment: Moment,
    table: TrainTable,
    *,
    telescope: Telescope,
    observer: Observer,
    conditions: Conditions,
    preferences: Preferences,
    leanings: tuple[Leaning, ...] = (),
) -> Ratings:
    """Rate K trains for N targets.

    Parameters
    ----------
    target_table, moment
        N targets, and the sky behind each.
    table : TrainTable
        K trains of ``telescope``.

    Returns
    -------
    Ratings
        The order of the trains changes nothing but the order of the columns.
    """
    lens = lens_of(table, telescope, conditions.pupil_mm)
    margin = margins_dex(target_table, moment, lens, preferences)
    idle = idle_filters(margin, table)
    seen = _seen_share(target_table, moment, lens, table)
    whole_fill = target_table.major_arcmin[:, None] / table.true_field_arcmin
    # A train that shows next to nothing of a target does not thereby frame it well.
    shown = np.fmax(seen, LEAST_FRAMED * np.max(seen, axis=1, keepdims=True, initial=0.0))
    fill = shown * whole_fill
    least, most = power_limits(
        target_table, moment, telescope=telescope, conditions=conditions, preferences=preferences
    )
    asked = exit_pupils_asked(
        target_table,
        moment,
        filter_code=np.where(idle, 0, table.filter_code),
        least_power=least,
        most_power=most,
        telescope=telescope,
        conditions=conditions,
        preferences=preferences,
    )
    air_limit = air_limit_arcsec(moment.seeing_step, moment.altitude_deg[:, 0])
    drift_s = _drift_s(target_table, table, telescope)
    fit = fit_part(target_table, table)
    parts = {
        "fit": fit,
        "framing": _framing_part(target_table, fill, whole_fill, preferences),
        "exit pupil": exit_pupil_part(
            table.exit_pupil_mm[None, :],
            ideal_low=asked.ideal_low,
            ideal_high=asked.ideal_high,
            ok_low=asked.ok_low,
            ok_high=asked.ok_high,
            wanted_mm=asked.wanted,
        ),
        "power": power_part(
            table.magnification,
            least=np.minimum(least, LEAST_OF_CAP * most)[:, None],
            most=most[:, None],
        ),
        "visibility": _visibility_part(margin, idle, fit, table, preferences.weights),
        "comfort": _comfort_part(target_table, table, drift_s, observer, preferences),
    }
    score = _combined(parts, preferences.weights, _assured(margin))
    codes = leaning_codes(target_table, table, leanings, preferences) if leanings else None
    if codes is not None:
        parts["leaning"] = leaning_part(codes, leanings)
        score = np.minimum(score * parts["leaning"], 1.0)
    serves = serving(
        target_table,
        table,
        fit=parts["fit"],
        whole_fill=whole_fill,
        most_power=most,
        preferences=preferences,
        pupil_mm=conditions.pupil_mm,
    )
    parts["sight"] = sight_part(score, margin, serves=serves)
    return Ratings(
        score=score * parts["sight"],
        parts=parts,
        seen_share=seen,
        fades=_fades(target_table),
        fill=fill,
        fill_max=largest_fill(target_table, preferences)[:, 0],
        margin_dex=margin,
        least_power=least,
        most_power=most,
        glare_limit_arcsec=_glare_limit_arcsec(target_table, telescope, air_limit),
        air_limit_arcsec=air_limit,
        exit_pupils=asked,
        drift_s=drift_s,
        leanings=leanings,
        leaning_code=codes,
    )


def _glare_limit_arcsec(
    target_table: TargetTable, telescope: Telescope, air_limit: Floats
) -> Floats:
    limit = np.full(len(target_table), np.nan)
    rows = np.flatnonzero(target_table.kinds == str(Kind.DOUBLE_STAR))
    pairs = target_table.of_rows(rows)
    difference = magnitude_difference(pairs.magnitude, pairs.companion_magnitude)
    limit[rows] = glare_limit_arcsec(telescope.aperture_mm, difference, air_limit[rows])
    return limit


def _fades(target_table: TargetTable) -> Flags:
    """Tell what fades outward as a whole, (N,): of a group each member does, the group does not."""
    return np.asarray(target_table.falls & (target_table.kinds != str(Kind.GALAXY_GROUP)))


def _seen_share(target_table: TargetTable, moment: Moment, lens: Lens, table: TrainTable) -> Floats:
    """How far out each target is seen, (N, K); what shines by continuum as without a filter."""
    share = np.ones((len(target_table), len(table)))
    if not len(table):
        return share
    plain, place = np.unique(table.unfiltered, return_inverse=True)
    fades = _fades(target_table)
    continuum = target_table.spectrum_code == SPECTRA.index(Spectrum.CONTINUUM)
    for rows, columns, spread in (
        (fades & continuum, plain, place),
        (fades & ~continuum, np.arange(len(table)), slice(None)),
    ):
        found = np.flatnonzero(rows)
        if found.size:
            some = seen_axes(
                target_table.of_rows(found), moment.of_rows(found), lens.of_columns(columns)
            )
            share[found] = some[:, spread]
    return share


def _assured(margin_dex: Floats) -> Floats:
    """How far the best train makes sure that a target is seen, 0 .. 1, (N, 1).

    Below that, what is wanted of an exit pupil counts for less: seeing it at all comes first.
    """
    best = np.max(margin_dex, axis=1, keepdims=True, initial=-np.inf)
    return np.where(np.isnan(best), 1.0, np.interp(best, *ASSURED_DEX))


def _combined(parts: dict[str, Floats], weights: Weights, assured: Floats) -> Floats:
    score = parts["fit"] * parts["exit pupil"] ** (weights.exit_pupil * assured)
    for name in ("framing", "power", "visibility", "comfort"):
        score = score * parts[name] ** getattr(weights, name)
    return np.asarray(score)


def _framing_part(
    target_table: TargetTable, fill: Floats, whole_fill: Floats, preferences: Preferences
) -> Floats:
    part, largest = framed(fill, target_table, preferences), largest_fill(target_table, preferences)
    # Of what fades outward, a field that cuts it still shows most of the light.
    rows = np.flatnonzero(_fades(target_table))
    if rows.size:
        light = light_within(target_table.part_light[rows], 1.0 / whole_fill[rows])
        part[rows] = np.fmax(part[rows], CUT_FRAMING * np.square(light))
    # Where no field holds the whole target with room, the widest come first.
    least = np.min(fill, axis=1, keepdims=True, initial=np.inf)
    narrower = (least > largest) & (fill > least / WIDEST_SHARE)
    return np.where(narrower, part * np.square(least / fill), part)


def _comfort_part(
    target_table: TargetTable,
    table: TrainTable,
    drift_s: Floats,
    observer: Observer,
    preferences: Preferences,
) -> Floats:
    pays = target_table.preferred("wide_field_pays", preferences)[:, None]
    return comfort_part(
        eye_relief_mm=table.eye_relief_mm,
        exit_pupil_mm=table.exit_pupil_mm,
        spectacles=observer.spectacles,
        apparent_field_deg=table.apparent_field_deg,
        wide_field_pays=pays,
        amplified=table.amplified,
        drift_s=drift_s,
    )


def _visibility_part(
    margin: Floats, idle: Flags, fit: Floats, table: TrainTable, weights: Weights
) -> Floats:
    # What an idle filter would show is not held against the trains without it.
    running = np.where(idle & ~np.isnan(margin), -np.inf, margin)
    best = np.max(running, axis=1, keepdims=True, initial=-np.inf)
    part = visibility_part(margin, best_dex=best, given_up_dex=weights.margin_given_up_dex)
    part = less_without_filter(part, (table.filter_code > 0) & ~idle & (fit > 0.0), table)
    return less_with_idle_filter(part, idle, table)


def _drift_s(target_table: TargetTable, table: TrainTable, telescope: Telescope) -> Floats:
    """Time to cross the field of an undriven telescope [s], shape (N, K).

    A body without a place yet moves as fast as any.
    """
    if telescope.driven:
        return np.full((1, len(table)), np.inf)
    dec_deg = np.nan_to_num(target_table.dec_deg, nan=0.0)[:, None]
    return np.asarray(transit_time_s(table.true_field_arcmin / 60.0, dec_deg))
