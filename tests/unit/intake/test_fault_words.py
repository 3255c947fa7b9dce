"""Whatever goes wrong is told with what, where, why and how to mend it."""

import re
from pathlib import Path
from typing import Any

import pytest

from pipeline.errors import FileFault
from pipeline.intake import kinds, typed
from pipeline.tables import TABLES

SENTENCES = """
sites.tank_volume_m3    | 1,234      | thousands_mark      | 1.234 or 1234
sites.tank_volume_m3    | 12,5       | comma_in_point_file | Write 12.5
sites.tank_volume_m3    | 12.5       | point_in_comma_file | Write 12,5
sites.tank_volume_m3    | -3         | out_of_range        | at least 0 m³
sites.latitude          | 95         | out_of_range        | between -90 and 90 °
surveys.catch_depths_mm | 4;-3       | out_of_range        | at least 0 mm
sites.households        | 12.5       | not_whole           | a count
sites.pump_type         | hand       | not_in_list         | submersible, surface
sites.commissioned_on   | 3/4/2026   | date_order          | --day-first
sites.commissioned_on   | 2026-02-30 | no_such_day         | 2026-03-31
sites.commissioned_on   | 2026/3/4   | date_marks          | hyphens
sites.commissioned_on   | 3/4/26     | short_year          | four digits
sites.commissioned_on   | 1926-01-01 | too_early           | 1990
sites.decommissioned_on | 2020-01-01 | before_start        | commissioned_on
calls.called_at         | 2026-03-31 7:30 | no_such_time   | 07:30
calls.called_at         | 2036-03-31 | in_future           | day after
crews.day_end           | 17h        | not_a_clock         | 07:30
sites.timezone          | CAT        | no_timezone         | Africa/Blantyre
districts.geometry      | POINT (1 2) | wrong_shape        | a polygon
roads.geometry          | POINT (1 2) | wrong_shape        | a line
"""


@pytest.mark.parametrize("line", SENTENCES.strip().splitlines(), ids=lambda x: "-".join(x.split()[:5:2]))
def test_a_fault_names_its_place_its_reason_and_the_way_out(words: Any, line: str) -> None:
    """File, line, column and what stands there come first; the reason names the rule's own figures."""
    place, value, rule, hint = (part.strip() for part in line.split("|"))
    table, _, column = place.partition(".")
    said = words(table, column, value, rule)
    assert said.startswith(f'{table}.csv, line 7, column {column}: "{value}" was not taken.')
    assert hint in said
    assert re.search(r"^Why: .+\.$", said, re.MULTILINE)
    assert re.search(r"^Mend: .+\.$", said, re.MULTILINE)


def _rules_in(module: Any) -> set[str]:
    text = Path(module.__file__).read_text(encoding="utf-8")
    return set(re.findall(r"""(?:THEN|ELSE|=|, )\s*['"]([a-z]+(?:_[a-z]+)+)['"]""", text))


CODES = [
    "missing_column",
    "no_table",
    "no_heading",
    "required",
    "too_many_cells",
    "open_quote",
    "unknown_column",
    "equals_earlier",
    "not_a_number",
    "thousands_mark",
    "comma_in_point_file",
    "point_in_comma_file",
    "not_whole",
    "out_of_range",
    "not_numbers",
    "not_in_list",
    "no_timezone",
    "not_a_clock",
    "before_start",
    "in_future",
    "too_early",
    "date_order",
    "date_marks",
    "short_year",
    "no_such_day",
    "no_such_time",
    "not_a_date",
    "failed_formula",
    "not_a_shape",
    "wrong_shape",
    "broken_shape",
    "off_the_globe",
]


@pytest.mark.parametrize("rule", CODES)
def test_every_rule_has_its_words(words: Any, rule: str) -> None:
    """No rule's code is shown to anybody: each has a what, a why and a mend, in every table's columns."""
    for table in TABLES.values():
        for column in table.columns:
            said = words(table.name, column.name, None, rule)
            assert rule not in said
            assert len(said.splitlines()) == 3
            assert "{" not in said


def test_no_rule_is_missing_from_the_list_above() -> None:
    """A rule that is written into the reading of cells stands among those whose words are looked at."""
    used = {r for r in _rules_in(kinds) | _rules_in(typed) if r not in {"connection", "duckdb_columns"}}
    assert used - set(CODES) <= {"column_name", "table_name", "data_type"}
    assert {"out_of_range", "date_order", "wrong_shape"} <= used


@pytest.mark.parametrize(
    ("name", "content", "why"),
    [
        ("calls.xlsx", b"PK no book", "no XLSX file, or it is damaged"),
        ("calls.parquet", b"PAR1 no file PAR1", "damaged, or not what its ending says"),
        (
            "districts.geojson",
            b'{"type": "FeatureCollection", "features": [',
            "damaged, or not what its ending says",
        ),
        ("districts.gpkg", b"SQLite format 3\x00 torn", "damaged, or not what its ending says"),
        ("calls.csv", b'site_id,called_at\nS1,"' + b"x" * 10_000_001, "a quote is never closed"),
        ("calls.csv", b"site_id,called_at\x00", "bytes that no text has"),
        ("calls.docx", b"x", ""),
        ("calls.csv", b"", ""),
    ],
    ids=["workbook", "parquet", "geojson", "geopackage", "endless cell", "binary", "ending", "nothing"],
)
def test_a_file_that_can_not_be_read_is_told_without_the_machine(
    room: Any, name: str, content: bytes, why: str
) -> None:
    """The file's own name, the reason and the way out; no path of the machine, no name of a library."""
    path = room.put(name, content)
    with pytest.raises(FileFault) as caught:
        room.sheets(path)
    fault = caught.value.fault
    assert fault.where.startswith(name)
    assert why in fault.why
    assert fault.mend
    assert str(path.parent) not in str(caught.value)
    assert "Error" not in str(caught.value)
