"""Run the measures: from the contract's views to the result tables, slice by slice.

Every statement is site-local: it needs its sites' rows and small tables that everybody gets, so a
slice of sites gives the same figures alone as among others.
"""

from collections.abc import Callable, Iterator
from datetime import date

import duckdb
import pyarrow as pa

from pipeline.config import Settings
from pipeline.measures import need
from pipeline.measures.meter_intervals import leave_meter_intervals
from pipeline.measures.results import RESULTS, create_empty
from pipeline.measures.root_zone import leave_root_zone_days
from pipeline.measures.statements import prepare_sums, run_statement
from pipeline.measures.sunlight import leave_sun
from pipeline.store import Store
from pipeline.words import say

LOG = ("telemetry_steps", "log_days", "log_flags", "log_spells", "trusted_steps", "stuck_counters")
SUPPLY = (
    "telemetry_nights",
    "source_meters",
    "supply_segments",
    "logged_supply",
    "lifting_heads",
    "site_supply_days",
)
UPTIME = ("site_thresholds", "log_runs", "stopped_jobs", "service_segments", "outages", "site_days")

LOG_ROWS_AT_ONCE = 1_000_000

Watch = Callable[[int, int], None]


def nobody_watches(_done: int, _of: int) -> None:
    """Show nothing."""


def compute(
    connection: duckdb.DuckDBPyConnection,
    settings: Settings,
    *,
    last_day: date | None = None,
    follow_water: bool = True,
) -> None:
    """Make every result table as a temporary table.

    Parameters
    ----------
    connection
        With a table or view for each table of the contract.
    settings
        The programme's.
    last_day
        No later day exists; if left out, each site's time ends with its own evidence.
    follow_water
        Whether to follow the water under the plantings, which no other result needs; else
        root_zone_days is empty.
    """
    prepare_sums(connection)
    need.compute(connection, settings)
    _compute_supply(connection, settings, settings.as_parameters() | {"last_day": last_day})
    if follow_water:
        leave_root_zone_days(connection, settings)
    else:
        create_empty(connection, "root_zone_days")


def _compute_supply(
    connection: duckdb.DuckDBPyConnection, settings: Settings, parameters: dict[str, object]
) -> None:
    """Make what comes of meters, logs and jobs; empty tables where there is none of them."""
    run_statement(connection, "site_spans", parameters)
    first, last = connection.execute("SELECT min(from_day), max(to_day) FROM site_spans").fetchone() or (
        None,
        None,
    )
    if first is None or last is None:
        for name in ("meter_intervals", "site_days", "outages", "stopped_jobs", "log_spells"):
            create_empty(connection, name)
        return
    run_statement(connection, "site_midnights", parameters)
    leave_meter_intervals(
        connection, settings, leave_sun(connection, settings, *_days(connection, first, last))
    )
    for name in LOG:
        run_statement(connection, name, parameters)
    _tell_stuck(connection)
    for name in (*SUPPLY, *UPTIME):
        run_statement(connection, name, parameters)


def _days(connection: duckdb.DuckDBPyConnection, first: date, last: date) -> tuple[date, date]:
    """The days of the sites and of every reading: one from before a commissioning is judged too."""
    reading = connection.execute("SELECT min(read_day), max(read_day) FROM meter_readings").fetchone()
    oldest, newest = reading or (None, None)
    return min(first, oldest or first), max(last, newest or last)


def _tell_stuck(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave out of every figure the intervals in which a counter stood still while the pump ran."""
    rows = connection.execute(
        """SELECT meter_id, to_at, quantity, CASE WHEN by_log THEN logged_amount END, blocks_amount, other_amount, other_usual
           FROM stuck_counters"""
    ).fetchall()
    if not rows:
        return
    told = pa.table(
        {
            "meter_id": [meter_id for meter_id, *_ in rows],
            "to_at": pa.array([to_at for _, to_at, *_ in rows], pa.timestamp("us")),
            "reason": [_why_stuck(*rest) for _, _, *rest in rows],
        }
    )
    connection.register("told_stuck", told)
    connection.execute("""
        UPDATE meter_intervals i SET valid = false, amount = NULL, verdict = 'stuck', reason = t.reason
        FROM told_stuck t WHERE i.meter_id = t.meter_id AND i.to_at = t.to_at AND i.valid""")
    connection.unregister("told_stuck")


def _why_stuck(quantity: str, logged: float | None, blocks: float | None, other: float, usual: float) -> str:
    """The reason in words: what went on while the counter stood still."""
    own_unit, other_unit = ("m³", "kWh") if quantity == "water" else ("kWh", "m³")
    if logged is not None:
        return say("measures.stuck_by_log", amount=f"{logged:,.1f}", unit=own_unit)
    if blocks is not None:
        return say("measures.stuck_by_blocks", amount=f"{blocks:,.0f}")
    key = f"measures.stuck_{quantity}"
    return say(key, amount=f"{other:,.0f}", usual=f"{usual:,.0f}", unit=other_unit)


def refresh(store: Store, watch: Watch = nobody_watches) -> int:
    """Compute the sites that a load touched, and publish their results; return how many they were."""
    slices = store.dirty_slices()
    if not slices:
        return 0
    store.put_results(_slices(store, slices, watch))
    return sum(map(len, slices.values()))


def _slices(
    store: Store, slices: dict[int, list[str]], watch: Watch
) -> Iterator[tuple[int, list[str], dict[str, pa.Table]]]:
    done, total = 0, sum(map(len, slices.values()))
    for slice_no, sites in slices.items():
        pieces = []
        for some in _by_memory(store, slice_no, sites):
            watch(done, total)
            with store.read(slice_no=slice_no, sites=some) as reader:
                compute(reader.connection, reader.settings)
                pieces.append(
                    {name: reader.connection.execute(_published(name)).to_arrow_table() for name in RESULTS}
                )
            done += len(some)
        yield slice_no, sites, {name: pa.concat_tables([p[name] for p in pieces]) for name in RESULTS}
    watch(total, total)


def _by_memory(store: Store, slice_no: int, sites: list[str]) -> Iterator[list[str]]:
    """A slice's sites, no more at a time than a modest laptop's memory holds the log of."""
    made = store.manifest()
    if made is None:
        return
    rows = sum(part.rows for part in made.of("telemetry") if part.slice_no == slice_no)
    rows_a_site = max(1, rows / made.settings.slice_sites)
    at_once = max(1, int(LOG_ROWS_AT_ONCE / rows_a_site))
    for start in range(0, len(sites), at_once):
        yield sites[start : start + at_once]


def _published(name: str) -> str:
    columns = ", ".join(f'"{column}"' for column in RESULTS[name])
    return f'SELECT {columns} FROM temp."{name}" ORDER BY ALL'  # noqa: S608 - our own names
