"""The page of the crops' water in a real browser: what is drawn, in both looks, under the pointer, and on a phone."""

import pytest
from playwright.sync_api import Page, expect

from dashboard.look import DARK, LIGHT
from tests.browser.conftest import Visit
from tests.browser.test_both_looks import CHART_COLOURS, colours, rgb

pytestmark = pytest.mark.browser

WAIT_MS = 60_000
ADDRESS = "crop_water?site=N2&from=2026-08-01&to=2026-09-30"
CHART = ".st-key-chart_own_0 .js-plotly-plot"


def open_water(page: Page, address: str) -> None:
    page.goto(f"{address}/{ADDRESS}")
    expect(page.locator(f"{CHART} .main-svg").first).to_be_visible(timeout=WAIT_MS)
    expect(page.locator("ul.ground")).to_be_visible(timeout=WAIT_MS)


def test_the_picture_shows_rain_irrigation_and_what_was_missing(visit: Visit, address: str) -> None:
    """Three panels under each other, stress filled and hatched, and the lines that it is held against."""
    page = visit.page
    open_water(page, address)
    assert page.locator(f"{CHART} .subplot").count() == 3
    told = page.locator(f"{CHART} .annotation-text").all_text_contents()
    assert {"rain, mm a day", "irrigation at the roots, mm a day", "missing from the root zone, mm"} <= set(
        told
    )
    fills = page.locator(f"{CHART} .js-fill").evaluate_all("all => all.map(e => e.style.fill)")
    assert any(rgb(LIGHT.alarm) in fill for fill in fills)
    assert any("url(" in fill for fill in fills)  # the hatching
    assert visit.outside() == []


def test_a_day_is_told_under_the_pointer(visit: Visit, address: str) -> None:
    """What came, what was missing, and from when on the crop suffers."""
    page = visit.page
    open_water(page, address)
    panel = page.locator(f"{CHART} .nsewdrag").last
    panel.scroll_into_view_if_needed()
    box = panel.bounding_box()
    assert box
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.move(box["x"] + box["width"] / 2 + 2, box["y"] + box["height"] / 2)
    told = page.locator(f"{CHART} .hoverlayer .hovertext").first
    expect(told).to_contain_text("Missing from the root zone", timeout=WAIT_MS)
    expect(told).to_contain_text("maize")


def test_the_pictures_turn_dark(visit: Visit, address: str) -> None:
    """Bands, hatchings and lines with the page, without a reload."""
    page = visit.page
    open_water(page, address)
    page.emulate_media(color_scheme="dark")
    drawn = set(page.evaluate(CHART_COLOURS))
    assert {rgb(DARK.water), rgb(DARK.alarm), rgb(DARK.soil), rgb(DARK.ink)} <= drawn
    assert not drawn & colours(LIGHT)


def test_on_a_phone_a_planting_is_a_block_of_labelled_lines(visit: Visit, address: str) -> None:
    """Nothing runs off the side, and each value stands behind its heading."""
    page = visit.page
    page.set_viewport_size({"width": 390, "height": 844})
    open_water(page, address)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    cell = page.locator("table.record td[data-head='Days of stress']").first
    assert cell.evaluate("cell => getComputedStyle(cell, '::before').content") == '"Days of stress"'
