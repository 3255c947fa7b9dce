"""The figures of a period: by site, district, agreement or for the whole programme.

Numerators and denominators are summed for each site and period first; a group's ratio is the ratio
of its sums over what is covered.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Literal, Protocol

import duckdb
import pyarrow as pa
import pyarrow.compute as pc

from pipeline.config import Settings
from pipeline.errors import FigureError
from pipeline.measures.indicators import INDICATORS, TARGET_FIGURES, Indicator
from pipeline.measures.results import create_empty_missing
from pipeline.measures.statements import prepare_sums, run_statement
from pipeline.measures.sunlight import leave_unseen_sun
from pipeline.words import say

Group = Literal["site", "district", "agreement", "programme"]
GROUP_COLUMNS = {
    "site": "site_id",
    "district": "district",
    "agreement": "agreement_id",
    "programme": "programme",
}
# in the order of their making: harvested plantings, their blocks' water, both by site
PRODUCTIVITY = ("harvests", "harvest_water", "productivity")


class Readable(Protocol):
    """What figures are read from: the contract views and result tables, and the settings."""

    @property
    def connection(self) -> duckdb.DuckDBPyConnection:
        """Where the tables are."""

    @property
    def settings(self) -> Settings:
        """The programme's."""


def indicators(
    reader: Readable,
    from_day: date,
    to_day: date,
    *,
    by_month: bool = False,
    group: Group = "site",
    sites: Sequence[str] | None = None,
) -> pa.Table:
    """Every indicator, a row for each site (or group) and period.

    Parameters
    ----------
    reader
        A store's, or any connection with the contract views and result tables.
    from_day, to_day
        Local days, both included.
    by_month
        A row for each month, cut at the ends.
    group
        An agreement takes amounts × its share; what no agreement pays for has a line of its own,
        so that all lines sum to the programme (below zero where shares sum to more than 1).
    sites
        Only these; all if left out.

    Returns
    -------
    pyarrow.Table
        site_id, district, agreement_id or programme, then from_day, to_day and
        `INDICATORS` in their order, rounded to their decimals. NULL: unknown.

    Raises
    ------
    FigureError
        Where the period ends before it starts.

    References
    ----------
    Perry, C. J. (1996). Quantification and measurement of a minimum set of indicators of the
    performance of irrigation systems. Molden, D. et al. (1998). IWMI Research Report 20.
    """
    _lay_out(reader, _periods(from_day, to_day, by_month=by_month), group, sites)
    parameters = reader.settings.as_parameters() | {"sites": None if sites is None else list(sites)}
    run_statement(reader.connection, "figures_unseen_days", parameters)
    leave_unseen_sun(reader.connection, reader.settings)
    for name in ("unseen", "block_water", "parts", "served", *PRODUCTIVITY, "waits"):
        run_statement(reader.connection, f"figures_{name}", parameters)
    run_statement(reader.connection, "figures", parameters)
    columns = ", ".join(f'"{figure.name}"' for figure in INDICATORS)
    found = reader.connection.execute(
        f'SELECT group_id AS "{GROUP_COLUMNS[group]}", from_day, to_day, {columns} FROM figures'  # noqa: S608  our own names
    ).to_arrow_table()
    return _rounded(found, INDICATORS)


def target_figures(reader: Readable, agreement_id: str, from_day: date, to_day: date) -> pa.Table:
    """Figures that a target may name beside the indicators, over an agreement's sites.

    Returns
    -------
    pyarrow.Table
        One row: agreement_id, from_day, to_day and `TARGET_FIGURES`. Counts of people and sites
        are whole: they don't take the agreement's share.
    """
    parameters = {"agreement_id": agreement_id, "from_day": from_day, "to_day": to_day}
    prepare_sums(reader.connection)
    run_statement(reader.connection, "figures_target", parameters)
    return _rounded(reader.connection.execute("FROM figures_target").to_arrow_table(), TARGET_FIGURES)


def leave_productivity(reader: Readable, from_day: date, to_day: date, sites: Sequence[str] | None) -> None:
    """Leave what `water_productivity_kg_m3` is made of in the connection.

    These are figure_sites, figure_block_water, figure_harvests, figure_harvest_water and figure_productivity.

    Parameters
    ----------
    reader
        A store's, or any connection with the contract views and result tables.
    from_day, to_day
        Local days, both included.
    sites
        Only these; None: all.
    """
    _lay_out(reader, _periods(from_day, to_day, by_month=False), "site", sites)
    parameters = reader.settings.as_parameters() | {"sites": None if sites is None else list(sites)}
    for name in ("block_water", *PRODUCTIVITY):
        run_statement(reader.connection, f"figures_{name}", parameters)


def _periods(from_day: date, to_day: date, *, by_month: bool) -> list[tuple[date, date]]:
    if to_day < from_day:
        raise FigureError(
            say("measures.period_backwards", start=from_day, end=to_day),
            mend=say("measures.period_backwards_mend"),
        )
    if not by_month:
        return [(from_day, to_day)]
    periods = []
    while from_day <= to_day:
        next_month = (from_day.replace(day=1) + timedelta(days=32)).replace(day=1)
        periods.append((from_day, min(to_day, next_month - timedelta(days=1))))
        from_day = next_month
    return periods


def _lay_out(
    reader: Readable, periods: list[tuple[date, date]], group: Group, sites: Sequence[str] | None
) -> None:
    """Leave figure_periods, figure_sites and figure_groups in the connection."""
    connection = reader.connection
    prepare_sums(connection)
    create_empty_missing(connection)
    connection.execute("CREATE OR REPLACE TEMP TABLE figure_periods (from_day DATE, to_day DATE)")
    connection.executemany("INSERT INTO figure_periods VALUES (?, ?)", periods)
    parameters = reader.settings.as_parameters() | {
        "sites": None if sites is None else list(sites),
        "rest": say("measures.not_under_an_agreement"),
        "programme": say("measures.programme"),
    }
    run_statement(connection, "figures_sites", parameters)
    run_statement(connection, f"figures_by_{group}", parameters)


def _rounded(found: pa.Table, figures: Sequence[Indicator]) -> pa.Table:
    for figure in figures:
        place = found.schema.get_field_index(figure.name)
        exact = found.column(place).cast(pa.float64())
        published = pc.round(exact, ndigits=figure.decimals, round_mode="half_towards_infinity")
        found = found.set_column(place, figure.name, published)
    return found
