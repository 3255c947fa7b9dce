"""Entering a reading or a note on a site's page: what it replaces, what becomes of it, and taking it back."""

import json
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from dashboard import data
from dashboard.access import Viewer
from dashboard.records import data as records_data
from pipeline.errors import SunrillError
from pipeline.store import Store, history
from tests.unit.dashboard.conftest import LAST, NORTH
from tests.unit.dashboard.record_pages import (  # noqa: F401
    HOSTILE,
    desk,
    opened,
    pieces,
    records_store,
    rows,
    said,
    texts,
)

EVENING = datetime(2026, 9, 30, 18, 0)  # noqa: DTZ001 - on the site's clock
MORNING = datetime(2026, 9, 30, 7, 0)  # noqa: DTZ001 - the last reading, 3400 m³
LOOK = "FormSubmitter:records.reading.N1-See what it would change"
NOTE = "FormSubmitter:records.note.N1-Put it on record"
UNDO = "FormSubmitter:records.undo.N1-Take it back"


def asked(page: AppTest, day: date | None, clock: time | None, value: str) -> AppTest:
    """The fields filled in, and what it would change looked at."""
    page.date_input(key="records.day.N1").set_value(day)
    page.time_input(key="records.clock.N1").set_value(clock)
    page.text_input(key="records.value.N1").input(value)
    return ran(page.button(key=LOOK).click())


def ran(element: Any) -> AppTest:
    page: AppTest = element.run()
    assert [e.value for e in page.exception] == []
    return page


def entered(page: AppTest, moment: datetime, value: str) -> AppTest:
    return ran(asked(page, moment.date(), moment.time(), value).button(key="records.take.N1").click())


def taken_back(page: AppTest, why: str) -> AppTest:
    page.text_input(key="records.undo_why.N1").input(why)
    return ran(page.button(key=UNDO).click())


def values(store: Store, meter_id: str = "WN1") -> list[float]:
    """The three newest values of a meter, the newest last."""
    with store.read() as reader:
        found = reader.connection.execute(
            "SELECT value FROM meter_readings WHERE meter_id = ? ORDER BY read_at", [meter_id]
        ).fetchall()
    return [value for (value,) in found[-3:]]


def versions(store: Store, moment: str) -> list[tuple[float, str, bool]]:
    """Every version of a reading of WN1, as `sunrill history` has it."""
    with store.read() as reader:
        found = history(reader, "meter_readings", ("WN1", moment))
    return [(v["value"], v["file"].partition("_entered_")[0], v["in_force"]) for v in found]


def shown(page: AppTest) -> str:
    return " ".join(texts(page))


def water(store_version: int) -> float:
    rows_ = data.indicators(store_version, Viewer("everybody"), date(2026, 8, 1), LAST)
    return float(next(row["water_m3"] for row in rows_ if row["site_id"] == "N1"))


def test_a_new_reading_is_looked_at_then_taken_then_undone(desk: Store) -> None:  # noqa: F811
    """It stands beside 3,400 of the morning; 5 m³ more are pumped; undone, it is as if it had never come."""
    before = water(data.version())
    page = asked(opened("N1"), EVENING.date(), EVENING.time(), "3405")
    assert page.selectbox(key="records.meter.N1").value == "WN1"  # the only one is chosen already
    words = said(page, "Add or correct")
    assert "WN1, 2026-09-30 18:00: 3405." in words
    assert "No reading of this meter is on record at that time: it would be a new one." in words
    assert "The reading before it: 3,400 on 2026-09-30 07:00. No later reading is on record." in words
    assert values(desk)[-1] == 3400  # nothing was taken yet
    ran(page.button(key="records.take.N1").click())
    assert "Taken: it is on record now. The figures of one site were computed anew." in shown(page)
    assert values(desk)[-2:] == [3400, 3405]
    assert versions(desk, "2026-09-30 18:00+02:00") == [(3405, "meter_readings", True)]
    assert water(data.version()) > before
    assert rows(page, "Meter intervals")[0][:4] == ["2026-09-30 07:00", "2026-09-30 18:00", "WN1", "5 m³"]
    assert page.text_input(key="records.value.N1").value == ""
    assert page.selectbox(key="records.meter.N1").value == "WN1"  # the next one is often of the same meter

    taken_back(page, " ")
    assert "Say why the file is taken back" in shown(page)
    assert values(desk)[-1] == 3405
    taken_back(page, "read at another site")
    assert "was taken back." in shown(page)
    assert values(desk)[-1] == 3400
    assert water(data.version()) == before
    ledger = [json.loads(line) for line in desk.ledger.read_text().splitlines()]
    assert [(e["file"][:23], e["why"]) for e in ledger if e["kind"] == "undo"] == [
        ("meter_readings_entered_", "read at another site")
    ]
    (load,) = [e for e in ledger if e["kind"] == "load" and "_entered_" in e["files"][0]["name"]]
    assert (
        desk.archive / load["files"][0]["sha"]
    ).read_text() == "meter_id,read_at,value\nWN1,2026-09-30 18:00,3405\n"


def test_who_knows_the_day_alone_is_told_the_times_of_its_readings(desk: Store) -> None:  # noqa: F811
    """3,400 of 07:00 is named with its time; of a day without a reading, that there is none."""
    page = asked(opened("N1"), MORNING.date(), None, "3401")
    assert "On 2026-09-30 this meter was read: 3,400 on 2026-09-30 07:00." in said(page, "Add or correct")
    page = asked(page, MORNING.date() + timedelta(days=400), None, "3401")
    assert "No reading of this meter is on record on 2027-11-04." in said(page, "Add or correct")
    assert values(desk)[-1] == 3400


def test_a_correction_names_what_it_replaces_and_keeps_it_on_record(desk: Store) -> None:  # noqa: F811
    """3,400 gives way to 3,401, and 3,400 entered once more takes its place again: a person means what they enter."""
    page = asked(opened("N1"), MORNING.date(), MORNING.time(), "3401")
    assert "It would take the place of 3,400 (meter_readings.csv, line " in said(page, "Add or correct")
    ran(page.button(key="records.take.N1").click())
    assert "Corrected: the new value counts, and the earlier one stays on record." in shown(page)
    assert "Earlier: 3,400 (meter_readings.csv, line " in shown(page)
    assert "Counts now: 3,401 (meter_readings_entered_" in shown(page)
    both = [(3400, "meter_readings.csv", False), (3401, "meter_readings", True)]
    assert versions(desk, "2026-09-30 07:00+02:00") == both

    entered(page, MORNING, "3400")
    assert versions(desk, "2026-09-30 07:00+02:00")[-1] == (3400, "meter_readings", True)
    taken_back(page, "3401 was right")
    assert versions(desk, "2026-09-30 07:00+02:00") == both


def test_the_same_value_changes_nothing_and_offers_no_undo(desk: Store) -> None:  # noqa: F811
    """3,400 stands there already."""
    page = entered(opened("N1"), MORNING, "3400")
    assert "Unchanged: the same is on record already." in shown(page)
    assert not [b for b in page.button if b.key == UNDO]
    assert values(desk)[-1] == 3400


@pytest.mark.parametrize(
    ("day", "clock", "value", "why", "mend"),
    [
        (MORNING.date(), MORNING.time(), "3,405", "a comma can't be a thousands mark", "Write 3405"),
        (MORNING.date(), MORNING.time(), "", "value must be filled", "Write the value"),
        (MORNING.date(), MORNING.time(), "-3", "value must be at least 0", "Look the value up on paper"),
        (MORNING.date(), MORNING.time(), HOSTILE, "value takes a number", "Write digits only"),
        (MORNING.date(), None, "3405", "read_at must be filled", "Write the value"),
        (None, MORNING.time(), "3405", "read_at must be filled", "Write the value"),
    ],
)  # fmt: skip
def test_what_cannot_be_taken_is_told_in_the_intakes_words(
    desk: Store, day: date | None, clock: time | None, value: str, why: str, mend: str  # noqa: F811
) -> None:  # fmt: skip
    """The value stays in its field to be mended, and nothing has changed."""
    page = asked(opened("N1"), day, clock, value)
    ran(page.button(key="records.take.N1").click())
    words = shown(page)
    assert "Not taken: nothing has changed." in words
    assert why in words
    assert f"Mend: {mend}" in words
    assert values(desk) == [3320, 3360, 3400]
    assert page.text_input(key="records.value.N1").value == value
    assert "<img" not in "".join(pieces(page))


def test_a_time_to_come_is_warned_of_and_not_taken(desk: Store) -> None:  # noqa: F811
    """Five days from now nobody has read anything."""
    later = datetime.now(UTC) + timedelta(days=5)
    page = asked(opened("N1"), later.date(), MORNING.time(), "9000")
    assert "That time has not come yet at the site." in said(page, "Add or correct")
    ran(page.button(key="records.take.N1").click())
    assert "What has happened can't lie later than the day after the load." in shown(page)
    assert values(desk)[-1] == 3400


def test_a_note_is_taken_shown_as_text_and_undone(desk: Store) -> None:  # noqa: F811
    """It stands on top of the notes with who and why, over two lines; undone, 28 are left."""
    page = opened("N1")
    page.text_input(key="records.what.N1").input(HOSTILE)
    page.text_input(key="records.who.N1").input('"Thoko", chair')
    page.text_area(key="records.why.N1").input("first line\nsecond, =1+1")
    ran(page.button(key=NOTE).click())
    assert "Taken: it is on record now." in shown(page)
    assert "computed anew" not in shown(page)  # no figure is made of notes
    assert rows(page, "Notes and decisions (29)")[0][1:] == [
        HOSTILE,
        "first line second, =1+1",
        '"Thoko", chair',
    ]
    assert "<img" not in "".join(pieces(page))
    with desk.read() as reader:
        found = reader.rows(
            "SELECT about, what, who, why, _source FROM decisions ORDER BY decided_at DESC LIMIT 1"
        )[0]
        assert (found["about"], found["what"], found["why"]) == ("N1", HOSTILE, "first line\nsecond, =1+1")
        file = reader.rows("SELECT file FROM sources WHERE source_id = ?", [found["_source"]])[0]["file"]
    assert file.startswith("decisions_entered_")
    taken_back(page, "wrong site")
    assert rows(page, "Notes and decisions (28)")[0][1] == HOSTILE


def test_a_note_leaves_a_reading_that_is_half_entered_alone(desk: Store) -> None:  # noqa: F811
    """3405 is still in its field, looked at and not taken; the note's own fields are empty."""
    page = asked(opened("N1"), EVENING.date(), EVENING.time(), "3405")
    page.text_input(key="records.what.N1").input("meter was hard to read")
    ran(page.button(key=NOTE).click())
    assert page.text_input(key="records.what.N1").value == ""
    assert page.text_input(key="records.value.N1").value == "3405"
    assert "it would be a new one" in said(page, "Add or correct")
    assert "Taken" in said(page, "Write a note")
    assert values(desk)[-1] == 3400


def test_a_note_without_words_is_rejected_with_the_way_to_mend_it(desk: Store) -> None:  # noqa: F811
    """What was decided must be filled."""
    page = ran(opened("N1").button(key=NOTE).click())
    assert "what must be filled" in shown(page)
    with desk.read() as reader:
        assert reader.rows("SELECT count(*) AS n FROM decisions WHERE about = 'N1'")[0]["n"] == 28


def test_an_entry_that_meets_another_writer_says_wait(desk: Store, monkeypatch: pytest.MonkeyPatch) -> None:  # noqa: F811
    """Somebody else writes and doesn't end: a sentence, and the value is still in its field."""
    monkeypatch.setattr(data, "store", lambda: Store(desk.path, patience_s=0.2))
    page = asked(opened("N1"), EVENING.date(), EVENING.time(), "3405")
    with desk.writing():
        ran(page.button(key="records.take.N1").click())
    assert "somebody else is writing to the store" in shown(page)
    assert page.text_input(key="records.value.N1").value == "3405"
    assert values(desk)[-1] == 3400


def test_a_site_without_a_meter_says_what_lacks(desk: Store) -> None:  # noqa: F811
    """No field is drawn for a reading that could not be of any meter."""
    data.load(
        Viewer("everybody"),
        [("sites_b.csv", b"site_id,name,latitude,longitude\nB1,Bare,-13.2,33.5\n")],
        data.ReadOptions(),
    )
    page = opened("B1")
    assert desk.manifest() is not None
    assert "No meter of this site is on record" in said(page, "Add or correct")


@pytest.mark.usefixtures("desk")
def test_within_a_scope_nothing_is_entered() -> None:
    """Where the form isn't drawn, the question refuses too."""
    with pytest.raises(SunrillError, match="only who sees every site"):
        records_data.enter(
            Viewer("northerner", NORTH),
            "decisions",
            {"decided_at": records_data.now_text(), "about": "N1", "what": "x"},
        )
