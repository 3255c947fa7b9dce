"""The page of data: what is dropped is looked at first, then taken in or put aside; what came is handed out."""

import io
import json
import re
import zipfile
from html import unescape
from pathlib import Path

import openpyxl
import pytest
from streamlit.testing.v1 import AppTest

from dashboard import data
from dashboard.access import Viewer
from dashboard.data import ReadOptions
from dashboard.files import came as files_came
from dashboard.files import data as files_data
from dashboard.files import tables as files_tables
from pipeline.errors import SunrillError
from pipeline.measures import run
from pipeline.store import Store, came
from pipeline.tables import TABLES
from tests.unit.dashboard.conftest import NORTH, forget, opened, texts
from tests.unit.dashboard.test_dashboard_pages import fates
from tests.unit.dashboard.test_dashboard_words import marked, outside, visible

__all__ = ["marked"]  # a fixture

EVERYBODY, NORTHERNER = Viewer("everybody"), Viewer("northerner", NORTH)
HEAD = "meter_id,read_at,value\n"
FIVE = (
    f"{HEAD}WN1,2026-09-30 17:00,3405\nWN1,2026-09-30 18:00,3406\nWN1,2026-09-30 19:00,3407\n"
    'WN1,2026-09-30 07:00,3361\nWN1,2026-09-30 20:00,"1,234"\n'
)
HOSTILE = "meter_readings_<img src=x onerror=window.ran=1>.csv"


def dropped(text: str, name: str = "meter_readings_late.csv") -> AppTest:
    """The page after a file was dropped and its preview drawn."""
    page = opened("files")
    page.file_uploader[0].upload(name, text.encode())
    page.run()
    assert [e.value for e in page.exception] == []
    return page


def cells(page: AppTest, heading: str) -> list[list[str]]:
    """The cells of the first table that has a heading."""
    for element in page.get("html"):
        rows = re.findall(r"<tr[^>]*>(.*?)</tr>", element.proto.body)
        if rows and f">{heading}</th>" in rows[0]:
            return [[unescape(c) for c in re.findall(r"<td[^>]*>(.*?)</td>", row)] for row in rows[1:]]
    return []


def kept(store: Store) -> dict[str, bytes]:
    """Every file of a store but the locks of who reads it."""
    found = [p for p in store.path.rglob("*") if p.is_file() and "readers" not in p.parts]
    return {str(p.relative_to(store.path)): p.read_bytes() for p in found}


def test_a_drop_shows_at_once_what_would_happen_and_takes_nothing(own: Store) -> None:
    """Three would be taken, one corrects 3,360 to 3,361, one is rejected; the store keeps its bytes."""
    before = kept(own)
    page = dropped(FIVE)
    assert "5 rows: 3 would be taken, 1 would correct an earlier value, 1 would be rejected." in texts(page)
    assert fates(page) == {"meter_readings_late.csv": ["5", "3", "0", "1", "0", "1", "0"]}
    (change,) = cells(page, "Before")
    assert change == [
        "meter_readings WN1, 2026-09-30 07:00",
        "value (the meter's unit)",
        "3400",
        "3361",
        "meter_readings.csv, line 62",
        "meter_readings_late.csv, line 5",
    ]
    (mend,) = cells(page, "How to mend it")
    assert mend[:4] == ["meter_readings_late.csv", "6", "value", "1,234"]
    assert kept(own) == before


def test_what_was_previewed_is_taken(own: Store) -> None:
    """The same fates, now in the words of what happened, and the place to drop is free again."""
    page = dropped(FIVE)
    page.button(key="files.load").click().run()
    assert any(t.startswith("5 rows came: 3 taken, 1 corrected, 1 rejected.") for t in texts(page))
    assert fates(page) == {"meter_readings_late.csv": ["5", "3", "0", "1", "0", "1", "0"]}
    assert any("What was corrected" in t for t in texts(page))
    assert "files.load" not in [b.key for b in page.button]
    with own.read() as reader:
        found = reader.rows("SELECT value FROM meter_readings WHERE value IN (3361, 3405) ORDER BY value")
    assert [row["value"] for row in found] == [3361, 3405]


def test_what_is_put_aside_is_not_kept(own: Store) -> None:
    """No version, no line, no archived file; the page says so and is free for the next drop."""
    before = kept(own)
    page = dropped(FIVE)
    page.button(key="files.aside").click().run()
    assert "The file was put aside: nothing of it was taken or kept." in texts(page)
    assert kept(own) == before
    assert fates(page) != {"meter_readings_late.csv": ["5", "3", "0", "1", "0", "1", "0"]}


def test_a_store_that_changed_in_between_is_previewed_anew(own: Store, tmp_path: Path) -> None:
    """Somebody else takes 3,361 first: the click takes nothing, shows that it is there now, and the next click takes."""
    page = dropped(FIVE)
    other = tmp_path / "meter_readings_other.csv"
    other.write_text(f"{HEAD}WN1,2026-09-30 07:00,3361\n")
    own.load([other])
    page.button(key="files.load").click().run()
    assert any("The store has changed since you looked" in t for t in texts(page))
    assert fates(page) == {"meter_readings_late.csv": ["5", "3", "1", "0", "0", "1", "0"]}
    with own.read() as reader:
        assert reader.rows("SELECT count(*) AS n FROM meter_readings WHERE value = 3405") == [{"n": 0}]
    page.button(key="files.load").click().run()
    assert any(t.startswith("5 rows came: 3 taken, 1 unchanged, 1 rejected.") for t in texts(page))


def test_a_change_that_comes_with_the_click_itself_is_seen(
    own: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page's look finds nothing new, the load does: nothing is taken, and the preview is made anew."""
    page = dropped(FIVE)
    other = tmp_path / "meter_readings_other.csv"
    other.write_text(f"{HEAD}WN1,2026-09-30 07:00,3361\n")
    own.load([other])
    monkeypatch.setattr(files_data, "has_changed", lambda _who, _met: False)
    page.button(key="files.load").click().run()
    assert any("The store has changed since you looked" in t for t in texts(page))
    assert fates(page) == {"meter_readings_late.csv": ["5", "3", "1", "0", "0", "1", "0"]}


def test_figures_computed_in_between_ask_for_no_second_look(own: Store) -> None:
    """New results are no new rows."""
    own.change_setting("currency", "EUR")
    page = dropped(FIVE)
    run.refresh(own)
    page.button(key="files.load").click().run()
    assert any(t.startswith("5 rows came: 3 taken") for t in texts(page))


@pytest.mark.usefixtures("own")
def test_another_way_of_reading_is_previewed_at_once() -> None:
    """Told that the file is of another table, the page shows what that would come to."""
    page = dropped(f"{HEAD}WN1,2026-09-30 17:00,3405\n", "from_the_phone.csv")
    assert fates(page) == {"from_the_phone.csv": ["2", "0", "0", "0", "0", "2", "0"]}
    page.selectbox(key="files.table").select("meter_readings").run()
    assert fates(page) == {"from_the_phone.csv": ["1", "1", "0", "0", "0", "0", "0"]}
    page.button(key="files.load").click().run()
    assert any(t.startswith("One row came: 1 taken.") for t in texts(page))


@pytest.mark.usefixtures("own")
def test_of_files_that_cannot_be_read_nothing_can_be_taken_in() -> None:
    """The page says why, and offers to put it aside alone."""
    page = opened("files")
    page.file_uploader[0].upload("sites_<b>.xlsx", b"PK\x03\x04 no workbook")
    page.run()
    assert any("sites_<b>.xlsx" in t and "Mend:" in t for t in texts(page))
    assert [b.key for b in page.button if b.key in ("files.load", "files.aside")] == ["files.aside"]
    page.button(key="files.aside").click().run()
    assert not any("sites_<b>.xlsx" in t for t in texts(page))


@pytest.mark.usefixtures("own")
def test_hostile_names_and_cells_stay_text() -> None:
    """In the preview, in the list, in the detail: what a file says is never markup."""
    text = f"{HEAD}WN1,2026-09-30 21:00,<img src=x onerror=window.ran=2>\n<script>x</script>,2026-09-30 07:00,1\n"
    page = dropped(text, HOSTILE)
    page.button(key="files.load").click().run()
    page.selectbox(key="chosen.file").select_index(0).run()
    assert [e.value for e in page.exception] == []
    bodies = [e.proto.body for e in page.get("html") if "setTimeout" not in e.proto.body]
    assert sum("&lt;img src=x onerror=window.ran=1&gt;" in body for body in bodies) >= 3
    assert not any("<img" in body or "<script" in body for body in bodies)


def test_a_picked_file_shows_its_fates_its_faults_and_itself(own: Store) -> None:
    """What was rejected is still told long after the load; the bytes are those that came."""
    page = dropped(FIVE)
    page.button(key="files.load").click().run()
    (first, *_) = files_data.files(data.version(), EVERYBODY)
    page = opened("files", file=first["id"])
    shown = texts(page)
    assert any(t.startswith("meter_readings_late.csv") and "loaded by" in t for t in shown)
    assert fates(page) == {"meter_readings_late.csv": ["5", "3", "0", "1", "0", "1", "0"]}
    (mend,) = cells(page, "How to mend it")
    assert mend[1:4] == ["6", "value", "1,234"]
    assert files_data.original(EVERYBODY, first["sha"]) == FIVE.encode()
    archived = own.archive / first["sha"]
    archived.chmod(0o600)
    archived.write_bytes(b"another")
    forget()
    assert any(
        "is no longer in the archive, or is damaged" in t for t in texts(opened("files", file=first["id"]))
    )


def test_the_list_is_searched_by_name_and_a_file_taken_back_stays_in_it(own: Store) -> None:
    """The reason stands with it; its rows are gone from what the file did."""
    page = dropped(FIVE)
    page.button(key="files.load").click().run()
    page.text_input(key="files.search").input("LATE").run()
    assert [row[3:] for row in cells(page, "Loaded by")] == [["5", "3", "0", "1", "0", "1", "0"]]
    page.text_input(key="files.search").input("nothing such").run()
    assert any("No file that came is called so" in t for t in texts(page))
    page.text_input(key="files.search").input("late").run()
    page.selectbox(key="chosen.file").select_index(0).run()
    page.text_input(key="files.why").input("of <b>another</b> year")
    page.button(key="FormSubmitter:files.take_back-Take it back").click().run()
    assert any("was taken back" in t for t in texts(page))
    (row,) = cells(page, "Loaded by")
    assert "Taken back: of <b>another</b> year" in row[0]
    assert "FormSubmitter:files.take_back-Take it back" not in [b.key for b in page.button]
    assert json.loads(own.ledger.read_text().splitlines()[-1])["why"] == "of <b>another</b> year"


def test_a_file_that_came_again_has_a_line_of_its_own_and_its_faults(own: Store, tmp_path: Path) -> None:
    """Byte for byte the same: unchanged; under another name the page warns before it is taken back."""
    path = tmp_path / "meter_readings_late.csv"
    path.write_text(FIVE)
    own.load([path])
    own.load([path])
    other = tmp_path / "meter_readings_copy.csv"
    other.write_text(FIVE)
    own.load([other])
    with own.read() as reader:
        copy, again, first, *_ = came(own, reader)
    assert [(r["file"], r["taken"], r["unchanged"]) for r in (copy, again, first)] == [
        ("meter_readings_copy.csv", 0, 5),
        ("meter_readings_late.csv", 0, 5),
        ("meter_readings_late.csv", 3, 0),
    ]
    assert copy["same_bytes"] == ["meter_readings_late.csv"]
    assert first["same_bytes"] == ["meter_readings_copy.csv"]
    assert [
        f["value"] for f in files_data.faults(data.version(), EVERYBODY, first["sha"], first["file"])
    ] == ["1,234"]


def test_two_files_of_one_name_in_one_load_have_their_own_lines(own: Store, tmp_path: Path) -> None:
    """Each district's folder has a sheet of the same name: each line stands with its own bytes."""
    for folder, rows in (("a", 1), ("b", 2)):
        (tmp_path / folder).mkdir()
        lines = [f"WN{rows},2026-09-30 {19 + n}:00,{3500 + n}" for n in range(rows)]
        (tmp_path / folder / "meter_readings_x.csv").write_text(HEAD + "\n".join(lines) + "\n")
    own.load([tmp_path / "a" / "meter_readings_x.csv", tmp_path / "b" / "meter_readings_x.csv"])
    with own.read() as reader:
        second, first, *_ = came(own, reader)
    assert [(first["rows"], second["rows"])] == [(1, 2)]
    assert [len((own.archive / r["sha"]).read_text().splitlines()) for r in (first, second)] == [2, 3]


def test_a_file_that_could_not_be_read_stands_in_the_list_with_the_reason(own: Store, tmp_path: Path) -> None:
    """It brought no rows, which is not zero rows, and doesn't count among the files that were loaded."""
    broken = tmp_path / "sites_broken.xlsx"
    broken.write_bytes(b"PK\x03\x04 no workbook")
    answer = texts(opened("files"))[1]
    own.load([broken])
    (first, *_) = files_data.files(data.version(), EVERYBODY)
    page = opened("files", file=first["id"])
    assert texts(page)[1] == answer
    (row, *_) = cells(page, "Loaded by")
    assert "could not be read" in row[0]
    assert row[3:] == ["–"] * 7
    assert any("sites_broken.xlsx" in t and "Mend:" in t for t in texts(page))


def test_a_link_to_a_file_that_never_came_shows_the_list(own: Store) -> None:
    """What the address can't mean counts as not said."""
    assert own.manifest() is not None
    page = opened("files", file="99-<script>-1")
    assert cells(page, "Loaded by")
    assert not any("loaded by" in t for t in texts(page))


def test_how_fresh_each_districts_data_are_stands_on_the_page(own: Store) -> None:
    """Readings of the last day, no logs, no surveys: unknown is said, not zero."""
    assert own.manifest() is not None
    assert cells(opened("files"), "Newest meter reading") == [
        ["North", "2", "2026-09-30", "none yet", "none yet"],
        ["South", "1", "2026-09-30", "none yet", "none yet"],
    ]


def test_empty_sheets_are_handed_out_one_by_one_and_all_at_once() -> None:
    """Every table's headings, as the contract has them."""
    book = openpyxl.load_workbook(io.BytesIO(files_data.template("meter_readings")))
    heads = [cell.value for cell in book.active[1]]
    assert heads == [column.name for column in TABLES["meter_readings"].columns]
    with zipfile.ZipFile(io.BytesIO(files_data.templates())) as bundle:
        assert sorted(bundle.namelist()) == sorted(f"{name}.xlsx" for name in TABLES)
        assert bundle.testzip() is None


@pytest.mark.usefixtures("shown")
def test_within_a_scope_nothing_is_previewed_or_handed_out() -> None:
    """A file speaks of any site: who sees the north alone gets neither."""
    sha = files_data.files(data.version(), EVERYBODY)[0]["sha"]
    with pytest.raises(SunrillError, match="only who sees every site"):
        files_data.preview(NORTHERNER, [("sites.csv", b"site_id\n")], ReadOptions(), lambda _step: None)
    with pytest.raises(SunrillError, match="only who sees every site"):
        files_data.original(NORTHERNER, sha)
    with pytest.raises(SunrillError, match="only who sees every site"):
        files_data.has_changed(NORTHERNER, 1)


@pytest.mark.usefixtures("shown")
def test_who_sees_some_sites_only_gets_the_empty_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    """No place to drop, no list; the sheets for the field tell nothing of anybody."""
    monkeypatch.setattr("dashboard.access.viewer", lambda: NORTHERNER)
    page = opened("files")
    assert len(page.file_uploader) == 0
    assert not any("Chigwa" in t or "hazards.csv" in t for t in texts(page))
    assert page.selectbox(key="files.template").value == next(iter(TABLES))


@pytest.mark.parametrize(
    ("old", "new", "shown"),
    [
        ("130", "131", ("130", "131")),
        (None, "3", ("(empty)", "3")),
        ("a" * 500, "a" * 499 + "b", ("… " + "a" * 31, "… " + "a" * 30 + "b")),
        ("x" * 170, "x" * 10, ("x" * 160 + " …", "x" * 10)),
    ],
)
def test_long_texts_are_cut_around_their_first_difference(
    old: str | None, new: str | None, shown: tuple[str, str]
) -> None:
    """A shape of a thousand points that differs in the last one shows the last one."""
    assert files_tables.cut(old, new) == shown


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("sites.csv", "sites.csv"),
        ("../../etc/passwd", "passwd"),
        ('a"\r\nSet-Cookie: x.csv', "a___Set-Cookie_ x.csv"),
        ("\u202evsc.exe", "_vsc.exe"),
        ("..", "file"),
        ("Kötü ☀.csv", "Kötü _.csv"),
    ],
)
def test_a_files_name_can_do_nothing_in_a_header(name: str, plain: str) -> None:
    """No folder, no quote, no line end, no turned direction."""
    assert files_came.plain_name(name) == plain


@pytest.mark.usefixtures("marked")
@pytest.mark.parametrize("state", ["previewed", "picked"])
def test_a_preview_and_a_picked_file_speak_the_catalogues_words(state: str) -> None:
    """With every sentence marked, what is left is what stands in the file and in the contract."""
    if state == "previewed":
        page = dropped(FIVE)
        assert cells(page, "⟦Before⟧")
    else:
        page = opened("files", file=files_data.files(data.version(), EVERYBODY)[0]["id"])
        assert any("⟦There is nothing to mend in it.⟧" in t for t in texts(page))
    known = " ".join(["meter_readings_late.csv", "meters unit meter's", "North South", *TABLES, FIVE])
    came_with = " ".join(f"{r['file']} {r['who']}" for r in files_data.files(data.version(), EVERYBODY))
    meanings = " ".join(table.meaning for table in TABLES.values())
    left = {
        word
        for text in visible(page)
        if text and "setTimeout" not in text
        for word in re.findall(r"[^\W\d_]{2,}", outside(text))
    }
    assert {word for word in left if word not in f"{known} {came_with} {meanings}"} == set()
