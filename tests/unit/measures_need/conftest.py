"""Small text tables in, a reader out: every table of the contract and of the results is there."""

from dataclasses import dataclass, field

import duckdb
import pytest

from pipeline.config import Settings
from pipeline.measures.results import RESULTS, create_empty
from pipeline.tables import TABLES, Kind


@dataclass(frozen=True)
class SmallReader:
    connection: duckdb.DuckDBPyConnection
    settings: Settings = field(default_factory=Settings)

    def rows(self, query: str) -> list[tuple]:
        return self.connection.execute(query).fetchall()


def _empty_contract(connection: duckdb.DuckDBPyConnection) -> None:
    for table in TABLES.values() if hasattr(TABLES, "values") else TABLES:
        columns = [
            f'"{c.name}" {"VARCHAR" if c.kind is Kind.GEOMETRY else c.sql_type}' for c in table.columns
        ]
        columns += [f'"{c.day_name}" DATE' for c in table.instants]
        if table.name == "sites":
            columns.append("zone VARCHAR DEFAULT 'UTC'")
        connection.execute(f'CREATE TABLE "{table.name}" ({", ".join(columns)})')


def _fill(connection: duckdb.DuckDBPyConnection, name: str, text: str) -> None:
    lines = [[cell.strip() for cell in line.split("|")] for line in text.strip().splitlines()]
    heading, *rows = lines
    names = ", ".join(f'"{column}"' for column in heading)
    marks = ", ".join("?" for _ in heading)
    for row in rows:
        values = [cell or None for cell in row]
        connection.execute(f'INSERT INTO "{name}" ({names}) VALUES ({marks})', values)


@pytest.fixture
def given():
    """Make a reader of the tables given as text; an empty cell is unknown."""

    def make(**tables: str) -> SmallReader:
        connection = duckdb.connect()
        _empty_contract(connection)
        for name in RESULTS:
            create_empty(connection, name)
        for name, text in tables.items():
            _fill(connection, name, text)
        return SmallReader(connection)

    return make
