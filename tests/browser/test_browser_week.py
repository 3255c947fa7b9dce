"""The page of the week, as a manager sees it on Monday."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from pipeline.store import Store
from tests.browser.conftest import Visit, serve, stop
from tests.browser.hostile import NAMES
from tests.unit.dashboard.week_programme import HOSTILE, WEEK, lay_happened

pytestmark = pytest.mark.browser

WAIT_MS = 90_000
QUERY = "&".join(f"{name}={value}" for name, value in WEEK.items())


def open_week(page: Page, address: str, query: str = QUERY) -> None:
    """Open the page and wait for its sentence and its lists."""
    page.goto(f"{address}/week?{query}")
    expect(page.locator("p.answer").first).to_be_visible(timeout=WAIT_MS)
    expect(page.locator("h2").first).to_be_visible(timeout=WAIT_MS)


@pytest.fixture(scope="module")
def week_address(programme: Store, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the dashboard on the programme in which something happened."""
    process, found = serve(lay_happened(programme, tmp_path_factory.mktemp("week")).path)
    yield found
    stop(process)


def test_the_week_has_its_sentence_its_patches_and_numbers_to_dial(visit: Visit, week_address: str) -> None:
    """What the browser's own cleaning of HTML leaves: pictures, links to the sites, and telephone links."""
    page = visit.page
    open_week(page, week_address)
    assert page.locator("p.answer").first.inner_text().startswith("Since 23 September: ")
    stopped = page.locator("li[data-kind=stopped]")
    expect(stopped.locator("img")).to_have_count(2)
    widths = stopped.locator("img").evaluate_all("all => all.map(i => i.naturalWidth)")
    assert all(width > 0 for width in widths)
    assert stopped.locator("a").get_attribute("href") == f"site?{QUERY}&site=N1"
    expect(page.locator("a[href='tel:+265000333']")).to_be_visible()
    assert page.locator("a[href^='javascript']").count() == 0
    assert HOSTILE in page.locator("p.who").first.inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= 1366
    assert visit.ran() == []
    assert visit.outside() == []


def test_a_person_is_found_from_any_page_and_leads_to_the_site(visit: Visit, week_address: str) -> None:
    """Next after the menu a name is typed; Enter, and its link opens the contacts of the site, on a phone too."""
    page = visit.page
    open_week(page, week_address)
    field = page.get_by_role("searchbox", name="Find a site, a person")
    page.get_by_role("link", name="Figures").last.focus()
    page.keyboard.press("Tab")
    if page.evaluate("document.activeElement.tagName") == "MAIN":  # which scrolls, and so can have the focus
        page.keyboard.press("Tab")
    expect(field).to_be_focused()
    page.keyboard.type("onerror")
    page.keyboard.press("Enter")
    page.wait_for_url("**/find?*find=onerror*", timeout=WAIT_MS)
    expect(page.locator("ol.found").first).to_contain_text(HOSTILE, timeout=WAIT_MS)
    page.set_viewport_size({"width": 390, "height": 844})
    field.fill("southern ch")
    field.press("Enter")
    way = page.get_by_role("link", name="Southern Chair")
    expect(way).to_be_visible(timeout=WAIT_MS)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    way.click()
    page.wait_for_url("**/site?*site=S1&section=contacts.S1*", timeout=WAIT_MS)
    contacts = page.locator("summary", has_text="Contacts")
    expect(contacts).to_be_focused(timeout=WAIT_MS)
    expect(contacts).to_be_in_viewport()
    expect(page.locator("a[href='tel:+26500044444']")).to_be_visible()
    expect(field).to_have_value("southern ch")
    assert visit.ran() == []
    assert visit.outside() == []


def test_the_weeks_choices_stand_in_the_address_and_go_along(visit: Visit, week_address: str) -> None:
    """The later day that a link names is the last of the period on the portfolio, too, and the way back keeps the earlier."""
    page = visit.page
    open_week(page, week_address, "since=2026-09-10&to=2026-09-20")
    page.get_by_role("link", name="Portfolio").first.click()
    page.wait_for_url("**/?*to=2026-09-20*", timeout=WAIT_MS)
    page.get_by_role("link", name="This week").first.click()
    page.wait_for_url("**/week?*since=2026-09-10*", timeout=WAIT_MS)


def test_hostile_names_are_text_on_the_week(visit: Visit, hostile_address: str) -> None:
    """Every site stopped, with a job whose words would run: shown as written, nothing runs, nothing is too wide."""
    page = visit.page
    open_week(page, hostile_address, "since=2026-09-15&to=2026-09-30")
    shown = page.locator("ol.week").all_inner_texts()
    for name in NAMES:
        assert any(name in text for text in shown), name
    assert page.evaluate("document.documentElement.scrollWidth") <= 1366
    assert visit.ran() == []
    assert visit.outside() == []


def test_the_week_fits_a_phone(chromium: Browser, hostile_address: str) -> None:
    """At 390 × 844 nothing is wider than the screen, whatever a name is, and the sentence stands on top."""
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    open_week(page, hostile_address, "since=2026-09-15&to=2026-09-30")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    wide = page.locator("h2, p, ol.week, li, img").evaluate_all(
        "all => all.filter(e => e.getBoundingClientRect().right > 391).map(e => e.outerHTML.slice(0, 80))"
    )
    assert wide == []
    box = page.locator("p.answer").first.bounding_box()
    assert box is not None
    assert box["y"] < 422
    page.close()
