"""The first page, as the programme manager sees it."""

import csv
import re
from pathlib import Path

import geopandas
import pytest
from click.testing import CliRunner
from openpyxl import load_workbook
from playwright.sync_api import Browser, Page, expect

from pipeline.cli import main
from pipeline.measures.indicators import INDICATORS
from pipeline.store import Store
from tests.browser.conftest import Visit
from tests.browser.hostile import NAMES

pytestmark = pytest.mark.browser

FROM, TO = "2026-08-01", "2026-09-30"
PERIOD = f"from={FROM}&to={TO}"
WAIT_MS = 60_000


def open_portfolio(page: Page, address: str, query: str = PERIOD) -> None:
    """Open the page and wait for its sentence, its map and its list."""
    page.goto(f"{address}/?{query}")
    expect(page.locator("p.answer").first).to_be_visible(timeout=WAIT_MS)
    expect(page.frame_locator("iframe").first.locator(".patch").first).to_be_visible(timeout=WAIT_MS)
    expect(page.locator(".list tbody tr").first).to_be_visible(timeout=WAIT_MS)


def written(store: Store, out: Path, *command: str) -> list[dict[str, str]]:
    """What a command writes, as its reader gets it."""
    done = CliRunner().invoke(main, [*command, "--store", str(store.path), "--out", str(out)])
    assert done.exit_code == 0, done.output
    with out.open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def near(shown: str, exact: str, *, percent: bool) -> bool:
    """Whether what is shown is the exact figure, rounded to the digits that are shown."""
    if exact == "":
        return shown == "unknown"
    digits = shown.replace(",", "").removesuffix(" %")
    step = 10.0 ** -len(digits.partition(".")[2])
    return abs(float(digits) - float(exact) * (100 if percent else 1)) <= step / 2 + 1e-9


def test_the_page_shows_what_the_commands_write(
    visit: Visit, address: str, programme: Store, tmp_path: Path
) -> None:
    """Sentence on top; every number of list and panel is that of `visits` and `indicators`; nothing is too wide."""
    page = visit.page
    open_portfolio(page, address, f"{PERIOD}&site=N2")
    answer = page.locator("p.answer").first
    assert re.match("(All|None of the|Of) 3 sites", answer.inner_text())
    box = answer.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < 200
    assert page.evaluate("document.documentElement.scrollWidth") <= 1366

    figures = {
        row["site_id"]: row
        for row in written(programme, tmp_path / "i.csv", "indicators", "--from", FROM, "--to", TO)
    }
    ranking = written(programme, tmp_path / "visits.csv", "visits", "--as-of", TO)
    rows = page.locator(".list tbody tr")
    assert rows.count() == len(ranking) == 3
    for row, visited in zip(rows.all(), ranking, strict=True):
        assert row.locator("td.rank").inner_text() == visited["rank"]
        assert visited["evidence"] in row.locator("td.why").inner_text()
        assert near(row.locator("td.value span").inner_text(), visited["value"], percent=False)
        assert row.locator("td.age span").inner_text() == visited["data_age_days"]
        supply, known = row.locator("td.supply").inner_text().split("\n")
        figure = figures[visited["site_id"]]
        assert near(supply, figure["relative_irrigation_supply"], percent=True)
        assert near(known.removesuffix(" known"), figure["supply_coverage"], percent=True)

    shown = {
        row.get_attribute("data-figure"): row.locator("td.number").inner_text()
        for row in page.locator("tr[data-figure]").all()
    }
    assert set(shown) == {figure.name for figure in INDICATORS}
    for figure in INDICATORS:
        exact = figures["N2"][figure.name]
        assert near(shown[figure.name], exact, percent=figure.unit == "–"), figure.name
    assert visit.outside() == []


def test_a_site_is_picked_on_the_map_in_the_list_and_by_keyboard(visit: Visit, address: str) -> None:
    """Each way brings it into the address, its figures under the map, the focus to its heading, and it lasts."""
    page = visit.page
    open_portfolio(page, address)
    marker = page.frame_locator("iframe").first.locator(".patch[title^='Chigwa']")
    page.wait_for_timeout(1500)  # patches move apart first, and the frame then listens
    marker.click()
    page.wait_for_url(re.compile("site=S1"), timeout=WAIT_MS)
    expect(page.locator("h2#site")).to_contain_text("Chigwa", timeout=WAIT_MS)
    expect(page.locator("h2#site")).to_be_focused(timeout=WAIT_MS)

    button = page.locator(".list button", has_text="Kwacha")
    button.focus()
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("site=N1"), timeout=WAIT_MS)
    expect(page.locator("h2#site")).to_contain_text("Kwacha", timeout=WAIT_MS)
    expect(page.locator(".list tr[aria-current]")).to_contain_text("Kwacha")

    page.get_by_role("link", name="Site", exact=True).click()
    expect(page.get_by_role("button", name="Print this page")).to_be_visible(timeout=WAIT_MS)
    expect(page.locator("h2#site")).to_contain_text("Kwacha")


def test_the_list_is_ordered_searched_and_given_columns(visit: Visit, address: str) -> None:
    """A head orders, twice the other way, with the unknown last; a search keeps what it names; a tick adds a column."""
    page = visit.page
    open_portfolio(page, address)
    names = page.locator(".list td.site button")
    by_rank = names.all_inner_texts()
    head = page.locator(".list th.site button")
    head.click()
    assert names.all_inner_texts() == sorted(by_rank)
    head.focus()
    page.keyboard.press("Enter")
    assert names.all_inner_texts() == sorted(by_rank, reverse=True)
    assert page.locator(".list th.site").get_attribute("aria-sort") == "descending"
    page.locator(".list th.rank button").click()
    assert names.all_inner_texts() == by_rank

    search = page.locator(".tools input[type=search]")
    search.fill("SOUTH")
    assert names.all_inner_texts() == ["Chigwa"]
    search.fill("nowhere at all")
    expect(page.locator(".list p")).to_contain_text("Clear the search")
    search.fill("")
    page.locator(".tools summary").click()
    page.get_by_label("Hours on site").check()
    expect(page.locator(".list th", has_text="Hours on site")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 1366


def test_what_is_seen_is_had_as_a_file_of_each_kind(visit: Visit, address: str, tmp_path: Path) -> None:
    """The ranking with name, district and supply: the same three rows as CSV, as a workbook and on a map."""
    page = visit.page
    open_portfolio(page, address)
    for label, ending in (("Download as CSV", "csv"), ("XLSX", "xlsx"), ("GeoPackage", "gpkg")):
        with page.expect_download() as waited:
            page.get_by_role("button", name=label, exact=True).first.click()
        waited.value.save_as(tmp_path / f"visits.{ending}")
    with (tmp_path / "visits.csv").open(newline="", encoding="utf-8") as stream:
        plain = list(csv.DictReader(stream))
    assert {row["name"] for row in plain} == {"Kwacha", "Mitengo", "Chigwa"}
    book = load_workbook(tmp_path / "visits.xlsx").active
    assert book is not None
    assert [row[0] for row in book.iter_rows(min_row=2, values_only=True)] == [
        row["site_id"] for row in plain
    ]
    found = geopandas.read_file(tmp_path / "visits.gpkg")
    places = {row.site_id: (row.geometry.x, row.geometry.y) for row in found.itertuples()}
    assert places["S1"] == (33.5, -13.8)


def test_hostile_names_are_text_wherever_they_stand(visit: Visit, hostile_address: str) -> None:
    """Sites, districts, bases, hazards, jobs: shown as written; nothing runs, nothing is fetched, nothing is too wide."""
    page = visit.page
    open_portfolio(page, hostile_address, "site=H1")
    assert page.locator("h2#site").inner_text().startswith(NAMES[1])
    assert NAMES[1] in page.locator("p.caution").first.inner_text()
    in_list = page.locator(".list td.site button").all_inner_texts()
    titles = [
        marker.get_attribute("title") or ""
        for marker in page.frame_locator("iframe").first.locator(".patch").all()
    ]
    for name in NAMES:
        assert name in in_list
        assert any(title.startswith(name) for title in titles)
    assert "49" not in "".join(title.split(":")[0] for title in titles)
    assert page.evaluate("document.documentElement.scrollWidth") <= 1366
    assert visit.ran() == []
    assert visit.outside() == []


def test_the_page_fits_a_phone_whatever_a_name_is(chromium: Browser, hostile_address: str) -> None:
    """At 390 × 844 nothing is wider than the screen, with a name of 200 letters."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    open_portfolio(page, hostile_address, f"site=H{len(NAMES) - 1}")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    wide = page.locator("h2, p, table.figures, .list, iframe").evaluate_all(
        "all => all.filter(e => e.getBoundingClientRect().right > 391).map(e => e.outerHTML.slice(0, 80))"
    )
    assert wide == []
    box = page.locator("p.answer").first.bounding_box()
    assert box is not None
    assert box["y"] < 422
    page.close()


def test_the_page_without_scripts_shows_the_same(
    visit: Visit, hostile_address: str, chromium: Browser
) -> None:
    """With scripts switched off: the link of the page leads to its twin, names are text, and the form works."""
    page = visit.page
    open_portfolio(page, hostile_address, f"{PERIOD}&district=North")
    answer = page.locator("p.answer").first.inner_text()
    link = page.get_by_role("link", name="without scripts")
    address = f"{hostile_address}/{link.get_attribute('href')}"
    plain = chromium.new_context(java_script_enabled=False, viewport={"width": 390, "height": 844}).new_page()
    plain.goto(address)
    assert plain.locator("p.answer").inner_text() == answer
    assert plain.locator("select[name=district]").input_value() == "North"
    assert plain.evaluate("document.documentElement.scrollWidth") <= 390
    plain.locator("select[name=district]").select_option("")
    plain.get_by_role("button", name="Show", exact=True).click()
    shown = plain.locator("tbody tr td:nth-child(2) b").all_inner_texts()
    assert set(NAMES) <= set(shown)
    plain.context.close()
    assert visit.outside() == []
