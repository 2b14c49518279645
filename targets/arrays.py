"""The types of arrays that all modules speak of."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Codes = NDArray[np.intp]
Numbers: TypeAlias = float | Floats  # one value, or an array of them
