"""The measures' SQL files, each one statement that makes the table it is named for."""

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import duckdb

PARAMETER = re.compile(r"(?<!\$)\$([a-z_0-9]+)")
COMMENT = re.compile(r"--[^\n]*")


def run_statement(connection: duckdb.DuckDBPyConnection, name: str, parameters: Mapping[str, object]) -> None:
    """Run `name`.sql with those of the parameters that it takes.

    Parameters
    ----------
    connection
        Where the tables that it reads are.
    name
        Of the file, without its ending.
    parameters
        By name; more than it takes is well.
    """
    statement = _statement(name)
    taken = {key: parameters[key] for key in set(PARAMETER.findall(statement))}
    connection.execute(statement, taken)


def prepare_sums(connection: duckdb.DuckDBPyConnection) -> None:
    """Give the connection `exact_sum`.

    A sum of DOUBLE changes with the order of its terms, and so with the number of threads;
    this one adds decimals, to 1e-9.
    """
    connection.execute(
        "CREATE OR REPLACE TEMP MACRO exact_sum(x) AS CAST(sum(CAST(x AS DECIMAL(29, 9))) AS DOUBLE)"
    )


@cache
def _statement(name: str) -> str:
    text = files("pipeline.measures").joinpath(f"{name}.sql").read_text(encoding="utf-8")
    return COMMENT.sub("", text)
