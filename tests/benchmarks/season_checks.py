"""Whole seasons of ours beside those of two libraries that others wrote.

`python -m tests.benchmarks.season_checks` writes results/season_checks.json (a minute).
"""

from importlib.metadata import version

from tests.benchmarks.record import record
from tests.published.seasons.compare import (
    aquacrop_seasons,
    beside_aquacrop,
    beside_pyfao56,
    pyfao56_seasons,
)

if __name__ == "__main__":
    record(
        "season_checks",
        {
            "versions": {name: version(name) for name in ("pyfao56", "aquacrop")},
            "pyfao56": [beside_pyfao56(season, how) for season, how in pyfao56_seasons()],
            "aquacrop": [beside_aquacrop(season) for season in aquacrop_seasons()],
        },
    )
