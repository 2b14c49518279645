"""Finds the threshold of the observer's own eye from what was seen and what was not.

Every look has a margin: how far the model puts the target above the threshold of the ordinary
observer. The chance that it is seen rises with the margin along a logistic curve; how far that
curve is shifted is the eye's own depth. The width of the curve is known only roughly: catalogue
and sky are a few tenths of a magnitude off, more in a journal that is kept carelessly; it is
averaged out. Against all this stands the guess that the outcomes have nothing to do with the
margins: as far as it explains them as well, the eye stays what it was thought to be.

References
----------
Kingdom and Prins 2016, "Psychophysics", 2nd ed., ch. 4 (the logistic function, its threshold and
lapse rate; Bayesian estimates on a grid). From memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from targets.arrays import Floats
from targets.model import Kind

# Observers of one experience differ by about this much [mag]: our choice.
EYES_SD_MAG = 0.5
# No eye is taken as farther than this from what the stated experience makes of it [mag].
MOST_SHIFT_MAG = 1.5
STEP_MAG = 0.05
# How far margins are off [mag], one standard deviation: its middle, and the factor that is one
# standard deviation about it. Our choice.
WIDTH_MAG, WIDTH_FACTOR = 0.35, 2.0
WIDTHS_MAG = WIDTH_MAG * np.sqrt(2.0) ** np.arange(-3, 5)
# Shares of seen looks, where the margin plays no part.
SHARES = np.linspace(0.02, 0.98, 49)
# Outcomes that have nothing to do with the margin: a wrong key, a cloud. Our choice.
LAPSES = 0.02
# What the same target tells again is no news: its place in the catalogue is off by the same.
MOST_OF_A_TARGET = 3
# With so many different targets a journal begins to count, and with so many it counts in full: one
# night, or one wrong sky, is no experience. So are looks of which almost all came out alike.
FIRST_TARGETS, FULL_TARGETS = 10, 30
FULL_OF_THE_RARER = 3.0
# What tells nothing about the threshold: pairs are parted by the telescope, and the rest is bright.
NO_MEASURE = frozenset(
    {
        Kind.DOUBLE_STAR,
        Kind.PLANET,
        Kind.MOON,
        Kind.LUNAR_FEATURE,
        Kind.COMET,
        Kind.ASTEROID,
        Kind.OTHER,
    }
)
# Standard deviation of the logistic distribution with a scale of one.
_LOGISTIC_SD = np.pi / np.sqrt(3.0)


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """N looks that tell something about the eye.

    Parameters
    ----------
    margin_mag : ndarray
        Of the target over the threshold of the ordinary observer [mag].
    seen : ndarray
        1 for seen, 0 for not seen, 0.5 for suspected.
    targets : sequence of str
        What was looked at; equal words for the same target.
    """

    margin_mag: Floats
    seen: Floats
    targets: Sequence[str]


@dataclass(frozen=True, slots=True)
class EyeFit:
    """Mean and standard deviation of how much deeper an eye sees than the ordinary one [mag].

    ``trust`` is the chance that the outcomes follow the margins, 0 .. 1; 0 for too few looks.
    ``width_mag`` is how far margins are off, one standard deviation [mag].
    """

    mean_mag: float
    sd_mag: float
    trust: float
    width_mag: float = WIDTH_MAG


def fit_eye(judged: Judged, *, stated_mag: float = 0.0) -> EyeFit:
    """Find how deep an eye sees.

    Parameters
    ----------
    judged : Judged
    stated_mag : float
        What is thought of the eye beforehand [mag]: the middle of the prior, which is normal with
        a standard deviation of ``EYES_SD_MAG``.

    Returns
    -------
    EyeFit
        Of the posterior, within ``MOST_SHIFT_MAG`` of what was thought before; that and the
        prior's own standard deviation as long as ``trust`` is 0.
    """
    weights = look_weights(judged.targets)
    weights *= _fullness(judged, weights)
    eyes_mag = stated_mag + np.arange(-MOST_SHIFT_MAG, MOST_SHIFT_MAG + STEP_MAG / 2.0, STEP_MAG)
    prior = np.exp(-np.square((eyes_mag - stated_mag) / EYES_SD_MAG) / 2.0)
    off = np.log(WIDTHS_MAG / WIDTH_MAG) / np.log(WIDTH_FACTOR)
    width_prior = np.exp(-np.square(off) / 2.0)
    like = _alike(judged, weights)
    by_width = [log_likelihood(*like, eyes_mag, width) for width in WIDTHS_MAG]
    by_chance = _log_by_chance(judged, weights)
    most = max(np.max(by_width), by_chance.max())
    likely = np.exp(np.array(by_width) - most)
    curve = width_prior @ likely / width_prior.sum() * prior / prior.sum()
    chance = np.exp(by_chance - most).mean()
    told = float(curve.sum() / (curve.sum() + chance))
    belief = told * curve / curve.sum() + (1.0 - told) * prior / prior.sum()
    mean = float(belief @ eyes_mag)
    sd = float(np.sqrt(belief @ np.square(eyes_mag - mean)))
    of_width = width_prior * (likely @ prior)
    width = float(of_width @ WIDTHS_MAG / of_width.sum()) if of_width.any() else WIDTH_MAG
    return EyeFit(mean, sd, told if weights.any() else 0.0, width)


def _alike(judged: Judged, weights: Floats) -> tuple[Floats, Floats, Floats]:
    """Put looks of nearly the same margin together: their margin, weight of seen and not seen."""
    steps, inverse = np.unique(np.rint(judged.margin_mag / STEP_MAG), return_inverse=True)
    seen, unseen = (
        np.bincount(inverse, weights * part, len(steps)).astype(float)
        for part in (judged.seen, 1.0 - judged.seen)
    )
    return steps * STEP_MAG, seen, unseen


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


def seen_chance(
    margin_mag: Floats, width_mag: float = WIDTH_MAG, *, lapses: float = LAPSES
) -> Floats:
    """Return the chance that a target so far above the eye's own threshold [mag] is seen."""
    steps = margin_mag / (width_mag / _LOGISTIC_SD)
    return np.asarray(lapses + (1.0 - 2.0 * lapses) * (0.5 + 0.5 * np.tanh(steps / 2.0)))


def look_weights(targets: Sequence[str]) -> Floats:
    """Return the weight of each look, so that no target counts more than a few times."""
    _, inverse, counts = np.unique(
        np.array(targets, dtype=np.str_), return_inverse=True, return_counts=True
    )
    return np.asarray(np.minimum(1.0, MOST_OF_A_TARGET / counts[inverse]), dtype=float)


def _log_by_chance(judged: Judged, weights: Floats) -> Floats:
    """Return the logarithm of the likelihood for each of ``SHARES``, whatever the margins."""
    seen, unseen = weights @ judged.seen, weights @ (1.0 - judged.seen)
    return np.asarray(seen * np.log(SHARES) + unseen * np.log1p(-SHARES))


def _fullness(judged: Judged, weights: Floats) -> float:
    """Return how far a journal counts, 0 .. 1; see ``FULL_TARGETS`` and ``FULL_OF_THE_RARER``."""
    rarer = min(weights @ judged.seen, weights @ (1.0 - judged.seen)) / FULL_OF_THE_RARER
    targets = (len(set(judged.targets)) - FIRST_TARGETS) / (FULL_TARGETS - FIRST_TARGETS)
    return float(np.clip(targets, 0.0, 1.0) * min(1.0, rarer))
