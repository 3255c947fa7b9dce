"""The same rows give the same figures byte for byte; a part of results is named by its bytes."""

import json

import pytest

from pipeline.measures import run
from pipeline.measures.results import RESULTS
from pipeline.store import rebuild, undo
from pipeline.store.manifest import EDITION


@pytest.fixture
def computed(stocked):
    """The stocked store and its figures."""
    found = stocked.figures()
    assert {name for name, *_ in found} >= {"meter_intervals", "site_days"}
    return stocked, found


def test_loading_again_leaves_the_figures_as_they_were(computed):
    """Nothing is computed anew, and no byte is another."""
    desk, before = computed
    desk.load(*sorted(desk.folder.glob("*.csv")))
    assert run.refresh(desk.store) == 0
    assert desk.figures() == before


def test_a_rebuild_gives_the_figures_byte_for_byte(computed):
    """Archive and ledger alone, and everything computed anew."""
    desk, before = computed
    rebuild(desk.store)
    assert desk.store.manifest().results == ()
    assert desk.figures() == before


def test_a_wrong_sheet_changes_the_figures_and_its_undo_brings_them_back(computed):
    """As if it had never come, byte for byte."""
    desk, before = computed
    desk.load_text("meter_readings_wrong.csv", "meter_id,read_at,value\nW1,2026-03-02 07:00,145\n")
    assert desk.figures() != before
    undo(desk.store, "meter_readings_wrong.csv", "typed on the wrong day")
    assert desk.figures() == before


def test_only_the_sites_that_a_load_touched_are_computed(computed):
    """A reading of one site's meter leaves the other's figures alone; a boundary touches none."""
    desk, _ = computed
    desk.load_text("meter_readings_5.csv", "meter_id,read_at,value\nW2,2026-03-05 07:00,5300\n")
    assert desk.store.dirty_slices() == {0: ["S2"]}
    run.refresh(desk.store)
    square = "POLYGON ((33 -14, 34 -14, 34 -13, 33 -13, 33 -14))"
    desk.load_text("districts.csv", f'district,geometry\nNorth,"{square}"\n')
    assert desk.store.dirty_slices() == {}


def test_the_figures_dont_hang_on_the_order_of_the_files(computed, more_desks):
    """Files that don't correct each other, loaded one by one from the last to the first."""
    desk, before = computed
    other = more_desks("other")
    undo(desk.store, "meter_readings_late.csv", "it corrects another")
    straight = desk.figures()
    for path in sorted(other.delivery(), reverse=True):
        other.load(path)
    assert other.figures() == straight != before


@pytest.mark.parametrize("edition", [{"edition": EDITION - 1}, {}])
def test_results_of_another_edition_are_computed_anew(computed, edition):
    """A version whose results an earlier Sunrill made: none is shown, every site waits, then all is as before."""
    desk, before = computed
    path = desk.store.versions / f"{desk.store.manifest().number}.json"
    record = json.loads(path.read_bytes())
    del record["edition"]
    path.write_text(json.dumps(record | edition), encoding="utf-8")
    assert desk.store.dirty_slices() == {0: ["S1", "S2"]}
    with desk.store.read() as reader:
        shown = {name for (name,) in reader.connection.execute("SHOW TABLES").fetchall()}
    assert not shown & set(RESULTS)
    assert run.refresh(desk.store) == 2
    assert desk.store.dirty_slices() == {}
    assert desk.figures() == before


def test_a_load_onto_results_of_another_edition_leaves_every_site_waiting(computed):
    """One site's reading comes: both wait, and no old result is among the new version's."""
    desk, _ = computed
    path = desk.store.versions / f"{desk.store.manifest().number}.json"
    record = json.loads(path.read_bytes())
    path.write_text(json.dumps(record | {"edition": EDITION - 1}), encoding="utf-8")
    desk.load_text("meter_readings_5.csv", "meter_id,read_at,value\nW2,2026-03-05 07:00,5300\n")
    assert desk.store.manifest().results == ()
    assert desk.store.dirty_slices() == {0: ["S1", "S2"]}
