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
    """Index the arrays; those of the steps alone, shape (T,), have no rows to take from."""
    arrays = {item.name: getattr(part, item.name) for item in fields(part)}
    by_row = not isinstance(index, tuple)
    return replace(
        part,
        **{name: a if by_row and a.ndim == 1 else a[index] for name, a in arrays.items()},
    )
