"""A preview says what the load would do, and leaves nothing behind."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from data_demo import generate
from pipeline.errors import StoreChanged, StoreDamaged, StoreError, UnknownName
from pipeline.measures import run
from pipeline.store import ReadOptions, Store, aside, corrections, open_store, undo
from tests.unit.store.conftest import DELIVERY, Desk, new_desk

DAY = datetime(2026, 3, 26, 12, tzinfo=UTC)
MESSY = """meter_id,read_at,value,origin,colour
W1,2026-03-01 07:00,101,,
W1,2026-03-02 07:00,130,manual,
W2,2026-03-02 07:00,5080,,
W1,2026-03-03 07:00,160,manual,red
W1,2026-03-03 07:00,161,remote,red
W9,2026-03-03 07:00,5,,
W1,2026-03-04 07:00,"1,7",,
"""


@pytest.fixture(scope="module", autouse=True)
def own_rooms(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Previews of others on this machine have theirs elsewhere."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tempfile, "tempdir", str(tmp_path_factory.mktemp("rooms")))
        yield


def bytes_of(folder: Path) -> dict[str, bytes]:
    """Every file of a store with its bytes."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def rooms() -> set[str]:
    return {p.name for p in Path(tempfile.gettempdir()).glob(f"{aside.PREFIX}*")}


def preview_then_load(store: Store, paths: list[Path], on: datetime, **said):
    """Preview and load; hold the store to its bytes in between, and both to one report."""
    before, left = bytes_of(store.path), rooms()
    previewed = store.preview(paths, ReadOptions(), arrived_at=on, **said)
    assert bytes_of(store.path) == before
    assert rooms() == left
    loaded = store.load(paths, ReadOptions(), arrived_at=on, met=previewed.met, **said)
    assert previewed == loaded
    return loaded


def test_a_preview_says_what_the_load_does_and_keeps_nothing(stocked):
    """All five fates, a flaw and a note: one report before and after, and not a byte of the store changes."""
    path = stocked.write("meter_readings_messy.csv", MESSY)
    report = preview_then_load(stocked.store, [path], DAY)
    assert stocked.fates(report) == {
        path.name: {"taken": 1, "unchanged": 2, "corrected": 2, "held": 1, "rejected": 1}
    }


def test_corrected_cells_are_told_before_and_after_with_the_file_that_brought_the_old_value(stocked):
    """The stored reading of the first file, and the one of two lines above in the file itself."""
    path = stocked.write("meter_readings_messy.csv", MESSY)
    report = stocked.store.preview([path], arrived_at=DAY)
    told = [(c.line, c.key, c.column, c.old, c.new, c.old_file, c.old_line) for c in report.corrections]
    assert told == [
        (2, "W1, 2026-03-01 07:00", "value", "100", "101", "meter_readings.csv", 2),
        (6, "W1, 2026-03-03 07:00", "value", "160", "161", path.name, 5),
        (6, "W1, 2026-03-03 07:00", "origin", "manual", "remote", path.name, 5),
    ]
    assert report.corrections_untold == 0


def test_a_cell_that_is_cleared_or_filled_is_told_as_empty(stocked):
    """`clear` empties S1's district; S2's pump gets a flow that it had not; what the file leaves empty stays."""
    path = stocked.write(
        "sites_more.csv",
        "site_id,name,district,latitude,longitude,elevation_m,pump_rated_flow_m3h\n"
        "S1,Mlambe,clear,-13.50,33.80,,\nS2,Chitsime,,-13.60,33.90,,12.5\n",
    )
    report = preview_then_load(stocked.store, [path], DAY)
    assert [(c.table, c.key, c.column, c.old, c.new) for c in report.corrections] == [
        ("sites", "S1", "district", "North", None),
        ("sites", "S2", "pump_rated_flow_m3h", None, "12.5"),
    ]


def test_a_moment_is_told_on_the_clock_of_its_site(stocked):
    """A job's end at 09:30 in Blantyre is 07:30 UTC in the store; the person sees 09:30."""
    head = "record_id,site_id,kind,reported_at,restored_at\n"
    stocked.store.change_setting("timezone", "Africa/Blantyre")
    stocked.load_text("maintenance_1.csv", f"{head}J1,S1,corrective,2026-03-01 08:00,2026-03-02 09:30\n")
    path = stocked.write(
        "maintenance_2.csv", f"{head}J1,S1,corrective,2026-03-01 08:00,2026-03-02 10:15:20\n"
    )
    (cell,) = stocked.store.preview([path], arrived_at=DAY).corrections
    assert (cell.column, cell.old, cell.new) == ("restored_at", "2026-03-02 09:30", "2026-03-02 10:15:20")


def test_rows_that_waited_and_correct_something_are_told_with_their_own_file(stocked):
    """The meter comes: its two waiting readings of one moment are taken, the second corrects the first."""
    stocked.load_text("meter_readings_w9.csv", "meter_id,read_at,value\nW9,2026-03-02 07:00,2\n")
    path = stocked.write("meters_9.csv", "meter_id,site_id,quantity\nW9,S1,water\n")
    report = preview_then_load(stocked.store, [path], DAY)
    assert report.released == {"meter_readings": 2}
    (cell,) = report.corrections
    assert (cell.file, cell.old, cell.new) == ("meter_readings_w9.csv", "1", "2")
    assert cell.old_file == "meter_readings_late.csv"


def test_corrected_rows_beyond_those_told_are_counted(stocked, monkeypatch):
    """With room for one row, the other is counted and nothing more."""
    monkeypatch.setattr(corrections, "TOLD_ROWS", 1)
    report = stocked.store.preview([stocked.write("meter_readings_messy.csv", MESSY)], arrived_at=DAY)
    assert {c.line for c in report.corrections} == {2}
    assert report.corrections_untold == 1


def test_a_shape_that_changes_is_told_as_text(stocked):
    """A district drawn anew: its outline before and after."""
    head = "district,geometry\n"
    stocked.load_text("districts.csv", f'{head}North,"POLYGON((33 -14,34 -14,34 -13,33 -13,33 -14))"\n')
    path = stocked.write("districts_2.csv", f'{head}North,"POLYGON((33 -14,35 -14,35 -13,33 -13,33 -14))"\n')
    (cell,) = stocked.store.preview([path], arrived_at=DAY).corrections
    assert cell.old.startswith("POLYGON ((33 -14")
    assert "35 -14" in cell.new


def test_the_first_load_can_be_previewed_and_makes_no_store(desk):
    """Before anything was loaded there is no folder, and after the preview there is none either."""
    report = desk.store.preview(desk.delivery(), arrived_at=DAY)
    assert {line.taken for line in report.files} == {2, 3, 4}
    assert not desk.store.path.exists()
    assert desk.store.load(desk.delivery(), arrived_at=DAY, met=report.met) == report


def test_a_file_loaded_before_is_previewed_with_the_same_note(stocked):
    """Unchanged, and the sentence on what still waits."""
    report = preview_then_load(stocked.store, [stocked.folder / "meter_readings_late.csv"], DAY)
    assert len(report.notes) == 1


def test_a_file_that_cannot_be_read_is_told_alike(stocked):
    """A workbook that is none: in both reports, with the way to mend."""
    broken = stocked.folder / "sites_broken.xlsx"
    broken.write_bytes(b"PK\x03\x04 no workbook")
    report = preview_then_load(
        stocked.store, [broken, stocked.write("sites_2.csv", DELIVERY["sites.csv"])], DAY
    )
    assert [fault.where for fault in report.unreadable] == ["sites_broken.xlsx"]


def test_restore_is_previewed_too(stocked):
    """The old value of a reading, asked for: before and after are the other way round."""
    path = stocked.write("meter_readings_old.csv", "meter_id,read_at,value\nW1,2026-03-02 07:00,130\n")
    assert stocked.store.preview([path], arrived_at=DAY).corrections == []
    report = preview_then_load(stocked.store, [path], DAY, restore=True)
    assert [(c.old, c.new) for c in report.corrections] == [("131", "130")]


def test_what_a_load_met_must_still_be_there(stocked):
    """A load, a setting or an undo in between: nothing is taken, nothing is kept of the file."""
    path = stocked.write("meter_readings_5.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,200\n")
    changes = [
        lambda: stocked.load_text(
            "meter_readings_6.csv", "meter_id,read_at,value\nW1,2026-03-06 07:00,210\n"
        ),
        lambda: stocked.store.change_setting("currency", "ZMW"),
        lambda: undo(stocked.store, "meter_readings_6.csv", "wrong"),
    ]
    for change in changes:
        met = stocked.store.preview([path], arrived_at=DAY).met
        change()
        before = bytes_of(stocked.store.path)
        with pytest.raises(StoreChanged, match="have changed since"):
            stocked.store.load([path], arrived_at=DAY, met=met)
        assert bytes_of(stocked.store.path) == before
    met = stocked.store.preview([path], arrived_at=DAY).met
    assert stocked.store.load([path], arrived_at=DAY, met=met).files[0].taken == 1


def test_a_change_while_the_load_waits_for_its_turn_is_seen(stocked, monkeypatch):
    """The first look finds nothing new, the one under the lock does."""
    path = stocked.write("meter_readings_5.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,200\n")
    met = stocked.store.preview([path], arrived_at=DAY).met
    keep = Store._keep  # noqa: SLF001 - the moment between the two looks

    def keep_and_be_overtaken(store, files):
        monkeypatch.setattr(Store, "_keep", keep)
        stocked.store.change_setting("currency", "ZMW")
        return keep(store, files)

    monkeypatch.setattr(Store, "_keep", keep_and_be_overtaken)
    with pytest.raises(StoreChanged):
        stocked.store.load([path], arrived_at=DAY, met=met)
    assert stocked.rows("SELECT count(*) FROM meter_readings WHERE value = 200") == [(0,)]


def test_figures_that_are_computed_in_between_change_no_fate(stocked):
    """What was previewed is taken: results are no rows."""
    path = stocked.write("meter_readings_5.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,200\n")
    met = stocked.store.preview([path], arrived_at=DAY).met
    assert run.refresh(stocked.store) == 2
    assert stocked.store.load([path], arrived_at=DAY, met=met).met == met


def test_a_preview_waits_for_no_writer_and_shows_what_is_in_force(stocked):
    """Somebody else is loading: a preview needs no turn."""
    path = stocked.write("meter_readings_messy.csv", MESSY)
    impatient = Store(stocked.store.path, patience_s=0.1)
    with stocked.store.writing():
        assert impatient.preview([path], arrived_at=DAY).files[0].corrected == 2


def test_a_preview_of_a_path_that_is_not_there_is_told(stocked):
    """As of a load."""
    with pytest.raises(UnknownName, match="no such file"):
        stocked.store.preview([stocked.folder / "nothing.csv"])


def test_a_store_behind_its_ledger_is_not_previewed(stocked):
    """The load would refuse, and so does the preview."""
    for path in stocked.store.versions.glob("*.json"):
        path.unlink()
    with pytest.raises(StoreDamaged, match="behind its ledger"):
        stocked.store.preview([stocked.folder / "sites.csv"])


def test_without_room_a_preview_says_where_to_make_some(stocked, monkeypatch):
    """The folder for previews is full: the sentence tells of it, and the store is as it was."""

    def full(*_arguments, **_named):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pipeline.store.session.copyfile", full)
    before, left = bytes_of(stocked.store.path), rooms()
    with pytest.raises(StoreError, match="no room to make a preview") as told:
        stocked.store.preview([stocked.folder / "sites.csv"])
    assert "TMPDIR" in told.value.fault.mend
    assert bytes_of(stocked.store.path) == before
    assert rooms() == left


KILLED = """
import os, sys
from pathlib import Path
import pipeline.store.load as load
from pipeline.store import open_store
load._keep_faults = lambda *_: os.kill(os.getpid(), 9)
open_store(Path(sys.argv[1])).preview([Path(sys.argv[2])])
"""


def test_a_killed_preview_leaves_nothing_in_the_store_and_its_room_goes_with_the_next(
    stocked, tmp_path, monkeypatch
):
    """Killed when its parts are written: the store has its bytes; the next preview clears the room."""
    path = stocked.write("meter_readings_messy.csv", MESSY)
    place = tmp_path / "rooms"
    place.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    before = bytes_of(stocked.store.path)
    done = subprocess.run(
        [sys.executable, "-c", KILLED, stocked.store.path, path],
        check=False,
        env=os.environ | {"TMPDIR": str(place), "PYTHONPATH": str(Path(__file__).parents[3])},
    )
    assert done.returncode == -signal.SIGKILL
    (room,) = place.glob(f"{aside.PREFIX}*")
    assert list(room.glob("parts/*/*.parquet"))
    after = bytes_of(stocked.store.path)
    assert {n: b for n, b in after.items() if not n.startswith("readers/")} == before
    stocked.store.preview([path], arrived_at=DAY)
    assert room.exists()  # it might be one that is just being made
    old = time.time() - 2 * aside.NEW_S
    os.utime(room, (old, old))
    assert stocked.load(path).files[0].corrected == 2
    assert not list((stocked.store.path / "readers").glob("*"))
    stocked.store.preview([path], arrived_at=DAY)
    assert not list(place.glob(f"{aside.PREFIX}*"))


def test_a_room_in_use_and_a_link_are_left_alone(tmp_path, monkeypatch):
    """Old as it may be, a preview that still runs keeps its room; a link leads nowhere."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    other = tmp_path / "other"
    other.mkdir()
    (tmp_path / f"{aside.PREFIX}link").symlink_to(other)
    old = time.time() - 2 * aside.NEW_S
    with aside.room() as held:
        os.utime(held, (old, old))
        with aside.room():
            assert held.exists()
    assert other.exists()
    assert not held.exists()


READING = st.tuples(
    st.sampled_from(["W1", "W2", "W9", ""]),
    st.sampled_from(["2026-03-01 07:00", "2026-03-02 07:00", "2026-03-03 07:00", "2026-04-01", "soon"]),
    st.sampled_from(["100", "130", "131", "5000", "7.5", "clear", "", "1,5", "-3"]),
    st.sampled_from(["", "manual", "remote", "clear"]),
)
SITE = st.tuples(
    st.sampled_from(["S1", "S2", "S3"]),
    st.sampled_from(["Mlambe", "Chitsime", "<b>"]),
    st.sampled_from(["", "North", "clear"]),
    st.sampled_from(["-13.50", "-13.6", "95"]),
    st.just("33.80"),
)
METER = st.tuples(
    st.sampled_from(["W1", "W9"]),
    st.sampled_from(["S1", "S2", "S3", "Mlambe"]),
    st.just("water"),
    st.sampled_from(["", "2026-03-02", "clear"]),
)
FILES = {
    "meter_readings_any.csv": ("meter_id,read_at,value,origin", READING),
    "sites_any.csv": ("site_id,name,district,latitude,longitude", SITE),
    "meters_any.csv": ("meter_id,site_id,quantity,installed_on", METER),
}


def written(draw: st.DrawFn, name: str) -> str:
    head, rows = FILES[name]
    cells = draw(st.lists(rows, min_size=1, max_size=8))
    return "\n".join(
        [head, *(",".join(f'"{cell}"' if "," in cell else cell for cell in row) for row in cells)]
    )


@st.composite
def deliveries(draw: st.DrawFn) -> dict[str, str]:
    names = draw(st.lists(st.sampled_from(sorted(FILES)), min_size=1, max_size=3, unique=True))
    return {name: written(draw, name) for name in names}


@settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(several=st.lists(deliveries(), min_size=1, max_size=2))
def test_whatever_comes_a_preview_is_the_loads_report(stocked_folder, several):
    """Any files, one delivery after the other, onto a stocked store: report, bytes and counts agree."""
    with tempfile.TemporaryDirectory() as folder:
        desk = _copied(stocked_folder, Path(folder))
        for n, delivery in enumerate(several):  # a row that waited would bear an earlier file's name
            paths = [desk.write(name.replace("any", f"any{n}"), text) for name, text in delivery.items()]
            names = {path.name for path in paths}
            report = preview_then_load(desk.store, paths, DAY)
            told = {(c.file, c.line, c.table) for c in report.corrections if c.file in names}
            corrected = sum(line.corrected for line in report.files)
            assert len(told) == corrected
            assert all(c.old != c.new for c in report.corrections)


def _copied(stocked_folder: Path, folder: Path) -> Desk:
    shutil.copytree(stocked_folder, folder / "stocked")
    return new_desk(folder / "stocked")


def test_a_preview_of_each_of_the_demos_deliveries_is_its_loads_report(tmp_path):
    """Three sites for seventy days, with the field's mistakes in them: delivery by delivery."""
    programme = generate(tmp_path / "demo", sites=3, days=70)
    store = open_store(tmp_path / "store", create=True)
    for folder in sorted((programme / "deliveries").iterdir()):
        day = datetime.fromisoformat(f"{folder.name}T12:00:00+00:00")
        report = preview_then_load(store, [folder], day)
        assert report.files
    assert len(list((programme / "deliveries").iterdir())) > 2
