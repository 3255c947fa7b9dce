"""Results of benchmarks: small JSON files with the date, the commit and the machine."""

import json
import os
import platform
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

RESULTS = Path(__file__).with_name("results")


def machine() -> dict[str, Any]:
    """Return processor, cores and memory."""
    info = Path("/proc/cpuinfo")
    names = (
        [
            line.partition(":")[2].strip()
            for line in info.read_text().splitlines()
            if line.startswith("model name")
        ]
        if info.exists()
        else []
    )
    pages = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") if hasattr(os, "sysconf") else 0
    return {
        "processor": names[0] if names else platform.processor(),
        "cores": os.cpu_count(),
        "memory_gib": round(pages / 2**30, 1),
    }


def record(name: str, figures: dict[str, Any]) -> None:
    """Write a benchmark's figures, and print them."""
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=True
    ).stdout.strip()
    result = {"date": datetime.now(UTC).date().isoformat(), "commit": commit, "machine": machine(), **figures}
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / f"{name}.json").write_text(json.dumps(result, indent=2) + "\n")
    print(json.dumps(result, indent=2))


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Return the median time of some runs. [s]"""
    taken = []
    for _ in range(times):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
    return median(taken)
