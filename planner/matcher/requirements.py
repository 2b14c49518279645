"""What each target asks of a train: exit pupil, power and share of the field."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from planner.config.conditions import Conditions
from planner.config.preferences import FILTER_RANGES, Preferences
from planner.formulas.double_stars import (
    air_limit_arcsec,
    delicate_pair_power,
    magnitude_difference,
    pair_margin_dex,
)
from planner.formulas.filters import Spectrum, filter_exit_pupil_range_mm
from planner.formulas.resolution import COMFORTABLE_ARCMIN, power_to_split
from planner.formulas.seeing import least_disc_power, seeing_power_cap
from planner.matcher.lens import Moment, plain_lens
from planner.matcher.scoring import framing_part
from planner.matcher.target_classes import SPECTRA, TargetTable
from planner.matcher.train_table import FILTER_CODES
from planner.matcher.visibility import whole_margins_dex
from planner.model.kinds import EVEN_GLOWS
from planner.model.kit import Telescope
from targets.arrays import Floats
from targets.frozen import frozen
from targets.model import Kind

# The exit pupils at which the eye's margin is tried to find the one wanted [mm].
TRIED_EXIT_PUPILS_MM = np.geomspace(0.5, 8.0, 17)
# From here a globular cluster begins to fall apart into stars, if it is not a faint one on the mean
# (common practice; the second is our choice).
RESOLVING_POWER = 80.0
RESOLVED_MAG_ARCSEC2 = 22.0
# However narrow a range, the score fades over this ratio beyond it.
SOFT_EDGE = 1.15
# A margin from which more light shows nothing more, so that power may take it: our choice [dex].
BRIGHT_ENOUGH_DEX = 1.1


@frozen
class ExitPupils:
    """Exit pupils asked for, arrays of shape (N, K) [mm]; ``wanted`` lies in the ideal range.

    ``suited_high`` is where the ideal range would end if the air bore any power.
    """

    wanted: Floats
    ideal_low: Floats
    ideal_high: Floats
    suited_high: Floats
    ok_low: Floats
    ok_high: Floats


def wanted_exit_pupil_mm(
    target_table: TargetTable,
    moment: Moment,
    *,
    filter_codes: NDArray[np.intp],
    telescope: Telescope,
    conditions: Conditions,
    preferences: Preferences,
) -> Floats:
    """Return the smallest exit pupil that costs little of the eye's margin, for each glow.

    Parameters
    ----------
    target_table, moment, telescope, conditions, preferences
        N targets, the sky behind them, and what decides.
    filter_codes : ndarray of int
        Filters in use, by their code.

    Returns
    -------
    ndarray
        Shape (N, F) [mm], a column for each of ``FILTER_CODES`` in use; NaN for what is not seen
        as an even glow, has no known brightness, or shines by continuum when there is a filter.

    Notes
    -----
    By the margin alone the largest exit pupils would win, yet observers take smaller ones. Their
    choice is met by going down from there until ``margin_given_up_dex`` of the margin of the whole
    target is spent: our policy, not a published one. It is not for globular clusters, which
    are to be resolved into stars, nor for dark nebulae, which need a bright field around them.
    """
    glows = np.isin(target_table.kinds, EVEN_GLOWS) & ~np.isnan(
        target_table.surface_brightness_mag_arcsec2 + target_table.area_arcmin2
    )
    emits = target_table.spectrum_code != SPECTRA.index(Spectrum.CONTINUUM)
    tried = TRIED_EXIT_PUPILS_MM[: np.searchsorted(TRIED_EXIT_PUPILS_MM, conditions.pupil_mm)]
    wanted = np.full((len(target_table), len(FILTER_CODES)), np.nan)
    for code in filter_codes:
        rows = np.flatnonzero(glows & emits if code else glows)
        if rows.size == 0:
            continue
        lens = plain_lens(
            telescope, exit_pupil_mm=tried, pupil_mm=conditions.pupil_mm, filter_code=int(code)
        )
        margin = whole_margins_dex(target_table.of_rows(rows), moment.of_rows(rows), lens)
        wanted[rows, code] = tried[
            smallest_enough(margin, given_up_dex=preferences.weights.margin_given_up_dex)
        ]
    return wanted


def smallest_enough(
    margin_dex: Floats, *, given_up_dex: float, ample_dex: float = BRIGHT_ENOUGH_DEX
) -> NDArray[np.intp]:
    """Find the first margin of each row that is enough.

    That is at most so much below the row's best, or so high that more would show no more [dex].
    """
    least = margin_dex.max(axis=1, keepdims=True) - given_up_dex
    enough = margin_dex >= np.minimum(least, ample_dex)
    return np.asarray(np.argmax(enough, axis=1))


def exit_pupils_asked(
    target_table: TargetTable,
    moment: Moment,
    *,
    filter_code: NDArray[np.intp],
    least_power: Floats,
    most_power: Floats,
    telescope: Telescope,
    conditions: Conditions,
    preferences: Preferences,
) -> ExitPupils:
    """Return the exit pupils that suit each target in each train.

    Parameters
    ----------
    target_table, moment
        N targets, and the sky behind each.
    filter_code : ndarray of int
        Filter that is of use in each of K trains, shape (N, K).
    least_power, most_power : ndarray
        What the target asks for and the highest that the air bears, shape (N,).
    telescope, conditions, preferences
        The ranges come by class and filter; the eye's pupil cuts them off.

    Returns
    -------
    ExitPupils
        The ideal range of the class, stretched to hold the wanted one, by half of the way to the
        end of the acceptable range at most, and as far as the air demands; for pairs also up to
        the largest that shows them comfortably apart, and down to the one that a delicate pair
        asks for.
    """
    wanted = wanted_exit_pupil_mm(
        target_table,
        moment,
        filter_codes=np.flatnonzero(np.bincount(filter_code.ravel())),
        telescope=telescope,
        conditions=conditions,
        preferences=preferences,
    )
    ranges = _ranges(preferences, conditions)[target_table.class_code]
    ideal_low, ideal_high, ok_low, ok_high = np.minimum(
        np.moveaxis(ranges, -1, 0), conditions.pupil_mm
    )
    ideal_high = np.maximum(ideal_high, np.minimum(_comfortable(target_table, telescope), ok_high))
    ideal_low = np.minimum(
        ideal_low, _delicate_mm(target_table, least_power, most_power, telescope)
    )
    wanted = np.clip(wanted, np.sqrt(ok_low * ideal_low), np.sqrt(ok_high * ideal_high))
    wanted = np.where(np.isnan(wanted), np.sqrt(ideal_low * ideal_high), wanted)
    ideal_low = np.minimum(ideal_low, wanted)
    borne_mm = np.minimum(telescope.aperture_mm / most_power, conditions.pupil_mm)[:, None]
    suited_high = np.maximum(ideal_high, wanted)
    ideal_high = np.maximum(suited_high, borne_mm)
    by_filter = ExitPupils(
        wanted=wanted,
        ideal_low=ideal_low,
        ideal_high=ideal_high,
        suited_high=suited_high,
        ok_low=np.minimum(ok_low, ideal_low / SOFT_EDGE),
        ok_high=np.maximum(ok_high, ideal_high * SOFT_EDGE),
    )
    return ExitPupils(
        *(
            np.take_along_axis(getattr(by_filter, item.name), filter_code, axis=1)
            for item in fields(ExitPupils)
        )
    )


def _delicate_mm(
    target_table: TargetTable, least_power: Floats, most_power: Floats, telescope: Telescope
) -> Floats:
    """The exit pupil of the power that a pair asks for and the air bears [mm], else inf (N, 1)."""
    is_pair = (target_table.kinds == str(Kind.DOUBLE_STAR)) & (least_power > 0.0)
    power = np.where(is_pair, np.minimum(least_power, most_power), np.nan)
    return np.nan_to_num(telescope.aperture_mm / power, nan=np.inf)[:, None]


def _comfortable(target_table: TargetTable, telescope: Telescope) -> Floats:
    """The largest exit pupil that shows a pair comfortably apart [mm], 0 for others (N, 1)."""
    separation_arcsec = 60.0 * target_table.major_arcmin
    comfortable = np.zeros(len(target_table))
    rows = (target_table.kinds == str(Kind.DOUBLE_STAR)) & (separation_arcsec > 0.0)
    comfortable[rows] = telescope.aperture_mm / power_to_split(
        separation_arcsec[rows], eye_limit_arcmin=COMFORTABLE_ARCMIN
    )
    return comfortable[:, None]


def _ranges(preferences: Preferences, conditions: Conditions) -> Floats:
    """Return ideal low, ideal high, ok low, ok high for each class and filter, (C, F, 4) [mm].

    A filter without a range of its own in a class keeps the class's, cut to what serves the
    filter.
    """
    classes = preferences.classes
    plain = np.array([(*one.exit_pupil_ideal_mm, *one.exit_pupil_ok_mm) for one in classes])
    table = np.repeat(plain[:, None], len(FILTER_CODES), axis=1)
    for code, kind in enumerate(FILTER_CODES):
        if kind is None:
            continue
        span = filter_exit_pupil_range_mm(kind, sky_mag_arcsec2=conditions.sky_mag_arcsec2)
        if span:
            table[:, code] = plain.clip(*span)
        for row, one in enumerate(classes if kind in FILTER_RANGES else ()):
            table[row, code] = getattr(one, kind) or table[row, code]
    return table


def power_limits(
    target_table: TargetTable,
    moment: Moment,
    *,
    telescope: Telescope,
    conditions: Conditions,
    preferences: Preferences,
) -> tuple[Floats, Floats]:
    """The least power that shows each target for what it is, and the most that the air bears.

    Returns
    -------
    least, most : ndarray
        Magnifications, shape (N,). ``least`` is 0 where any power does, and may be above ``most``.
    """
    most = np.asarray(
        seeing_power_cap(
            conditions.seeing_step,
            altitude_deg=moment.altitude_deg[:, 0],
            aperture_mm=telescope.aperture_mm,
        )
    )
    names = target_table.preferred("name", preferences)
    size_arcsec = target_table.major_arcmin * 60.0
    least = np.zeros(len(target_table))
    bright = target_table.surface_brightness_mag_arcsec2 < RESOLVED_MAG_ARCSEC2
    least[(names == "globular_cluster") & bright] = RESOLVING_POWER
    own = target_table.preferred("own_power", preferences, "")
    discs, rows = ((own == need) & (size_arcsec > 0.0) for need in ("disc", "split"))
    least[discs] = least_disc_power(size_arcsec[discs])
    least[rows] = power_to_split(size_arcsec[rows])
    pairs = target_table.of_rows(np.flatnonzero(rows))
    margin = pair_margin_dex(
        size_arcsec[rows],
        magnitude_difference(pairs.magnitude, pairs.companion_magnitude),
        telescope.aperture_mm,
        air_limit_arcsec(moment.seeing_step, moment.altitude_deg[rows, 0]),
    )
    delicate = np.minimum(delicate_pair_power(margin, telescope.aperture_mm), most[rows])
    least[rows] = np.maximum(least[rows], delicate)
    return least, most


def largest_fill(target_table: TargetTable, preferences: Preferences) -> Floats:
    """Return the largest share of the field that fits, (N, 1); NaN where framing is all one."""
    return target_table.preferred("fill_max", preferences, np.nan)[:, None]


def framed(fill: Floats, target_table: TargetTable, preferences: Preferences) -> Floats:
    """Rate how targets fill their fields, (N, K), by the ranges of their classes: 0 .. 1."""
    ideal = target_table.preferred("fill_ideal", preferences, (np.nan, np.nan))
    return framing_part(
        fill,
        ideal_low=ideal[:, :1],
        ideal_high=ideal[:, 1:],
        largest=largest_fill(target_table, preferences),
        small_in_field=target_table.preferred("small_in_field", preferences)[:, None],
    )
