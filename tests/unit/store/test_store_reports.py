"""What a load says: every fault with file, sheet, line, column, value, rule and the way to mend it."""

import os

import pytest

from pipeline.store import status


def told(report):
    return [(f.line, f.column, f.value, f.rule, f.fate) for f in report.faults]


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("surveys.csv", "survey_id,site_id,surveyed_on,colour\nV9,S1,2026-01-01,red\n", [(None, "colour", None, "unknown_column", "note")]),
        ("meter_readings_1.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,many\n", [(2, "value", "many", "not_a_number", "rejected")]),
        ("meter_readings_2.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,-4\n", [(2, "value", "-4", "out_of_range", "rejected")]),
        ("meter_readings_3.csv", "meter_id,read_at,value\nW1,,4\n", [(2, "read_at", None, "required", "rejected")]),
        ("meter_readings_4.csv", "meter_id,value\nW1,4\n", [(2, "read_at", None, "missing_column", "rejected")]),
        ("meter_readings_5.csv", "meter_id,read_at,value\nW1,1980-01-01,4\n", [(2, "read_at", "1980-01-01", "too_early", "rejected")]),
        ("meter_readings_6.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,4,5\n", [(2, "", None, "too_many_cells", "rejected")]),
        ("meters_1.csv", "meter_id,site_id,quantity\nW5,S1,steam\n", [(2, "quantity", "steam", "not_in_list", "rejected")]),
        ("meters_2.csv", "meter_id,site_id,quantity,digits\nW5,S1,water,99\n", [(2, "digits", "99", "out_of_range", "flaw")]),
        ("meters_3.csv", "meter_id,site_id,quantity,installed_on,removed_on\nW5,S1,water,2026-02-01,2026-01-01\n", [(2, "removed_on", "2026-01-01", "before_start", "flaw")]),
    ],
)  # fmt: skip
def test_a_fault_keeps_line_column_value_and_rule_and_says_how_to_mend_it(stocked, name, text, expected):
    """One broken rule at a time; the row is rejected only where a required cell breaks it."""
    report = stocked.load_text(name, text)
    assert told(report) == expected
    line = report.files[0]
    assert (line.rejected, line.flaws) == (
        int(expected[0][-1] == "rejected"),
        int(expected[0][-1] == "flaw"),
    )
    (row,) = report.reject_rows()
    assert (row["file"], row["line"], row["column"], row["value"]) == (name, *expected[0][:3])
    assert row["rule"]
    assert row["how_to_mend"]


def test_a_file_of_no_table_is_rejected_line_by_line(stocked):
    """Nobody can tell its heading from its rows, so each line has a fate."""
    report = stocked.load_text("pumps.csv", "pump\nP1\n")
    assert stocked.fates(report) == {"pumps.csv": {"rejected": 2}}
    assert {f.rule for f in report.faults} == {"no_table"}
    assert "--table" in report.faults[0].words().mend


def test_the_store_keeps_the_faults_of_each_sheet(stocked):
    """They can be asked for when the terminal is long closed."""
    stocked.load_text("meter_readings_1.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,many\n")
    assert stocked.rows(
        'SELECT s.file, line, "column", value, rule, k.fate FROM kept_faults k JOIN sources s USING (source_id)'
    ) == [("meter_readings_1.csv", 2, "value", "many", "not_a_number", "rejected")]


def test_an_unknown_column_is_kept_with_its_row(stocked):
    """Never dropped in silence."""
    stocked.load_text("surveys_2.csv", "survey_id,site_id,surveyed_on,colour\nV9,S1,2026-01-01,red\n")
    assert stocked.rows("SELECT _extra FROM surveys WHERE survey_id = 'V9'") == [('{"colour":"red"}',)]


def test_a_duplicate_key_inside_a_file_counts_from_top_to_bottom(stocked):
    """The lower row corrects the upper one, and both are on record."""
    report = stocked.load_text(
        "surveys_2.csv", "survey_id,site_id,surveyed_on\nV9,S1,2026-01-01\nV9,S1,2026-01-02\n"
    )
    assert stocked.fates(report) == {"surveys_2.csv": {"taken": 1, "corrected": 1}}
    assert stocked.rows("SELECT surveyed_on::VARCHAR FROM surveys WHERE survey_id = 'V9'") == [
        ("2026-01-02",)
    ]
    assert stocked.rows("SELECT surveyed_on::VARCHAR FROM surveys_past") == [("2026-01-01",)]


NAMES = [
    "meter_readings_kötü ☀️.csv",
    'meter_readings_o\'brien "x".csv',
    "meter_readings_two\nlines.csv",
    "meter_readings_a\u2028b\x85c.csv",
    "meter_readings_<b>{x}[1]*?.csv",
    "meter_readings_; DROP TABLE sites; --.csv",
    os.fsdecode(b"meter_readings_\xff\xfe.csv"),
]


def test_file_names_may_hold_anything_that_a_system_allows(stocked):
    """Quotes, newlines, line separators, braces and bytes that are no letters; known again, and taken back."""
    paths = [
        stocked.write(name, f"meter_id,read_at,value\nW1,2026-03-{5 + i:02d} 07:00,{200 + i}\n")
        for i, name in enumerate(NAMES)
    ]
    report = stocked.load(*paths)
    assert [x.taken for x in report.files] == [1] * len(NAMES)
    assert [x.file for x in report.files[:-1]] == NAMES[:-1]
    again = stocked.load(*paths)
    assert [x.unchanged for x in again.files] == [1] * len(NAMES)
    with stocked.store.read() as reader:
        assert {f["file"] for f in status.files(reader)} >= set(NAMES[:-1])


def test_a_file_that_cannot_be_opened_keeps_no_other_out(stocked, monkeypatch):
    """It is told of with the way out; root may open anything, so the refusal is put in its way."""
    closed = stocked.write("meter_readings_closed.csv", "meter_id,read_at,value\nW1,2026-03-05 07:00,200\n")
    free = stocked.write("meter_readings_open.csv", "meter_id,read_at,value\nW1,2026-03-06 07:00,210\n")
    plain = type(closed).open

    def refuse(path, *args, **kwargs):
        if path == closed:
            raise PermissionError(13, "Permission denied", str(path))
        return plain(path, *args, **kwargs)

    monkeypatch.setattr(type(closed), "open", refuse)
    report = stocked.load(closed, free)
    assert stocked.fates(report) == {"meter_readings_open.csv": {"taken": 1}}
    assert [(f.where, f.why) for f in report.unreadable] == [
        ("meter_readings_closed.csv", "Permission denied")
    ]
    assert report.unreadable[0].mend


def test_status_tells_from_when_to_when_each_table_reaches(stocked):
    """First and last local day, rows in force and rows that wait."""
    with stocked.store.read() as reader:
        found = {t.table: (t.rows, str(t.first), str(t.last), t.held) for t in status.tables(reader)}
    assert found["meter_readings"] == (4, "2026-03-01", "2026-03-02", 1)
    assert found["surveys"] == (2, "2026-02-10", "2026-02-11", 0)
    assert found["blocks"] == (3, "None", "None", 0)
    assert "telemetry" not in found


def test_status_tells_how_fresh_each_districts_data_are(stocked):
    """The newest day of readings, logs and surveys by district; none is empty, not zero."""
    stocked.load_text("telemetry.csv", "site_id,logged_at,flow_m3h\nS2,2026-03-11 09:00,3\n")
    with stocked.store.read() as reader:
        found = [[str(v) for v in row.values()] for row in status.freshness(reader)]
    assert found == [
        ["North", "1", "2026-03-02", "None", "2026-02-10"],
        ["South", "1", "2026-03-02", "2026-03-11", "2026-02-11"],
    ]


def test_a_folder_says_which_files_it_left_out(stocked):
    """A document and an old workbook beside the sheets are named, a hidden file and a folder of sheets are not."""
    folder = stocked.folder / "delivery"
    folder.mkdir()
    for name in ("letter.docx", "old.xls", ".hidden.docx", "~$open.xlsx"):
        (folder / name).write_bytes(b"x")
    (folder / "meter_readings_x.csv").write_text("meter_id,read_at,value\nW1,2026-03-05 07:00,150\n")
    (note,) = stocked.load(folder).notes
    assert (note.what, note.where) == ("2 files were left out: letter.docx, old.xls.", str(folder))
    assert ".xlsx" in note.why
    assert stocked.load(folder / "meter_readings_x.csv").notes == []


def test_a_store_in_the_folder_is_no_delivery(desk):
    """Whoever stands beside the store and loads the folder gets the sheets, not the store's own files once more."""
    for _ in range(2):
        desk.write("sites.csv", "site_id,name,latitude,longitude\nS1,Mlambe,-13.5,33.8\n")
        report = desk.load(desk.folder.parent)
        assert [line.file for line in report.files] == ["sites.csv"]
        assert (report.notes, report.unreadable) == ([], [])
