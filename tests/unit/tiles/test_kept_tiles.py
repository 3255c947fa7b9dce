"""The background map that a store keeps, by the command that a field officer types."""

import shutil

import pytest
from click.testing import CliRunner
from rich.console import Console

from pipeline import terminal
from pipeline.cli import main
from pipeline.tiles import kept, open_tiles
from tests.unit.tiles.conftest import PICTURES, write_mbtiles, write_pmtiles


@pytest.fixture
def store(tmp_path):
    return tmp_path / "store"


@pytest.fixture
def sunrill(store):
    """Run `sunrill basemap` on the store."""

    def run(*arguments, code=0):
        done = CliRunner().invoke(main, ["basemap", *map(str, arguments), "--store", str(store)])
        assert done.exit_code == code, done.output
        return done

    return run


def test_a_kept_file_is_a_copy_and_can_be_dropped(sunrill, store, tmp_path):
    """The stick can go; what is kept is told, and gone after --remove."""
    assert "No background map is kept" in sunrill().stdout
    stick = write_mbtiles(tmp_path / "stick.mbtiles", attribution="<b>Plateau</b> Survey \x1b[2J Office")
    told = sunrill(stick).stdout
    assert "zoom 7 to 9" in told
    assert "-14.00 to -13.00 degrees of latitude, 33.00 to 34.00 of longitude" in told
    assert "Background: Plateau Survey �[2J Office" in told
    stick.unlink()
    assert open_tiles(kept(store)).tile(9, 303, 275).content == PICTURES[9, 303, 275]
    assert sunrill().stdout == told
    assert "gone" in sunrill("--remove").stdout
    assert kept(store) is None
    assert "No background map is kept" in sunrill("--remove").stdout


def test_another_file_takes_the_place_of_the_one_before(sunrill, store, tmp_path):
    """Of any kind; one file is there at a time."""
    sunrill(write_mbtiles(tmp_path / "a.mbtiles"))
    sunrill(write_pmtiles(tmp_path / "b.pmtiles"))
    assert kept(store).name == "2.pmtiles"
    assert [p.name for p in (store / "basemap").glob("*.*tiles")] == ["2.pmtiles"]


def test_a_file_that_cannot_be_shown_changes_nothing(sunrill, store, tmp_path):
    """It is told with the way to mend it, and the one before stays."""
    sunrill(write_mbtiles(tmp_path / "a.mbtiles"))
    (tmp_path / "b.mbtiles").write_bytes(b"SQLite format 3\0")
    done = sunrill(tmp_path / "b.mbtiles", code=1)
    assert "cut off or damaged" in done.stderr
    assert "Mend:" in done.stderr
    assert kept(store).name == "1.mbtiles"


def test_a_full_disk_is_told_before_anything_is_copied(sunrill, store, tmp_path, monkeypatch):
    """With what it takes and what is free."""
    usage = shutil.disk_usage(tmp_path)._replace(free=5)
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: usage)
    done = sunrill(write_mbtiles(tmp_path / "a.mbtiles"), code=1)
    assert "0 MB are free" in done.stderr
    assert "--basemap FILE" in done.stderr
    assert kept(store) is None


def test_half_a_copy_is_never_shown(sunrill, store, tmp_path):
    """What a kill left is passed over, and written over by the next copy."""
    (store / "basemap").mkdir(parents=True)
    (store / "basemap" / ".coming").write_bytes(b"half")
    assert kept(store) is None
    sunrill(write_mbtiles(tmp_path / "a.mbtiles"))
    assert sorted(p.name for p in (store / "basemap").iterdir()) == ["1.mbtiles", "write.lock"]


def test_who_watches_a_copy_sees_bytes(sunrill, tmp_path, monkeypatch):
    """A file of gigabytes takes minutes: how much is there, and how fast it comes."""
    monkeypatch.setattr(terminal, "errors", Console(stderr=True, force_terminal=True, width=160))
    assert "kB" in sunrill(write_mbtiles(tmp_path / "a.mbtiles")).stderr


def test_a_file_and_remove_at_once_are_refused(sunrill, tmp_path):
    """Nobody can mean both."""
    assert "not both" in sunrill(tmp_path / "a.mbtiles", "--remove", code=2).stderr
