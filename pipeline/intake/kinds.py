"""The one rule table: for each kind of column, the SQL that reads a cell and the rule that it breaks.

A reading is three SQL expressions: the value of a text cell `{cell}` (trimmed, NULL where empty);
the rule that a non-empty cell breaks (NULL: none), over the cell and the value just read, which has
the column's name, for it would be read twice otherwise; and for a moment whether it was written with
an offset. DuckDB's own casts are not trusted: they take `inf`, `1e3`, `0x10`, `1_000`.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.tables import EARLIEST_YEAR, Column, Kind

DAY = r"\d{4}-\d{2}-\d{2}"
MOMENT = DAY + r"[T ]\d{2}:\d{2}(:\d{2}(\.\d+)?)?"
THOUSANDS = r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?"
FORMULA_ERRORS = ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#SPILL!")
OFFSET = r" ?(Z|[+-](?:0\d|1[0-4])(:?[0-5]\d)?)"  # no zone is further than 14 h from UTC
WKT = r"(?i)(SRID=4326;)?\s*(MULTI)?(POINT|LINESTRING|POLYGON)\b.*"  # a collection may nest without end
LARGEST_WHOLE = 2**53  # a double holds every whole number up to here


@dataclass(frozen=True)
class Writing:
    """How numbers and dates are written in one sheet."""

    decimal_comma: bool = False
    day_first: bool = False
    workbook: bool = False


@dataclass(frozen=True)
class Reading:
    """SQL of a cell's value and of the rule that it breaks."""

    value: str
    rule: str
    utc: str = ""


def named(column: Column) -> str:
    """Return SQL of a column's value, once it was read."""
    return f'"{column.name}"'


def quoted(text: str) -> str:
    """Return a string as an SQL literal."""
    return "'" + text.replace("'", "''") + "'"


def full_match(cell: str, pattern: str) -> str:
    """Return SQL that tells whether the whole cell has a pattern."""
    return f"regexp_full_match({cell}, {quoted(pattern)})"


def one_of(value: str, texts: Iterable[str]) -> str:
    """Return SQL that tells whether a value is one of some texts.

    No `IN`: DuckDB makes a join of each list of more than a few, four times as long for a small sheet.
    """
    return f"list_contains({_list(texts)}, {value})"


def reading(column: Column, cell: str, source_type: str, writing: Writing) -> Reading:
    """Return how a column's cells are read.

    Parameters
    ----------
    column : Column
        The contract's column.
    cell : str
        SQL of the cell.
    source_type : str
        DuckDB's type of the cell: VARCHAR, or what a typed file brings.
    writing : Writing
        Decimal mark and order of dates.
    """
    numeric = source_type in {"DOUBLE", "BIGINT"}
    match column.kind:
        case Kind.NUMBER | Kind.WHOLE if numeric:
            return _typed_number(column, cell)
        case Kind.NUMBER | Kind.WHOLE:
            return _number(column, cell, writing)
        case Kind.DATE:
            return _date(column, cell, writing)
        case Kind.INSTANT:
            return _instant(column, cell, writing)
        case Kind.CLOCK:
            return _clock(column, cell, writing)
        case Kind.CHOICE:
            return _choice(column, cell)
        case Kind.CHOICES:
            return _choices(column, cell)
        case Kind.NAMES:
            parts = f"[trim(x) FOR x IN string_split({cell}, ';') IF trim(x) <> '']"
            return Reading(f"nullif(array_to_string({parts}, ';'), '')", _failed(cell))
        case Kind.NUMBERS:
            return _numbers(column, cell, writing)
        case Kind.TIMEZONE:
            return Reading(cell, _unless(f"list_contains(getvariable('timezones'), {cell})", "no_timezone"))
        case Kind.GEOMETRY:
            return _geometry(column, cell, source_type)
        case Kind.ID:
            whole = f"regexp_replace({cell}, '^(-?[0-9]+)\\.0+$', '\\1')" if writing.workbook else cell
            return Reading(f"nfc_normalize({whole})", _failed(cell))
        case Kind.TEXT:
            return Reading(cell, _failed(cell))


def _failed(cell: str) -> str:
    """The rule that a text breaks which is the error of a spreadsheet's formula."""
    return f"CASE WHEN starts_with({cell}, '#') AND {one_of(cell, FORMULA_ERRORS)} THEN 'failed_formula' END"


def _unless(holds: str, rule: str) -> str:
    return f"CASE WHEN NOT coalesce({holds}, false) THEN {quoted(rule)} END"


def _range(column: Column, value: str) -> str:
    """The rule that a number outside its bounds breaks; the bounds themselves are inside."""
    checks = []
    if column.low is not None:
        checks.append(f"WHEN {value} < {column.low!r} THEN 'out_of_range'")
    if column.high is not None:
        checks.append(f"WHEN {value} > {column.high!r} THEN 'out_of_range'")
    return f"CASE {' '.join(checks)} END" if checks else "NULL"


def _typed_number(column: Column, cell: str) -> Reading:
    checks = [f"WHEN NOT isfinite({cell}::DOUBLE) THEN 'not_a_number'", *_whole(column, cell)]
    return Reading(
        f"TRY_CAST({cell} AS {column.sql_type})", f"CASE {' '.join(checks)} ELSE {_range(column, cell)} END"
    )


def _whole(column: Column, number: str) -> list[str]:
    """The rules that a count keeps, as branches of a CASE."""
    if column.kind is not Kind.WHOLE:
        return []
    return [
        f"WHEN {number} <> floor({number}) THEN 'not_whole'",
        f"WHEN abs({number}::DOUBLE) > {LARGEST_WHOLE} THEN 'out_of_range'",
    ]


def number_pattern(*, comma: bool) -> str:
    """Return the pattern of a number with its decimal mark."""
    mark = "," if comma else r"\."
    return rf"[+-]?(\d+({mark}\d*)?|{mark}\d+)"


def _number(column: Column, cell: str, writing: Writing) -> Reading:
    comma = writing.decimal_comma
    pattern = number_pattern(comma=comma)
    plain = f"replace({cell}, ',', '.')" if comma else cell
    number = named(column)
    checks = [*_whole(column, number), f"WHEN isfinite({number}) THEN {_range(column, number)}"]
    if comma:
        checks.append(f"WHEN {full_match(cell, number_pattern(comma=False))} THEN 'point_in_comma_file'")
    else:
        checks.append(f"WHEN {full_match(cell, THOUSANDS)} THEN 'thousands_mark'")
        checks.append(f"WHEN {full_match(cell, number_pattern(comma=True))} THEN 'comma_in_point_file'")
    value = f"CASE WHEN {full_match(cell, pattern)} THEN TRY_CAST({plain} AS DOUBLE) END"
    return Reading(value, f"CASE {' '.join(checks)} ELSE 'not_a_number' END")


def _calendar(column: Column, otherwise: str) -> str:
    value = named(column)
    return (
        f"CASE WHEN {value} IS NULL THEN {otherwise} "
        f"WHEN year({value}) < {EARLIEST_YEAR} THEN 'too_early' END"
    )


def _no_date(cell: str, iso: str, no_such: str) -> str:
    """The rule that a cell breaks which is no date: what it looks like decides the way to mend it."""
    looks = [
        (iso, DAY + ".*", no_such),
        (cell, r"\d{4}[./-]\d{1,2}[./-]\d{1,2}.*", "date_marks"),
        (cell, r"\d{1,2}[./-]\d{1,2}[./-]\d{2}([^0-9].*)?", "short_year"),
        (cell, r"\d{1,2}[./-]\d{1,2}[./-]\d{4}.*", "date_order"),
    ]
    branches = " ".join(f"WHEN {full_match(text, form)} THEN {quoted(rule)}" for text, form, rule in looks)
    return f"CASE {branches} ELSE 'not_a_date' END"


def _day_first(cell: str) -> str:
    """A day written first, as ISO text; other text stays as it is."""
    pattern = r"^(\d{1,2})[./-](\d{1,2})[./-](\d{4})"
    parts = [f"regexp_extract({cell}, {quoted(pattern)}, {i})" for i in (3, 2, 1)]
    iso = f"{parts[0]} || '-' || lpad({parts[1]}, 2, '0') || '-' || lpad({parts[2]}, 2, '0')"
    rest = f"regexp_replace({cell}, {quoted(pattern)}, '')"
    return f"CASE WHEN regexp_matches({cell}, {quoted(pattern)}) THEN {iso} || {rest} ELSE {cell} END"


def _date(column: Column, cell: str, writing: Writing) -> Reading:
    iso = _day_first(cell) if writing.day_first else cell
    midnight = rf"{DAY}([T ]00:00(:00(\.0+)?)?)?"  # a date cell of a workbook brings its midnight
    value = f"CASE WHEN {full_match(iso, midnight)} THEN TRY_CAST(left({iso}, 10) AS DATE) END"
    rule = _calendar(column, _no_date(cell, iso, "no_such_day"))
    if column.happened:
        rule = f"CASE WHEN {named(column)} > $today::DATE + 1 THEN 'in_future' ELSE {rule} END"
    return Reading(value, rule)


def _instant(column: Column, cell: str, writing: Writing) -> Reading:
    iso = _day_first(cell) if writing.day_first else cell
    alone = full_match(iso, DAY)
    offset = f"regexp_extract({iso}, {quoted(MOMENT + OFFSET)}, 3)"
    wall_text = f"replace(regexp_extract({iso}, {quoted('^' + MOMENT)}), 'T', ' ')"
    wall = f"TRY_CAST({wall_text} AS TIMESTAMP)"
    minutes = (
        f"CASE WHEN {offset} IN ('', 'Z') THEN 0 ELSE (CASE WHEN left({offset}, 1) = '-' THEN -1 ELSE 1 END) * "
        f"(TRY_CAST(substr({offset}, 2, 2) AS INT) * 60 "
        f"+ coalesce(TRY_CAST(right(replace({offset}, ':', ''), 2) AS INT) * (length(replace({offset}, ':', '')) > 3)::INT, 0)) END"
    )
    timed = full_match(iso, MOMENT + f"({OFFSET})?")
    value = (
        # noon: midnight would fall on the day before in some zones
        f"CASE WHEN {alone} THEN TRY_CAST({iso} AS DATE) + INTERVAL 12 HOUR "
        f"WHEN {timed} THEN {wall} - to_minutes(({minutes})::BIGINT) END"
    )
    return Reading(
        value, _calendar(column, _no_date(cell, iso, "no_such_time")), utc=f"coalesce({offset} <> '', false)"
    )


def _clock(column: Column, cell: str, writing: Writing) -> Reading:
    day = (
        r"(?:18\d{2}-12-3[01] |1904-01-01 )?" if writing.workbook else ""
    )  # a time cell brings the day that its book counts from
    pattern = rf"^{day}(\d{{1,2}}:\d{{2}})(?::00(?:\.0+)?)?$"
    value = f"lpad(regexp_extract({cell}, {quoted(pattern)}, 1), 5, '0')"
    return Reading(value, _unless(full_match(named(column), r"([01]\d|2[0-3]):[0-5]\d"), "not_a_clock"))


def _choice(column: Column, cell: str) -> Reading:
    """One of the list, in whatever case it was written, as the list writes it."""
    value, folded = f"lower({cell})", [c.lower() for c in column.choices]
    if folded != list(column.choices):
        value = f"list_extract({_list(column.choices)}, list_position({_list(folded)}, {value}))"
    return Reading(value, _unless(one_of(named(column), column.choices), "not_in_list"))


def _list(texts: Iterable[str]) -> str:
    return f"[{', '.join(quoted(text) for text in texts)}]"


def _choices(column: Column, cell: str) -> Reading:
    parts = f"[lower(trim(x)) FOR x IN string_split({cell}, ';') IF trim(x) <> '']"
    given = f"string_split({named(column)}, ';')"
    known = f"{named(column)} IS NULL OR list_has_all({_list(column.choices)}, {given})"
    return Reading(f"nullif(array_to_string({parts}, ';'), '')", _unless(known, "not_in_list"))


def _numbers(column: Column, cell: str, writing: Writing) -> Reading:
    parts = f"[trim(x) FOR x IN string_split({cell}, ';') IF trim(x) <> '']"
    pattern = quoted(number_pattern(comma=writing.decimal_comma))
    well_written = f"len([x FOR x IN {parts} IF NOT regexp_full_match(x, {pattern})]) = 0"
    plain = f"replace({cell}, ',', '.')" if writing.decimal_comma else cell
    numbers = f"[TRY_CAST(trim(x) AS DOUBLE) FOR x IN string_split({plain}, ';') IF trim(x) <> '']"
    read = named(column)
    rule = (
        f"CASE WHEN {read} IS NULL OR NOT isfinite(list_max({read})) THEN 'not_numbers' "
        f"WHEN list_min({read}) < {column.low!r} THEN 'out_of_range' END"
    )
    return Reading(f"CASE WHEN {well_written} AND len({parts}) > 0 THEN {numbers} END", rule)


def _geometry(column: Column, cell: str, source_type: str) -> Reading:
    value = f"TRY(ST_GeomFromWKB({cell}))"  # of simple kinds only: the readers see to it
    if source_type != "BLOB":
        value = f"CASE WHEN {full_match(cell, WKT)} THEN TRY(ST_GeomFromText({cell})) END"
    wanted = one_of(f"ST_GeometryType({named(column)})::VARCHAR", column.shapes)
    shape = named(column)
    on_globe = f"ST_XMin({shape}) >= -180 AND ST_XMax({shape}) <= 180 AND ST_YMin({shape}) >= -90 AND ST_YMax({shape}) <= 90"
    rule = (
        f"CASE WHEN {shape} IS NULL OR ST_IsEmpty({shape}) THEN 'not_a_shape' "
        f"WHEN NOT {wanted} THEN 'wrong_shape' "
        f"WHEN NOT ST_IsValid({shape}) THEN 'broken_shape' WHEN NOT ({on_globe}) THEN 'off_the_globe' END"
    )
    return Reading(value, rule)
