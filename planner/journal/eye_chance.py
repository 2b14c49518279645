"""The chance that a target is seen, by how far it stands above the eye's own threshold."""

from __future__ import annotations

import numpy as np

from targets.arrays import Floats

# How far margins are off [mag], one standard deviation: its middle, and the factor that is one
# standard deviation about it. Our choice.
WIDTH_MAG, WIDTH_FACTOR = 0.35, 2.0
WIDTHS_MAG = WIDTH_MAG * np.sqrt(2.0) ** np.arange(-3, 5)
# Outcomes that have nothing to do with the margin: a wrong key, a cloud. Our choice.
LAPSES = 0.02
# Standard deviation of the logistic distribution with a scale of one.
_LOGISTIC_SD = np.pi / np.sqrt(3.0)


def seen_chance(
    margin_mag: Floats, width_mag: float = WIDTH_MAG, *, lapses: float = LAPSES
) -> Floats:
    """Return the chance that a target so far above the eye's own threshold [mag] is seen."""
    steps = margin_mag / (width_mag / _LOGISTIC_SD)
    return np.asarray(lapses + (1.0 - 2.0 * lapses) * (0.5 + 0.5 * np.tanh(steps / 2.0)))


def log_likelihood(
    margin_mag: Floats,
    seen: Floats,
    unseen: Floats,
    eyes_mag: Floats,
    width_mag: float,
    *,
    lapses: float = LAPSES,
) -> Floats:
    """Return the logarithm of the likelihood of looks for each of E eyes.

    Parameters
    ----------
    margin_mag : ndarray
        Over the threshold of the ordinary observer [mag], ``(B,)``.
    seen, unseen : ndarray
        How many, or what weight, of the looks with that margin were seen and were not, ``(B,)``.
    eyes_mag : ndarray
        How much deeper each eye sees than the ordinary one [mag], ``(E,)``.
    width_mag : float
        Standard deviation of the margins [mag].
    lapses : float
        Share of seen and of not seen outcomes that have nothing to do with the margin.

    Returns
    -------
    ndarray
        ``(E,)``.
    """
    chance = seen_chance(margin_mag + eyes_mag[:, None], width_mag, lapses=lapses)
    return np.asarray(np.log(chance) @ seen + np.log1p(-chance) @ unseen)


def width_prior() -> Floats:
    """Return what is thought of ``WIDTHS_MAG`` beforehand; their sum is 1."""
    off = np.log(WIDTHS_MAG / WIDTH_MAG) / np.log(WIDTH_FACTOR)
    weight = np.exp(-np.square(off) / 2.0)
    return np.asarray(weight / weight.sum())
