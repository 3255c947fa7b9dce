"""The store's tables, made from the contract."""

from duckdb import DuckDBPyConnection

from pipeline.tables import TABLES, Kind, Table

POINTS = ("sites", "bases")  # places whose latitude and longitude are kept as a point too
SPATIAL_INDEXES = {"sites": "geom", "blocks": "geometry", "districts": "geometry", "roads": "geometry"}
PROVENANCE = "_source INTEGER, _line BIGINT, _load INTEGER, _extra VARCHAR"
PROVENANCE_NAMES = ("_source", "_line", "_load", "_extra")

LEDGER_TABLES = """
CREATE TABLE loads (load_no INTEGER PRIMARY KEY, arrived_at TIMESTAMP, who VARCHAR);
CREATE TABLE sources (
    source_id INTEGER PRIMARY KEY, load_no INTEGER, sha VARCHAR, file VARCHAR, sheet VARCHAR,
    table_name VARCHAR, options VARCHAR, row_count BIGINT
);
CREATE TABLE site_numbers (site_id VARCHAR PRIMARY KEY, site_no INTEGER);
CREATE TABLE meter_slices (meter_id VARCHAR PRIMARY KEY, slice_no INTEGER);
CREATE TABLE dirty (site_id VARCHAR PRIMARY KEY);
CREATE TABLE kept_faults (
    source_id INTEGER, line BIGINT, "column" VARCHAR, value VARCHAR, rule VARCHAR, fate VARCHAR
);
"""


def value_columns(table: Table) -> list[tuple[str, str]]:
    """Return name and type of a table's stored columns: the contract's, each moment's local day, a place's point."""
    columns = [(c.name, c.sql_type) for c in table.columns]
    columns += [(c.day_name, "DATE") for c in table.instants]
    return [*columns, ("geom", "GEOMETRY")] if table.name in POINTS else columns


def definition(table: Table) -> str:
    """Return a table's stored columns as DDL, with where each row came from."""
    values = ", ".join(f'"{name}" {kind}' for name, kind in value_columns(table))
    return f"{values}, {PROVENANCE}"


def names(table: Table) -> list[str]:
    """Return the names of a table's stored columns, where a row came from included."""
    return [name for name, _ in value_columns(table)] + list(PROVENANCE_NAMES)


def held_definition(table: Table) -> str:
    """Return the columns of the rows that wait: as typed, before their clock is settled."""
    columns = []
    for c in table.columns:
        columns.append(f'"{c.name}" {c.sql_type}')
        if c.kind is Kind.INSTANT:
            columns.append(f'"{c.name}__utc" BOOLEAN')
    return f"{', '.join(columns)}, _cleared VARCHAR[], {PROVENANCE}, _arrival BIGINT"


def create(connection: DuckDBPyConnection) -> None:
    """Make every table of an empty store."""
    connection.execute(LEDGER_TABLES)
    for table in TABLES.values():
        connection.execute(f'CREATE TABLE "{table.name}_held" ({held_definition(table)})')
        if table.parted:
            continue
        connection.execute(f'CREATE TABLE "{table.name}" ({definition(table)})')
        connection.execute(f'CREATE TABLE "{table.name}_past" ({definition(table)}, _until_load INTEGER)')


def index(connection: DuckDBPyConnection) -> None:
    """Index the shapes; an R-tree is dropped before a load and made anew after it."""
    for table, column in SPATIAL_INDEXES.items():
        connection.execute(f'CREATE INDEX "{table}_shape" ON "{table}" USING RTREE ("{column}")')


def drop_indexes(connection: DuckDBPyConnection) -> None:
    """Drop what `index` made."""
    for table in SPATIAL_INDEXES:
        connection.execute(f'DROP INDEX IF EXISTS "{table}_shape"')


def key_parts(table: Table, alias: str) -> list[str]:
    """Return SQL of the key's parts, none of them NULL, so that they can be joined on."""
    parts = []
    for name in table.key:
        column = table.by_name[name]
        cell = f'{alias}."{name}"'
        if column.kind is Kind.GEOMETRY:
            cell = f"md5(hex(ST_AsWKB({cell})))"
        elif not column.required:
            cell = f"coalesce({cell}, '')"
        parts.append(cell)
    return parts


def same_key(table: Table, left: str, right: str) -> str:
    """Return the SQL condition that two rows have one key."""
    pairs = zip(key_parts(table, left), key_parts(table, right), strict=True)
    return " AND ".join(f"{a} = {b}" for a, b in pairs)
