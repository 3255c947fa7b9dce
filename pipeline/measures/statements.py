"""The measures' SQL files, each one statement that makes the table it is named for."""

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import duckdb

PARAMETER = re.compile(r"(?<!\$)\$([a-z_0-9]+)")
COMMENT = re.compile(r"--[^\n]*")


def run_statement(
    connection: duckdb.DuckDBPyConnection,
    name: str,
    parameters: Mapping[str, object],
    *,
    package: str = "pipeline.measures",
) -> None:
    """Run `name`.sql with those of the parameters that it takes.

    Parameters
    ----------
    connection
        Where the tables that it reads are.
    name
        Of the file, without its ending.
    parameters
        By name; more than it takes is well.
    package
        In which the file lies.
    """
    statement = _statement(name, package)
    taken = {key: parameters[key] for key in set(PARAMETER.findall(statement))}
    connection.execute(statement, taken)


def prepare_sums(connection: duckdb.DuckDBPyConnection) -> None:
    """Give the connection `exact_sum`, and `exact` for sums over a window.

    A sum of DOUBLE changes with the order of its terms, and so with the number of threads;
    this one adds whole billionths. A term of 9e9 or more, which no site can have, is unknown.
    """
    connection.execute("CREATE OR REPLACE TEMP MACRO exact(x) AS TRY_CAST(x * 1e9 AS BIGINT)")
    connection.execute("CREATE OR REPLACE TEMP MACRO exact_sum(x) AS sum(exact(x)) / 1e9")


@cache
def _statement(name: str, package: str) -> str:
    text = files(package).joinpath(f"{name}.sql").read_text(encoding="utf-8")
    return COMMENT.sub("", text)
