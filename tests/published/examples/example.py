"""One printed figure, and how we come to it."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True)
class Example:
    """A figure, or several of a kind, that somebody printed.

    Attributes
    ----------
    source
        Publication, example or table, page.
    what
        In words, with what is given.
    printed
        As printed: one, or several in the order of `what`.
    unit
        Of all of them.
    tolerance
        How far ours may lie from the print: half of its last digit unless the remark says why more.
    ours
        Computes them.
    remark
        Where the print is off, read off a figure, or known from memory.
    decimals
        Of the print, where a number can't tell: 2 for 2.30.
    """

    source: str
    what: str
    printed: float | tuple[float, ...]
    unit: str
    tolerance: float
    ours: Callable[[], npt.ArrayLike]
    remark: str = ""
    decimals: int | None = None

    def expected(self) -> npt.NDArray[np.float64]:
        """Return what is printed, (n,)."""
        return np.atleast_1d(np.asarray(self.printed, dtype=np.float64))

    def computed(self) -> npt.NDArray[np.float64]:
        """Return what we compute, (n,)."""
        return np.atleast_1d(np.asarray(self.ours(), dtype=np.float64)).ravel()

    def difference(self) -> float:
        """Return how far ours lie from the print, at most."""
        return float(np.abs(self.computed() - self.expected()).max())


@dataclass(frozen=True)
class Group:
    """Examples of one subject."""

    title: str
    examples: tuple[Example, ...]
