"""Takes some of the steps, or some of the targets, of a roster."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.matcher.visibility import Moment
from planner.planning.roster import Roster
from planner.planning.windows import SkyTracks, Windows

Part = TypeVar("Part", Moment, SkyTracks, Windows)


def steps_of(roster: Roster, steps: slice) -> Roster:
    """Give some of the steps of a roster; its grid stays whole."""
    return replace(
        roster,
        tracks=_cut(roster.tracks, (..., steps)),
        moments=_cut(roster.moments, (..., steps)),
        windows=_cut(roster.windows, (..., steps)),
    )


def rows_of_roster(roster: Roster, rows: NDArray[np.intp]) -> Roster:
    """Give some of the targets of a roster."""
    return replace(
        roster,
        targets=tuple(roster.targets[row] for row in rows),
        subjects=roster.subjects.of_rows(rows),
        tracks=_cut(roster.tracks, rows),
        moments=_cut(roster.moments, rows),
        windows=_cut(roster.windows, rows),
        wanted=roster.wanted[rows],
    )


def _cut(part: Part, index: Any) -> Part:
    """Index the arrays; what belongs to all targets, or to all steps, stays as it is."""
    least = 1 if isinstance(index, tuple) else 2
    values = {item.name: getattr(part, item.name) for item in fields(part)}
    return replace(part, **{n: v[index] if np.ndim(v) >= least else v for n, v in values.items()})
