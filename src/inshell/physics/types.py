"""Names for the values that physics functions take and give."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = Any  # a float or an array of floats; numpy broadcasts, and results keep the shape
Floats: TypeAlias = NDArray[np.float64]
