"""Through what a target is plain, so that it is found as soon as one looks there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.matcher.lens import Moment
from planner.matcher.target_classes import target_table_of
from planner.matcher.visibility import margins_dex
from planner.planning.circumstances import Circumstances
from planner.planning.finding.instruments import Instruments
from planner.planning.finding.star_sky import PLAIN_MAG
from targets.arrays import Flags
from targets.model import Kind, Target

# Of what has an area, the same margin in light as of a star.
PLAIN_DEX = 0.4 * PLAIN_MAG
ON_THE_MOON = (Kind.MOON, Kind.LUNAR_FEATURE)


def plain_through(
    targets: Sequence[Target],
    moment: Moment,
    circumstances: Circumstances,
    instruments: Instruments,
) -> Flags:
    """Tell which targets are plain to the eye, in the finder and in the low eyepiece.

    Parameters
    ----------
    targets : sequence of Target
        N of them. A pair counts as the one star that it is at low power.
    moment : Moment
        The sky behind each, arrays of shape (N, 1).

    Returns
    -------
    ndarray of bool
        ``(N, 3)``.
    """
    whole = [
        replace(target, kind=Kind.STAR) if target.kind is Kind.DOUBLE_STAR else target
        for target in targets
    ]
    margin = margins_dex(
        target_table_of(whole, circumstances.preferences),
        moment,
        instruments.lens(circumstances.telescope.aperture_mm),
        circumstances.preferences,
    )
    on_moon = np.array([target.kind in ON_THE_MOON for target in targets], dtype=bool)
    return np.asarray((np.nan_to_num(margin, nan=-np.inf) >= PLAIN_DEX) | on_moon[:, None])
