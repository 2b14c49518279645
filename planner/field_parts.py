"""Takes some of the steps, or some of the targets, of a field."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from planner.field import Field
from planner.visibility import Moment
from planner.windows import SkyTracks, Windows

Part = TypeVar("Part", Moment, SkyTracks, Windows)


def steps_of(field: Field, steps: slice) -> Field:
    """Give some of the steps of a field; its grid stays whole."""
    return replace(
        field,
        tracks=_cut(field.tracks, (..., steps)),
        moments=_cut(field.moments, (..., steps)),
        windows=_cut(field.windows, (..., steps)),
    )


def rows_of_field(field: Field, rows: NDArray[np.intp]) -> Field:
    """Give some of the targets of a field."""
    return replace(
        field,
        targets=tuple(field.targets[row] for row in rows),
        subjects=field.subjects.of_rows(rows),
        tracks=_cut(field.tracks, rows),
        moments=_cut(field.moments, rows),
        windows=_cut(field.windows, rows),
        wanted=field.wanted[rows],
    )


def _cut(part: Part, index: Any) -> Part:
    """Index the arrays; what belongs to all targets, or to all steps, stays as it is."""
    least = 1 if isinstance(index, tuple) else 2
    values = {item.name: getattr(part, item.name) for item in fields(part)}
    return replace(part, **{n: v[index] if np.ndim(v) >= least else v for n, v in values.items()})
