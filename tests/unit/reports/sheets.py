"""Sheets for the tests: some blocks in turn, from seven on, an hour each."""

from datetime import UTC, date, datetime, timedelta

from pipeline.reports.wall_sheet import WallSheet, days_of, lettered
from pipeline.scheduling.runs import Run
from pipeline.words import LANGUAGES

CHANGEOVER_MIN = 5
MONDAY = date(2026, 11, 23)


def run(block="1", day=MONDAY, start="7:00", minutes=60, depth_mm=5.0, short_mm=0.0):
    """A run that starts at a time of day, or a block without water where there is none."""
    if start is None:
        return Run("S1", day, block, None, None, 0.0, 0.0, short_mm)
    hour, minute = map(int, start.split(":"))
    at = datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)
    return Run("S1", day, block, at, at + timedelta(minutes=minutes), depth_mm, 20.0, short_mm)


def square(k, across=4, side=0.001):
    """The k-th of equal plots on a grid, in degrees."""
    x, y = 33.8 + side * (k % across), -13.5 - side * (k // across)
    return ((x, y), (x + side * 0.9, y), (x + side * 0.9, y - side * 0.9), (x, y - side * 0.9))


def sheet_of(
    runs, blocks=("1",), *, language="en", name="Kamondera", site_id="S1", mapped=True, until=None, unknown=()
):
    """A sheet of some runs."""
    named = lettered([(block, square(k) if mapped else None) for k, block in enumerate(blocks)])
    return WallSheet(
        site_id,
        name,
        days_of(runs, named, MONDAY, CHANGEOVER_MIN),
        named,
        language,
        LANGUAGES[language].is_draft,
        until,
        unknown,
    )


def week(count, *, minutes=40, **options):
    """A week in which every block has its turn on six days, the last one short of water."""
    blocks = [str(k + 1) for k in range(count)]
    runs = []
    for day in range(6):
        for k, block in enumerate(blocks):
            start = 7 * 60 + k * minutes
            short = 5.0 if k == count - 1 else 0.0
            runs.append(
                run(
                    block,
                    MONDAY + timedelta(days=day),
                    f"{start // 60}:{start % 60:02d}",
                    minutes,
                    5.0,
                    short,
                )
            )
    return sheet_of(runs, blocks, **options)
