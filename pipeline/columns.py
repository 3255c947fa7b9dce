"""Columns of a table that a command writes: what each is, and how the help tells it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import pyarrow as pa


class Told(Protocol):
    """A column as the help tells it."""

    @property
    def name(self) -> str:
        """Its heading."""

    @property
    def unit(self) -> str:
        """Empty: none."""

    @property
    def meaning(self) -> str:
        """In a few words."""


@dataclass(frozen=True)
class Column:
    """A column of a table whose rows are records."""

    name: str
    kind: pa.DataType
    unit: str
    meaning: str


def schema_of(columns: Sequence[Column]) -> pa.Schema:
    """Return what a table of the columns must be, with rows or without."""
    return pa.schema([(of.name, of.kind) for of in columns])


def help_lines(columns: Sequence[Told], head: str = "") -> str:
    """Return a line for each column; the mark in front keeps the lines as they are."""
    lines = [f"{of.name}{f' [{of.unit}]' if of.unit else ''}  {of.meaning}" for of in columns]
    return "\b\n" + "\n".join([head, *lines] if head else lines)
