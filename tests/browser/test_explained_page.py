"""Figures: from a number on a site's panel to what explains it."""

import pytest
from playwright.sync_api import Browser, Page, expect

from pipeline.measures.indicators import BY_NAME, INDICATORS
from tests.browser.conftest import Visit
from tests.browser.test_portfolio_page import PERIOD, WAIT_MS, open_portfolio

pytestmark = pytest.mark.browser


def open_figures(page: Page, address: str, query: str) -> None:
    """Open the page and wait for its last part."""
    page.goto(f"{address}/figures?{query}")
    expect(page.locator("#part-settings")).to_be_attached(timeout=WAIT_MS)


def test_a_label_leads_by_keyboard_to_its_explanation(visit: Visit, address: str) -> None:
    """Tab reaches the link, Enter follows it in the same tab; the figure is open, in view and has the focus."""
    page = visit.page
    open_portfolio(page, address, f"{PERIOD}&site=N2")
    links = page.locator("tr[data-figure] a")
    expect(links).to_have_count(len(INDICATORS), timeout=WAIT_MS)
    assert {link.get_attribute("target") for link in links.all()} == {None}
    page.locator("tr[data-figure=uptime] a").focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('tr').dataset.figure") == "uptime_unknown"
    page.keyboard.press("Enter")
    page.wait_for_url("**/figures?*figure=uptime_unknown*", timeout=WAIT_MS)
    block = page.locator("details#figure-uptime_unknown")
    expect(block.locator("summary")).to_be_focused(timeout=WAIT_MS)
    expect(block.locator("dd.formula")).to_be_in_viewport()
    assert len(page.context.pages) == 1
    assert visit.outside() == []


def test_the_value_explained_is_that_of_the_portfolio(visit: Visit, address: str) -> None:
    """All sites together, in the same period, to the letter."""
    page = visit.page
    open_portfolio(page, address)
    together = page.locator("[data-together=relative_irrigation_supply] b").inner_text()
    open_figures(page, address, f"{PERIOD}&figure=relative_irrigation_supply")
    block = page.locator("details#figure-relative_irrigation_supply")
    assert block.locator(".now").inner_text() == together
    assert "Time for which both are known" in block.locator("small").inner_text()


def test_a_block_opens_by_keyboard_and_the_contents_lead_on(visit: Visit, address: str) -> None:
    """Enter opens what was closed; a link of the contents brings its part into view without a new page."""
    page = visit.page
    open_figures(page, address, PERIOD)
    assert page.locator("details").count() == len(BY_NAME)
    summary = page.locator("details#figure-water_m3 summary")
    summary.focus()
    page.keyboard.press("Enter")
    expect(page.locator("details#figure-water_m3 dd.formula")).to_be_visible()
    page.locator("nav.contents a[href='#part-settings']").click()
    expect(page.locator("h2#part-settings")).to_be_in_viewport(timeout=WAIT_MS)
    expect(page.locator("details#figure-water_m3 dd.formula")).to_be_visible()


@pytest.mark.parametrize("size", [(1366, 768), (390, 844)], ids=["laptop", "phone"])
def test_nothing_is_too_wide_with_every_block_open(
    chromium: Browser, address: str, size: tuple[int, int]
) -> None:
    """At both sizes, all in full: no element goes past the screen's edge."""
    page = chromium.new_page(viewport={"width": size[0], "height": size[1]})
    open_figures(page, address, PERIOD)
    page.get_by_text("Show all in full").click()
    expect(page.locator("details[open]")).to_have_count(len(BY_NAME), timeout=WAIT_MS)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    wide = page.locator(".stMain *").evaluate_all(
        "(all, width) => all.filter(e => e.getBoundingClientRect().right > width + 1).map(e => e.outerHTML.slice(0, 80))",
        size[0],
    )
    assert wide == []
    page.close()


def test_an_address_that_would_run_stays_text(visit: Visit, hostile_address: str) -> None:
    """A figure that doesn't exist, named as a script: a calm sentence, and nothing runs."""
    page = visit.page
    open_figures(page, hostile_address, "figure=%3Cimg%20src%3Dx%20onerror%3Dwindow.ran%3D1%3E")
    told = page.locator("p.caution[role=status]")
    expect(told).to_contain_text("There is no figure named <img src=x onerror=window.ran=1>")
    assert visit.ran() == []
    assert visit.outside() == []
