"""What a planting got, what it lacked, and what that is thought to have cost."""

from collections.abc import Sequence
from datetime import date

import numpy as np
import pyarrow as pa

from pipeline.agronomy.arrays import Floats
from pipeline.agronomy.yield_response import relative_yield_loss
from pipeline.measures.figures import Readable
from pipeline.measures.ground import leave_roots
from pipeline.measures.results import create_empty_missing
from pipeline.measures.statements import prepare_sums, run_statement


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
        The columns of planting_water.sql, then crop_row (as planting_spans has it), yield_response [-] and yield_loss_least and
        yield_loss_most [-]: FAO-56 eq. 90 (FAO-33) over the days whose need is known, between the
        wettest and the driest course. NULL: unknown. Ky belongs to a whole season: of a crop that still
        stands it is what the season would lose if all of it went so. Not rounded.
    """
    create_empty_missing(reader.connection)
    prepare_sums(reader.connection)
    asked = {"from_day": from_day, "to_day": to_day, "sites": None if sites is None else list(sites)}
    run_statement(reader.connection, "planting_water", asked)
    leave_roots(reader.connection)
    found = reader.connection.execute(
        """SELECT w.*, crop_row, yield_response
           FROM planting_water w JOIN planting_spans USING (site_id, block_id, crop, planted_on)
           JOIN crop_roots USING (crop, crop_row)
           ORDER BY site_id, block_id, planted_on, crop"""
    ).to_arrow_table()
    for bound, drawn in (("least", "etc_adjusted_most_mm"), ("most", "etc_adjusted_least_mm")):
        loss = relative_yield_loss(
            _column(found, drawn), _column(found, "etc_mm"), _column(found, "yield_response")
        )
        found = found.append_column(f"yield_loss_{bound}", pa.array(loss, from_pandas=True))
    return found


def _column(table: pa.Table, name: str) -> Floats:
    return np.asarray(table.column(name).to_numpy(zero_copy_only=False), dtype=np.float64)
