"""The kinds of array that agronomy takes and gives."""

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Floats: TypeAlias = npt.NDArray[np.float64]
FloatsLike: TypeAlias = npt.ArrayLike
Days: TypeAlias = npt.NDArray[np.datetime64]
Flags: TypeAlias = npt.NDArray[np.bool_]
