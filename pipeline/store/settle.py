"""From typed rows to settled ones: whose site it is, what waits for a parent, which instant it was.

Works on the temporary table `arrivals` (columns of `schema.held_definition`): rows whose parent has
not come are moved to the table's `_held`, the rest become the temporary table `settled`.
"""

from duckdb import DuckDBPyConnection

from pipeline.store import schema
from pipeline.tables import Kind, Parent, Table

FOLDED = "lower(regexp_replace(trim({0}), '\\s+', ' ', 'g'))"


def resolve_sites(connection: DuckDBPyConnection, table: Table) -> None:
    """Put the site's id where an alias or the name that only one site has was written."""
    if table.name == "sites" or "site_id" not in table.by_name:
        return
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE resolved AS
        WITH written AS (
            SELECT DISTINCT site_id AS name FROM arrivals ANTI JOIN sites USING (site_id)
        ),
        aliased AS (
            SELECT name, a.site_id FROM written JOIN site_aliases a ON a.alias = name
        ),
        named AS (
            SELECT written.name, any_value(s.site_id) AS site_id
            FROM written JOIN sites s ON {FOLDED.format("s.name")} = {FOLDED.format("written.name")}
            GROUP BY written.name HAVING count(*) = 1
        )
        SELECT name, site_id FROM aliased
        UNION ALL SELECT name, site_id FROM named WHERE name NOT IN (SELECT name FROM aliased)""")
    connection.execute(
        "UPDATE arrivals SET site_id = resolved.site_id FROM resolved WHERE arrivals.site_id = resolved.name"
    )


def _waiting(parent: Parent) -> str:
    """SQL of the arrivals for which one parent has not come."""
    ours = " AND ".join(f'a."{own}" IS NOT NULL' for own, _ in parent.columns)
    pairs = " AND ".join(f'p."{theirs}" = a."{own}"' for own, theirs in parent.columns)
    return f'SELECT _arrival FROM arrivals a WHERE {ours} AND NOT EXISTS (SELECT 1 FROM "{parent.table}" p WHERE {pairs})'


def waits_for(table: Table) -> str:
    """Return SQL of the positions of arrivals that wait for a parent."""
    return " UNION ".join(_waiting(parent) for parent in table.parents) or "SELECT 0 WHERE false"


def hold(connection: DuckDBPyConnection, table: Table) -> tuple[int, int]:
    """Move the arrivals that wait to the table's `_held`; return how many are new and known there.

    The same row twice is one row: the second is unchanged.
    """
    connection.execute(f"CREATE OR REPLACE TEMP TABLE waiting AS {waits_for(table)}")
    (count,) = connection.execute("SELECT count(*) FROM waiting").fetchone() or (0,)
    if not count:
        return 0, 0
    held = f'"{table.name}_held"'
    cells = _identity(table)
    same = " AND ".join(_same_cell(name, kind) for name, kind in cells)
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE held_anew AS
        SELECT min(_arrival) AS _arrival FROM arrivals a SEMI JOIN waiting USING (_arrival)
        WHERE NOT EXISTS (SELECT 1 FROM {held} h WHERE {same})
        GROUP BY {", ".join(_grouping(name, kind) for name, kind in cells)}""")
    connection.execute(
        f"INSERT INTO {held} BY NAME SELECT * FROM arrivals SEMI JOIN held_anew USING (_arrival)"
    )
    connection.execute("DELETE FROM arrivals WHERE _arrival IN (SELECT _arrival FROM waiting)")
    (anew,) = connection.execute("SELECT count(*) FROM held_anew").fetchone() or (0,)
    return anew, count - anew


def _identity(table: Table) -> list[tuple[str, Kind]]:
    """What two waiting rows must share to be one: their cells, whose clock a time is on, what is to be cleared."""
    cells = [(c.name, c.kind) for c in table.columns]
    cells += [(f"{c.name}__utc", Kind.CHOICE) for c in table.instants]
    return [*cells, ("_cleared", Kind.NAMES), ("_extra", Kind.TEXT)]


def _grouping(name: str, kind: Kind) -> str:
    return f'ST_AsWKB("{name}")' if kind is Kind.GEOMETRY else f'"{name}"'


def _same_cell(name: str, kind: Kind) -> str:
    left, right = (f"ST_AsWKB({x})" if kind is Kind.GEOMETRY else x for x in (f'h."{name}"', f'a."{name}"'))
    return f"{left} IS NOT DISTINCT FROM {right}"


def release(connection: DuckDBPyConnection, table: Table) -> int:
    """Make the held rows whose parents have come the arrivals; return how many they are."""
    held = f'"{table.name}_held"'
    if not connection.execute(f"SELECT 1 FROM {held} LIMIT 1").fetchone():
        return 0
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE places AS
        SELECT rowid AS place, row_number() OVER (ORDER BY _load, _source, _arrival) AS _arrival FROM {held}""")
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE arrivals AS
        SELECT h.* EXCLUDE (_arrival), p._arrival FROM {held} h JOIN places p ON p.place = h.rowid""")
    resolve_sites(connection, table)
    connection.execute(f"DELETE FROM arrivals WHERE _arrival IN ({waits_for(table)})")
    connection.execute(
        f"DELETE FROM {held} WHERE rowid IN (SELECT place FROM places JOIN arrivals USING (_arrival))"
    )
    (count,) = connection.execute("SELECT count(*) FROM arrivals").fetchone() or (0,)
    return int(count)


def _zone_join(table: Table) -> tuple[str, str]:
    """SQL of an arrival's time zone, and of the joins that it takes."""
    if table.zone == "programme":
        return "$timezone", ""
    meter = "LEFT JOIN meters m ON m.meter_id = a.meter_id " if table.zone == "meter" else ""
    site = "m.site_id" if table.zone == "meter" else "a.site_id"
    return "coalesce(s.timezone, $timezone)", f"{meter}LEFT JOIN sites s ON s.site_id = {site}"


def settle(connection: DuckDBPyConnection, table: Table, timezone: str) -> None:
    """Make `settled` from `arrivals`: moments as UTC with their local day, places as points.

    A zone's offset is looked up once a quarter of an hour and zone: asking for every row takes
    eighty times as long.
    """
    point = ["ST_Point(a.longitude, a.latitude) AS geom"] if table.name in schema.POINTS else []
    plain = [f'a."{c.name}"' for c in table.columns if c.kind is not Kind.INSTANT]
    tail = ["a._cleared", "a._source", "a._line", "a._load", "a._extra", "a._arrival"]
    if not table.instants:
        connection.execute(
            f"CREATE OR REPLACE TEMP TABLE settled AS SELECT {', '.join(plain + point + tail)} FROM arrivals a"
        )
        return
    _offsets(connection, table, timezone)
    moments, joins = [], []
    for i, column in enumerate(table.instants):
        at, utc, shift = f'a."{column.name}"', f'a."{column.name}__utc"', f"to_seconds(o{i}.offset_s)"
        moments.append(f'CASE WHEN {utc} THEN {at} ELSE {at} - {shift} END AS "{column.name}"')
        moments.append(f'(CASE WHEN {utc} THEN {at} + {shift} ELSE {at} END)::DATE AS "{column.day_name}"')
        mark = f"time_bucket(INTERVAL 15 MINUTE, {at})"
        joins.append(
            f"LEFT JOIN offsets o{i} ON o{i}.zone = z.zone AND o{i}.mark = {mark} AND o{i}.utc = {utc}"
        )
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE settled AS
        SELECT {", ".join(plain + moments + point + tail)}
        FROM arrivals a JOIN zoned z USING (_arrival) {" ".join(joins)}""")


def _offsets(connection: DuckDBPyConnection, table: Table, timezone: str) -> None:
    zone, join = _zone_join(table)
    connection.execute(
        f"CREATE OR REPLACE TEMP TABLE zoned AS SELECT a._arrival, {zone} AS zone FROM arrivals a {join}",
        {"timezone": timezone},
    )
    marks = " UNION ".join(
        f"""SELECT DISTINCT zone, time_bucket(INTERVAL 15 MINUTE, "{c.name}") AS mark, "{c.name}__utc" AS utc
            FROM arrivals JOIN zoned USING (_arrival) WHERE "{c.name}" IS NOT NULL"""
        for c in table.instants
    )
    connection.execute(f"""
        CREATE OR REPLACE TEMP TABLE offsets AS
        SELECT zone, mark, utc,
               CASE WHEN utc THEN epoch(timezone(zone, timezone('UTC', mark))) - epoch(mark)
                    ELSE epoch(mark) - epoch(timezone('UTC', timezone(zone, mark))) END AS offset_s
        FROM ({marks})""")
