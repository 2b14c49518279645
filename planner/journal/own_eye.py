"""Finds the threshold of the observer's own eye from what was seen and what was not.

Every look has a margin: how far the model puts the target above the threshold of the ordinary
observer. The chance that it is seen rises with the margin along a logistic curve; how far that
curve is shifted is the eye's own depth. The width of the curve is known only roughly: catalogue
and sky are a few tenths of a magnitude off, more in a journal that is kept carelessly; it is
averaged out. Against all this stands the guess that the outcomes have nothing to do with the
margins: as far as it explains them as well, the eye stays what it was thought to be.

An eye may be better at stars than at glows, and a telescope may pass more or less light than is
stated. Where there are enough looks of each they have shifts of their own, thought to be small.

References
----------
Kingdom and Prins 2016, "Psychophysics", 2nd ed., ch. 4 (the logistic function, its threshold and
lapse rate; Bayesian estimates on a grid). From memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

import numpy as np

from planner.journal.eye_chance import WIDTH_MAG, WIDTHS_MAG, width_prior
from planner.journal.eye_grids import (
    GLASS_MAG,
    GLASS_SD_MAG,
    KINDS_SD_MAG,
    STARS,
    STEP_MAG,
    EyeGrid,
    JudgedLooks,
    eye_grid,
    kinds_apart,
)
from targets.arrays import Floats
from targets.frozen import frozen
from targets.model import Kind

# Observers of one experience differ by about this much [mag]: our choice.
EYES_SD_MAG = 0.5
# No eye is taken as farther than this from what the stated experience makes of it, nor from the
# ordinary one [mag].
MOST_SHIFT_MAG = 1.5
# Shares of seen looks, where the margin plays no part.
SHARES = np.linspace(0.02, 0.98, 49)
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


@frozen
class PartFit:
    """Mean and standard deviation [mag] of something of which so many looks tell."""

    mean_mag: float
    sd_mag: float
    looks: int


@frozen
class EyeFit:
    """Mean and standard deviation of how much deeper an eye sees than the ordinary one [mag].

    Parameters
    ----------
    mean_mag, sd_mag : float
        At stars and glows in the proportion of the looks.
    trust : float
        The chance that the outcomes follow the margins, 0 .. 1; 0 for too few looks.
    width_mag : float
        How far margins are off, one standard deviation [mag].
    stars, glows : PartFit or None
        The same eye at either; None where they are not told apart.
    glass : mapping of str to PartFit
        By how much more light than is stated telescopes pass [mag], by their names.
    """

    mean_mag: float
    sd_mag: float
    trust: float
    width_mag: float = WIDTH_MAG
    stars: PartFit | None = None
    glows: PartFit | None = None
    glass: Mapping[str, PartFit] = field(default_factory=dict)


def fit_eye(
    judged: JudgedLooks,
    *,
    stated_mag: float = 0.0,
    sd_mag: float = EYES_SD_MAG,
    is_part: bool = False,
) -> EyeFit:
    """Find how deep an eye sees.

    Parameters
    ----------
    stated_mag : float
        What is thought of the eye beforehand [mag]: the middle of the prior, which is normal.
    sd_mag : float
        Standard deviation of that [mag].
    is_part : bool
        Whether the looks are part of a journal that counts in full.

    Returns
    -------
    EyeFit
        Of the posterior, within ``MOST_SHIFT_MAG`` of what was thought before and of the ordinary
        eye; what was thought before as long as ``trust`` is 0.

    Notes
    -----
    All is on grids, see `planner.journal.eye_grids`: for the eye what telescopes pass is averaged
    out, for a telescope the eye.
    """
    weights = look_weights(judged.targets)
    if not is_part:
        weights *= _fullness(judged, weights)
    eyes_mag = stated_mag + np.arange(-MOST_SHIFT_MAG, MOST_SHIFT_MAG + STEP_MAG / 2.0, STEP_MAG)
    grid = eye_grid(judged, weights, eyes_mag)
    prior = _eyes_prior(eyes_mag - stated_mag, sd_mag, is_split=grid.log.shape[2] > 1)
    by_chance = _log_by_chance(judged, weights)
    most = max(grid.log.max(), by_chance.max())
    likely = np.exp(grid.log - most)
    widths = width_prior()
    curve = np.tensordot(widths, likely, axes=1) * prior
    chance = np.exp(by_chance - most).mean()
    told = float(curve.sum() / (curve.sum() + chance))
    belief = told * curve / curve.sum() + (1.0 - told) * prior
    of_width = widths * (likely * prior).sum(axis=(1, 2))
    width = float(of_width @ WIDTHS_MAG / of_width.sum()) if of_width.any() else WIDTH_MAG
    trust = told if weights.any() else 0.0
    glass = _glass(grid, judged, prior, trust)
    kinds = kinds_apart(judged)
    if kinds is None:
        return EyeFit(*_moments(belief, eyes_mag, 0.0), trust, width, glass=glass)
    stars = int((kinds == STARS).sum())
    return EyeFit(
        *_moments(belief, eyes_mag, stars / len(kinds)),
        trust,
        width,
        PartFit(*_moments(belief, eyes_mag, 1.0), stars),
        PartFit(*_moments(belief, eyes_mag, 0.0), len(kinds) - stars),
        glass,
    )


def _eyes_prior(shifts_mag: Floats, sd_mag: float, *, is_split: bool) -> Floats:
    """Return what is thought beforehand, at glows by at stars, ``(G, S)``; the sum is 1.

    Either is normal, and so is their difference: two that hang together.
    """
    glows, stars = np.meshgrid(shifts_mag, shifts_mag if is_split else [0.0], indexing="ij")
    if not is_split:
        log = -np.square(glows / sd_mag) / 2.0
    else:
        # The mean of the two has what is left of the variance of each.
        mean_variance = sd_mag**2 - KINDS_SD_MAG**2 / 4.0
        middle, apart = (glows + stars) / 2.0, glows - stars
        log = -np.square(middle) / mean_variance / 2.0 - np.square(apart / KINDS_SD_MAG) / 2.0
    weight = np.exp(log)
    return np.asarray(weight / weight.sum())


def _moments(belief: Floats, eyes_mag: Floats, star_share: float) -> tuple[float, float]:
    """Return mean and standard deviation of an eye at so many stars among glows [mag]."""
    depth = (1.0 - star_share) * eyes_mag[:, None] + star_share * eyes_mag[None, :]
    depth = depth[:, : belief.shape[1]] if star_share else eyes_mag[:, None]
    mean = float((belief * depth).sum())
    sd = float(np.sqrt((belief * np.square(depth - mean)).sum()))
    return float(np.clip(mean, -MOST_SHIFT_MAG, MOST_SHIFT_MAG)), sd


def _glass(grid: EyeGrid, judged: JudgedLooks, prior: Floats, trust: float) -> dict[str, PartFit]:
    """Return by how much more light than is stated the telescopes pass that are told apart."""
    fits = {}
    thought = np.exp(-np.square(GLASS_MAG / GLASS_SD_MAG) / 2.0)
    for name, log in grid.glass.items():
        likely = np.exp(log - log.max())
        curve = np.einsum("w,wfgs,gs->f", width_prior(), likely, prior)
        belief = trust * curve / curve.sum() + (1.0 - trust) * thought / thought.sum()
        mean = float(belief @ GLASS_MAG)
        sd = float(np.sqrt(belief @ np.square(GLASS_MAG - mean)))
        fits[name] = PartFit(mean, sd, list(judged.telescopes).count(name))
    return fits


def look_weights(targets: Sequence[str]) -> Floats:
    """Return the weight of each look, so that no target counts more than a few times."""
    _, inverse, counts = np.unique(
        np.array(targets, dtype=np.str_), return_inverse=True, return_counts=True
    )
    return np.asarray(np.minimum(1.0, MOST_OF_A_TARGET / counts[inverse]), dtype=float)


def _log_by_chance(judged: JudgedLooks, weights: Floats) -> Floats:
    """Return the logarithm of the likelihood for each of ``SHARES``, whatever the margins."""
    seen, unseen = weights @ judged.seen, weights @ (1.0 - judged.seen)
    return np.asarray(seen * np.log(SHARES) + unseen * np.log1p(-SHARES))


def _fullness(judged: JudgedLooks, weights: Floats) -> float:
    """Return how far a journal counts, 0 .. 1; see ``FULL_TARGETS`` and ``FULL_OF_THE_RARER``."""
    rarer = min(weights @ judged.seen, weights @ (1.0 - judged.seen)) / FULL_OF_THE_RARER
    targets = (len(set(judged.targets)) - FIRST_TARGETS) / (FULL_TARGETS - FIRST_TARGETS)
    return float(np.clip(targets, 0.0, 1.0) * min(1.0, rarer))
