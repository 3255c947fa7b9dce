"""What is on record of a site: every section's rows, words and units, and nothing of another site."""

import re
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

import pipeline.words
from dashboard import data
from dashboard.access import Viewer
from dashboard.records import cells as records_cells
from dashboard.records import data as records_data
from dashboard.records import record
from dashboard.records.table import Made, table, telephone
from pipeline.measures.evidence import evidence
from pipeline.outputs import write_table
from pipeline.store import Store
from pipeline.words import say
from tests.unit.dashboard.conftest import FIRST, LAST, NORTH
from tests.unit.dashboard.record_pages import (  # noqa: F401
    HOSTILE,
    opened,
    pieces,
    recorded,
    records_store,
    rows,
    said,
    texts,
    titles,
)
from tests.unit.dashboard.test_dashboard_words import marked, outside, visible  # noqa: F401

EVERYBODY = Viewer("everybody")


@pytest.fixture
def shown(recorded: Store) -> Store:  # noqa: F811 - fixtures are named where they are used
    """The words' own test looks at the site with records."""
    return recorded


@pytest.mark.usefixtures("recorded")
def test_each_section_says_how_many_rows_it_has_and_open_jobs_alone_are_unfolded() -> None:
    """Two open jobs, three contacts, 28 notes; 60 intervals of 61 daily readings."""
    page = opened("N1")
    assert titles(page) == [
        "Open jobs (2)", "Contacts (3)", "Calls (1)", "Alarms (2)", "What visits found (1)", "Surveys (2)", "Maintenance (5)",
        "Farmer trainings (1)", "Components (3)", "Meters (1)", "Meter intervals of the period (60)", "Notes and decisions (28)",
        "Add or correct a reading", "Write a note or decision",
    ]  # fmt: skip
    assert [e.label for e in page.expander if e.proto.expanded] == ["Open jobs (2)"]


@pytest.mark.usefixtures("recorded")
def test_open_jobs_are_those_of_the_periods_last_evening() -> None:
    """One was mended the day after, one waits for a part for 10 days; neither the serviced nor the later one is there."""
    assert rows(opened("N1"), "Open jobs") == [
        ["2026-09-29 06:00 J4", "one day", "open, no reason on record worked again 2026-10-01 09:00", "water ran on", f"pipe mend {HOSTILE}", "unknown"],
        ["2026-09-20 08:00 J1", "10 days", "a part", "water stopped some was seen since, last on 2026-09-30", "pump mend", HOSTILE],
    ]  # fmt: skip


@pytest.mark.usefixtures("recorded")
@pytest.mark.parametrize(
    ("day", "jobs"),
    [(date(2026, 9, 1), ["J2"]), (date(2026, 9, 3), []), (date(2026, 9, 20), ["J1"]), (date(2026, 10, 2), ["J5", "J1"])],
)  # fmt: skip
def test_a_job_is_open_from_its_report_until_it_is_done(day: date, jobs: list[str]) -> None:
    """On the day of the report it is open, on that of the mending no longer."""
    found = records_data.on_record(data.version(), EVERYBODY, "N1", day)["open_jobs"]
    assert [job["record_id"] for job in found] == jobs


@pytest.mark.usefixtures("recorded")
@pytest.mark.parametrize("day", [date(2026, 9, 1), date(2026, 9, 20), LAST, date(2026, 10, 2)])
def test_the_week_has_the_same_open_jobs_of_a_site(day: date) -> None:
    """The same jobs, as old, and waiting for the same, whichever of the two pages somebody reads."""
    version = data.version()
    week = [job for job in data.on_day(version, EVERYBODY, day)["jobs"] if job["site_id"] == "N1"]
    site = records_data.on_record(version, EVERYBODY, "N1", day)["open_jobs"]
    told = ("age_days", "waits_for", "water_stopped", "water_seen_on")
    assert {j["record_id"]: [j[n] for n in told] for j in site} == {
        j["record_id"]: [j[n] for n in told] for j in week
    }
    assert site


@pytest.mark.usefixtures("recorded")
def test_maintenance_has_the_time_without_water_and_the_cost_in_the_programmes_currency() -> None:
    """From the 1st at 6 h to the 3rd at 18 h are 2.5 days; where nobody said, it is unknown and no 0."""
    found = {row[0][:16]: row[1:] for row in rows(opened("N1"), "Maintenance")}
    assert list(found) == [
        "2026-10-02 06:00",
        "2026-09-29 06:00",
        "2026-09-20 08:00",
        "2026-09-01 06:00",
        "2026-08-20 09:00",
    ]
    assert found["2026-09-01 06:00"] == [
        "2026-09-03 18:00 closed", "2.50 days", "pump mend worn", "exchanged Thoko", "seal, bolt", "1,500.5 MWK",
    ]  # fmt: skip
    assert found["2026-09-20 08:00"][1] == "no return of water on record"
    assert found["2026-09-29 06:00"][1] == "water ran on"
    assert found["2026-08-20 09:00"][1] == "not on record whether the water stopped"
    assert found["2026-08-20 09:00"][-1] == "unknown"


@pytest.mark.usefixtures("recorded")
def test_a_jobs_time_without_water_is_the_figures() -> None:
    """One job that stopped the water was restored in the period: its time is the median of the indicator."""
    version = data.version()
    (job,) = [
        j
        for j in records_data.on_record(version, EVERYBODY, "N1", LAST)["maintenance"]
        if j["report_to_water_days"]
    ]
    (figure,) = [f for f in data.indicators(version, EVERYBODY, FIRST, LAST) if f["site_id"] == "N1"]
    assert job["report_to_water_days"] == figure["report_to_water_days"] == 2.5


@pytest.mark.usefixtures("recorded")
def test_surveys_show_what_was_measured_with_units_and_conditions_in_words() -> None:
    """What was not measured is not there, and an empty survey says so."""
    assert rows(opened("N1"), "Surveys") == [
        ["2026-09-11 V2", "nothing was measured", "no condition was noted", ""],
        [
            "2026-09-10 V1 Temwa", "water level, pump at rest 5.25 m catch cans 4; 3.5 mm",
            "pump: rather bad (2 of 5) security: good (5 of 5)", f"strainer: sand alarm was not tried {HOSTILE}",
        ],
    ]  # fmt: skip


@pytest.mark.usefixtures("recorded")
def test_components_taken_out_stand_apart_from_those_in_place() -> None:
    """Of a warranty that ended before the period's last day it is said; unknown is said too."""
    page = opened("N1")
    assert rows(page, "Components") == [
        ["2026-09-01", f"pump P2 {HOSTILE}", "2028-09-01"],
        ["2024-09-01", "filter F1", "2026-09-29 over by 2026-09-30"],
        ["2024-09-01", "pump P1", "2026-09-01 over by 2026-09-30", "2026-09-01"],
    ]
    assert said(page, "Components").index("In place") < said(page, "Components").index("Taken out")


@pytest.mark.usefixtures("recorded")
def test_the_other_sections_speak_in_words_and_on_the_sites_clock() -> None:
    """A call of half past eleven at night stays on its day; who didn't count youth gives no 0."""
    page = opened("N1")
    assert rows(page, "Calls") == [["2026-09-02 23:30", HOSTILE, "crew to look"]]
    assert rows(page, "Alarms") == [
        ["2026-09-02 05:00", "no end on record", "tampered with"],
        ["2026-09-01 05:00", "2026-09-01 06:00", "pump ran dry"],
    ]
    assert rows(page, "What visits") == [
        ["2026-09-03 07:00", "2026-09-03 12:00", f"{HOSTILE} crew C1", "partly", ""]
    ]
    assert rows(page, "Farmer") == [
        ["2026-09-05", "flushing lines", "22 women, 17 men; youth among them: unknown"]
    ]
    assert rows(page, "Meters") == [
        ["WN1", "water at the source, m³", "6 digits before it goes round", "unknown", ""]
    ]


@pytest.mark.usefixtures("recorded")
def test_a_long_section_shows_25_rows_newest_first_and_says_how_many_more_there_are() -> None:
    """28 notes: 25 on the page and 3 more in the download; 60 intervals: 35 more."""
    page = opened("N1")
    notes = rows(page, "Notes")
    assert [row[0] for row in notes] == [f"2026-09-{n:02} 10:00" for n in range(28, 3, -1)]
    assert notes[1] == ["2026-09-27 10:00", "note 27", "because 27", "Thoko"]
    assert notes[0] == ["2026-09-28 10:00", HOSTILE, HOSTILE, "unknown"]
    assert "3 more are in the download" in said(page, "Notes")
    assert "35 more are in the download" in said(page, "Meter intervals")


def test_meter_intervals_are_those_of_the_evidence_with_verdict_reason_file_and_line(recorded: Store) -> None:  # noqa: F811
    """The newest first: 40 m³ from the 59th to the 60th reading, as the command tells it."""
    with recorded.read() as reader:
        told = evidence(reader, "N1", FIRST, LAST).to_pylist()
    asked = records_data.intervals(data.version(), EVERYBODY, "N1", FIRST, LAST)
    assert [{"site_id": "N1"} | row for row in told[::-1]] == asked
    line = told[-1]["to_line"]
    assert rows(opened("N1"), "Meter intervals")[0] == [
        "2026-09-29 07:00", "2026-09-30 07:00", "WN1", "40 m³", "counted as read",
        f"3,360 to 3,400 meter_readings.csv, lines {told[-1]['from_line']} and {line}",
    ]  # fmt: skip
    assert len(rows(opened("N1", first="2026-09-29"), "Meter intervals")) == 2


def test_an_interval_that_is_not_counted_says_why() -> None:
    """No amount is no 0; a stretch of the log that goes on has no readings and no amount."""
    bad = {
        "from_at": "2026-09-29 07:00+02:00", "to_at": "2026-09-30 07:00+02:00", "meter_id": "W", "quantity": "water",
        "amount": None, "verdict": "misread", "reason": "It fits nowhere.", "from_value": 10.0, "to_value": 9.25,
        "from_file": "a.csv", "from_line": 2, "to_file": "b.csv", "to_line": 3,
    }  # fmt: skip
    assert records_cells.interval(bad)[3:] == [
        ["not counted"], ["misread", "It fits nowhere."], ["10 to 9.25", "a.csv, line 2", "b.csv, line 3"],
    ]  # fmt: skip
    log = bad | {"to_at": None, "quantity": None, "verdict": "silent", "from_value": None}
    assert records_cells.interval(log)[1:] == [["now"], ["W"], [""], ["silent", "It fits nowhere."], []]


def test_every_verdict_of_the_measures_has_its_word() -> None:
    """What the measures can say of an interval or of a log is in the list, which the catalogue covers."""
    with files(pipeline.words).joinpath("en", "measures.po").open("rb") as stream:
        keys = [m.id if isinstance(m.id, str) else m.id[0] for m in read_po(stream, locale="en") if m.id]
    codes = {m[1] for key in keys if (m := re.fullmatch(r"measures\.(?:verdict|log)_(\w+)", key))}
    assert codes - {"silent_since"} | {"ordinary", "stuck"} == set(records_cells.VERDICTS)


@pytest.mark.usefixtures("recorded")
def test_nothing_that_the_field_wrote_is_taken_for_markup() -> None:
    """Each hostile text stands there as it was written, and no tag of it is left in any piece."""
    page = opened("N1")
    whole = "".join(pieces(page))
    assert "<img" not in whole
    assert 'href="javascript' not in whole
    assert whole.count("&lt;img src=x onerror=alert(1)&gt;") >= 8
    assert not [title for title in titles(page) if "img" in title]


@pytest.mark.parametrize(
    ("written", "link"),
    [
        ("+265 000 00001", "+26500000001"), ("0999-111.222", "0999111222"),
        ("javascript:alert(1)", ""), ("0999 111 222 / 0888 333 444", ""), ('+265" onclick="x', ""), ("12", ""),
        ("1234567890123456", ""), ("", ""), (None, ""), ("\u0660\u0661\u0662\u0663\u0664\u0665", ""), ("+265 (0) 999 111", ""),
    ],
)  # fmt: skip
def test_a_number_is_dialled_only_where_it_is_one(written: str | None, link: str) -> None:
    """Two numbers in a cell, or a text, are shown as they are and dial nobody."""
    found = telephone(written)
    assert (f'href="tel:{link}"' in found) if link else not isinstance(found, Made)


@pytest.mark.usefixtures("recorded")
def test_contacts_are_for_calling_and_leave_no_file() -> None:
    """One can be dialled; no download is there, for contacts stand in no report."""
    page = opened("N1")
    assert rows(page, "Contacts") == [
        [f"{HOSTILE} chair", "+265 000 00001", "Chichewa", "2026-08-01"],
        ["Atupele clerk", "0999 111 222 / 0888 333 444", "Tumbuka", "no consent on record"],
        ["Thoko operator", "javascript:alert(1)", "unknown", "no consent on record"],
    ]
    assert "Call before you drive" in said(page, "Contacts")
    assert '<a href="tel:+26500000001">' in "".join(pieces(page))
    names = [button.proto.id for button in page.get("download_button")]
    assert len(names) == 2 * 11
    assert not [name for name in names if "contacts" in name]


def test_a_tables_heads_stand_with_each_cell_for_a_phone() -> None:
    """On a narrow screen a row is a block of labelled lines: the label is an attribute, escaped, and an empty cell goes."""
    html = table(['A "b"', "C"], [[["2026-09-30"], [""]]])
    assert 'class="time" data-head="A &quot;b&quot;"' in html
    assert 'class="said none" data-head="C"' in html


@pytest.mark.usefixtures("recorded")
def test_an_empty_section_says_what_fills_it_and_how() -> None:
    """N2 has a meter and readings, and nothing else."""
    page = opened("N2")
    assert titles(page)[:3] == ["Open jobs (none)", "Contacts (none)", "Calls (none)"]
    assert said(page, "Calls") == (
        "No call is on record. Sheets of the table calls, loaded on the page Data, fill this; "
        "the command sunrill templates writes an empty one."
    )
    assert "No job was open on the evening of 2026-09-30." in said(page, "Open jobs")
    assert "the programme's office loads it" in said(opened("N2", NORTH), "Calls")


@pytest.mark.usefixtures("recorded")
def test_a_site_outside_the_scope_gives_nothing() -> None:
    """Neither a section nor a form is drawn of the south, nor of a site that isn't there."""
    for site_id, scope in (("S1", NORTH), ("NOBODY", None), ("'; DROP TABLE sites; --", None), ("S1", ())):
        page = opened(site_id, scope)
        assert (titles(page), texts(page)) == ([], [])


@pytest.mark.usefixtures("recorded")
def test_questions_of_the_south_are_empty_for_the_north_and_filled_for_everybody() -> None:
    """Its job, its intervals and its readings: each is there to be found, and hidden from who may not see it."""
    version, north = data.version(), Viewer("northerner", NORTH)
    moment = f"{LAST} 07:00"
    assert (
        records_data.on_record(version, EVERYBODY, "S1", LAST)["open_jobs"][0]["component"] == "Southern pump"
    )
    assert records_data.on_record(version, north, "S1", LAST) == {}
    assert len(records_data.intervals(version, EVERYBODY, "S1", FIRST, LAST)) == 60
    assert records_data.intervals(version, north, "S1", FIRST, LAST) == []
    assert records_data.reading_at(version, EVERYBODY, "WS1", moment)["versions"][0]["value"] == 2800
    assert records_data.reading_at(version, north, "WS1", moment) == {
        "versions": [],
        "before": None,
        "after": None,
    }


@pytest.mark.usefixtures("recorded")
def test_who_sees_some_sites_reads_the_record_and_writes_nothing() -> None:
    """The northerner has the sections of N1 and neither form."""
    page = opened("N1", NORTH)
    assert titles(page)[-1] == "Notes and decisions (28)"
    assert len(page.button) == 0


@pytest.mark.parametrize(("site_id", "name"), [("S00014", "S00014"), ("../../etc/x", "_etc_x"), ("<b>" * 50, "_b" * 20)])  # fmt: skip
def test_a_site_in_a_files_name_leads_nowhere(site_id: str, name: str) -> None:
    """Letters, digits, hyphens and underscores, at most forty."""
    assert record.plain(site_id) == name


@pytest.mark.usefixtures("recorded")
def test_a_download_has_every_row_in_the_units_of_the_contract_and_runs_nothing(tmp_path: Path) -> None:
    """Catch cans stand as they came, times on the site's clock, and a text that a sheet would run is disarmed."""
    found = records_data.on_record(data.version(), EVERYBODY, "N1", LAST)
    for name, section in found.items():
        for ending in ("csv", "xlsx"):
            write_table(record.flat(section), tmp_path / f"{name}.{ending}")
    lines = {name: (tmp_path / f"{name}.csv").read_text().splitlines() for name in found}
    assert len(lines["notes"]) == 1 + 28
    assert "4;3.5" in lines["surveys"][2]
    assert lines["calls"][1].startswith("N1,2026-09-02 23:30,")
    assert record.flat([{"a": [0.5, 2000.0], "b": None, "c": "x"}]) == [
        {"a": "0.5;2000", "b": None, "c": "x"}
    ]
    write_table([{"note": "=1+1"}], tmp_path / "formula.csv")
    assert (tmp_path / "formula.csv").read_text() == "note\n'=1+1\n"


def test_the_record_shows_the_catalogues_words_and_the_programmes_data(marked: Store) -> None:  # noqa: F811
    """With every sentence marked, what is left unmarked is what the field wrote, an id, a unit or the currency."""
    page = opened("N1")
    with marked.read() as reader:
        found = reader.connection.execute("""
            SELECT to_json(m)::VARCHAR FROM maintenance m UNION ALL SELECT to_json(c)::VARCHAR FROM contacts c
            UNION ALL SELECT to_json(c)::VARCHAR FROM calls c UNION ALL SELECT to_json(v)::VARCHAR FROM visit_outcomes v
            UNION ALL SELECT to_json(s)::VARCHAR FROM surveys s UNION ALL SELECT to_json(t)::VARCHAR FROM trainings t
            UNION ALL SELECT to_json(c)::VARCHAR FROM components c UNION ALL SELECT to_json(m)::VARCHAR FROM meters m
            UNION ALL SELECT to_json(d)::VARCHAR FROM decisions d UNION ALL SELECT file FROM sources""").fetchall()
    known = " ".join([*(row[0] for row in found), "MWK Africa/Blantyre mm m³"])
    shown_texts = [text for text in visible(page) if text]
    assert sum("⟦" in text for text in shown_texts) > 50
    left = {word for text in shown_texts for word in re.findall(r"[^\W\d_]{2,}", outside(text))}
    assert {word for word in left if word not in known} == set()
    assert say("site_records.title") in texts(page)[0]
