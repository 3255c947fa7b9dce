"""What only other rows show: flaws across tables, misplaced sites, repeats of an earlier version.

They are looked for when a sheet's rows are in the store: parents are always there before their
children, so what is found doesn't hang on the order of the files.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from duckdb import DuckDBPyConnection

from pipeline.agronomy.crops import FALLOW, built_in_crops, crop_name, plain_name
from pipeline.tables import Table

STAGES = ("ini_days", "dev_days", "mid_days", "late_days")

# A point in several districts, or on their common line, lies in the one that its row says, else in
# the smaller name.
MISPLACED = """
    WITH lying AS (
        SELECT s.site_id, s.name, s.district AS said, min(d.district) AS found,
               coalesce(bool_or(d.district = s.district), false) AS as_said, s._source, s._line
        FROM sites s LEFT JOIN districts d ON ST_Intersects(d.geometry, s.geom)
        GROUP BY ALL
    )
    SELECT * FROM lying
    WHERE (SELECT count(*) FROM districts) > 0 AND (found IS NULL OR said IS NOT NULL AND NOT as_said)"""

BROUGHT = "(SELECT s.* FROM settled s JOIN fates USING (_arrival) WHERE fate IN ('taken', 'corrected'))"

Search = Callable[[DuckDBPyConnection], None]


def look(connection: DuckDBPyConnection, table: Table) -> None:
    """Leave `crossed` (_source, _line, column, value, rule, fate): what the sheet's rows showed."""
    connection.execute("""
        CREATE OR REPLACE TEMP TABLE crossed
        (_source INTEGER, _line BIGINT, "column" VARCHAR, value VARCHAR, rule VARCHAR, fate VARCHAR)""")
    connection.execute(f"""
        INSERT INTO crossed
        SELECT _source, _line, '{table.key[0]}', NULL, 'equals_earlier', 'note'
        FROM settled JOIN fates USING (_arrival) WHERE fate = 'earlier' ORDER BY _arrival""")
    connection.execute("""
        INSERT INTO crossed
        SELECT _source, _line, "column", value, 'before_start', 'flaw' FROM early_finishes ORDER BY ALL""")
    for search in SEARCHES.get(table.name, ()):
        search(connection)


def _readings_without_a_meter_in_place(connection: DuckDBPyConnection) -> None:
    connection.execute("""
        INSERT INTO crossed
        WITH outside AS MATERIALIZED (  -- few, and found before the fates are asked for
            SELECT r._arrival, r._source, r._line, r.read_day
            FROM settled r JOIN meters m ON m.meter_id = r.meter_id
            WHERE r.read_day < m.installed_on OR r.read_day > m.removed_on
        )
        SELECT _source, _line, 'read_at', read_day::VARCHAR, 'meter_not_in_place', 'flaw'
        FROM outside JOIN fates USING (_arrival) WHERE fate IN ('taken', 'corrected') ORDER BY _arrival""")


def look_at_readings(connection: DuckDBPyConnection, readings: str, load_no: int) -> None:
    """Add to `crossed` the stored readings that a correction of their meter's days put outside of them.

    Parameters
    ----------
    readings : str
        SQL of the stored readings.
    load_no : int
        The load: its corrections left the meters' versions of before in `meters_past`.
    """
    connection.execute(
        f"""
        INSERT INTO crossed
        SELECT DISTINCT r._source, r._line, 'read_at', r.read_day::VARCHAR, 'meter_not_in_place', 'flaw'
        FROM {readings} r JOIN meters m ON m.meter_id = r.meter_id
        JOIN meters_past p ON p.meter_id = m.meter_id AND p._until_load = ?
        WHERE (r.read_day < m.installed_on OR r.read_day > m.removed_on)
          AND NOT coalesce(r.read_day < p.installed_on OR r.read_day > p.removed_on, false)
        ORDER BY ALL""",
        [load_no],
    )


def _unknown_crops(connection: DuckDBPyConnection) -> None:
    _leave_crop_seasons(connection)
    connection.execute(f"""
        INSERT INTO crossed
        SELECT _source, _line, 'crop', crop, 'unknown_crop', 'flaw'
        FROM {BROUGHT} JOIN crop_seasons USING (crop) WHERE season_days IS NULL AND NOT fallow ORDER BY _arrival""")


def _leave_crop_seasons(connection: DuckDBPyConnection) -> None:
    """Leave `crop_seasons` (crop as written, fallow, season_days: NULL where nobody knows the crop)."""
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE crop_seasons (crop VARCHAR, fallow BOOLEAN, season_days INTEGER)"
    )
    stages = connection.execute(f"SELECT crop, {' + '.join(STAGES)} FROM crops ORDER BY crop").fetchall()
    own = {plain_name(crop): int(days) for crop, days in stages}
    for (crop,) in connection.execute("SELECT DISTINCT crop FROM plantings ORDER BY crop").fetchall():
        connection.execute(
            "INSERT INTO crop_seasons VALUES (?, ?, ?)",
            [crop, plain_name(crop) == FALLOW, _season_days(crop, own)],
        )


def _season_days(crop: str, own: Mapping[str, int]) -> int | None:
    if plain_name(crop) in own:
        return own[plain_name(crop)] or None  # stages without a day tell nothing
    name = crop_name(crop)
    return None if name is None else sum(int(getattr(built_in_crops()[name], stage)) for stage in STAGES)


def _areas_over_the_block(connection: DuckDBPyConnection) -> None:
    _note_areas(connection, BROUGHT)


def _blocks_under_their_areas(connection: DuckDBPyConnection) -> None:
    """A block whose area was corrected may be too small for the plantings that are there."""
    _note_areas(connection, f"plantings SEMI JOIN {BROUGHT} USING (site_id, block_id)")


def _note_areas(connection: DuckDBPyConnection, plantings: str) -> None:
    """Of the plantings that stand on one day, the latest of `plantings` bears the flaw.

    The sum of areas is largest on the first day of one of them.
    """
    _leave_crop_seasons(connection)
    connection.execute(f"""
        INSERT INTO crossed
        WITH brought AS (SELECT site_id, block_id, _source, _line FROM {plantings}),
        spans AS (
            SELECT p.site_id, p.block_id, p.crop, p.planted_on, p.area_ha, p._source, p._line,
                   coalesce(CASE WHEN p.cleared_on IS NOT NULL THEN p.cleared_on - 1
                                 WHEN fallow THEN (lead(p.planted_on) OVER of_block) - 1
                                 ELSE p.planted_on + season_days - 1 END, DATE '9999-12-31') AS last_day
            FROM plantings p JOIN crop_seasons c ON c.crop = p.crop
            SEMI JOIN brought b ON b.site_id = p.site_id AND b.block_id = p.block_id
            WINDOW of_block AS (PARTITION BY p.site_id, p.block_id ORDER BY p.planted_on, p.crop)
        ),
        first_days AS (SELECT DISTINCT site_id, block_id, planted_on AS day FROM spans),
        standing AS (
            SELECT s.*, day, sum(area_ha) OVER (PARTITION BY s.site_id, s.block_id, day) AS all_ha
            FROM first_days d JOIN spans s ON s.site_id = d.site_id AND s.block_id = d.block_id
                                          AND day BETWEEN s.planted_on AND s.last_day
        ),
        bearing AS (
            SELECT s._source, s._line, s.area_ha
            FROM standing s JOIN blocks k ON k.site_id = s.site_id AND k.block_id = s.block_id
            JOIN (SELECT DISTINCT _source, _line FROM brought) b ON b._source = s._source AND b._line = s._line
            WHERE all_ha > 1.1 * k.area_ha AND s.area_ha > 0
            QUALIFY row_number() OVER (PARTITION BY s.site_id, s.block_id, day
                                       ORDER BY s.planted_on DESC, s.crop DESC) = 1
        )
        SELECT DISTINCT _source, _line, 'area_ha', area_ha::VARCHAR, 'area_over_block', 'flaw'
        FROM bearing ORDER BY ALL""")


def _misplaced_sites(connection: DuckDBPyConnection) -> None:
    _note_misplaced(connection, f"JOIN (SELECT site_id FROM {BROUGHT}) USING (site_id)")


def _sites_that_new_districts_miss(connection: DuckDBPyConnection) -> None:
    (new,) = connection.execute(f"SELECT count(*) FROM {BROUGHT}").fetchone() or (0,)
    if new:
        _note_misplaced(connection, "")


def _note_misplaced(connection: DuckDBPyConnection, which: str) -> None:
    """Only a note: the row stands as it is, for nobody knows whether point or district is wrong."""
    connection.execute(f"""
        INSERT INTO crossed
        SELECT DISTINCT _source, _line, 'district', said,
               if(found IS NULL, 'outside_districts', 'other_district'), 'note'
        FROM ({MISPLACED}) {which} ORDER BY ALL""")


SEARCHES: Mapping[str, tuple[Search, ...]] = MappingProxyType(
    {
        "meter_readings": (_readings_without_a_meter_in_place,),
        "blocks": (_blocks_under_their_areas,),
        "plantings": (_unknown_crops, _areas_over_the_block),
        "sites": (_misplaced_sites,),
        "districts": (_sites_that_new_districts_miss,),
    }
)
