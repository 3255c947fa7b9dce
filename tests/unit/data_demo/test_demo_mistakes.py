"""Each mistake on record stands in its file, and whatever is wrong in a file is on record."""

from datetime import datetime
from pathlib import Path
from typing import Any

import pyarrow.compute as pc
import pytest
from pyarrow import parquet

from data_demo import places
from data_demo.chunks import Chunk, simulate_chunk
from data_demo.climate import weather_of

Sheet = tuple[Path, str, list[str], list[dict[str, Any]]]  # file, table, heading, rows
Made = list[dict[str, str]]
SLIPS = {"transposed", "missing_digit", "litres_as_m3", "thousands_mark", "unknown_meter", "typed_twice"}


@pytest.fixture(scope="module")
def chunk() -> Chunk:
    """What truly happened in the default programme."""
    return simulate_chunk(1, 0, 0, 60, weather_of(1, 549), paper_only=False)


@pytest.fixture(scope="module")
def books(sheets: list[Sheet]) -> dict[tuple[str, str], list[dict[str, Any]]]:
    """The rows of each file of readings, by delivery and name."""
    return {
        (path.parent.name, path.name): rows for path, table, _, rows in sheets if table == "meter_readings"
    }


def of_kind(made: Made, kind: str) -> Made:
    found = [row for row in made if row["kind"] == kind]
    assert found, kind
    return found


def moment(cell: object) -> datetime:
    if isinstance(cell, datetime):
        return cell
    order = "%d/%m/%Y %H:%M" if "/" in str(cell) else "%Y-%m-%d %H:%M"
    return datetime.strptime(str(cell), order)  # noqa: DTZ007 - local time at the site


def typed(kind: str, value: int) -> str:
    """What a slip of the hand makes of a number."""
    digits = str(value)
    return {
        "transposed": digits[0] + digits[2:3] + digits[1:2] + digits[3:],
        "missing_digit": digits[:2] + digits[3:],
        "litres_as_m3": f"{digits}000",
        "thousands_mark": f"{value:,}",
    }.get(kind, digits)


def test_every_reading_is_what_the_counter_showed_or_is_on_record(
    books: dict[tuple[str, str], list[dict[str, Any]]], made: Made, chunk: Chunk
) -> None:
    """Each value of each book, from the true counter and the recorded mistakes alone."""
    counters = {c.meter_id: c for c in chunk.meters}
    recorded: dict[tuple[str, str], dict[str, str]] = {}
    for row in made:
        recorded.setdefault((row["delivery"], row["file"]), {})[row["key"]] = row["kind"]
    met: set[tuple[str, str, str]] = set()
    for where, rows in books.items():
        known = recorded.get(where, {})
        if "copy" in known.values():
            continue
        strangers = [key for key, kind in known.items() if kind == "unknown_meter"]
        for i, row in enumerate(rows):
            at = moment(row["read_at"])
            meter = row["meter_id"]
            if meter not in counters:
                key = next(k for k in strangers if k.endswith(f"{at:%Y-%m-%d %H:%M}"))
                strangers.remove(key)
                meter = key.split(" ", 1)[0]
            key = f"{meter} {at:%Y-%m-%d %H:%M}"
            position = (at.date() - chunk.first_day).days - (row["origin"] == "manual")
            value = counters[meter].shown(position)
            if known.get(meter) == "red_decimals":
                value = value * 10 + 3
            kind = known.get(key, "")
            written = typed(kind, value)
            if "corrected_later" in known.values() and i == len(rows) - 1:
                written = str(int(written.replace(",", "")) + 7)
            assert str(row["value"]) == written, (where, row, kind)
            met.add((*where, key))
    slips = {(r["delivery"], r["file"], r["key"]) for r in made if r["kind"] in SLIPS}
    assert slips <= met


def test_a_reading_typed_twice_stands_twice(
    books: dict[tuple[str, str], list[dict[str, Any]]], made: Made
) -> None:
    """The very same row, one below the other."""
    for row in of_kind(made, "typed_twice"):
        keys = [
            f"{r['meter_id']} {moment(r['read_at']):%Y-%m-%d %H:%M}"
            for r in books[row["delivery"], row["file"]]
        ]
        assert keys.count(row["key"]) == 2, row


def test_title_rows_stand_above_the_heading(programme: Path, made: Made) -> None:
    """A title and an empty line, in texts and in workbooks."""
    seen = set()
    for row in of_kind(made, "title_rows"):
        path = programme / "deliveries" / row["delivery"] / row["file"]
        seen.add(path.suffix)
        if path.suffix == ".csv":
            assert path.read_text(encoding="utf-8-sig").startswith(f"{row['key']}\n\n"), row
    assert seen == {".csv", ".xlsx"}


def test_a_semicolon_file_has_no_decimal_points(programme: Path, made: Made) -> None:
    """Semicolons between the cells, commas in the numbers."""
    commas = 0
    for row in of_kind(made, "semicolons"):
        lines = (programme / "deliveries" / row["delivery"] / row["file"]).read_text("cp1252").splitlines()
        assert ";" in lines[0], row
        for cell in ";".join(lines[1:]).split(";"):
            assert not cell.replace(".", "", 1).isdigit() or "." not in cell, (row, cell)
            commas += cell.replace(",", "", 1).isdigit() and "," in cell
    assert commas > 100


def test_a_copy_is_the_same_file_under_another_name(programme: Path, made: Made) -> None:
    """Byte for byte, in the next delivery."""
    for row in of_kind(made, "copy"):
        folder = programme / "deliveries"
        (first,) = folder.glob(f"*/{row['key']}")
        again = folder / row["delivery"] / row["file"]
        assert first.read_bytes() == again.read_bytes()
        assert first.parent.name < row["delivery"]


def test_a_late_sheet_comes_a_month_after_the_month_that_it_is_of(programme: Path, made: Made) -> None:
    """Its name tells the delivery in which it was due, and there it is missing."""
    for row in of_kind(made, "late"):
        due = f"{row['key'][-7:].replace('_', '-')}-05"
        assert due < row["delivery"]
        assert not list((programme / "deliveries" / due).glob(f"{row['key']}.*")), row


def test_dates_day_first_come_again_in_the_right_order(
    books: dict[tuple[str, str], list[dict[str, Any]]], made: Made
) -> None:
    """31/03/2026 at first, and the mended sheet a month later."""
    for row in of_kind(made, "day_first"):
        wrong = books[row["delivery"], row["file"]]
        assert all("/" in str(r["read_at"]) for r in wrong)
        (right,) = [rows for (_, file), rows in books.items() if file == f"{row['key']}_corrected.csv"]
        assert [moment(r["read_at"]) for r in wrong] == [moment(r["read_at"]) for r in right]


def test_a_name_for_an_id_is_a_sites_name_or_alias(sheets: list[Sheet], made: Made) -> None:
    """Whoever knows the list of sites finds the site that is meant."""
    names = {places.village(i).casefold(): f"S{i + 1:05d}" for i in range(60)}
    names |= {
        row["alias"].casefold(): row["site_id"]
        for _, table, _, rows in sheets
        if table == "site_aliases"
        for row in rows
    }
    for row in of_kind(made, "name_for_id"):
        (rows,) = [
            rows for path, table, _, rows in sheets
            if (path.parent.name, path.name, table) == (row["delivery"], row["file"], row["table"])
        ]  # fmt: skip
        meant = {names.get(str(r["site_id"]).strip().casefold()) for r in rows}
        assert row["key"] in meant, row


def test_words_for_a_number_stand_in_the_survey(sheets: list[Sheet], made: Made) -> None:
    """The cell says "about 12"; all other flows are numbers."""
    flows = {
        row["survey_id"]: row["measured_flow_m3h"]
        for _, table, _, rows in sheets
        if table == "surveys"
        for row in rows
    }
    in_words = {survey for survey, flow in flows.items() if isinstance(flow, str)}
    assert in_words == {row["key"] for row in of_kind(made, "words_for_number")}
    assert all(str(flows[survey]).startswith("about ") for survey in in_words)


def test_meters_that_are_unknown_at_first_have_readings_before_they_are_listed(
    books: dict[tuple[str, str], list[dict[str, Any]]], made: Made
) -> None:
    """Their readings wait, most of them, for the list."""
    waiting = 0
    for row in of_kind(made, "unknown_meter_at_first"):
        waiting += any(
            r["meter_id"] == row["key"]
            for (day, _), rows in books.items()
            if day < row["delivery"]
            for r in rows
        )
    assert waiting >= 3


def test_the_clock_that_is_off_begins_its_month_three_hours_early(programme: Path, made: Made) -> None:
    """The other sites' first quarter ends at 00:15, its own at 21:15 on the day before."""
    for row in of_kind(made, "clock_three_hours_off"):
        path = programme / "deliveries" / row["delivery"] / row["file"]
        if path.suffix != ".parquet":
            continue
        log = parquet.read_table(path)
        mine = pc.equal(log["site_id"], row["key"])
        first = [pc.min(log.filter(m)["logged_at"]).as_py() for m in (mine, pc.invert(mine))]
        early, usual = (
            x.replace(tzinfo=None) if isinstance(x, datetime) else datetime.fromisoformat(x) for x in first
        )
        assert (usual - early).total_seconds() == 3 * 3600, row
