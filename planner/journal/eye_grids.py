"""Likelihoods of eyes on grids: at glows by at stars, with what each telescope passes.

The axes of a grid are, in this order, the width of the margins (W), how deep the eye is at glows
(G) and at stars (S). Where the two are not told apart there is one eye, and S is 1.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.journal.eye_chance import WIDTHS_MAG, log_likelihood
from targets.arrays import Codes, Flags, Floats
from targets.frozen import frozen

STEP_MAG = 0.05
# What one eye reaches at stars and at glows differs by about this much, and what a telescope passes
# from what is stated of it [mag]: our choice (old mirrors and dew against fresh ones).
KINDS_SD_MAG, GLASS_SD_MAG = 0.25, 0.2
GLASS_MAG = np.linspace(-0.6, 0.6, 9)
# Stars and glows, and telescopes, are told apart from so many different targets of each on.
FEWEST_OF_A_PART = 10
GLOWS, STARS = 0, 1


@frozen(eq=False)
class JudgedLooks:
    """N looks that tell something about the eye.

    Parameters
    ----------
    margin_mag : ndarray
        Of the target over the threshold of the ordinary observer [mag].
    seen : ndarray
        1 for seen, 0 for not seen, 0.5 for suspected.
    targets : sequence of str
        What was looked at; equal words for the same target.
    by_stars : ndarray of bool, optional
        Whether it shows as stars and not as a glow; left out, all are taken for one kind.
    telescopes : sequence of str, optional
        Names; empty where unknown. Left out, all are taken for one.
    glass_slope : ndarray, optional
        By how much the margin rises when the telescope passes a magnitude more of the light [mag].
        Left out, telescopes are not told apart.
    """

    margin_mag: Floats
    seen: Floats
    targets: Sequence[str]
    by_stars: Flags | None = None
    telescopes: Sequence[str] = ()
    glass_slope: Floats | None = None

    def of_rows(self, rows: Codes) -> JudgedLooks:
        """Return some of the looks."""
        return JudgedLooks(
            self.margin_mag[rows],
            self.seen[rows],
            [self.targets[row] for row in rows.tolist()],
            None if self.by_stars is None else self.by_stars[rows],
            [self.telescopes[row] for row in rows.tolist()] if self.telescopes else (),
            None if self.glass_slope is None else self.glass_slope[rows],
        )


@frozen(eq=False)
class EyeGrid:
    """What looks say of eyes.

    Parameters
    ----------
    log : ndarray
        Logarithm of their likelihood, ``(W, G, S)``.
    glass : dict of str to ndarray
        By telescope that of what it passes, ``(W, F, G, S)`` with F of ``GLASS_MAG``; the prior of
        what it passes is in it.
    """

    log: Floats
    glass: dict[str, Floats]


def kinds_apart(judged: JudgedLooks) -> Codes | None:
    """Return ``GLOWS`` or ``STARS`` for each look; None where either has too few."""
    if judged.by_stars is None:
        return None
    kinds = np.where(judged.by_stars, STARS, GLOWS)
    names = np.array(judged.targets, dtype=np.str_)
    fewest = min(len(np.unique(names[kinds == kind])) for kind in (GLOWS, STARS))
    return kinds if fewest >= FEWEST_OF_A_PART else None


def eye_grid(judged: JudgedLooks, weights: Floats, eyes_mag: Floats) -> EyeGrid:
    """Work the likelihoods out.

    Parameters
    ----------
    weights : ndarray
        Of the looks.
    eyes_mag : ndarray
        How much deeper each eye sees than the ordinary one [mag], evenly spaced; the same for
        glows and stars.
    """
    kinds = kinds_apart(judged)
    told_apart = _telescopes_apart(judged)
    names = np.array(judged.telescopes if told_apart else [""] * len(judged.seen), dtype=np.str_)
    shape = (len(WIDTHS_MAG), len(eyes_mag), 1 if kinds is None else len(eyes_mag))
    total, by_glass = np.zeros(shape), {}
    marginals = {}
    for name in dict.fromkeys(names.tolist()):
        rows = np.flatnonzero(names == name)
        glass_mag = GLASS_MAG if name in told_apart else np.zeros(1)
        log = _of_telescope(judged, weights, rows, kinds, eyes_mag, glass_mag)
        prior = np.exp(-np.square(glass_mag / GLASS_SD_MAG) / 2.0)
        log += np.log(prior / prior.sum())[:, None, None]
        marginals[name] = np.logaddexp.reduce(log, axis=1)
        total += marginals[name]
        if name in told_apart:
            by_glass[name] = log
    beside = {name: (total - marginals[name])[:, None] for name in by_glass}
    return EyeGrid(total, {name: log + beside[name] for name, log in by_glass.items()})


def _telescopes_apart(judged: JudgedLooks) -> frozenset[str]:
    """Name the telescopes with enough looks; none where there are not two of them."""
    if judged.glass_slope is None:
        return frozenset()
    targets: dict[str, set[str]] = {}
    for name, target in zip(judged.telescopes, judged.targets, strict=True):
        targets.setdefault(name, set()).add(target)
    enough = [name for name, at in targets.items() if name and len(at) >= FEWEST_OF_A_PART]
    return frozenset(enough if len(enough) > 1 else ())


def _of_telescope(
    judged: JudgedLooks,
    weights: Floats,
    rows: Codes,
    kinds: Codes | None,
    eyes_mag: Floats,
    glass_mag: Floats,
) -> Floats:
    """Return the likelihoods of the looks through one telescope, ``(W, F, G, S)``."""
    parts = [rows] if kinds is None else [rows[kinds[rows] == k] for k in (GLOWS, STARS)]
    logs = [_shifted(judged, weights, part, eyes_mag, glass_mag) for part in parts]
    if kinds is None:
        return logs[0][..., None]
    return np.asarray(logs[GLOWS][..., :, None] + logs[STARS][..., None, :])


def _shifted(
    judged: JudgedLooks, weights: Floats, rows: Codes, eyes_mag: Floats, glass_mag: Floats
) -> Floats:
    """Return the likelihoods of eyes for what the telescope passes, ``(W, F, E)``."""
    slope = 0.0
    if judged.glass_slope is not None and rows.size:
        slope = float(judged.glass_slope[rows].mean())
    beyond = int(np.ceil(abs(slope) * np.abs(glass_mag).max() / STEP_MAG)) * STEP_MAG
    steps = len(eyes_mag) + 2 * round(beyond / STEP_MAG)
    wide_mag = np.linspace(eyes_mag[0] - beyond, eyes_mag[-1] + beyond, steps)
    like = _alike(judged, weights, rows)
    return np.array(
        [
            [np.interp(eyes_mag + slope * mag, wide_mag, log) for mag in glass_mag]
            for log in (log_likelihood(*like, wide_mag, width) for width in WIDTHS_MAG)
        ]
    )


def _alike(judged: JudgedLooks, weights: Floats, rows: Codes) -> tuple[Floats, Floats, Floats]:
    """Put looks of nearly the same margin together: their margin, weight of seen and not seen."""
    steps, inverse = np.unique(np.rint(judged.margin_mag[rows] / STEP_MAG), return_inverse=True)
    seen, unseen = (
        np.bincount(inverse, weights[rows] * part[rows], len(steps)).astype(float)
        for part in (judged.seen, 1.0 - judged.seen)
    )
    return steps * STEP_MAG, seen, unseen
