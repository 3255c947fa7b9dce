"""What commands take: days, paths, the store; and how an error ends one."""

from datetime import date
from pathlib import Path
from typing import Any

import click

from pipeline.errors import SunrillError
from pipeline.terminal import warn
from pipeline.words import say

FIRST_YEAR, LAST_YEAR = 1990, 2199  # intake takes nothing from before; nobody plans for after


class Day(click.ParamType[date]):
    """A day as an option: ISO 8601."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Return the day, or say how to write one."""
        if isinstance(value, date):
            return value
        try:
            day = date.fromisoformat(value)
        except ValueError:
            self.fail(say("cli.not_a_day", value=value), param, ctx)
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            self.fail(say("cli.day_too_far", value=value), param, ctx)
        return day


class Told(click.Group):
    """A group whose commands tell an error in its own words, without a trace."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; an error that the user can act on ends it with 1."""
        try:
            return super().invoke(ctx)
        except SunrillError as error:
            warn(error)
            ctx.exit(1)


PATH = click.Path(path_type=Path)
PORT = click.IntRange(1, 65535)
store_option = click.option(
    "--store",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("store"),
    envvar="SUNRILL_STORE",
    show_default=True,
    help=say("cli.help_store"),
)
