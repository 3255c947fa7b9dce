"""A week as a table: the contract's columns first, then what else is known of a run."""

from collections.abc import Sequence

import pyarrow as pa

from pipeline.scheduling.runs import Run
from pipeline.scheduling.week import Plot, Week
from pipeline.words import say

SCHEMA = pa.schema(
    [
        ("site_id", pa.string()), ("day", pa.date32()), ("block_id", pa.string()), ("start_at", pa.string()),
        ("end_at", pa.string()), ("run_min", pa.int64()), ("depth_mm", pa.float64()), ("volume_m3", pa.float64()),
        ("short_mm", pa.float64()), ("plots", pa.string()),
    ]
)  # fmt: skip


def as_table(weeks: Sequence[Week]) -> pa.Table:
    """Return the rows of weeks: times local with their offset, empty where a block gets no water.

    `plots` has the minutes of each planting that shares a run, apart by `;`.
    """
    found = [_row(run, plots) for week in weeks for run, plots in _runs(week)]
    return pa.Table.from_pylist(found, schema=SCHEMA)


def _runs(week: Week) -> list[tuple[Run, tuple[Plot, ...]]]:
    plots = {block.block_id: block.plots for block in week.blocks}
    return [(run, plots.get(run.block_id, ())) for run in week.runs]


def _row(run: Run, plots: Sequence[Plot]) -> dict[str, object]:
    opened = run.start_at is not None and run.end_at is not None
    return {
        "site_id": run.site_id,
        "day": run.day,
        "block_id": run.block_id,
        "start_at": run.start_at.isoformat(timespec="minutes") if run.start_at else None,
        "end_at": run.end_at.isoformat(timespec="minutes") if run.end_at else None,
        "run_min": run.run_min,
        "depth_mm": run.depth_mm,
        "volume_m3": run.volume_m3,
        "short_mm": run.short_mm,
        "plots": ";".join(told(plots, run.run_min)) if opened and plots else None,
    }


def told(plots: Sequence[Plot], run_min: int) -> list[str]:
    """Return each plot with its minutes of a run."""
    minutes = plot_minutes(plots, run_min)
    return [
        say("scheduling.plot", crop=plot.crop, day=plot.planted_on, minutes=part)
        for plot, part in zip(plots, minutes, strict=True)
    ]


def plot_minutes(plots: Sequence[Plot], run_min: int) -> list[int]:
    """Share a run's minutes among plots: whole minutes that sum to it, the largest rests rounded up.

    Examples
    --------
    >>> from datetime import date
    >>> day = date(2026, 9, 1)
    >>> plot_minutes([Plot("maize", day, 0.2, 2 / 3), Plot("tomato", day, 0.1, 1 / 3)], 61)
    [41, 20]
    """
    exact = [plot.share * run_min for plot in plots]
    whole = [int(part + 1e-9) for part in exact]
    order = sorted(range(len(plots)), key=lambda k: (whole[k] - exact[k], k))
    for k in order[: run_min - sum(whole)]:
        whole[k] += 1
    return whole
