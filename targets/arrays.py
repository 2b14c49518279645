"""The types of arrays that all modules speak of, and the runs of flags."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.intp]
Numbers: TypeAlias = float | Floats  # one value, or an array of them


def runs_of(flags: Flags) -> list[tuple[int, int]]:
    """Return where each run of True begins, and the step after its end, in an array ``(T,)``."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int))).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))
