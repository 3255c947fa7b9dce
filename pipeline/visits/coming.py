"""The need of the days to come, from the plantings' own dates and stages.

The measures' own statements run once more, on a connection of their own: over days that have not come
yet, with the evapotranspiration and the share of rain of the last days known. What will be planted
nobody knows: a block without a crop then has no need on record.
"""

from collections.abc import Sequence
from datetime import date

import duckdb

from pipeline.config import Settings
from pipeline.measures.arrow import leave_table
from pipeline.measures.ground import leave_ground
from pipeline.measures.need import leave_crops
from pipeline.measures.statements import prepare_sums, run_statement

# Everything that the statements read, of the plantings that stand on a day to come
COPIED = {
    "sites": "SELECT site_id, commissioned_on, decommissioned_on FROM sites",
    "blocks": "SELECT site_id, block_id, area_ha, soil, application_efficiency, irrigation_method FROM blocks",
    "planting_spans": "SELECT * FROM planting_spans WHERE last_day IS NULL OR last_day > $as_of::DATE",
    "crop_rows": "SELECT DISTINCT crop, crop_row FROM planting_spans WHERE last_day IS NULL OR last_day > $as_of::DATE",
    "crops": "SELECT * FROM crops",
    "visit_weather": "SELECT * FROM visit_weather",
}
BY_SITE = frozenset({"sites", "blocks", "planting_spans", "visit_weather"})
# A day's rain is not foreseen; its share of the crops' use is taken to go on
DAYS = """
    CREATE TEMP TABLE weather AS
    SELECT $as_of::DATE + k::INTEGER AS day FROM generate_series(1, $horizon_days) g(k);
    CREATE TEMP TABLE site_weather AS
    SELECT site_id, day, et0_mm, 0.0 AS rain_mm, 0.0 AS distance_km FROM visit_weather, weather;
    CREATE TEMP TABLE need_kc_ini (site_id VARCHAR, block_id VARCHAR, crop VARCHAR, planted_on DATE, kc_departure DOUBLE)"""
DRAWN = """
    CREATE TEMP TABLE block_rain AS
    SELECT d.site_id, d.block_id, d.day, d.etc_mm * w.rain_share AS drawn_mm, drawn_mm AS by_roots_mm
    FROM block_demand d JOIN visit_weather w USING (site_id)"""


LEFT = {  # what comes of it, under the names that it gets in the connection
    "visit_coming": """SELECT site_id, day, if(known, need_m3, NULL) AS need_m3, planted_ha FROM site_need_days
                       ORDER BY site_id, day""",
    "visit_coming_blocks": "FROM block_days ORDER BY site_id, block_id, day",
    "visit_coming_plantings": "FROM planting_days ORDER BY site_id, block_id, planted_on, crop, day",
}


def leave_coming_need(
    connection: duckdb.DuckDBPyConnection,
    settings: Settings,
    as_of: date,
    tables: Sequence[str],
    sites: Sequence[str] | None = None,
) -> None:
    """Leave the need of sites, and where asked for of their blocks and plantings, in the connection.

    Parameters
    ----------
    connection
        With the contract's tables, the results and visit_weather.
    settings
        The programme's; horizon_days says how many days.
    as_of
        The day before the first.
    tables
        Which of `LEFT` are wanted: at many sites blocks and plantings are many rows.
    sites
        Only these; all if left out.

    Notes
    -----
    visit_coming has (site_id, day, need_m3, planted_ha); need_m3 [m³] is gross, NULL on days on which
    no crop is on record or the weather is unknown. visit_coming_blocks has the columns of block_days,
    visit_coming_plantings those of planting_days.
    """
    with duckdb.connect() as ahead:
        for name, query in COPIED.items():
            parameters: dict[str, object] = {"as_of": as_of} if "$as_of" in query else {}
            if sites is None or name not in BY_SITE:
                only = query
            else:
                only = f"SELECT * FROM ({query}) WHERE list_contains($sites, site_id)"  # noqa: S608 - our own names
                parameters["sites"] = list(sites)
            rows = connection.execute(only, parameters).to_arrow_table()
            ahead.register("copied", rows)
            ahead.execute(f'CREATE TABLE "{name}" AS FROM copied')
        prepare_sums(ahead)
        leave_crops(ahead)
        for statement in DAYS.split(";"):
            taken = {"as_of": as_of, "horizon_days": settings.horizon_days} if "$as_of" in statement else {}
            ahead.execute(statement, taken)
        run_statement(ahead, "planting_days", {})
        run_statement(ahead, "block_demand", {})
        leave_ground(ahead, settings)
        ahead.execute(DRAWN)
        for name in ("block_days", "site_need_days"):
            run_statement(ahead, name, settings.as_parameters())
        found = {name: ahead.execute(LEFT[name]).to_arrow_table() for name in tables}
    for name, rows in found.items():
        leave_table(connection, name, rows)
