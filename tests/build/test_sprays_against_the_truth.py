"""What the sprays' rules find in the demo's surveys, against what truly was wrong on each day."""

import csv
from collections import defaultdict
from datetime import UTC, date, datetime

import pytest

from data_demo import generate
from pipeline.measures.spray_cans import catch_can_surveys
from pipeline.measures.sprays import block_sprays
from pipeline.store import open_store

FILES = ("sites", "blocks", "office", "field_book")  # where sites, blocks and surveys stand
BEFORE_THE_LATERALS = {"intake_blocked", "pump_worn", "source_low", "main_leak"}
LATERALS = {"laterals_blocked", "blocks_doubled"}
pytestmark = pytest.mark.long  # a whole programme's files, for three lines of proof
Found = dict[tuple[str, date], tuple[set[str], set[str]]]


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Found:
    """By site and day of a survey with cans: what the rules say is needed, and what truly was wrong."""
    folder = tmp_path_factory.mktemp("sprays_truth")
    made = generate(folder / "files")
    store = open_store(folder / "store", create=True)
    for delivery in sorted((made / "deliveries").iterdir()):
        paths = [path for path in sorted(delivery.iterdir()) if path.name.startswith(FILES)]
        if paths:
            store.load(paths, arrived_at=datetime.combine(date.fromisoformat(delivery.name), datetime.min.time(), UTC))  # fmt: skip
    truth = defaultdict(list)
    with (made / "truth" / "causes.csv").open(encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            end = date.fromisoformat(row["until_day"]) if row["until_day"] else date.max
            truth[row["site_id"]].append((row["cause"], date.fromisoformat(row["since_day"]), end))
    told: Found = {}
    with store.read() as reader:
        for survey in catch_can_surveys(reader, date(2027, 1, 1)):
            site, on = survey["site_id"], survey["surveyed_on"]
            rows = block_sprays(reader, on, sites=[site])
            needs = {need for row in rows for need in f"{row['site_needs']};{row['needs']}".split(";") if need}  # fmt: skip
            told[site, on] = needs - {"slower"}, {c for c, start, end in truth[site] if start <= on < end}
    return told


def test_a_sound_site_is_never_sent_for(found: Found) -> None:
    """Of more than 80 surveys with cans where neither laterals nor the water's way were faulty, none asks for work."""
    sound = [needs for needs, true in found.values() if not true & (LATERALS | BEFORE_THE_LATERALS)]
    assert len(sound) > 80
    assert [needs for needs in sound if needs] == []


def test_work_on_laterals_is_asked_for_where_they_are_faulty(found: Found) -> None:
    """Flushing only where they were blocked, an open end only where two blocks ran; a worn pump accuses none."""
    for need, cause in (("flush", "laterals_blocked"), ("straighten", "laterals_blocked"), ("end_cap", "blocks_doubled")):  # fmt: skip
        asked = [true for needs, true in found.values() if need in needs]
        assert asked
        assert all(cause in true for true in asked), need


def test_little_water_is_looked_for_before_the_laterals(found: Found) -> None:
    """Each time the pump is named first, the intake, the pump, the source or the main was at fault."""
    asked = [true for needs, true in found.values() if "water_first" in needs]
    assert len(asked) > 5
    assert all(true & BEFORE_THE_LATERALS for true in asked)


def test_blocked_laterals_make_the_cans_uneven(found: Found) -> None:
    """Not every survey finds them, for they begin small; some do."""
    blocked = [needs for needs, true in found.values() if "laterals_blocked" in true]
    assert len(blocked) >= 4
    assert any("flush" in needs for needs in blocked)
