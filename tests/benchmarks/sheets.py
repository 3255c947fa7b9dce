"""How long the wall sheets of a hundred sites take, from what the schedule says to the bytes.

`python -m tests.benchmarks.sheets` writes results/sheets.json. The schedule itself is no part of it.
"""

from itertools import count, cycle, islice
from typing import Any

from pipeline.reports import pages
from pipeline.reports.messages import message
from pipeline.reports.wall_sheet import WallSheet
from pipeline.words import LANGUAGES
from tests.benchmarks.record import record, seconds
from tests.unit.reports.sheets import week

SHEETS = 100
BLOCKS = (3, 4, 5, 6, 12)


def sheets(run: int) -> list[WallSheet]:
    """Return sheets of small and large sites in every language; no two are alike, in no two runs."""
    kinds = islice(zip(cycle(BLOCKS), cycle(LANGUAGES), strict=False), SHEETS)
    return [
        week(blocks, language=language, name=f"Site {run}/{k}", site_id=f"S{k}")
        for k, (blocks, language) in enumerate(kinds)
    ]


def measured() -> dict[str, Any]:
    """Draw them one by one, then all together; then say them in messages [s]."""
    runs = count()  # the typesetter keeps what it has drawn: each run has sheets of its own
    one_by_one = seconds(lambda: [pages.pdf([sheet]) for sheet in sheets(next(runs))])
    together = seconds(lambda: pages.pdf(sheets(next(runs))))
    said = seconds(lambda: [message(sheet) for sheet in sheets(next(runs))])
    return {
        "sheets": SHEETS,
        "one_by_one_s": round(one_by_one, 1),
        "together_s": round(together, 1),
        "messages_s": round(said, 2),
        "kb_a_sheet": round(len(pages.pdf(sheets(0)[:1])) / 1000),
    }


if __name__ == "__main__":
    record("sheets", measured())
