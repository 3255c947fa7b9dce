"""Links that ask in vain, and stores that go, break or are written to under an open page: a sentence, and a way on."""

import asyncio
import json
import shutil
from concurrent.futures import ThreadPoolExecutor
from html import unescape
from pathlib import Path
from types import SimpleNamespace

import duckdb
import pytest
from starlette.requests import Request
from streamlit.testing.v1 import AppTest

from dashboard import data, plain
from dashboard.access import Viewer
from pipeline.errors import StoreDamaged
from pipeline.measures import run
from pipeline.store import Store
from tests.unit.dashboard.conftest import FIRST, LAST, VIEWS, forget, opened, texts, write_csv

PAGES = {  # each with what it needs to show something
    "portfolio": {"site": "N2", "agreement": "AGN"},
    "week": {},
    "site": {"site": "N2"},
    "crop_water": {"site": "N2"},
    "files": {},
    "figures": {},
    "find": {"find": "n"},
    "sprays": {},
    "harvest": {},
}
WITH_FIGURES = ("portfolio", "week", "site", "crop_water", "figures", "harvest")
NOT_ON_RECORD, NO_SUCH_DAY = "isn't on record, or not with", "is no day on record, or not with"


def said(page: AppTest) -> str:
    return "\n".join(texts(page))


def ended(page: str) -> list[str]:
    """What stopped a page: the frame says it in its place."""
    test = AppTest.from_file(str(VIEWS / f"{page}.py"), default_timeout=120)
    for name, value in PAGES[page].items():
        test.query_params[name] = value
    return [error.value for error in test.run().exception]


def answered(query: str = "") -> str:
    """The plain page, as the server answers with it."""
    scope = {"type": "http", "method": "GET", "path": "/plain", "query_string": query.encode(), "headers": []}
    with ThreadPoolExecutor(1) as apart:  # this thread may hold the loop of a browser
        response = apart.submit(lambda: asyncio.run(plain.respond(Request(scope)))).result()
    assert response.status_code == 200
    page = bytes(response.body).decode()
    assert "<script" not in page
    return unescape(page)


def parts(store: Store, table: str) -> list[Path]:
    found = list((store.path / "results").rglob(f"{table}/*.parquet"))
    assert found
    return found


@pytest.mark.usefixtures("shown")
@pytest.mark.parametrize(
    ("page", "address", "words"),
    [
        ("portfolio", {"district": "Gone"}, NOT_ON_RECORD),
        ("portfolio", {"agreement": "<script>"}, NOT_ON_RECORD),
        ("portfolio", {"site": "NOPE"}, NOT_ON_RECORD),
        ("portfolio", {"district": "North", "site": "S1"}, NOT_ON_RECORD),
        ("portfolio", {"from": "none"}, NO_SUCH_DAY),
        ("portfolio", {"from": "2026-09-20", "to": "2026-08-10"}, NO_SUCH_DAY),
        ("week", {"district": "Gone"}, NOT_ON_RECORD),
        ("week", {"agreement": "GONE"}, NOT_ON_RECORD),
        ("week", {"since": "2026-09-25", "to": "2026-09-20"}, NO_SUCH_DAY),
        ("site", {"site": "NOPE"}, NOT_ON_RECORD),
        ("site", {"site": "N2", "from": "1999-01-01"}, NO_SUCH_DAY),
        ("crop_water", {"site": "NOPE"}, NOT_ON_RECORD),
        ("crop_water", {"site": "N2", "language": "<b>"}, NOT_ON_RECORD),
        ("crop_water", {"site": "N2", "week": "9999-12-31"}, NO_SUCH_DAY),
        ("figures", {"to": "9999-99-99"}, NO_SUCH_DAY),
        ("files", {"file": "9-gone"}, NOT_ON_RECORD),
        ("sprays", {"site": "NOPE"}, NOT_ON_RECORD),
        ("sprays", {"to": "2027-13-01"}, NO_SUCH_DAY),
        ("harvest", {"district": "Nowhere"}, NOT_ON_RECORD),
        ("harvest", {"from": "2027-13-01"}, NO_SUCH_DAY),
    ],
)
def test_a_link_that_asks_in_vain_is_told_what_was_left_out(
    page: str, address: dict[str, str], words: str
) -> None:
    """By its own word, below the field; a link that can be shown is told nothing."""
    told = [text for text in texts(opened(page, **address)) if words in text]
    assert len(told) == 1
    assert any(value in told[0] for value in address.values())
    assert not any(w in said(opened(page, **PAGES[page])) for w in (NOT_ON_RECORD, NO_SUCH_DAY))


@pytest.mark.usefixtures("shown")
def test_what_was_left_out_is_told_until_somebody_chooses() -> None:
    """Another run of the page says it again, a choice in the field ends it; nothing endless is repeated."""
    page = opened("portfolio", district="x" * 5_000)
    page.run()
    told = next(text for text in texts(page) if NOT_ON_RECORD in text)
    assert len(told) < 200
    page.selectbox(key="chosen.district").select("South").run()
    assert NOT_ON_RECORD not in said(page)


@pytest.mark.usefixtures("shown")
def test_the_plain_page_tells_what_was_left_out_too() -> None:
    """Four that can't be shown, one of which would run; without any of them nothing is told."""
    page = answered("district=%3Cscript%3E&agreement=GONE&from=none&to=2026-99-99")
    assert (page.count(NOT_ON_RECORD), page.count(NO_SUCH_DAY)) == (2, 2)
    page = answered(f"district=&agreement=AGN&from={FIRST}&to={LAST}")
    assert (page.count(NOT_ON_RECORD), page.count(NO_SUCH_DAY)) == (0, 0)


def test_a_store_that_goes_under_a_running_page_is_no_empty_one(own: Store) -> None:
    """A disk that is pulled out: each page says so, and offers no place to begin a new store in its stead."""
    opened("find", find="n")
    shutil.rmtree(own.path)
    for page in PAGES:
        (told,) = ended(page)
        assert all(
            words in told for words in (str(own.path), "the store's folder is gone", "Mend: Put it back")
        )
    assert "the store's folder is gone" in answered()
    assert not own.path.exists()


def test_a_store_whose_versions_are_gone_is_damaged_and_not_empty(own: Store) -> None:
    """Archive and ledger are there: the way on is to make it anew from them."""
    shutil.rmtree(own.versions)
    assert any("sunrill rebuild" in text for text in texts(opened("../app")))
    assert "sunrill rebuild" in answered()


class Refusing:
    """A connection to a database that ended by a fault of its own."""

    def cursor(self) -> "Refusing":
        return self

    def execute(self, *_: object) -> None:
        raise duckdb.FatalException("database has been invalidated because of a previous fatal error")

    def close(self) -> None:
        """As a cursor."""


@pytest.mark.usefixtures("shown")
def test_a_database_that_ended_is_opened_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """One question is lost, and not all of them until somebody starts the server again."""
    version = data.version()
    held = data._held(version)  # noqa: SLF001 - what the server keeps
    monkeypatch.setattr(held, "reader", SimpleNamespace(connection=Refusing()))
    with pytest.raises(duckdb.FatalException):
        data.ask("SELECT 1 AS one", version, Viewer("test"))
    assert data.ask("SELECT 1 AS one, $sites AS sites", version, Viewer("test")) == [
        {"one": 1, "sites": None}
    ]


@pytest.mark.parametrize("broken", ["gone", "torn"])
def test_a_results_file_that_goes_under_an_open_page_is_told(own: Store, broken: str) -> None:
    """The version is held and its tables are open; the next question finds the file missing, or cut in half."""
    opened("portfolio")
    for part in parts(own, "site_days"):
        content = part.read_bytes()
        part.unlink()
        if broken == "torn":
            part.write_bytes(content[: len(content) // 2])
    with pytest.raises(StoreDamaged, match="sunrill rebuild"):
        data.known_days(data.version(), Viewer("another"))
    with pytest.raises(StoreDamaged, match="sunrill rebuild"), data.reading(data.version()):
        pass
    forget()
    assert any("the store can't be read" in text for text in texts(opened("../app")))
    assert "the store can't be read" in answered()


def test_a_fault_of_a_question_is_no_damage_of_the_store(own: Store) -> None:
    """Only an error that names a file of the store is one."""
    with pytest.raises(Exception, match="nowhere") as caught, data.reading(data.version()) as reader:
        reader.rows("SELECT * FROM nowhere")
    assert not isinstance(caught.value, StoreDamaged)
    assert own.path.exists()


def test_every_page_says_what_a_newer_store_is(own: Store) -> None:
    """Neither a trace nor half a page."""
    newest = max(own.versions.glob("*.json"), key=lambda path: int(path.stem))
    newer = json.loads(newest.read_text()) | {"format": 99, "number": int(newest.stem) + 1}
    (own.versions / f"{newer['number']}.json").write_text(json.dumps(newer))
    for told in (*(word for page in PAGES for word in ended(page)), answered()):
        assert "a newer Sunrill wrote this store" in told


@pytest.mark.usefixtures("shown")
def test_what_nobody_foresaw_is_a_calm_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """The framework's box, with its links to a search on the internet, never comes; the log has the trace."""
    monkeypatch.setattr(data, "version", lambda: 1 // 0)
    page = opened("../app")
    assert any("Something went wrong on this page that nobody foresaw" in text for text in texts(page))
    assert not page.exception
    assert "Something went wrong on this page that nobody foresaw" in answered()


def test_while_another_writes_every_page_shows_what_was_before(own: Store) -> None:
    """The lock is held, as by a load: no page waits for it or is stopped."""
    before = {page: said(opened(page, **address)) for page, address in PAGES.items()}
    forget()
    with own.writing():
        assert {page: said(opened(page, **address)) for page, address in PAGES.items()} == before


def test_figures_that_wait_are_told_wherever_figures_are(own: Store) -> None:
    """Between a load and its figures: on each page with figures, and on the plain one."""
    own.change_setting("currency", "EUR")
    for page in WITH_FIGURES:
        assert "New rows have come for 3 sites" in said(opened(page, **PAGES[page])), page
    assert "New rows have come for 3 sites" in answered()


def test_one_site_without_anything_else_is_a_page_everywhere(bare: Store, tmp_path: Path) -> None:
    """A name of 200 letters; no meter, block or crop: first no day of it is known, then some, by a job."""
    folder, name = tmp_path / "files", "W" * 200
    folder.mkdir()
    write_csv(
        folder, "sites", f"site_id|name|latitude|longitude|commissioned_on\nL|{name}|-13.2|33.4|2026-09-01"
    )
    for words in ("One site is on record", "can't be judged: no crops"):
        assert bare.load([folder]).faults == []
        run.refresh(bare)
        for page in ("portfolio", "week", "site", "crop_water", "files", "figures", "sprays", "harvest"):
            opened(page, site="L")
        assert name in said(opened("find", find="wwww"))
        assert words in said(opened("portfolio"))
        assert words in answered()
        write_csv(
            folder, "maintenance", "record_id|site_id|kind|reported_at\nJ|L|inspection|2026-09-10 08:00"
        )
    assert name in said(opened("site", site="L"))
