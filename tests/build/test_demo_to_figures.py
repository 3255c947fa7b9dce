"""From the demo's files to the figures, by the commands alone."""

import json
import random
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import main

FIGURES = ("--from", "2026-09-02", "--to", "2026-10-31")


def sunrill(*arguments: object, ok: bool = True) -> Result:
    done = CliRunner().invoke(main, [str(argument) for argument in arguments], prog_name="sunrill")
    assert (done.exit_code == 0) is ok, done.output
    assert done.exception is None or isinstance(done.exception, SystemExit)
    return done


@pytest.fixture(scope="module")
def deliveries(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The deliveries of eight sites and 60 days."""
    out = tmp_path_factory.mktemp("demo")
    subprocess.run(
        [sys.executable, "-m", "data_demo", "--out", str(out), "--sites", "8", "--days", "60"], check=True
    )
    return sorted((out / "deliveries").iterdir())


def load_all(deliveries: list[Path], store: Path, *, shuffle: int | None = None) -> None:
    sunrill("settings", "timezone", "Africa/Blantyre", "--store", store)
    for delivery in deliveries:
        files = sorted(delivery.iterdir())
        if shuffle is not None:
            random.Random(shuffle).shuffle(files)  # noqa: S311 - an order, no secret
        sunrill("load", "--store", store, "--arrived-on", delivery.name, *files)


def figures_of(store: Path, out: Path) -> bytes:
    sunrill("indicators", "--store", store, *FIGURES, "--by", "month", "--out", out / "figures.csv")
    sunrill("visits", "--store", store, "--as-of", "2026-10-31", "--out", out / "visits.csv")
    return (out / "figures.csv").read_bytes() + (out / "visits.csv").read_bytes()


def test_a_process_of_its_own_writes_the_same_bytes(first: tuple[Path, bytes], tmp_path: Path) -> None:
    """The tests below call the command in their own process, which takes seconds less."""
    command = [sys.executable, "-m", "pipeline.cli", "indicators", "--store", first[0], *FIGURES, "--by", "month", "--out"]  # fmt: skip
    subprocess.run([*command, tmp_path / "figures.csv"], check=True)
    assert first[1].startswith((tmp_path / "figures.csv").read_bytes())


@pytest.fixture(scope="module")
def first(deliveries: list[Path], tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, bytes]:
    """A store with all deliveries, and its figures."""
    folder = tmp_path_factory.mktemp("first")
    load_all(deliveries, folder / "store")
    return folder / "store", figures_of(folder / "store", folder)


def test_loading_everything_again_changes_no_byte(
    deliveries: list[Path], first: tuple[Path, bytes], tmp_path: Path
) -> None:
    """Every row of a second load is unchanged, and the figures are the same bytes."""
    store = tmp_path / "store"
    shutil.copytree(first[0], store)
    report = tmp_path / "report.json"
    sunrill("load", "--store", store, "--report", report, *deliveries)
    for line in json.loads(report.read_text())["files"]:
        assert line["unchanged"] == line["rows"], line
    assert figures_of(store, tmp_path) == first[1]


@pytest.mark.parametrize("seed", [1, pytest.param(2, marks=pytest.mark.long)])
def test_the_order_of_a_deliverys_files_changes_no_byte(
    deliveries: list[Path], first: tuple[Path, bytes], tmp_path: Path, seed: int
) -> None:
    """The files of each delivery in another order give the same figures."""
    load_all(deliveries, tmp_path / "store", shuffle=seed)
    assert figures_of(tmp_path / "store", tmp_path) == first[1]


def test_a_rebuild_gives_the_same_figures(first: tuple[Path, bytes], tmp_path: Path) -> None:
    """Archive and ledger alone are enough."""
    store = tmp_path / "store"
    shutil.copytree(first[0], store)
    for room in ("base", "parts", "results"):
        shutil.rmtree(store / room)
    sunrill("rebuild", "--store", store)
    assert figures_of(store, tmp_path) == first[1]
    sunrill("check", "--store", store)


def test_undo_gives_the_figures_as_if_the_file_had_never_come(
    first: tuple[Path, bytes], tmp_path: Path
) -> None:
    """A wrong sheet, loaded and taken back, leaves no trace in the figures; the reason stays on record."""
    store = tmp_path / "store"
    shutil.copytree(first[0], store)
    wrong = tmp_path / "maintenance_wrong.csv"
    wrong.write_text(
        "record_id,site_id,kind,reported_at,restored_at,water_stopped,cost\n"
        + "".join(
            f"X{i},S{i:05d},corrective,2026-10-20 06:00,2026-10-24 18:00,yes,900\n" for i in range(1, 13)
        )
    )
    sunrill("load", "--store", store, wrong)
    assert figures_of(store, tmp_path) != first[1]
    sunrill("undo", "--store", store, wrong.name, "--why", "typed on the wrong day")
    assert figures_of(store, tmp_path) == first[1]
    assert "typed on the wrong day" in (store / "ledger.jsonl").read_text()


def test_a_file_that_cannot_be_read_ends_with_1_and_loads_the_others(tmp_path: Path) -> None:
    """One broken file keeps no other one out."""
    broken, sound = tmp_path / "sites.xlsx", tmp_path / "districts.csv"
    broken.write_bytes(b"no workbook")
    sound.write_text('district,geometry\nA,"POLYGON((33 -14,34 -14,34 -13,33 -14))"\n')
    done = sunrill("load", "--store", tmp_path / "store", broken, sound, ok=False)
    assert "sites.xlsx" in done.stderr
    assert "Mend:" in done.stderr
    assert "districts" in sunrill("status", "--store", tmp_path / "store").stdout


def test_rejected_rows_are_told_with_the_way_to_mend_them(tmp_path: Path) -> None:
    """The rejects file names file, line, column, value, rule and mend; the command ends with 0."""
    path, rejects = tmp_path / "crops.csv", tmp_path / "rejects.csv"
    path.write_text(
        'crop,kc_ini,kc_mid,kc_end,ini_days,dev_days,mid_days,late_days\nteff,0.3,"1,1",0.4,20,30,40,20\n'
    )
    sunrill("load", "--store", tmp_path / "store", path, "--rejects", rejects)
    text = rejects.read_text()
    assert text.startswith("file,sheet,line,column,value,fate,rule,how_to_mend\n")
    assert 'crops.csv,,2,kc_mid,"1,1",rejected' in text


@pytest.mark.parametrize("command", ["indicators", "visits", "evidence", "status", "check", "undo"])
def test_an_empty_store_has_a_clear_word(tmp_path: Path, command: str) -> None:
    """Nothing loaded: a sentence with the way out, exit 1, no trace."""
    extra = {
        "indicators": [*FIGURES, "--out", tmp_path / "x.csv"],
        "visits": ["--as-of", "2026-01-01", "--out", tmp_path / "x.csv"],
        "evidence": ["S1"],
        "undo": ["x", "--why", "y"],
    }.get(command, [])
    done = sunrill(command, "--store", tmp_path / "none", *extra, ok=False)
    assert "nothing has been loaded" in done.stderr
