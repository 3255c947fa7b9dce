"""Twenty thousand sites and a year: laid, loaded and measured; each step goes on where a kill left it."""

import csv
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline.store import open_store
from tests.build.test_demo_to_figures import sunrill

SITES, DAYS = 20_000, 365


@pytest.fixture(scope="module")
def files(kept: Path) -> Path:
    """The programme's files, laid once."""
    out = kept / "scale"
    whole = out / "whole"
    if not whole.exists():
        command = [sys.executable, "-m", "data_demo", "--out", str(out)]
        subprocess.run([*command, "--sites", str(SITES), "--days", str(DAYS)], check=True)
        whole.touch()
    return out


def listed(path: Path) -> list[str]:
    """The sites of a table, in its order."""
    with path.open(encoding="utf-8-sig") as stream:
        return [row["site_id"] for row in csv.DictReader(stream)]


def test_a_large_programme_loads_and_every_site_has_its_figures(files: Path, kept: Path) -> None:
    """All sites are in the figures of the year, and those in service in the ranking, each once."""
    store = kept / "scale_store"
    sunrill("settings", "timezone", "Africa/Blantyre", "--store", store)
    deliveries = sorted((files / "deliveries").iterdir())
    for delivery in deliveries:
        sunrill("load", "--store", store, "--arrived-on", delivery.name, delivery)
    last = deliveries[-1].name
    sunrill(
        "indicators",
        "--store",
        store,
        "--from",
        deliveries[0].name,
        "--to",
        last,
        "--out",
        kept / "figures.csv",
    )
    sunrill("visits", "--store", store, "--as-of", last, "--out", kept / "visits.csv")
    sites = listed(kept / "figures.csv")
    assert len(sites) == len(set(sites)) == SITES
    with open_store(store).read() as reader:
        served = reader.connection.execute(
            "SELECT site_id FROM sites WHERE coalesce(decommissioned_on > ?::DATE, true)", [last]
        ).fetchall()
    assert sorted(listed(kept / "visits.csv")) == sorted(site for (site,) in served)
    sunrill("check", "--store", store)
