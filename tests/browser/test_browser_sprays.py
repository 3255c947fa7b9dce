"""The page of sprays, as an agronomist sees it: the cans drawn, the throws, and the list, on a laptop and a phone."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from dashboard.look import DARK, LIGHT
from pipeline.store import Store
from tests.browser.conftest import Visit, serve, stop
from tests.browser.taking import PICTURES, difference, take
from tests.browser.test_both_looks import CHART_COLOURS, TOO_WIDE, colours, rgb
from tests.browser.test_keyboard_alone import CLICKABLE, UNREACHED, UNSEEN, walk
from tests.unit.dashboard.sprays_programme import lay_sprays
from tests.unit.dashboard.week_programme import HOSTILE

pytestmark = pytest.mark.browser

WAIT_MS = 90_000
TOLERANCE = 0.03  # of the area, as for the other pictures
DRAWN = ".js-plotly-plot .main-svg"


@pytest.fixture(scope="module")
def sprays_address(programme: Store, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the dashboard on the programme with sprays."""
    process, found = serve(lay_sprays(programme, tmp_path_factory.mktemp("sprays")).path)
    yield found
    stop(process)


def open_sprays(page: Page, address: str, query: str = "site=N1") -> None:
    """Open the page and wait for its sentence, its drawings and its table."""
    page.goto(f"{address}/sprays?{query}")
    expect(page.locator("p.answer").first).to_be_visible(timeout=WAIT_MS)
    expect(page.locator("table.sprays")).to_be_visible(timeout=WAIT_MS)


def test_cans_throws_and_list_are_drawn(visit: Visit, sprays_address: str) -> None:
    """Twelve cans with water, a dry strip, the work with its link; nothing runs and nothing is fetched."""
    page = visit.page
    open_sprays(page, sprays_address)
    page.locator(DRAWN).first.wait_for(timeout=WAIT_MS)
    assert page.locator(".st-key-chart_cans .barlayer .trace").nth(1).locator(".point").count() == 12
    expect(page.locator(".st-key-chart_overlap_0")).to_contain_text("60 cm stays dry")
    expect(page.locator("ol.work li")).to_have_count(3)
    page.get_by_role("link", name="What needs work, with what shows it").click()
    expect(page.locator("h2#work")).to_be_in_viewport()
    page.locator("summary", has_text="The cans one by one").click()
    expect(page.locator("ol.cans li").first).to_have_text("Can 1: 5.0 mm, in the low quarter")
    assert HOSTILE in page.locator("table.sprays").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= 1366
    assert visit.ran() == []
    assert visit.outside() == []


def test_site_and_day_go_along_from_page_to_page(visit: Visit, sprays_address: str) -> None:
    """From the site's page to its sprays and back, with the day that was chosen."""
    page = visit.page
    page.goto(f"{sprays_address}/site?from=2026-08-10&to=2026-09-25&site=N2")
    page.get_by_role("link", name="Sprays and laterals of its blocks").click()
    page.wait_for_url("**/sprays?*site=N2*", timeout=WAIT_MS)
    expect(page.locator("h2#site")).to_contain_text("Mitengo", timeout=WAIT_MS)
    assert "to=2026-09-25" in page.url
    page.get_by_role("link", name="This site's own page").click()
    page.wait_for_url("**/site?*to=2026-09-25*", timeout=WAIT_MS)


def test_a_search_and_an_order_are_kept_in_the_address(visit: Visit, sprays_address: str) -> None:
    """Typed and chosen by the keyboard, the table follows."""
    page = visit.page
    open_sprays(page, sprays_address)
    field = page.get_by_role("searchbox", name="Find a site, a block, a soil, a need")
    field.fill("nozzles")
    field.press("Enter")
    expect(page.locator("table.sprays tbody tr")).to_have_count(1, timeout=WAIT_MS)
    page.wait_for_url("**blocks=nozzles*", timeout=WAIT_MS)


def test_tab_reaches_all_of_it(visit: Visit, sprays_address: str) -> None:
    """Nothing that can be clicked is left out, no focus is unseen, and none is a trap."""
    page = visit.page
    open_sprays(page, sprays_address)
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(1000)
    page.evaluate(CLICKABLE)
    assert len(walk(page)) >= 20
    assert page.evaluate(UNREACHED) == []
    assert page.evaluate(UNSEEN) == []


def test_it_is_dark_in_the_dark_and_fits_a_phone(visit: Visit, sprays_address: str) -> None:
    """Cans, lines, jets and the dry strip have no light colour left; at 390 nothing is too wide, the sentence on top."""
    page = visit.page
    page.emulate_media(color_scheme="dark")
    page.set_viewport_size({"width": 390, "height": 844})
    open_sprays(page, sprays_address)
    page.locator(DRAWN).first.wait_for(timeout=WAIT_MS)
    page.wait_for_timeout(500)
    drawn = set(page.evaluate(CHART_COLOURS))
    assert {rgb(DARK.water), rgb(DARK.alarm), rgb(DARK.ink)} <= drawn
    assert not drawn & colours(LIGHT)
    assert page.evaluate(TOO_WIDE, 390) == []
    box = page.locator("p.answer").first.bounding_box()
    assert box is not None
    assert box["y"] < 422


@pytest.mark.parametrize("size", ["laptop", "phone"])
def test_sprays_look_as_their_picture(chromium: Browser, sprays_address: str, size: str) -> None:
    """Within 3 % of the area, as when somebody last looked at it."""
    seen = take(chromium, f"{sprays_address}/sprays?site=N1", size)
    assert difference(seen, (PICTURES / f"sprays_{size}.png").read_bytes()) <= TOLERANCE
