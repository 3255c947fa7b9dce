"""Basal crop coefficients of the built-in crops: FAO-56 Table 17, for a sub-humid climate.

`basal_coefficients.csv` comes from the open data of pyfao56 1.4.3 (public domain), which keeps the
middle where FAO-56 prints a range; `table_17_row` names the row.
"""

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import NamedTuple


class Basal(NamedTuple):
    """Kcb of the initial stage, of mid-season and at the end [-]."""

    kcb_ini: float
    kcb_mid: float
    kcb_end: float


@cache
def basal_coefficients() -> Mapping[str, Basal]:
    """Basal coefficients by the name of the built-in crop.

    Examples
    --------
    >>> basal_coefficients()["tomato"]
    Basal(kcb_ini=0.15, kcb_mid=1.1, kcb_end=0.7)
    """
    table = files("pipeline.agronomy").joinpath("basal_coefficients.csv").read_text(encoding="utf-8")
    return MappingProxyType(
        {
            row["crop"]: Basal(*(float(row[name]) for name in Basal._fields))
            for row in csv.DictReader(table.splitlines())
        }
    )
