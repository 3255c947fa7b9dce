"""Put it all together: deliveries as they would arrive, and what truly happened beside them."""

import json
from collections.abc import Callable
from pathlib import Path

from data_demo.chunks import AT_ONCE, Chunk, simulate_chunk
from data_demo.climate import weather_of
from data_demo.field_books import write_field_books
from data_demo.log_files import write_logs
from data_demo.meter_books import write_readings
from data_demo.office_files import write_programme
from data_demo.paper import Paper
from data_demo.register_files import write_registers
from data_demo.truth import Truth

Progress = Callable[[int, int], None]


def nobody_watches(_done: int, _of: int) -> None:
    """Show nothing."""


def generate(
    out: Path,
    *,
    sites: int = 60,
    days: int = 549,
    seed: int = 1,
    paper_only: bool = False,
    progress: Progress = nobody_watches,
) -> Path:
    """Write the demo programme into a folder and return it.

    Parameters
    ----------
    out : Path
        Folder for `deliveries` and `truth`.
    sites, days : int
        How many; the last day is fixed.
    seed : int
        The same seed writes the same bytes.
    paper_only : bool
        What most offices have: no logs, no outlines of blocks, few block meters.
    progress : callable
        Told how many sites are done, of how many.

    Raises
    ------
    FileExistsError
        Where the folder holds the files of another programme: the two would mix.
    """
    _claim(out, {"sites": sites, "days": days, "seed": seed, "paper_only": paper_only})
    weather = weather_of(seed, days)
    paper = Paper(out)
    with Truth(out / "truth") as truth:
        for number, first in enumerate(range(0, sites, AT_ONCE)):
            chunk = simulate_chunk(
                seed, number, first, min(AT_ONCE, sites - first), weather,
                paper_only=paper_only, tag=f"_{number:03d}" if sites > AT_ONCE else "",
            )  # fmt: skip
            _write_chunk(paper, chunk, paper_only=paper_only)
            truth.add(chunk)
            truth.add_mistakes(paper.take_mistakes())
            progress(min(first + AT_ONCE, sites), sites)
        write_programme(paper, seed, weather, sites)
        truth.add_mistakes(paper.take_mistakes())
    return out


def _claim(out: Path, options: dict[str, int | bool]) -> None:
    """Say on the folder which programme it holds; the same one may be written again, as after a kill."""
    said = out / "truth" / "programme.json"
    if (out / "deliveries").exists() and not (
        said.exists() and json.loads(said.read_text("utf-8")) == options
    ):
        raise FileExistsError(
            f"{out} holds the files of another programme, and the two would mix. "
            "Choose another folder, or delete this one."
        )
    said.parent.mkdir(parents=True, exist_ok=True)
    said.write_text(json.dumps(options), encoding="utf-8")


def _write_chunk(paper: Paper, chunk: Chunk, *, paper_only: bool) -> None:
    write_registers(paper, chunk, shapes=not paper_only)
    write_field_books(paper, chunk)
    write_readings(paper, chunk)
    if chunk.sites.telemetry.any():
        write_logs(paper, chunk)
