"""The table of changes: its columns, with what each means."""

from collections.abc import Iterable
from typing import Any

import pyarrow as pa

from pipeline.columns import Column, schema_of
from pipeline.visits.change_rules import WHYS, WINDOW_DAYS

_TEXT, _SHARE, _DAY, _WHOLE = pa.string(), pa.float64(), pa.date32(), pa.int64()
COLUMNS = (
    Column("site_id", _TEXT, "", "the site"),
    Column("direction", _TEXT, "", "worse, better, otherwise, unsaid or same"),
    Column("kind", _TEXT, "", "stopped, silent, less_of_need, new_cause, restored, heard_again, more_of_need, cause_gone, other_cause, came, left, unsaid or same"),
    Column("before_on", _DAY, "", "the earlier local day"),
    Column("now_on", _DAY, "", "the later local day"),
    Column("state_before", _TEXT, "", "stopped, silent, late (as all others are) or heard; empty: not in service"),
    Column("state_now", _TEXT, "", "the same on the later day"),
    Column("cause_before", _TEXT, "", "the most likely cause on the earlier day"),
    Column("cause_now", _TEXT, "", "the most likely cause on the later day"),
    Column("cause_probability", _SHARE, "–", "of the later one"),
    Column("supply_before", _SHARE, "–", f"water over need in the {WINDOW_DAYS} days up to the earlier day; empty: unknown"),
    Column("supply_coverage_before", _SHARE, "–", "share of these days' time that is known"),
    Column("supply_now", _SHARE, "–", f"water over need in the {WINDOW_DAYS} days up to the later day; empty: unknown"),
    Column("supply_coverage_now", _SHARE, "–", "share of these days' time that is known"),
    Column("data_age_days", _WHOLE, "d", "since the newest datum, on the later day"),
    Column("rank", _WHOLE, "", "in the later ranking of visits"),
    Column("value", _SHARE, "ha·d", "what a visit averts, in the later ranking; empty: unknown"),
    Column("evidence", _TEXT, "", "the sentence of the later ranking"),
    Column("unsaid_why", _TEXT, "", "what is missing where nothing can be said: " + ", ".join(WHYS)),
)  # fmt: skip


SCHEMA = schema_of(COLUMNS)


def as_table(rows: Iterable[dict[str, Any]]) -> pa.Table:
    """Return rows as a table of `SCHEMA`, also where there are none."""
    return pa.Table.from_pylist(list(rows), schema=SCHEMA)
