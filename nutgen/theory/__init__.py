"""Formulas of the trade and of physics, numbers in and out, each with its source; arrays go in where numbers do."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]
