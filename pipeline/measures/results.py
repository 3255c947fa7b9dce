"""The result tables: what the measures publish, each column with its type.

Measures fill them, the store publishes them and shows an empty one until it has, figures read them.
Days are local days, instants UTC, a share is 0–1, NULL is unknown.
"""

from collections.abc import Mapping
from types import MappingProxyType

import duckdb

RESULTS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        # what a meter counted between two successive readings; amount NULL: not to be trusted
        "meter_intervals": {
            "site_id": "VARCHAR",
            "meter_id": "VARCHAR",
            "quantity": "VARCHAR",  # water, energy
            "block_id": "VARCHAR",  # NULL: a meter at the source
            "from_at": "TIMESTAMP",
            "to_at": "TIMESTAMP",
            "from_value": "DOUBLE",
            "to_value": "DOUBLE",
            "amount": "DOUBLE",  # m³ or kWh
            "valid": "BOOLEAN",
            "verdict": "VARCHAR",
            "reason": "VARCHAR",
            "days": "DOUBLE",
        },
        # what a site pumped, used and could deliver in a day; a cover is a share of its 24 hours
        "site_days": {
            "site_id": "VARCHAR",
            "day": "DATE",
            "in_service": "BOOLEAN",
            "water_m3": "DOUBLE",
            "water_cover": "DOUBLE",
            "long_water_m3": "DOUBLE",  # of intervals too long for a month, not in water_m3
            "long_water_cover": "DOUBLE",
            "longest_interval_days": "DOUBLE",
            "energy_kwh": "DOUBLE",
            "energy_cover": "DOUBLE",
            "long_energy_kwh": "DOUBLE",
            "long_energy_cover": "DOUBLE",
            "both_water_m3": "DOUBLE",  # over the time that both cover, the pump alone on the meter
            "both_energy_kwh": "DOUBLE",
            "both_hydraulic_kwh": "DOUBLE",  # NULL: no head known
            "both_cover": "DOUBLE",
            "blocks_water_m3": "DOUBLE",
            "service_h": "DOUBLE",
            "up_h": "DOUBLE",
            "down_h": "DOUBLE",
            "unknown_h": "DOUBLE",
            "paused": "BOOLEAN",
        },
        # time without water, in one piece; to_at NULL: still open
        "outages": {
            "site_id": "VARCHAR",
            "from_at": "TIMESTAMP",
            "to_at": "TIMESTAMP",
            "from_day": "DATE",
            "to_day": "DATE",
            "down_h": "DOUBLE",  # service hours, whole length
            "evidence": "VARCHAR",  # job, log
            "record_id": "VARCHAR",
        },
        # stretches in which a site's log can't be taken at its word; to_at NULL: since then
        "log_spells": {
            "site_id": "VARCHAR",
            "from_at": "TIMESTAMP",
            "to_at": "TIMESTAMP",
            "verdict": "VARCHAR",  # dead, frozen, clock_off, silent
            "shift_h": "DOUBLE",  # how far its clock is ahead; below 0: behind
        },
        # when jobs say that the water had stopped, overlapping ones in one
        "stopped_jobs": {
            "site_id": "VARCHAR",
            "from_at": "TIMESTAMP",
            "to_at": "TIMESTAMP",  # NULL: nothing has shown an end
            "record_id": "VARCHAR",
        },
        "site_weather": {
            "site_id": "VARCHAR",
            "day": "DATE",
            "tmin_c": "DOUBLE",
            "tmax_c": "DOUBLE",
            "rh_mean_pct": "DOUBLE",
            "wind_2m_ms": "DOUBLE",
            "solar_mj_m2": "DOUBLE",
            "rain_mm": "DOUBLE",
            "et0_mm": "DOUBLE",
            "distance_km": "DOUBLE",  # to the nearest station used
        },
        # how long each planting stands; last_day NULL: nobody knows, so to the end
        "planting_spans": {
            "site_id": "VARCHAR",
            "block_id": "VARCHAR",
            "crop": "VARCHAR",
            "planted_on": "DATE",
            "last_day": "DATE",
            "fallow": "BOOLEAN",
            "known": "BOOLEAN",  # whether the crop's values are known
            "area_ha": "DOUBLE",  # as reported
            "crop_row": "VARCHAR",  # of FAO-56 Table 11, by region and months; empty: default or own values
        },
        # the need of a block on a day; depths are means over its planted area
        "block_days": {
            "site_id": "VARCHAR",
            "block_id": "VARCHAR",
            "day": "DATE",
            "block_ha": "DOUBLE",
            "planted_ha": "DOUBLE",
            "kc": "DOUBLE",
            "etc_mm": "DOUBLE",
            "effective_rain_mm": "DOUBLE",
            "net_need_mm": "DOUBLE",
            "other_net_need_mm": "DOUBLE",  # by the rule of rain that is not in force
            "need_m3": "DOUBLE",  # gross: over the application efficiency
            "known": "BOOLEAN",  # a known crop, or fallow, is on record
            "fallow": "BOOLEAN",
        },
        "site_need_days": {
            "site_id": "VARCHAR",
            "day": "DATE",
            "known": "BOOLEAN",
            "need_m3": "DOUBLE",
            "net_need_m3": "DOUBLE",
            "other_net_need_m3": "DOUBLE",  # by the rule of rain that is not in force
            "effective_rain_m3": "DOUBLE",
            "planted_ha": "DOUBLE",
            "cropping_share": "DOUBLE",  # of the blocks' area that has a crop or fallow on record
            "distance_km": "DOUBLE",
        },
        # the water in the root zone of a planting at the end of a day, as wet and as dry as it can have
        # been: one where all is known. Plantings of an unknown crop have none. A hundredth of a millimetre is
        # more than anybody knows, so half the bytes will do
        "root_zone_days": {
            "site_id": "VARCHAR",
            "block_id": "VARCHAR",
            "crop": "VARCHAR",
            "planted_on": "DATE",
            "day": "DATE",
            "planted_ha": "FLOAT",
            "etc_mm": "FLOAT",
            "rain_mm": "FLOAT",  # without what is gone by evening
            "irrigation_mm": "FLOAT",  # net, at the field; NULL: no meter speaks for the day
            "blocks_on_water": "INTEGER",  # among which it was spread evenly; 1: a meter of its own
            "taw_mm": "FLOAT",
            "raw_mm": "FLOAT",
            "depletion_wettest_mm": "FLOAT",
            "depletion_driest_mm": "FLOAT",
            "ks_wettest": "FLOAT",
            "ks_driest": "FLOAT",
            "etc_adjusted_wettest_mm": "FLOAT",
            "etc_adjusted_driest_mm": "FLOAT",
            "deep_percolation_wettest_mm": "FLOAT",  # NULL: there is no most
            "deep_percolation_driest_mm": "FLOAT",
        },
    }
)


def create_empty(connection: duckdb.DuckDBPyConnection, name: str, *, temporary: bool = True) -> None:
    """Make a result table without rows, in place of one that is there."""
    columns = ", ".join(f'"{column}" {sql_type}' for column, sql_type in RESULTS[name].items())
    kind = "TEMP TABLE" if temporary else "TABLE"
    connection.execute(f'CREATE OR REPLACE {kind} "{name}" ({columns})')


def create_empty_missing(connection: duckdb.DuckDBPyConnection, *, temporary: bool = True) -> None:
    """Make every result table that a store has not published yet, so that all can be read.

    What is temporary only its own connection sees, and none of its cursors.
    """
    there = {
        row[0] for row in connection.execute("SELECT table_name FROM information_schema.tables").fetchall()
    }
    for name in RESULTS:
        if name not in there:
            create_empty(connection, name, temporary=temporary)
