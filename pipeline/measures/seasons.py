"""A season in its weeks and its crops' stages: what lies behind the figures of a period."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

import pyarrow as pa

from pipeline.measures.figures import Readable, indicators
from pipeline.measures.need import crop_values, own_crops
from pipeline.measures.results import create_empty_missing
from pipeline.measures.statements import run_statement

STAGES = ("initial", "development", "mid", "late")


def site_weeks(
    reader: Readable, from_day: date, to_day: date, *, sites: Sequence[str] | None = None
) -> pa.Table:
    """Water pumped and the crops' gross need, a row for each site and week.

    Parameters
    ----------
    reader
        A store's, or any connection with the contract views and result tables.
    from_day, to_day
        Local days, both included; a week begins on a Monday, the first and the last may be cut.
    sites
        Only these; all if left out.

    Returns
    -------
    pyarrow.Table
        site_id, week_from, week_to; water_m3, need_m3; both over the area planted in the period
        [m³/ha]; the share of the week for which each is known and whether that is enough to be judged;
        relative_irrigation_supply and its coverage; long_water_days. Not rounded; NULL: unknown. A
        week's figures are those that `indicators` has of its days.

    Raises
    ------
    FigureError
        Where the period ends before it starts.
    """
    indicators(reader, from_day, to_day, sites=sites)  # leaves what the statement reads
    run_statement(reader.connection, "site_weeks", reader.settings.as_parameters())
    return reader.connection.execute("FROM site_weeks").to_arrow_table()


def planting_stages(
    reader: Readable, from_day: date, to_day: date, *, sites: Sequence[str] | None = None
) -> list[dict[str, Any]]:
    """The plantings that stand in a period, each in its stages.

    Returns
    -------
    list of dict
        site_id, block_id, crop, fallow, planted_on, last_day (NULL: nobody knows), and of each stage
        that touches the period: stage (one of `STAGES`; None for fallow and for a crop whose days
        nobody has told), from_day and to_day, whole (None: goes on).
    """
    create_empty_missing(reader.connection)
    spans = reader.connection.execute(
        """SELECT site_id, block_id, crop, crop_row, fallow, planted_on, last_day FROM planting_spans
           WHERE planted_on <= $to_day AND coalesce(last_day, $to_day) >= $from_day
             AND ($sites IS NULL OR list_contains($sites, site_id))
           ORDER BY site_id, block_id, planted_on, crop""",
        {"from_day": from_day, "to_day": to_day, "sites": None if sites is None else list(sites)},
    ).to_arrow_table()
    own = own_crops(reader.connection)
    return [
        span | stage
        for span in spans.to_pylist()
        for stage in _stages(
            span, None if span["fallow"] else crop_values(span["crop"], own, span["crop_row"])
        )
        if stage["from_day"] <= to_day and (stage["to_day"] is None or stage["to_day"] >= from_day)
    ]


def _stages(span: dict[str, Any], values: Sequence[float | None] | None) -> Iterator[dict[str, Any]]:
    """A planting's stages up to its last day; one without a name where its days aren't told."""
    lengths = [] if values is None else [int(days or 0) for days in values[3:7]]
    last: date | None = span["last_day"]
    if not any(lengths) or last is None:
        yield {"stage": None, "from_day": span["planted_on"], "to_day": last}
        return
    begin: date = span["planted_on"]
    for stage, days in zip(STAGES, lengths, strict=True):
        end = min(begin + timedelta(days=days - 1), last)
        if begin <= end:
            yield {"stage": stage, "from_day": begin, "to_day": end}
        begin += timedelta(days=days)
    if begin <= last:  # cleared later than the crop's days say: its last value holds on
        yield {"stage": None, "from_day": begin, "to_day": last}
