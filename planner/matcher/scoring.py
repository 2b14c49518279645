"""The parts of a view's score: pure functions, each 0 (useless) .. 1 (ideal).

The shapes of the curves are our choice; the ranges that they are drawn through come from
``preferences.toml``, where their sources stand. All arguments broadcast.
"""

from __future__ import annotations

import numpy as np

from targets.arrays import Flags, Floats

# What is left of a part at the edge of what is acceptable, where "ideal" is 1.
AT_THE_EDGE = 0.5
# Margins above this count as this: brighter than easy is no better [dex].
AMPLE_DEX = 1.0
# Margins below this, down to minus infinity where no light arrives, count as this [dex].
NOTHING_DEX = -6.0
# The chance to see what has no known brightness.
UNKNOWN_SEEN = 0.35
# What is left of the framing when the target just fills the field.
FILLS_THE_FIELD = 0.15
# How much an octave away from the wanted exit pupil costs inside the acceptable range.
PER_OCTAVE = 0.08

EYE_RELIEF_FOR_SPECTACLES_MM = 20.0  # common practice; 15 mm is the least that serves
EYE_RELIEF_LEAST_WITH_SPECTACLES_MM = 15.0
EYE_RELIEF_FOR_LASHES_MM = 10.0  # common practice
# Below this exit pupil an eye's astigmatism hardly shows and spectacles can come off
# (common practice).
SPECTACLES_OFF_BELOW_MM = 1.7
# An undriven telescope should hold its target for this long (common practice).
DRIFT_WANTED_S = 90.0


def framing_part(
    fill: Floats, *, ideal_low: Floats, ideal_high: Floats, largest: Floats, small_in_field: Floats
) -> Floats:
    """Rate how much of the field a target fills.

    Parameters
    ----------
    fill : ndarray
        Long axis over true field; NaN (size unknown) rates 1.
    ideal_low, ideal_high : ndarray
        Full score between these; NaN where framing does not matter.
    largest : ndarray
        Largest fill that fits.
    small_in_field : ndarray
        What is left for a speck in a huge field.

    Returns
    -------
    ndarray
        1 inside the ideal range, ``AT_THE_EDGE`` at the largest, falling with the square beyond 1.
    """
    ideal_low = np.nan_to_num(ideal_low, nan=0.0)
    largest = np.nan_to_num(largest, nan=np.inf)
    ideal_high = np.where(np.isnan(ideal_high), largest, ideal_high)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        small = small_in_field + (1.0 - small_in_field) * np.clip(fill / ideal_low, 0.0, 1.0)
        to_edge = 1.0 - (1.0 - AT_THE_EDGE) * (fill - ideal_high) / (largest - ideal_high)
        edge_to_full = AT_THE_EDGE + (FILLS_THE_FIELD - AT_THE_EDGE) * (fill - largest) / (
            1.0 - largest
        )
        beyond = FILLS_THE_FIELD / fill**2
    part = np.select(
        [fill < ideal_low, fill <= ideal_high, fill <= largest, fill <= 1.0, fill > 1.0],
        [small, np.ones_like(fill), to_edge, edge_to_full, beyond],
        default=1.0,
    )
    return np.asarray(part)


def exit_pupil_part(
    exit_pupil_mm: Floats,
    *,
    ideal_low: Floats,
    ideal_high: Floats,
    ok_low: Floats,
    ok_high: Floats,
    wanted_mm: Floats,
) -> Floats:
    """Rate an exit pupil against the ranges of a class and the one wanted for this target.

    Parameters
    ----------
    exit_pupil_mm : ndarray
        Of the train [mm].
    ideal_low, ideal_high, ok_low, ok_high : ndarray
        Ranges [mm], each at most the observer's pupil.
    wanted_mm : ndarray
        Inside the ideal range the score leans toward this one [mm].

    Returns
    -------
    ndarray
        Near 1 inside the ideal range, ``AT_THE_EDGE`` at the ends of the acceptable one, then
        falling with the square of the ratio.
    """
    size = np.log2(exit_pupil_mm)
    lean = 1.0 - PER_OCTAVE * np.abs(size - np.log2(wanted_mm))
    outside = np.maximum(np.log2(ideal_low) - size, size - np.log2(ideal_high))
    room = np.where(
        size < np.log2(ideal_low), np.log2(ideal_low / ok_low), np.log2(ok_high / ideal_high)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        within_ok = 1.0 - (1.0 - AT_THE_EDGE) * outside / room
    beyond = AT_THE_EDGE * np.exp2(-2.0 * (outside - room))
    part = np.where(outside <= 0.0, 1.0, np.where(outside <= room, within_ok, beyond))
    return np.asarray(part * np.clip(lean, 0.5, 1.0))


def power_part(magnification: Floats, *, least: Floats, most: Floats) -> Floats:
    """Rate a power against the least that shows the target and the most that the air bears.

    Parameters
    ----------
    magnification : ndarray
        Power.
    least, most : ndarray
        Limits; 0 and infinity where there are none.

    Returns
    -------
    ndarray
        1 between the limits, falling with the square below and the cube above.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        too_low = np.where(least > 0.0, np.minimum(magnification / least, 1.0), 1.0) ** 2
        too_high = np.minimum(most / magnification, 1.0) ** 3
    return np.asarray(too_low * too_high)


def seen_well(margin_dex: Floats) -> Floats:
    """Return the chance to see a target well.

    Parameters
    ----------
    margin_dex : ndarray
        Over the eye's threshold [dex]; NaN (brightness unknown) rates as barely seen.

    Returns
    -------
    ndarray
        0.02 at 0.4 dex below the threshold and less, 1 from 0.8 dex above it.
    """
    seen = np.interp(margin_dex, [-0.4, -0.2, 0.1, 0.4, 0.8], [0.02, 0.1, 0.45, 0.75, 1.0])
    return np.where(np.isnan(margin_dex), UNKNOWN_SEEN, seen)


def visibility_part(margin_dex: Floats, *, best_dex: Floats, given_up_dex: float) -> Floats:
    """Rate a margin over the eye's threshold, and what is lost of the best that the kit gives.

    Parameters
    ----------
    margin_dex : ndarray
        Of this train [dex]; NaN when the brightness is unknown.
    best_dex : ndarray
        Best margin of all trains for the same target [dex].
    given_up_dex : float
        What may be lost without regret for a smaller exit pupil [dex].

    Returns
    -------
    ndarray
        The chance to see it well, times 10 to the minus the loss that exceeds what may be given
        up.
    """
    lost = np.clip(best_dex, NOTHING_DEX, AMPLE_DEX) - np.clip(margin_dex, NOTHING_DEX, AMPLE_DEX)
    share = 10.0 ** -np.maximum(lost - given_up_dex, 0.0)
    return np.asarray(seen_well(best_dex) * np.where(np.isnan(margin_dex), 1.0, share))


def comfort_part(
    *,
    eye_relief_mm: Floats,
    exit_pupil_mm: Floats,
    spectacles: bool,
    apparent_field_deg: Floats,
    wide_field_pays: Flags,
    amplified: Flags,
    drift_s: Floats,
) -> Floats:
    """Rate how pleasant it is to look through.

    Parameters
    ----------
    eye_relief_mm : ndarray
        NaN where it is not stated (rates as sufficient).
    exit_pupil_mm, apparent_field_deg : ndarray
        Of the train [mm, deg].
    spectacles : bool
        The observer keeps glasses on.
    wide_field_pays, amplified : ndarray of bool
        The class gains from a wide apparent field; the train holds an amplifier.
    drift_s : ndarray
        Time for which an undriven telescope holds the target [s]; infinity when driven.

    Returns
    -------
    ndarray
        Product of the four, 1 when nothing disturbs.
    """
    glasses = spectacles & (exit_pupil_mm >= SPECTACLES_OFF_BELOW_MM)
    relief = np.where(
        glasses,
        np.interp(
            eye_relief_mm,
            [8.0, EYE_RELIEF_LEAST_WITH_SPECTACLES_MM, EYE_RELIEF_FOR_SPECTACLES_MM],
            [0.4, 0.85, 1.0],
        ),
        np.interp(eye_relief_mm, [3.0, EYE_RELIEF_FOR_LASHES_MM], [0.85, 1.0]),
    )
    relief = np.where(np.isnan(eye_relief_mm), 1.0, relief)
    width = np.where(wide_field_pays, np.interp(apparent_field_deg, [40.0, 80.0], [0.9, 1.0]), 1.0)
    held = np.interp(drift_s, [20.0, DRIFT_WANTED_S], [0.7, 1.0])
    return np.asarray(relief * width * held * np.where(amplified, 0.97, 1.0))
