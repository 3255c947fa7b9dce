"""The first page, as the programme manager sees it."""

import re
from datetime import date

import pytest
from playwright.sync_api import expect

from pipeline.measures import figures
from pipeline.measures.indicators import INDICATORS
from pipeline.store import Store
from pipeline.visits import ranking
from tests.browser.conftest import HOSTILE, Visit

pytestmark = pytest.mark.browser

FROM, TO = date(2026, 8, 1), date(2026, 10, 31)
PERIOD = f"?from={FROM}&to={TO}"
WAIT_MS = 60_000


def open_portfolio(visit: Visit, address: str, query: str = PERIOD) -> None:
    visit.page.goto(f"{address}/{query}")
    expect(visit.page.locator("p.answer")).to_be_visible(timeout=WAIT_MS)


def test_the_answer_stands_on_top_and_counts_every_site(visit: Visit, address: str) -> None:
    """The sentence names all sites in the store, and is on the first screen."""
    open_portfolio(visit, address)
    answer = visit.page.locator("p.answer")
    assert answer.inner_text().startswith(f"Of {8 + len(HOSTILE)} sites")
    box = answer.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < 768


def test_a_picked_site_shows_the_figures_of_the_command_line(
    visit: Visit, address: str, small_store: Store
) -> None:
    """Every number of the table equals the pipeline's, to its decimals; unknown is said, not 0."""
    open_portfolio(visit, address, f"{PERIOD}&site=S00003")
    table = visit.page.locator("table.figures").first
    expect(table).to_be_visible(timeout=WAIT_MS)
    shown = [cell.strip() for cell in table.locator("td.number").all_inner_texts()]
    with small_store.read() as reader:
        row = figures.indicators(reader, FROM, TO, sites=["S00003"]).to_pylist()[0]
    for text, figure in zip(shown, INDICATORS, strict=True):
        value = row[figure.name]
        expected = "unknown" if value is None else f"{value:,.{figure.decimals}f}"
        assert text == expected, figure.name


def test_the_evidence_is_the_rankings_own(visit: Visit, address: str, small_store: Store) -> None:
    """The sentence under a picked site is the one that `sunrill visits` writes."""
    open_portfolio(visit, address, f"{PERIOD}&site=S00002")
    with small_store.read() as reader:
        row = next(r for r in ranking.visits(reader, TO).to_pylist() if r["site_id"] == "S00002")
    expect(visit.page.locator("p", has_text=row["evidence"])).to_be_visible(timeout=WAIT_MS)


def test_a_click_on_the_map_picks_the_site(visit: Visit, address: str) -> None:
    """A marker's click brings the site into the address and its figures under the map."""
    open_portfolio(visit, address)
    frame = visit.page.frame_locator("iframe").first
    marker = frame.locator(".leaflet-marker-icon").first
    expect(marker).to_be_visible(timeout=WAIT_MS)
    title = marker.get_attribute("title") or ""
    marker.dispatch_event("click")
    site = re.search(r"\((\w+)\)$", title)
    assert site is not None
    visit.page.wait_for_url(re.compile(f"site={site.group(1)}"), timeout=WAIT_MS)
    expect(visit.page.locator("table.figures").first).to_be_visible(timeout=WAIT_MS)


def test_no_request_leaves_the_machine(visit: Visit, address: str) -> None:
    """Neither page asks anything of another host, map and all."""
    open_portfolio(visit, address)
    expect(visit.page.frame_locator("iframe").first.locator(".leaflet-marker-icon").first).to_be_visible(
        timeout=WAIT_MS
    )
    visit.page.goto(f"{address}/files")
    expect(visit.page.locator("p.answer")).to_be_visible(timeout=WAIT_MS)
    visit.page.wait_for_timeout(1500)
    assert len(visit.requests) > 20
    assert visit.outside() == []


@pytest.mark.parametrize("number", range(len(HOSTILE)))
def test_a_hostile_name_is_text(visit: Visit, address: str, number: int) -> None:
    """Script, template, formula, markdown picture: shown as written, nothing runs, nothing is fetched."""
    dialogs: list[str] = []
    visit.page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    open_portfolio(visit, address, f"{PERIOD}&site=H{number}")
    heading = visit.page.locator("h2").first
    expect(heading).to_contain_text(HOSTILE[number], timeout=WAIT_MS)
    expect(visit.page.frame_locator("iframe").first.locator(".leaflet-marker-icon").first).to_be_visible(
        timeout=WAIT_MS
    )
    assert visit.page.evaluate("window.ran") is None
    for frame in visit.page.frames:
        assert frame.evaluate("window.ran") is None
    assert dialogs == []
    assert visit.outside() == []


@pytest.mark.parametrize("query", ["?from=nonsense&to=1066-10-14", "?site=NOBODY", "?district=Nowhere"])
def test_a_broken_link_still_shows_the_page(visit: Visit, address: str, query: str) -> None:
    """A link to what is gone, or with a date that is none, is calm."""
    open_portfolio(visit, address, query)
    assert "Traceback" not in visit.page.inner_text("body")


def test_the_page_fits_a_phone(chromium: object, address: str) -> None:
    """At 390 × 844 nothing is wider than the screen, and the answer is on the first one."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})  # type: ignore[attr-defined]
    page.goto(f"{address}/{PERIOD}")
    expect(page.locator("p.answer")).to_be_visible(timeout=WAIT_MS)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    box = page.locator("p.answer").bounding_box()
    assert box["y"] < 844
    page.close()
