"""Nothing gets lost: damage is found and told, and archive and ledger make the store anew."""

import json
import shutil
import threading

import pytest

from pipeline.errors import StoreBusy, StoreDamaged, StoreError
from pipeline.store import check, ledger, open_store, rebuild, undo
from pipeline.store.store import Store


@pytest.fixture
def loaded(stocked):
    """Two sites' delivery, a correction and a reading that waits."""
    return stocked


def the_part(desk):
    made = desk.store.manifest()
    return desk.store.path / made.of("meter_readings")[0].file


def flip(path, position):
    path.chmod(0o644)
    content = bytearray(path.read_bytes())
    content[position] ^= 0x10
    path.write_bytes(content)


def test_a_sound_store_has_nothing_to_tell(loaded):
    """Archive, parts, small tables and ledger agree."""
    assert check(loaded.store) == []


def test_a_rebuild_gives_the_same_store(loaded):
    """Rows, their files and lines, earlier versions and what waits come back from archive and ledger alone."""
    before = loaded.contents()
    for room in ("base", "parts", "versions"):
        shutil.rmtree(loaded.store.path / room)
    assert rebuild(loaded.store) == 2
    assert loaded.contents() == before
    assert check(loaded.store) == []


def test_a_rebuild_counts_each_load_with_the_day_and_the_settings_of_its_time(loaded):
    """A reading that lay in the future when it came stays rejected; a local time keeps the clock of then."""
    rows = "W1,2026-03-27 07:00,160\nW1,2026-03-30 07:00,190\n"
    loaded.store.change_setting("timezone", "Africa/Blantyre")
    report = loaded.load_text("meter_readings_next.csv", "meter_id,read_at,value\n" + rows, on="2026-03-27")
    assert loaded.fates(report) == {"meter_readings_next.csv": {"taken": 1, "rejected": 1}}
    before = loaded.contents()
    rebuild(loaded.store)
    assert loaded.contents() == before
    assert loaded.rows("SELECT min(read_at)::VARCHAR, max(read_at)::VARCHAR FROM meter_readings") == [
        ("2026-03-01 07:00:00", "2026-03-27 05:00:00")
    ]
    assert loaded.store.manifest().settings.timezone == "Africa/Blantyre"


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_check_finds_a_flipped_bit_in_a_part(loaded, share):
    """A part's name tells of its bytes."""
    part = the_part(loaded)
    flip(part, int(part.stat().st_size * share))
    assert any(part.name in sentence and "rebuild" in sentence for sentence in check(loaded.store))


def test_check_finds_a_flipped_bit_in_the_small_tables(loaded):
    """Blocks bear their own sums."""
    base = loaded.store.path / loaded.store.manifest().base
    flip(base, base.read_bytes().index(b"Mlambe"))
    assert any("rebuild" in sentence for sentence in check(loaded.store))


def test_check_finds_a_missing_and_a_damaged_file_of_the_archive(loaded):
    """Each is named by its digest, which the ledger knows."""
    gone, changed, *_ = sorted(loaded.store.archive.glob("[0-9a-f]*"))
    gone.unlink()
    flip(changed, 3)
    found = check(loaded.store)
    assert any(gone.name in s and "missing" in s for s in found)
    assert any(changed.name in s and "no longer" in s for s in found)


def test_check_finds_a_missing_part_and_a_missing_base(loaded):
    """Both can be made anew."""
    the_part(loaded).unlink()
    (loaded.store.path / loaded.store.manifest().base).unlink()
    assert sum("is missing" in s and "rebuild" in s for s in check(loaded.store)) == 2


@pytest.mark.parametrize("room", ["base", "parts"])
def test_a_reader_of_a_damaged_store_is_told_to_rebuild(loaded, room):
    """No trace of a database: what, where, why and the way out."""
    before = loaded.contents()
    shutil.rmtree(loaded.store.path / room)
    with pytest.raises(StoreDamaged, match="sunrill rebuild"), loaded.store.read():
        pass
    rebuild(loaded.store)
    assert loaded.contents() == before


def test_a_torn_description_of_a_version_is_told_and_mended_by_a_rebuild(loaded):
    """Half a file where the newest version was: nothing is written over it unasked."""
    before = loaded.contents()
    newest = max(loaded.store.versions.glob("*.json"), key=lambda p: int(p.stem))
    newest.write_bytes(newest.read_bytes()[:100])
    assert any("rebuild" in s for s in check(loaded.store))
    with pytest.raises(StoreDamaged, match="sunrill rebuild"):
        loaded.load_text("sites_3.csv", "site_id,name,latitude,longitude\nS3,Nkhande,-13.7,33.7\n")
    rebuild(loaded.store)
    assert loaded.contents() == before
    assert loaded.store.manifest().number > int(newest.stem)


def test_versions_that_were_lost_are_missed(loaded):
    """A half restored copy, older than its ledger, takes nothing in until it is rebuilt."""
    before = loaded.contents()
    newest = max(loaded.store.versions.glob("*.json"), key=lambda p: int(p.stem))
    newest.unlink()
    assert any("behind its ledger" in s for s in check(loaded.store))
    with pytest.raises(StoreDamaged, match="behind its ledger"):
        loaded.load_text("sites_3.csv", "site_id,name,latitude,longitude\nS3,Nkhande,-13.7,33.7\n")
    rebuild(loaded.store)
    assert loaded.contents() == before
    assert loaded.store.manifest().number == int(newest.stem) + 1


def test_a_store_whose_versions_are_gone_is_not_taken_for_an_empty_one(loaded):
    """A ledger without versions asks for a rebuild, instead of beginning anew beside it."""
    shutil.rmtree(loaded.store.versions)
    with pytest.raises(StoreDamaged, match="behind its ledger"):
        open_store(loaded.store.path)
    with pytest.raises(StoreDamaged, match="behind its ledger"):
        loaded.load(loaded.folder)


def test_a_rebuild_refuses_without_the_files_that_it_needs(loaded):
    """The missing file is named, and the store stays as it was."""
    before = loaded.contents()
    line = next(e for e in ledger.entries(loaded.store.ledger) if e["kind"] == "load")
    (loaded.store.archive / line["files"][0]["sha"]).unlink()
    with pytest.raises(StoreDamaged, match=r"sites\.csv"):
        rebuild(loaded.store)
    assert loaded.contents() == before
    loaded.load(loaded.folder / "sites.csv")  # archives it again
    rebuild(loaded.store)
    assert loaded.contents() == before


def test_a_damaged_file_of_the_archive_is_not_replayed_and_heals_when_it_is_loaded_again(loaded):
    """A flipped bit would become a value that nobody sent."""
    before = loaded.contents()
    line = next(e for e in ledger.entries(loaded.store.ledger) if e["kind"] == "load")
    kept = loaded.store.archive / line["files"][0]["sha"]
    flip(kept, 60)
    with pytest.raises(StoreDamaged, match=r"sites\.csv"):
        rebuild(loaded.store)
    loaded.load(loaded.folder / "sites.csv")
    assert check(loaded.store) == []
    rebuild(loaded.store)
    assert loaded.contents() == before


def test_a_rebuild_makes_no_store_in_a_folder_that_is_none(tmp_path):
    """A mistyped folder stays as it is."""
    with pytest.raises(StoreError, match="nothing has been loaded"):
        rebuild(Store(tmp_path / "typo"))
    assert not (tmp_path / "typo").exists()


def test_a_rebuild_refuses_to_lose_loads_of_a_cut_ledger(loaded):
    """A ledger that lost a line in its middle would give a smaller store."""
    before = loaded.contents()
    lines = loaded.store.ledger.read_bytes().splitlines(keepends=True)
    loaded.store.ledger.write_bytes(b"".join(lines[1:]))
    assert any("lacks the loads 1" in s for s in check(loaded.store))
    with pytest.raises(StoreDamaged, match="would lose"):
        rebuild(loaded.store)
    assert loaded.contents() == before


@pytest.mark.parametrize("kept", [1, 40, -40, -2, -1])
def test_a_torn_last_line_of_the_ledger_is_passed_over_and_written_again(loaded, kept):
    """A kill left the newest version and half of its line: the next writer completes the ledger."""
    before = loaded.contents()
    *lines, last = loaded.store.ledger.read_bytes().splitlines(keepends=True)
    loaded.store.ledger.write_bytes(b"".join(lines) + last[:kept])
    loaded.load(loaded.folder / "sites.csv")
    numbers = [entry["number"] for entry in ledger.entries(loaded.store.ledger)]
    assert numbers == [1, 2, 3]
    rebuild(loaded.store)
    assert loaded.contents() == before


def test_a_ledger_line_torn_behind_a_closing_brace_does_not_break_the_ledger(tmp_path):
    """Half a line may end like a whole one."""
    path = tmp_path / "ledger.jsonl"
    ledger.append(path, {"number": 1, "kind": "load"})
    path.write_bytes(path.read_bytes() + b'{"files": [{"name": "a.csv"}')
    ledger.append(path, {"number": 2, "kind": "load"})
    assert [e["number"] for e in ledger.entries(path)] == [1, 2]


def test_a_ledger_line_torn_inside_a_letter_does_not_break_the_ledger(tmp_path):
    """A kill knows nothing of UTF-8."""
    path = tmp_path / "ledger.jsonl"
    ledger.append(path, {"number": 1})
    path.write_bytes(path.read_bytes() + '{"name": "é'.encode()[:-1])
    assert [e["number"] for e in ledger.entries(path)] == [1]
    ledger.append(path, {"number": 2})
    assert [e["number"] for e in ledger.entries(path)] == [1, 2]


def test_a_broken_line_inside_the_ledger_is_told(tmp_path):
    """What was whole once and is not now is damage: nothing is passed over in silence."""
    path = tmp_path / "ledger.jsonl"
    path.write_bytes(b'{"number": 1}\n{"numb\n{"number": 3}\n')
    with pytest.raises(StoreError, match="can't be read"):
        ledger.entries(path)


def test_a_store_of_a_newer_version_is_left_alone(loaded):
    """Neither read nor written nor rebuilt: its layout is unknown."""
    newest = max(loaded.store.versions.glob("*.json"), key=lambda p: int(p.stem))
    record = json.loads(newest.read_text())
    newest.write_text(json.dumps(record | {"format": 99}))
    for ask in (
        lambda: rebuild(loaded.store),
        lambda: loaded.load(loaded.folder),
        lambda: open_store(loaded.store.path),
    ):
        with pytest.raises(StoreError, match="newer Sunrill"):
            ask()
    assert max(int(p.stem) for p in loaded.store.versions.glob("*.json")) == int(newest.stem)


def test_a_copy_of_the_whole_store_goes_on_from_where_it_was(loaded, tmp_path):
    """A backup that is put back is a store like any other."""
    before = loaded.contents()
    shutil.copytree(loaded.store.path, tmp_path / "copy")
    loaded.load_text("sites_3.csv", "site_id,name,latitude,longitude\nS3,Nkhande,-13.7,33.7\n")
    loaded.store = open_store(tmp_path / "copy")
    assert loaded.contents() == before
    assert check(loaded.store) == []
    report = loaded.load_text("sites_4.csv", "site_id,name,latitude,longitude\nS4,Mtondo,-13.7,33.7\n")
    assert loaded.fates(report) == {"sites_4.csv": {"taken": 1}}


def test_a_second_writer_is_told_calmly_to_wait(loaded):
    """While one writes, another gets a sentence with the way out, and readers read."""
    impatient = Store(loaded.store.path, patience_s=0.05)
    held, done = threading.Event(), threading.Event()

    def write():
        with loaded.store.writing():
            held.set()
            done.wait(20)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        assert held.wait(20)
        with pytest.raises(StoreBusy, match="somebody else is writing") as told:
            impatient.load([loaded.folder / "sites.csv"])
        assert told.value.fault.mend
        assert loaded.rows("SELECT count(*) FROM sites") == [(2,)]
    finally:
        done.set()
        writer.join()


def test_a_second_writer_that_waits_gets_its_turn(loaded):
    """Two loads at once end with both files in the store."""
    paths = [
        loaded.write(f"sites_{i}.csv", f"site_id,name,latitude,longitude\nS{i},Site {i},-13.7,33.7\n")
        for i in (3, 4)
    ]
    failed = []

    def load(path):
        try:
            loaded.load(path)
        except StoreError as error:
            failed.append(error)

    writers = [threading.Thread(target=load, args=(path,)) for path in paths]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert failed == []
    assert loaded.rows("SELECT count(*) FROM sites") == [(4,)]
    assert [e["number"] for e in ledger.entries(loaded.store.ledger)] == [1, 2, 3, 4]


def test_the_slices_stay_once_there_are_parts(loaded):
    """Other slices would hide the readings that lie in the old ones."""
    with pytest.raises(StoreError, match="slices"):
        loaded.store.change_setting("slice_sites", "1")


def test_undo_refuses_nothing_it_can_do_without(loaded):
    """A file that is taken back may be missing in the archive: it is no longer needed."""
    line = ledger.entries(loaded.store.ledger)[1]
    (loaded.store.archive / line["files"][0]["sha"]).unlink()
    assert undo(loaded.store, "meter_readings_late.csv", "a copy") == 1
    assert loaded.rows("SELECT value FROM meter_readings WHERE meter_id = 'W1' ORDER BY read_at") == [
        (100.0,),
        (130.0,),
    ]
