"""A mixed-integer program, handed to HiGHS. Loaded when a week is planned: SciPy takes a second."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

Floats = npt.NDArray[np.float64]
Row = tuple[list[tuple[int, float]], float, float]


def least(costs: Floats, rows: Sequence[Row], upper: Floats, whole: Floats, options: Any) -> Floats | None:
    """Return the variables that cost least; None where the solver was stopped before it had any.

    Parameters
    ----------
    costs, upper, whole : (n,)
        Price of each variable, its upper bound (the lower is 0), and 1 where it is a whole number.
    rows
        Each a sum of variables times factors, its least and its greatest value.
    options
        Of `scipy.optimize.milp`.

    Raises
    ------
    RuntimeError
        Where no limit was given and there is no solution all the same: a mistake of ours.
    """
    at, k, value = zip(*((row, k, v) for row, (of, _, _) in enumerate(rows) for k, v in of), strict=True)
    matrix = csr_array((value, (at, k)), shape=(len(rows), len(costs)))
    limits = LinearConstraint(matrix, [low for _, low, _ in rows], [high for *_, high in rows])
    bounds = Bounds(np.zeros(len(costs)), upper)
    found = milp(costs, integrality=whole.astype(int), bounds=bounds, constraints=limits, options=options)
    if found.x is None and "node_limit" not in options:
        raise RuntimeError(found.message)
    return None if found.x is None else np.asarray(np.maximum(found.x, 0.0), dtype=np.float64)
