"""Each kind of cell, as it is written, against what is stored or the rule that it breaks."""

from datetime import date, datetime
from typing import Any

import pytest

NUMBERS = """
written        | stored | rule
12.5           | 12.5   |
  12.5         | 12.5   |
+3             | 3      |
.5             | 0.5    |
5.             | 5      |
0              | 0      |
007            | 7      |
-0.1           |        | out_of_range
12,5           |        | comma_in_point_file
1,234          |        | thousands_mark
1,234.5        |        | thousands_mark
1.234.567      |        | not_a_number
1e3            |        | not_a_number
inf            |        | not_a_number
nan            |        | not_a_number
0x10           |        | not_a_number
1_000          |        | not_a_number
12.5 m3        |        | not_a_number
1 234          |        | not_a_number
twelve         |        | not_a_number
١٢             |        | not_a_number
-              |        |
--             |        |
N/A            |        |
na             |        |
NULL           |        |
none           |        |
?              |        |
"""
COMMA_NUMBERS = """
written   | stored | rule
12,5      | 12.5   |
12        | 12     |
,5        | 0.5    |
12.5      |        | point_in_comma_file
1.234,5   |        | not_a_number
1.234     |        | point_in_comma_file
"""
COUNTS = """
written              | stored | rule
12                   | 12     |
12.0                 | 12     |
12.5                 |        | not_whole
-1                   |        | out_of_range
99999999999999999999 |        | out_of_range
a dozen              |        | not_a_number
"""
DAYS = """
written              | stored     | rule
2026-03-01           | 2026-03-01 |
2026-03-01T00:00:00  | 2026-03-01 |
2026-03-01 00:00     | 2026-03-01 |
2024-02-29           | 2024-02-29 |
2026-02-29           |            | no_such_day
2026-13-01           |            | no_such_day
2026-03-01 07:30     |            | no_such_day
1990-01-01           | 1990-01-01 |
1989-12-31           |            | too_early
0026-03-01           |            | too_early
2026/03/01           |            | date_marks
2026-3-1             |            | date_marks
1/3/2026             |            | date_order
01.03.2026           |            | date_order
1/3/26               |            | short_year
March 2026           |            | not_a_date
46082                |            | not_a_date
epoch                |            | not_a_date
infinity             |            | not_a_date
today                |            | not_a_date
"""
DAYS_FIRST = """
written     | stored     | rule
1/3/2026    | 2026-03-01 |
01.03.2026  | 2026-03-01 |
31-12-2025  | 2025-12-31 |
2026-03-01  | 2026-03-01 |
3/31/2026   |            | no_such_day
1/3/26      |            | short_year
"""
MOMENTS = """
written                       | stored              | rule
2026-03-01 07:30              | 2026-03-01 07:30:00 |
2026-03-01T07:30              | 2026-03-01 07:30:00 |
2026-03-01T07:30:15           | 2026-03-01 07:30:15 |
2026-03-01 00:00:00           | 2026-03-01 00:00:00 |
2026-03-01                    | 2026-03-01 12:00:00 |
2026-03-01T07:30Z             | 2026-03-01 07:30:00 |
2026-03-01T07:30+02:00        | 2026-03-01 05:30:00 |
2026-03-01T07:30+0200         | 2026-03-01 05:30:00 |
2026-03-01T07:30+02           | 2026-03-01 05:30:00 |
2026-03-01T07:30:00.5-03:30   | 2026-03-01 11:00:00.500000 |
2026-03-01 07:30 +02:00       | 2026-03-01 05:30:00 |
2026-03-01T07:30+25:00        |                     | no_such_time
2026-03-01T07:30+02:75        |                     | no_such_time
2026-03-01 25:00              |                     | no_such_time
2026-03-01 07:60              |                     | no_such_time
2026-03-01 7:30               |                     | no_such_time
2026-02-30 07:30              |                     | no_such_time
1989-12-31 07:30              |                     | too_early
1/3/2026 07:30                |                     | date_order
2026-07-01 23:59              | 2026-07-01 23:59:00 |
2026-07-02 00:00              |                     | in_future
now                           |                     | not_a_date
07:30                         |                     | not_a_date
"""
CLOCKS = """
written  | stored | rule
07:30    | 07:30  |
7:30     | 07:30  |
07:30:00 | 07:30  |
23:59    | 23:59  |
24:00    |        | not_a_clock
117:30   |        | not_a_clock
at 07:30 |        | not_a_clock
0730     |        | not_a_clock
7.30     |        | not_a_clock
06:59    |        | before_start
"""
NUMBER_LISTS = """
written       | stored        | rule
4.1;3.8;5     | 4.1;3.8;5.0   |
 4.1 ; 3.8 ;  | 4.1;3.8       |
7             | 7.0           |
4.1;-3        |               | out_of_range
4.1;x         |               | not_numbers
4,1;3,8       |               | not_numbers
;             |               | not_numbers
"""
TEXTS = """
written  | stored | rule
 a  b    | a  b   |
#3       | #3     |
Café     | Café   |
#REF!    |        | failed_formula
#DIV/0!  |        | failed_formula
"""
SKILLS = """
written           | stored           | rule
pump              | pump             |
Pump; Electrical  | pump;electrical  |
pump;cooking      |                  | not_in_list
;                 |                  |
"""
PARTS = """
written             | stored             |  rule
fuse 10 A; gasket ; | fuse 10 A;gasket   |
"""
ZONES = """
written         | stored          | rule
Africa/Blantyre | Africa/Blantyre |
Etc/GMT-2       | Etc/GMT-2       |
africa/blantyre |                 | no_timezone
UTC+2           |                 | no_timezone
CAT             |                 | no_timezone
localtime       |                 | no_timezone
"""
SHAPES = """
written                                                    | stored                                              | rule
POLYGON ((33.8 -13.5, 33.9 -13.5, 33.9 -13.4, 33.8 -13.5)) | POLYGON ((33.8 -13.5, 33.9 -13.5, 33.9 -13.4, 33.8 -13.5)) |
polygon((33.8 -13.5,33.9 -13.5,33.9 -13.4,33.8 -13.5))     | POLYGON ((33.8 -13.5, 33.9 -13.5, 33.9 -13.4, 33.8 -13.5)) |
POLYGON Z ((33 -13 9, 34 -13 9, 34 -12 9, 33 -13 9))       | POLYGON Z ((33 -13 9, 34 -13 9, 34 -12 9, 33 -13 9)) |
POLYGON EMPTY                                              |  | not_a_shape
POLYGON ((33 -13, 34 -13))                                 |  | broken_shape
POLYGON ((33 -13, 34 -12, 34 -13, 33 -12, 33 -13))         |  | broken_shape
POLYGON ((600000 8500000, 600100 8500000, 600100 8500100, 600000 8500000)) |  | off_the_globe
POLYGON ((1e400 0, 1 0, 1 1, 1e400 0))                     |  | broken_shape
POINT (33.8 -13.5)                                         |  | wrong_shape
LINESTRING (33 -13, 34 -13)                                |  | wrong_shape
GEOMETRYCOLLECTION (POLYGON ((0 0, 1 0, 1 1, 0 0)))        |  | not_a_shape
SRID=32736;POLYGON ((0 0, 1 0, 1 1, 0 0))                  |  | not_a_shape
33.8, -13.5                                                |  | not_a_shape
"""
CHOICES = """
written     | stored     | rule
spray_tube  | spray_tube |
Drip        | drip       |
 FURROW     | furrow     |
spray tube  |            | not_in_list
centre      |            | not_in_list
"""
UNITS = """
written | stored | rule
m3      | m3     |
L       | l      |
kWh     | kWh    |
kwh     | kWh    |
MWH     | MWh    |
gallons |        | not_in_list
"""
LIFTS = """
written | stored | rule
none    | none   |
None    | none   |
grid    | grid   |
n/a     |        |
"""


def table(text: str) -> list[tuple[str, str, str]]:
    """Return the rows of a text table, the first cell as it was written between the marks."""
    lines = text.strip("\n").splitlines()[1:]
    return [(a.removesuffix(" "), b.strip(), c.strip()) for a, b, c in (x.split("|") for x in lines)]


def cases(place: str, text: str, mark: str = ",", **said: Any) -> list[Any]:
    """Return a parameter for each row: its place, all writings of the batch, its own, what is expected."""
    rows = table(text)
    batch = tuple(row[0] for row in rows)
    shown = f"{place}{'' if mark == ',' else ' semicolons'}{' day first' if said else ''}"
    return [
        pytest.param(place, batch, i, mark, said, stored, rule, id=f"{shown}: {written.strip()}")
        for i, (written, stored, rule) in enumerate(rows)
    ]


def as_text(value: Any) -> str:
    """Return a stored value as the tables above write it."""
    if value is None:
        return ""
    if isinstance(value, list):
        return ";".join(str(x) for x in value)
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value) if isinstance(value, (date, datetime, str)) else f"{value}"


@pytest.mark.parametrize(
    ("place", "batch", "i", "mark", "said", "stored", "rule"),
    [
        *cases("sites.tank_volume_m3", NUMBERS),
        *cases("sites.tank_volume_m3", COMMA_NUMBERS, mark=";"),
        *cases("sites.households", COUNTS),
        *cases("sites.commissioned_on", DAYS),
        *cases("sites.commissioned_on", DAYS_FIRST, day_first=True),
        *cases("calls.called_at", MOMENTS),
        *cases("crews.day_end", CLOCKS),
        *cases("surveys.catch_depths_mm", NUMBER_LISTS),
        *cases("sites.other_uses", TEXTS),
        *cases("components.serial", TEXTS),
        *cases("crews.skills", SKILLS),
        *cases("maintenance.parts_used", PARTS),
        *cases("sites.timezone", ZONES),
        *cases("blocks.geometry", SHAPES),
        *cases("blocks.irrigation_method", CHOICES),
        *cases("meters.unit", UNITS),
        *cases("sites.lift_before", LIFTS),
    ],
)
def test_a_cell_is_stored_as_it_means_or_breaks_its_rule(
    read_cells: Any,
    place: str,
    batch: tuple[str, ...],
    i: int,
    mark: str,
    said: dict[str, Any],
    stored: str,
    rule: str,
) -> None:
    """What stands in a cell is read in one way only, or named with the rule that it breaks."""
    value, broken, _ = read_cells(place, batch, mark, **said)[i]
    assert (as_text(value) if not broken else "", broken) == (stored, rule)
