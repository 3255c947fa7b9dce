"""The commands in process, as a new user would type them."""

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import main

FORMULA = '=HYPERLINK("http://example.invalid","see")'
SITES = f"""site_id,name,latitude,longitude,district,commissioned_on,pump_rated_flow_m3h
S1,Mwera Gardens,-13.5,33.8,Kati,2026-01-01,10
=S2,"{FORMULA.replace('"', '""')}",-13.6,33.9,Kati,2026-01-01,10
S3,Lukwendo \x1b[2J[bold]x[/bold],-13.4,33.7,Kati,2026-01-01,10
"""


def _run(*arguments: object, code: int = 0) -> Result:
    done = CliRunner().invoke(main, [str(a) for a in arguments], prog_name="sunrill")
    assert done.exit_code == code, (done.output, done.exception)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


@pytest.fixture(scope="session")
def sunrill() -> Callable[..., Result]:
    """Run a command and hold it to its exit code."""
    return _run


@pytest.fixture(scope="session")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three sites, two of them with names that want to do harm, a meter and weekly readings."""
    folder = tmp_path_factory.mktemp("field")
    (folder / "sites.csv").write_text(SITES, encoding="utf-8")
    (folder / "site_aliases.csv").write_text("alias,site_id\nMWE/1,S1\n", encoding="utf-8")
    (folder / "districts.csv").write_text(
        'district,geometry\nKati,"POLYGON((33 -14,34.5 -14,34.5 -13,33 -13,33 -14))"\n', encoding="utf-8"
    )
    (folder / "meters.csv").write_text(
        "meter_id,site_id,quantity\nW1,S1,water\nW2,=S2,water\n", encoding="utf-8"
    )
    days = [date(2026, 10, 31) - timedelta(days=7 * k) for k in range(8)]
    lines = [f"W1,{day} 07:00,{1000 + 100 * k}" for k, day in enumerate(reversed(days))]
    lines += [f"W2,{day} 07:00,{500 + 70 * k}" for k, day in enumerate(reversed(days))]
    (folder / "meter_readings.csv").write_text(
        "meter_id,read_at,value\n" + "\n".join(lines) + "\n", encoding="utf-8"
    )
    jobs = "J1,S1,corrective,2026-10-20 09:00,2026-10-22 09:00,yes,=1+1,12000\n"
    (folder / "maintenance.csv").write_text(
        "record_id,site_id,kind,reported_at,restored_at,water_stopped,component,cost\n" + jobs,
        encoding="utf-8",
    )
    return folder


@pytest.fixture(scope="session")
def store(files: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with these files. Tests read it only."""
    folder = tmp_path_factory.mktemp("store") / "store"
    _run("load", files, "--store", folder, "--arrived-on", "2026-11-01")
    return folder
