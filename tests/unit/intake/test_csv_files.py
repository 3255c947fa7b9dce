"""CSV as offices export it: marks, encodings, titles, quotes, line ends, and what breaks them."""

import json
from datetime import datetime
from typing import Any

import pytest

from pipeline.errors import FileFault, UnknownName

NOON = datetime.fromisoformat("2026-03-01 12:00")
CALLS = "site_id,called_at,answer\nS1,2026-03-01,à l'heure\nS2,2026-03-01,\n"


def ids(found: Any) -> list[str | None]:
    """The sites of the rows that were not rejected."""
    return [row["site_id"] for row in found.taken]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [",", ";"])
def test_each_encoding_line_end_and_mark_gives_the_same_rows(
    room: Any, encoding: str, end: str, mark: str
) -> None:
    """Nobody has to say how the file was saved."""
    text = CALLS.replace("\n", end).replace(",", mark)
    found = room.read("calls.csv", text.encode(encoding))
    assert [(r["site_id"], r["called_at"], r["answer"], r["_line"]) for r in found.rows] == [
        ("S1", NOON, "à l'heure", 2),
        ("S2", NOON, None, 3),
    ]
    assert found.faults == []


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32"])
def test_other_encodings_are_refused_with_the_way_to_save_the_file(room: Any, encoding: str) -> None:
    """Such text has bytes that are zero: it is never guessed at."""
    with pytest.raises(FileFault, match=r"save it as CSV \(UTF-8\)"):
        room.read("calls.csv", CALLS.encode(encoding))


@pytest.mark.parametrize("raw", [b"\x81\x8d", b"site_id,called_at\nS\x00,2026-03-01\n"])
def test_bytes_that_no_text_has_refuse_the_file(room: Any, raw: bytes) -> None:
    """A NUL, or bytes that neither encoding knows."""
    with pytest.raises(FileFault, match="the file is no text"):
        room.read("calls.csv", raw)


def test_a_mark_of_byte_order_before_broken_text_does_not_stick_to_the_heading(room: Any) -> None:
    """A file that begins as UTF-8 and has one byte of another encoding is read as that one."""
    found = room.read("calls.csv", b"\xef\xbb\xbf" + CALLS.encode("cp1252"))
    assert ids(found) == ["S1", "S2"]


def test_title_rows_stand_above_the_heading(room: Any) -> None:
    """Titles, logos' blanks and even a row with one column's name are no heading; lines are the file's."""
    found = room.read("calls.csv", 'Calls of March,,\n"Printed\n2 April",,\nanswer,,\n\n' + CALLS)
    assert [row["_line"] for row in found.rows] == [7, 8]


def test_a_title_of_two_lines_by_another_line_end_swallows_no_row(room: Any) -> None:
    """A bare carriage return is a line end wherever it stands."""
    found = room.read("calls.csv", "Calls\rof March\n" + CALLS)
    assert [row["_line"] for row in found.rows] == [4, 5]


def test_the_order_of_columns_is_free_and_their_names_are_exact(room: Any) -> None:
    """`Answer` is not `answer`: it is kept with the row, and told of."""
    found = room.read("calls.csv", "Answer, called_at ,site_id\nyes,2026-03-01,S1\n")
    assert (found.rows[0]["site_id"], found.rows[0]["answer"]) == ("S1", None)
    assert found.rows[0]["_extra"] == '{"Answer":"yes"}'
    assert found.faults == [(None, "Answer", None, "unknown_column", "note")]


def test_no_cell_of_a_column_without_a_name_of_its_own_is_dropped(room: Any) -> None:
    """Unknown columns, one that stands twice and one without a heading are kept with the row."""
    found = room.read("calls.csv", "site_id,called_at,x,,x,answer,answer,\nS1,2026-03-01,a,b,c,d,e,\n")
    assert found.rows[0]["answer"] == "d"
    assert json.loads(found.rows[0]["_extra"]) == {"x": "a", "(4)": "b", "x (5)": "c", "answer (7)": "e"}
    assert [fault[1] for fault in found.faults] == ["x", "(4)", "x (5)", "answer (7)"]


def test_an_empty_column_without_a_name_is_nothing(room: Any) -> None:
    """Trailing separators of an export are no columns."""
    found = room.read("calls.csv", "site_id,called_at,,answer,,\nS1,2026-03-01,,a,,\n")
    assert (found.rows[0]["_extra"], found.faults) == (None, [])


def test_blank_lines_are_no_rows(room: Any) -> None:
    """Nothing, blanks, or separators alone: no row; the lines of the others stay as they are."""
    found = room.read(
        "calls.csv", "site_id,called_at,answer\n\nS1,2026-03-01,\n,,\n \t ,, \nS2,2026-03-01,x\n\n\n"
    )
    assert [row["_line"] for row in found.rows] == [3, 6]


def test_a_short_row_lacks_its_last_cells_and_a_long_one_is_rejected(room: Any) -> None:
    """A comma too many has split a cell: which one can't be told."""
    found = room.read(
        "calls.csv", "site_id,called_at,answer\nS1,2026-03-01\nS2,2026-03-01,a, b\nS3,2026-03-01,a,,\n"
    )
    assert ids(found) == ["S1", "S3"]
    assert found.faults == [(3, "", None, "too_many_cells", "rejected")]


def test_cells_beyond_a_heading_that_ends_in_blanks_are_too_many(room: Any) -> None:
    """The file's clean shape does not hide what stands under no heading."""
    found = room.read("calls.csv", "site_id,called_at,,\nS1,2026-03-01,,\nS2,2026-03-01,a,b\n")
    assert ids(found) == ["S1"]
    assert found.rules == ["too_many_cells"]


def test_quoted_cells_may_hold_marks_quotes_and_line_ends(room: Any) -> None:
    """The next record's line is counted on."""
    found = room.read("calls.csv", 'site_id,called_at,answer\nS1,2026-03-01,"a, ""b""\nc"\nS2,2026-03-01,d\n')
    assert [(row["answer"], row["_line"]) for row in found.rows] == [('a, "b"\nc', 2), ("d", 4)]


def test_a_quote_that_is_never_closed_costs_its_own_row_only(room: Any) -> None:
    """The rows below it are read, not swallowed into a cell."""
    found = room.read(
        "calls.csv", 'site_id,called_at,answer\nS1,2026-03-01,"5 inch\nS2,2026-03-01,x\nS3,2026-03-01,y\n'
    )
    assert ids(found) == ["S2", "S3"]
    assert found.faults == [(2, "", None, "open_quote", "rejected")]


def test_quotes_that_open_without_end_again_and_again_refuse_the_file(room: Any) -> None:
    """Each would be looked for to the end of the file."""
    with pytest.raises(FileFault, match="a record can't be told from the next"):
        room.read("calls.csv", "site_id,called_at,answer\n" + 'S1","2026-03-01\n' * 30)


def test_a_row_that_begins_with_a_hash_is_a_row(room: Any) -> None:
    """No comment is detected: what was sent gets a fate."""
    assert ids(room.read("calls.csv", "site_id,called_at\n#7,2026-03-01\n")) == ["#7"]


def test_a_line_of_ten_megabytes_is_read_or_refused(room: Any) -> None:
    """A boundary's outline may be long; what is longer than any is refused with its line."""
    long = "x" * 9_000_000
    assert (
        room.read("calls.csv", f"site_id,called_at,answer\nS1,2026-03-01,{long}\n").rows[0]["answer"] == long
    )
    with pytest.raises(FileFault, match="line 2"):
        room.read("calls.csv", f"site_id,called_at,answer\nS1,2026-03-01,{'x' * 10_000_001}\n")


def test_a_table_of_one_column_needs_no_separator(room: Any) -> None:
    """What must be there is missing all the same: each row says which column."""
    found = room.read("calls.csv", "site_id\nS1\nS2\n")
    assert found.rules == ["missing_column", "missing_column"]
    assert found.faults[0][1] == "called_at"


def test_a_file_without_a_heading_rejects_every_row(room: Any) -> None:
    """No column name stands anywhere: nothing is taken by its position."""
    found = room.read("calls.csv", "S1,2026-03-01,a\nS2,2026-03-01,b\n")
    assert found.rules == ["no_heading", "no_heading"]


def test_tabs_are_no_separator(room: Any) -> None:
    """A file of tabs has no heading of known columns, and says what to do."""
    found = room.read("calls.csv", CALLS.replace(",", "\t"))
    assert found.rules == ["no_heading"] * 3


@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("meter_readings_north_march.csv", "meter_readings"),
        ("METERS.CSV", "meters"),
        ("site_aliases2.csv", "site_aliases"),
        ("sites.txt", "sites"),
        ("march_sites.csv", None),
    ],
)
def test_a_file_is_named_for_its_table_with_anything_after_it(
    room: Any, name: str, table: str | None
) -> None:
    """The longest name counts; a name that begins otherwise is of no table."""
    found = room.read(name, "site_id\nS1\n")
    assert (found.sheet.table.name if found.sheet.table else None) == table


def test_the_user_may_say_which_table_it_is(room: Any) -> None:
    """`--table` goes before the file's name; a table that isn't there is told with those that are."""
    assert ids(room.read("march.csv", CALLS, table="calls")) == ["S1", "S2"]
    with pytest.raises(UnknownName, match="telemetry"):
        room.read("march.csv", CALLS, table="call")


def test_a_semicolon_file_writes_decimals_with_a_comma_unless_told_otherwise(room: Any) -> None:
    """`--decimal point` is for the whole file: then 12,5 is the one that is rejected."""
    text = "meter_id;read_at;value\nW1;2026-03-01;12,5\nW1;2026-03-02;12.5\n"
    found = room.read("meter_readings.csv", text)
    assert ([row["value"] for row in found.taken], found.rules) == ([12.5], ["point_in_comma_file"])
    found = room.read("meter_readings.csv", text, decimal="point")
    assert ([row["value"] for row in found.taken], found.rules) == ([12.5], ["comma_in_point_file"])


def test_the_word_clear_empties_and_is_no_value(room: Any) -> None:
    """It names the cells to empty; where a cell must be filled it is an empty one."""
    found = room.read(
        "calls.csv", "site_id,called_at,answer,next_step\nS1,2026-03-01, CLEAR\u00a0,\nclear,2026-03-01,,\n"
    )
    assert [row["_cleared"] for row in found.taken] == [["answer"]]
    assert found.faults == [(3, "site_id", None, "required", "rejected")]


def test_every_fault_of_a_row_is_told_at_once(room: Any) -> None:
    """Nobody mends a sheet one error a day."""
    found = room.read("sites.csv", "site_id,name,latitude,longitude,households\nS1,,95,x,few\n")
    assert {(column, rule) for _, column, _, rule, _ in found.faults} == {
        ("name", "required"),
        ("latitude", "out_of_range"),
        ("longitude", "not_a_number"),
        ("households", "not_a_number"),
    }


def test_a_name_that_is_no_pattern_is_read_as_it_is(room: Any) -> None:
    """Brackets and stars in a file's name match no other file."""
    room.put("calls1.csv", "site_id,called_at\nOTHER,2026-03-01\n")
    assert ids(room.read("calls[1].csv", CALLS)) == ["S1", "S2"]


def test_hostile_names_and_cells_are_text(room: Any) -> None:
    """Quotes, statements and markup in a heading or a cell do nothing."""
    nasty = '\'); DROP TABLE sites; --""<script>'
    found = room.read("calls.csv", f'site_id,called_at,"{nasty}"\n"{nasty}",2026-03-01,"{nasty}"\n')
    plain = nasty.replace('""', '"')
    assert ids(found) == [plain]
    assert json.loads(found.rows[0]["_extra"]) == {plain: plain}


def test_thousands_of_columns_are_kept_or_refused(room: Any) -> None:
    """A heading of three thousand columns neither hangs nor ends the load."""
    names = ",".join(f"n{i}" for i in range(3000))
    cells = ",".join(str(i) for i in range(3000))
    with pytest.raises(FileFault, match="columns"):
        room.read("calls.csv", f"site_id,called_at,{names}\nS1,2026-03-01,{cells}\n")
