"""How long the wall sheets of a hundred sites take: drawn alone, and the whole command, which plans their weeks first.

`python -m tests.benchmarks.sheets` writes results/sheets.json.
"""

import subprocess
import sys
import tempfile
from itertools import count, cycle, islice
from pathlib import Path
from time import perf_counter
from typing import Any

from pipeline.reports import pages
from pipeline.reports.messages import message
from pipeline.reports.wall_sheet import WallSheet
from pipeline.words import LANGUAGES
from tests.benchmarks.programmes import loaded
from tests.benchmarks.record import record, seconds
from tests.unit.reports.sheets import week

SHEETS = 100
SITES = 112  # of the programme; some have no sheet, for nobody knows what their pump delivers
BLOCKS = (3, 4, 5, 6, 12)


def sheets(run: int) -> list[WallSheet]:
    """Return sheets of small and large sites in every language; no two are alike, in no two runs."""
    kinds = islice(zip(cycle(BLOCKS), cycle(LANGUAGES), strict=False), SHEETS)
    return [
        week(blocks, language=language, name=f"Site {run}/{k}", site_id=f"S{k}")
        for k, (blocks, language) in enumerate(kinds)
    ]


def measured() -> dict[str, Any]:
    """Draw them one by one, then all together; say them in messages; then the command on a programme [s]."""
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
        "command": command(),
    }


def command() -> dict[str, Any]:
    """Plan and write the sheets of a programme's sites in a process of its own, as an office does [s]."""
    with tempfile.TemporaryDirectory() as folder:
        _, store = loaded(Path(folder), sites=SITES, days=200)
        asked = [
            sys.executable, "-m", "pipeline.cli", "wall-sheets", "--week", "2026-10-26", "--store", store.path, "--out", Path(folder) / "out"
        ]  # fmt: skip
        begun = perf_counter()
        subprocess.run(asked, check=True, capture_output=True)
        took = perf_counter() - begun
        written = len(list((Path(folder) / "out").glob("*.pdf")))
    return {"sites": SITES, "sheets": written, "s": round(took, 1)}


if __name__ == "__main__":
    record("sheets", measured())
