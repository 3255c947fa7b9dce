"""Versions and parts: readers keep what they opened, a load writes what it brings, many parts become one."""

import os
import time

import pytest

from pipeline.store import check, parts, store

MONTHS = "meter_id,read_at,value\nW1,2025-12-05 07:00,10\nW1,2026-01-05 07:00,40\nW2,2026-01-05 07:00,4000\n"


@pytest.fixture
def few_versions(monkeypatch):
    """Keep no version but the newest."""
    monkeypatch.setattr(store, "VERSIONS_KEPT", 1)


def values(reader):
    return reader.connection.execute(
        "SELECT value FROM meter_readings WHERE meter_id = 'W1' ORDER BY read_at"
    ).fetchall()


@pytest.mark.usefixtures("few_versions")
def test_a_reader_keeps_its_version_while_loads_publish_others(stocked):
    """Its rows are those of its version to the end; then the sweep takes what nobody needs."""
    with stocked.store.read() as reader:
        before = values(reader)
        stocked.load_text("meter_readings_4.csv", "meter_id,read_at,value\nW1,2026-03-02 07:00,132\n")
        stocked.load_text("meter_readings_5.csv", "meter_id,read_at,value\nW1,2026-03-02 07:00,133\n")
        assert values(reader) == before == [(100.0,), (131.0,)]
        assert {int(p.stem) for p in stocked.store.versions.glob("*.json")} == {reader.manifest.number, 4}
    stocked.store.change_setting("currency", "ZMW")
    needed = stocked.store.manifest().files()
    there = {
        p.relative_to(stocked.store.path).as_posix()
        for room in ("base", "parts")
        for p in (stocked.store.path / room).rglob("*")
        if p.is_file()
    }
    assert there == needed
    assert list((stocked.store.path / "readers").iterdir()) == []


@pytest.mark.usefixtures("few_versions")
def test_what_a_killed_reader_left_holds_nothing(stocked):
    """A lease that nobody locks is swept."""
    left = stocked.store.path / "readers" / "1-dead"
    left.parent.mkdir(exist_ok=True)
    left.touch()
    stocked.store.change_setting("currency", "ZMW")
    assert not left.exists()
    assert {int(p.stem) for p in stocked.store.versions.glob("*.json")} == {3}


def test_parts_are_by_month_and_a_load_rewrites_only_those_that_it_corrects(stocked):
    """A correction in January leaves the files of December and March as they were."""
    stocked.load_text("meter_readings_old.csv", MONTHS)
    first = {p.file for p in stocked.store.manifest().parts}
    stocked.load_text("meter_readings_fix.csv", "meter_id,read_at,value\nW1,2026-01-05 07:00,41\n")
    made = stocked.store.manifest().parts
    changed = {(p.table, p.month) for p in made if p.file not in first}
    assert changed == {("meter_readings", "2026-01"), ("meter_readings_past", "2026-01")}
    assert stocked.rows("SELECT count(*), sum(value) FROM meter_readings WHERE read_at < '2026-02-01'") == [
        (3, 4051.0)
    ]


def test_many_parts_of_a_month_become_one(stocked, monkeypatch):
    """Daily files don't leave a part each for ever, and no row is lost or doubled."""
    monkeypatch.setattr(parts, "MOST_PARTS", 2)
    for day in range(5, 9):
        stocked.load_text(
            f"meter_readings_{day}.csv", f"meter_id,read_at,value\nW1,2026-03-0{day} 07:00,{day}00\n"
        )
    march = [p for p in stocked.store.manifest().of("meter_readings") if p.month == "2026-03"]
    assert len(march) <= 2
    assert sum(p.rows for p in march) == 8
    assert stocked.rows("SELECT count(*), count(DISTINCT (meter_id, read_at)) FROM meter_readings") == [
        (8, 8)
    ]
    assert stocked.rows(
        "SELECT s.file FROM meter_readings r JOIN sources s ON s.source_id = r._source WHERE value = 700"
    ) == [("meter_readings_7.csv",)]
    assert check(stocked.store) == []


def test_what_killed_loads_left_is_swept(stocked):
    """Half files of base, parts, versions, scratch and archive; a copy that may be going on stays."""
    left = [
        "base/9-dead.duckdb",
        "parts/meter_readings/.dead.parquet",
        "versions/.9.json.dead",
        "scratch/duckdb_temp_0.tmp",
        "archive/.dead",
        "archive/.copying",
    ]
    for name in left:
        (stocked.store.path / name).parent.mkdir(exist_ok=True)
        (stocked.store.path / name).write_bytes(b"half")
    two_days_ago = time.time() - 2 * 86_400
    os.utime(stocked.store.path / "archive/.dead", (two_days_ago, two_days_ago))
    stocked.store.change_setting("currency", "ZMW")
    assert [name for name in left if (stocked.store.path / name).exists()] == ["archive/.copying"]
