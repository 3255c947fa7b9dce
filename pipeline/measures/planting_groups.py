"""The water under plantings that no meter tells apart, as one field day by day and week by week."""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

import pyarrow as pa

from pipeline.measures.figures import Readable
from pipeline.measures.results import create_empty_missing
from pipeline.measures.statements import prepare_sums, run_statement


class PlantingGroups(NamedTuple):
    """Rows of planting_group_days.sql and of planting_group_weeks.sql; not rounded, NULL: unknown."""

    days: pa.Table
    weeks: pa.Table


def planting_groups(
    reader: Readable, from_day: date, to_day: date, *, sites: Sequence[str] | None = None
) -> PlantingGroups:
    """The plantings that stood in a period, in groups, from their first day on record to the last day asked for.

    Where blocks share one meter nobody knows which of them got the water, so plantings of one crop and
    one day on it are one group. A planting with water of its own is a group by itself.

    Parameters
    ----------
    reader
        A store's, or any connection with the contract views and result tables.
    from_day, to_day
        Local days, both included.
    sites
        Only these; all if left out.
    """
    create_empty_missing(reader.connection)
    prepare_sums(reader.connection)
    asked = {"from_day": from_day, "to_day": to_day, "sites": None if sites is None else list(sites)}
    run_statement(reader.connection, "planting_group_days", asked)
    run_statement(reader.connection, "planting_group_weeks", {})
    days, weeks = (
        reader.connection.execute(f"FROM planting_group_{each}").to_arrow_table()
        for each in ("days", "weeks")
    )
    return PlantingGroups(days, weeks)
