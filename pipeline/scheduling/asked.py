"""What the store knows of some sites and a week: one question a table, whatever their number."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from pipeline.measures.crop_rows import Own
from pipeline.measures.ground import leave_ground, own_ground
from pipeline.measures.need import crop_values, own_crops
from pipeline.measures.statements import run_statement
from pipeline.store import Reader
from pipeline.visits.facts import leave_coming

Row = dict[str, Any]

SITES = """
    SELECT s.*, l.m3_per_day, l.permit_until FROM sites s LEFT JOIN abstraction_limits l USING (site_id)
    WHERE list_contains($sites::VARCHAR[], site_id) ORDER BY site_id"""
BLOCKS = """
    SELECT b.site_id, b.block_id, b.area_ha, b.irrigation_method, b.design_flow_m3h, g.soil, g.soil_told, g.efficiency
    FROM blocks b LEFT JOIN block_ground g USING (site_id, block_id)
    WHERE list_contains($sites::VARCHAR[], site_id) ORDER BY site_id, block_id"""
NEEDS = "FROM week_needs ORDER BY site_id, block_id, day"
SOIL = "FROM week_soil ORDER BY site_id, block_id"
PLANTINGS = """
    SELECT p.site_id, p.block_id, p.crop, p.planted_on, avg(p.planted_ha) AS planted_ha, avg(p.kc) AS kc,
           any_value(s.area_ha) AS told_ha, any_value(s.crop_row) AS crop_row
    FROM visit_coming_plantings p
    JOIN planting_spans s ON s.site_id = p.site_id AND s.block_id = p.block_id AND s.crop = p.crop AND s.planted_on = p.planted_on
    WHERE NOT p.fallow AND list_contains($sites::VARCHAR[], p.site_id)
    GROUP BY ALL ORDER BY p.site_id, p.block_id, p.planted_on, p.crop"""
FLOWS = "FROM week_flows ORDER BY site_id, month, hour"
SOLAR = """
    SELECT site_id, month(day)::INTEGER AS month, avg(solar_mj_m2) AS solar_mj_m2, count(solar_mj_m2) AS days
    FROM site_weather WHERE list_contains($sites::VARCHAR[], site_id)
    GROUP BY ALL HAVING count(solar_mj_m2) > 0 ORDER BY site_id, month"""
PAUSES = """
    SELECT site_id, from_on, to_on, reason FROM pauses
    WHERE list_contains($sites::VARCHAR[], site_id) AND from_on <= $to_day AND coalesce(to_on, $to_day) >= $from_day
    ORDER BY site_id, from_on, reason"""
STOPS = """
    SELECT site_id, min(timezone(s.zone, timezone('UTC', from_at))::DATE) AS since FROM (
        SELECT site_id, from_at FROM stopped_jobs WHERE to_at IS NULL
        UNION ALL SELECT site_id, from_at FROM outages WHERE to_at IS NULL) o JOIN sites s USING (site_id)
    WHERE list_contains($sites::VARCHAR[], site_id) GROUP BY ALL HAVING since <= $to_day ORDER BY site_id"""
QUERIES = {
    "blocks": BLOCKS, "needs": NEEDS, "soil": SOIL, "plantings": PLANTINGS, "flows": FLOWS, "solar": SOLAR,
    "pauses": PAUSES, "stops": STOPS,
}  # fmt: skip


@dataclass(frozen=True)
class Asked:
    """The rows about one site, each with its column names; `crops` and `ground` are the programme's own."""

    site: Row
    blocks: Sequence[Row]
    needs: Sequence[Row]
    soil: Sequence[Row]
    plantings: Sequence[Row]
    flows: Sequence[Row]
    solar: Sequence[Row]
    pauses: Sequence[Row]
    stops: Sequence[Row]
    crops: Mapping[str, Sequence[float | None]]
    ground: Own


def ask(reader: Reader, sites: Sequence[str], from_day: date, days: int) -> dict[str, Asked]:
    """Return what is known of each site that there is.

    Parameters
    ----------
    reader
        A store's.
    sites
        Their ids.
    from_day
        The first day.
    days
        How many.
    """
    connection, names = reader.connection, list(sites)
    leave_coming(reader, from_day - timedelta(days=1), days, names)
    leave_ground(connection, reader.settings)
    parameters = reader.settings.as_parameters() | {
        "sites": names, "from_day": from_day, "days": days, "months": _months(from_day.month),
    }  # fmt: skip
    for name in ("week_needs", "week_soil", "week_flows"):
        run_statement(connection, name, parameters, package="pipeline.scheduling")
    to_day = from_day + timedelta(days=days - 1)
    asked = {"sites": names, "from_day": from_day, "to_day": to_day}
    tables: dict[str, Any] = {name: _by_site(reader, query, asked) for name, query in QUERIES.items()}
    crops, ground = own_crops(connection), own_ground(connection)
    return {
        site_id: Asked(
            site=rows[0],
            **{name: table[site_id] for name, table in tables.items()},
            crops=crops,
            ground=ground,
        )
        for site_id, rows in _by_site(reader, SITES, asked).items()
    }


def season_values(asked: Asked, crop: str, crop_row: str) -> list[float | None] | None:
    """Return the stages of a crop as written, as `measures.need` has them; None: unknown."""
    return crop_values(crop, {name: list(values) for name, values in asked.crops.items()}, crop_row)


def _months(month: int) -> list[int]:
    """A month and its neighbours."""
    return [(month + step - 1) % 12 + 1 for step in (-1, 0, 1)]


def _by_site(reader: Reader, query: str, parameters: dict[str, object]) -> defaultdict[str, list[Row]]:
    found: defaultdict[str, list[Row]] = defaultdict(list)
    taken = {name: value for name, value in parameters.items() if f"${name}" in query}
    result = reader.connection.execute(query, taken)
    names = [column[0] for column in result.description]
    for values in result.fetchall():
        row = dict(zip(names, values, strict=True))
        found[row["site_id"]].append(row)
    return found
