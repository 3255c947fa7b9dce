"""Catch cans: what each survey with cans tells of how evenly the water fell.

A survey stands on a site; on which of its blocks the cans stood is not on record. Days are local, depths mm,
None is unknown.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from math import isnan
from typing import Any

import numpy as np

from pipeline.agronomy.uniformity import HALF, QUARTER, cans_in, evaluate_catch_cans
from pipeline.measures.figures import Readable
from pipeline.measures.statements import run_statement

Row = dict[str, Any]
Rows = list[Row]


def catch_can_surveys(
    reader: Readable, to_day: date, *, sites: Sequence[str] | None = None, newest: bool = False
) -> Rows:
    """Return each survey with cans, the newest first within a site.

    Parameters
    ----------
    reader
        A store's, or any connection with the contract views and result tables.
    to_day
        Surveys of a later day don't exist yet.
    sites
        Only these; all if left out.
    newest
        Only the newest of each site.

    Returns
    -------
    list of dict
        site_id, survey_id, surveyed_on; `depths_mm` in the order read, None a can that was spilt; cans, how many
        were read; mean_depth_mm, low_quarter_mm and low_half_mm, the mean depths of all and of the cans that caught
        least; christiansen, low_quarter, low_half [-], and after each `_reason` why it is None; ranked_mm; `low_cans`,
        the places in depths_mm of the low quarter.
    """
    lay_surveys(reader, to_day, sites)
    return with_cans(reader, "nth_cans = 1" if newest else "has_cans")


def lay_surveys(reader: Readable, to_day: date, sites: Sequence[str] | None) -> None:
    """Leave the table spray_surveys in the connection."""
    parameters = {"to_day": to_day, "sites": None if sites is None else list(sites)}
    run_statement(reader.connection, "spray_surveys", parameters)


def surveys(reader: Readable, condition: str) -> Rows:
    """Return the rows of spray_surveys for which a condition of ours holds, the newest first within a site."""
    # the condition is our own
    query = f"FROM spray_surveys WHERE {condition} ORDER BY site_id, surveyed_on DESC, survey_id DESC"
    return list(reader.connection.execute(query).to_arrow_table().to_pylist())


def with_cans(reader: Readable, condition: str) -> Rows:
    """Return `surveys` with what their cans tell."""
    rows = surveys(reader, condition)
    by_length: dict[int, Rows] = defaultdict(list)
    for row in rows:
        row["depths_mm"] = row.pop("catch_depths_mm")
        by_length[len(row["depths_mm"])].append(row)
    for alike in by_length.values():  # at once, all that have as many cans
        _evaluate(alike)
    return rows


def _evaluate(rows: Rows) -> None:
    depths = np.array([row["depths_mm"] for row in rows], dtype=np.float64)  # None is NaN
    found = evaluate_catch_cans(depths)
    for n, row in enumerate(rows):
        ranked = sorted(depth for depth in row["depths_mm"] if depth is not None)
        mean = float(found.mean[n])
        row |= {"cans": int(found.cans[n]), "mean_depth_mm": mean, "ranked_mm": ranked}
        row["low_cans"] = _lowest(row["depths_mm"], int(cans_in(row["cans"], QUARTER)))
        for name, share in (("christiansen", None), ("low_half", HALF), ("low_quarter", QUARTER)):
            value = known(getattr(found, name)[n])
            row |= {name: value, f"{name}_reason": str(getattr(found, f"{name}_reason")[n])}
            if share is not None:
                row[f"{name}_mm"] = None if value is None else value * mean


def _lowest(depths: Sequence[float | None], count: int) -> list[int]:
    """The places of so many cans that caught least; of two alike the first."""
    read = sorted((depth, place) for place, depth in enumerate(depths) if depth is not None)
    return sorted(place for _, place in read[:count])


def known(value: Any) -> float | None:
    """Return a number of an array; None for NaN."""
    return None if isnan(value) else float(value)
