"""What else stands in the field: targets that one look shows beside the one it is for."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from targets.model import Kind, Target

Floats = NDArray[np.float64]

# A target so near the middle of a larger one, in parts of its major axis, is in the field of every
# eyepiece that frames that one; larger ones than this are no single field [arcmin].
INSIDE = 0.55
LARGEST_ARCMIN = 240.0
# What a look of its own at such a target is still worth, of what it would be alone: our choice.
COMPANION_SHARE = 0.4
# How far from the middle still counts as in the field, in parts of the true field, how far above
# the eye's threshold a companion has to be [dex], and how many are named: our choice.
IN_FIELD = 0.45
PLAIN_DEX = 0.2
MOST_NAMED = 3
# Single stars and pairs beside a target are a matter of course.
NEVER_NAMED = {Kind.STAR, Kind.DOUBLE_STAR}
NUMBER = re.compile(r"(?:NGC|IC) [0-9]+[A-Z]?|[A-Z][A-Za-z0-9]*[0-9]\b")


def companion_share(targets: Sequence[Target], wanted: Floats) -> Floats:
    """Give what a look of its own is worth where another target shows this one too.

    Parameters
    ----------
    targets : sequence of Target
        N of them.
    wanted : ndarray
        How much each is wanted, shape (N,).

    Returns
    -------
    ndarray
        1, or less for what stands inside a larger target that is wanted as much, shape (N,).
    """
    major = np.array([target.major_arcmin or 0.0 for target in targets])
    major = np.where(major <= LARGEST_ARCMIN, major, 0.0)
    inside = _separations_arcmin(targets, targets) <= INSIDE * major[None, :]
    smaller = (major[:, None] < major[None, :]) & (wanted[:, None] <= wanted[None, :])
    return np.where((inside & smaller).any(axis=1), COMPANION_SHARE, 1.0)


def in_the_field(
    targets: Sequence[Target], row: int, *, true_field_arcmin: float, margin_dex: Floats
) -> tuple[str, ...]:
    """Name what stands in the field beside the target of a look.

    Parameters
    ----------
    targets : sequence of Target
        N of them.
    row : int
        The one in the middle.
    true_field_arcmin : float
    margin_dex : ndarray
        How far each is above the eye's threshold in that train, shape (N,); nan where unknown.

    Returns
    -------
    tuple of str
        The most plainly seen first.
    """
    apart = _separations_arcmin(targets, [targets[row]])[:, 0]
    near = (apart <= IN_FIELD * true_field_arcmin) & (margin_dex >= PLAIN_DEX)
    near &= np.array([target.kind not in NEVER_NAMED for target in targets], dtype=bool)
    near[row] = False
    rows = np.flatnonzero(near)
    best = rows[np.argsort(-margin_dex[rows], kind="stable")][:MOST_NAMED]
    return tuple(_short_name(targets[int(other)].name) for other in best)


def _short_name(name: str) -> str:
    """Give the number of a target where its name begins with one: ``M32``, ``NGC 206``."""
    number = NUMBER.match(name)
    return number[0] if number else name


def _separations_arcmin(targets: Sequence[Target], others: Sequence[Target]) -> Floats:
    """Give how far each target is from each of some others, (N, M); nan for what moves."""
    dots = _directions(targets) @ _directions(others).T
    return np.asarray(60.0 * np.degrees(np.arccos(np.clip(dots, -1.0, 1.0))))


def _directions(targets: Sequence[Target]) -> Floats:
    """Give unit vectors, (N, 3); nan for what moves."""
    nowhere = np.nan
    ra = np.radians([nowhere if t.ra_deg is None or t.moves else t.ra_deg for t in targets])
    dec = np.radians([nowhere if t.dec_deg is None or t.moves else t.dec_deg for t in targets])
    return np.stack([np.cos(dec) * np.cos(ra), np.cos(dec) * np.sin(ra), np.sin(dec)], axis=1)
