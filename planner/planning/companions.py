"""Targets that one field of the kit shows together: who leads, and who is only named."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from targets.arrays import Codes, Floats
from targets.model import Kind, Target
from targets.sphere import angles_of_all_deg, unit_vectors

# A target so near the middle of a larger one, in parts of its major axis, is in the field of every
# eyepiece that frames that one; larger ones than this are no single field [arcmin].
INSIDE = 0.55
LARGEST_ARCMIN = 240.0
# What a look of its own at such a target is still worth, of what it would be alone: our choice.
COMPANION_SHARE = 0.25
# So near to each other are two targets of one look, at most, however wide the field [arcmin]; from
# this share of the other's worth on a companion makes a look worth more, by this factor.
MOST_APART_ARCMIN = 60.0
WORTHY_COMPANION, COMPANION_GAIN = 0.5, 1.1
# Of two that are worth nearly the same the brighter one leads, by this share of its worth for each
# magnitude above the second number: our choice.
LEADS_PER_MAG, FAINT_MAG = 0.05, 10.0
# How far from the middle still counts as in the field, in parts of the true field, how far above
# the eye's threshold a companion has to be [dex], and how many are named: our choice.
IN_FIELD = 0.45
PLAIN_DEX = 0.2
MOST_NAMED = 3
# Single stars and pairs beside a target are a matter of course.
NEVER_NAMED = {Kind.STAR, Kind.DOUBLE_STAR}
NUMBER = re.compile(r"(?:NGC|IC) [0-9]+[A-Z]?|[A-Z][A-Za-z0-9]*[0-9]\b")


def companion_share(targets: Sequence[Target], leader: Codes, worth: Floats) -> Floats:
    """Return what is left of the worth of a look of its own where another look shows a target too.

    Parameters
    ----------
    targets, leader, worth
        As for `seconds`.

    Returns
    -------
    ndarray
        Shape (N,): 1; less for what is seen with another target, and nothing for what gets a view
        of its own in that look, which is worth a little more for it.
    """
    share = np.where(leader >= 0, COMPANION_SHARE, 1.0)
    second = seconds(targets, leader, worth)
    share[list(second)], share[list(second.values())] = COMPANION_GAIN, 0.0
    return share


def seconds(targets: Sequence[Target], leader: Codes, worth: Floats) -> dict[int, int]:
    """Return the best companion of each target that has one of half its worth or more, by rows.

    Parameters
    ----------
    targets : sequence of Target
        N of them; single stars and pairs are companions of nothing.
    leader : ndarray of int
        From `leaders`, shape (N,).
    worth : ndarray
        Of a look at each, shape (N,).
    """
    worthy = np.flatnonzero((leader >= 0) & (worth >= WORTHY_COMPANION * worth[leader]))
    worthy = worthy[np.argsort(worth[worthy], kind="stable")]
    glows = [row for row in worthy.tolist() if targets[row].kind not in NEVER_NAMED]
    return {int(leader[row]): row for row in glows}


def leaders(targets: Sequence[Target], worth: Floats, *, field_arcmin: float = 0.0) -> Codes:
    """Find in whose look each target is seen: of two in one field it is that of the worthier one.

    Parameters
    ----------
    targets : sequence of Target
        N of them.
    worth : ndarray
        Of a look at each, shape (N,).
    field_arcmin : float
        The widest true field of the kit.

    Returns
    -------
    ndarray of int
        Row of the target that leads, -1 for what stands for itself; shape (N,). What leads
        has no leader.
    """
    major = np.array([target.major_arcmin or 0.0 for target in targets])
    major = np.where(major <= LARGEST_ARCMIN, major, 0.0)
    apart = _separations_arcmin(targets, targets)
    # A star leads nothing, and is led only by what it stands in.
    is_star = np.array([target.kind in NEVER_NAMED for target in targets], dtype=bool)
    low_field = min(IN_FIELD * field_arcmin, MOST_APART_ARCMIN)
    one_field = (apart <= low_field) & ~is_star[:, None] & ~is_star
    near = one_field | (apart <= INSIDE * np.maximum(major[:, None], major))
    near &= np.tri(len(targets), k=-1, dtype=bool)
    leader = np.full(len(targets), -1, dtype=np.intp)
    magnitude = np.array([FAINT_MAG if t.magnitude is None else t.magnitude for t in targets])
    before = np.lexsort((-major, -worth * (1.0 + LEADS_PER_MAG * (FAINT_MAG - magnitude))))
    rank = np.empty_like(before)
    rank[before] = np.arange(len(before))
    pairs = [
        (row, other) if rank[row] > rank[other] else (other, row)
        for row, other in np.argwhere(near).tolist()
    ]
    for row, other in sorted(pairs, key=lambda pair: (rank[pair[1]], rank[pair[0]])):
        if leader[row] < 0 and leader[other] < 0 and not is_star[other] and worth[other] > 0.0:
            leader[row] = other
    return leader


def in_the_field(
    targets: Sequence[Target],
    row: int,
    *,
    true_field_arcmin: float,
    margin_dex: Callable[[NDArray[np.intp]], Floats],
) -> tuple[str, ...]:
    """Name what stands in the field beside the target of a look.

    Parameters
    ----------
    targets : sequence of Target
        N of them.
    row : int
        The one in the middle.
    margin_dex : callable
        Tells of M rows how far they are above the eye's threshold in that train, shape (M,); nan
        where unknown. It is asked only of what is in the field.

    Returns
    -------
    tuple of str
        The most plainly seen first.
    """
    apart = _separations_arcmin(targets, [targets[row]])[:, 0]
    near = apart <= IN_FIELD * true_field_arcmin
    near[row] = False
    rows = np.array(
        [one for one in np.flatnonzero(near).tolist() if targets[one].kind not in NEVER_NAMED],
        dtype=np.intp,
    )
    if not rows.size:
        return ()
    margins = margin_dex(rows)
    best = np.argsort(-margins, kind="stable")[: np.count_nonzero(margins >= PLAIN_DEX)]
    return tuple(short_name(targets[int(rows[place])].name) for place in best[:MOST_NAMED])


def short_name(name: str) -> str:
    """Return the number of a target where its name begins with one: ``M32``, ``NGC 206``."""
    number = NUMBER.match(name)
    return number[0] if number else name


def _separations_arcmin(targets: Sequence[Target], others: Sequence[Target]) -> Floats:
    """Return how far each target is from each of some others, (N, M); nan for what moves."""
    return 60.0 * angles_of_all_deg(_directions(targets), _directions(others))


def _directions(targets: Sequence[Target]) -> Floats:
    """Return unit vectors, (N, 3); nan for what moves."""
    nowhere = np.nan
    ra = [nowhere if t.ra_deg is None or t.moves else t.ra_deg for t in targets]
    dec = [nowhere if t.dec_deg is None or t.moves else t.dec_deg for t in targets]
    return unit_vectors(ra, dec)
