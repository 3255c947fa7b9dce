"""What a planting got, what it lacked, and what that is thought to have cost."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import pyarrow as pa

from pipeline.agronomy.yield_response import relative_yield_loss
from pipeline.measures.arrow import floats
from pipeline.measures.crop_rows import leave_crop_values
from pipeline.measures.figures import Readable
from pipeline.measures.ground import leave_ground, leave_roots
from pipeline.measures.results import create_empty_missing
from pipeline.measures.statements import prepare_sums, run_statement

VERDICTS = ("lacked", "perhaps", "spared", "unseen")
WITHOUT = ("crop", "roots", "service", "weather")


def planting_water(
    reader: Readable, from_day: date, to_day: date, *, sites: Sequence[str] | None = None
) -> pa.Table:
    """The water of each planting that stood in a period, from its first day on record.

    Parameters
    ----------
    reader
        A store's, or any connection with the contract views and result tables.
    from_day, to_day
        Local days, both included; nothing after the last one counts.
    sites
        Only these; all if left out.

    Returns
    -------
    pyarrow.Table
        The columns of planting_water.sql, then soil and whether the block names it (else it is the
        programme's), crop_row (as planting_spans has it), stages_of (the row of FAO-56 Table 11 by its
        region and months; NULL: the programme's own values), yield_response [-] and yield_loss_least and
        yield_loss_most [-]: FAO-56 eq. 90 (FAO-33) over the days whose need is known, between the
        wettest and the driest course. NULL: unknown. Ky belongs to a whole season: of a crop that still
        stands it is what the season would lose if all of it went so. Not rounded.
    """
    _leave(reader, from_day, to_day, sites)
    leave_ground(reader.connection, reader.settings)
    leave_crop_values(reader.connection)
    found = reader.connection.execute(
        """SELECT w.*, soil, soil_told, crop_row, stages_of, yield_response
           FROM planting_water w JOIN planting_spans USING (site_id, block_id, crop, planted_on)
           JOIN crop_roots USING (crop, crop_row) JOIN crop_values USING (crop, crop_row) JOIN block_ground USING (site_id, block_id)
           ORDER BY site_id, block_id, planted_on, crop"""
    ).to_arrow_table()
    for bound, drawn in (("least", "etc_adjusted_most_mm"), ("most", "etc_adjusted_least_mm")):
        loss = relative_yield_loss(
            floats(found, drawn), floats(found, "etc_mm"), floats(found, "yield_response")
        )
        found = found.append_column(f"yield_loss_{bound}", pa.array(loss, from_pandas=True))
    return found


def without_balance(
    reader: Readable, from_day: date, to_day: date, *, sites: Sequence[str] | None = None
) -> pa.Table:
    """The plantings that stood in a period and whose water nobody can follow, each with what is missing.

    Returns
    -------
    pyarrow.Table
        site_id, block_id, crop, planted_on, last_day (NULL: nobody knows), and why, one of `WITHOUT`: the
        crop's values or its roots are unknown, the site was not in service, or no weather is known.
    """
    _leave(reader, from_day, to_day, sites)
    asked = {"from_day": from_day, "to_day": to_day, "sites": None if sites is None else list(sites)}
    run_statement(reader.connection, "plantings_without_balance", asked)
    return reader.connection.execute("FROM plantings_without_balance").to_arrow_table()


def verdict(planting: Mapping[str, Any], judged_coverage: float) -> str:
    """Say of a row of `planting_water` whether the crop lacked water, one of `VERDICTS`.

    It surely did where even the wettest course has a day of stress, and was spared where the driest has
    none on any day. Between the two it may have; but nobody can say where irrigation or need is known
    for less of its days than a figure needs to be judged.

    Parameters
    ----------
    planting
        The row.
    judged_coverage
        Share of the time [-] that must be known.

    Examples
    --------
    >>> days = {"days": 10, "need_days": 10, "irrigation_days": 6}
    >>> verdict(days | {"stress_days_least": 1, "stress_days_most": 9}, 0.7)
    'lacked'
    >>> verdict(days | {"stress_days_least": 0, "stress_days_most": 0}, 0.7)
    'spared'
    >>> [verdict(days | {"stress_days_least": 0, "stress_days_most": 4}, known) for known in (0.5, 0.7)]
    ['perhaps', 'unseen']
    """
    if planting["stress_days_least"] > 0:
        return "lacked"
    if planting["stress_days_most"] == 0 and planting["need_days"] == planting["days"]:
        return "spared"
    known = min(planting["irrigation_days"], planting["need_days"]) / planting["days"]
    return "perhaps" if known >= judged_coverage else "unseen"


def _leave(reader: Readable, from_day: date, to_day: date, sites: Sequence[str] | None) -> None:
    """Leave planting_water and crop_roots."""
    create_empty_missing(reader.connection)
    prepare_sums(reader.connection)
    asked = {"from_day": from_day, "to_day": to_day, "sites": None if sites is None else list(sites)}
    run_statement(reader.connection, "planting_water", asked)
    leave_roots(reader.connection)
