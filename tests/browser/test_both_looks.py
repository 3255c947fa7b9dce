"""Light and dark as the reader's system has it, light on paper."""

from dataclasses import asdict

import pytest
from playwright.sync_api import Page, expect

from dashboard.look import DARK, LIGHT, Palette
from tests.browser.conftest import Visit
from tests.browser.test_portfolio_page import WAIT_MS, open_portfolio

pytestmark = pytest.mark.browser

CHART_COLOURS = """() => [...new Set([...document.querySelectorAll(".js-plotly-plot .main-svg *")].flatMap(
    (part) => [getComputedStyle(part).fill, getComputedStyle(part).stroke]))]"""


def rgb(colour: str) -> str:
    """Return a colour as a browser names it."""
    return "rgb({}, {}, {})".format(*(int(colour[at : at + 2], 16) for at in (1, 3, 5)))


def colours(look: Palette) -> set[str]:
    return {rgb(colour) for colour in asdict(look).values()}


def ink(page: Page) -> str:
    return str(page.locator("p.answer").first.evaluate("words => getComputedStyle(words).color"))


def test_a_page_turns_dark_with_the_readers_system_and_is_light_on_paper(visit: Visit, address: str) -> None:
    """Words, fields and charts change without a reload; printed from the dark they are light."""
    page = visit.page
    page.goto(f"{address}/site?site=N2")
    page.locator(".js-plotly-plot .main-svg").first.wait_for(timeout=WAIT_MS)
    assert not set(page.evaluate(CHART_COLOURS)) & colours(DARK)
    page.emulate_media(color_scheme="dark")
    field = page.locator("[data-testid=stSelectbox] [role=combobox], [data-testid=stSelectbox] input").first
    expect(field).to_have_css("color", rgb(DARK.ink))
    expect(page.locator(".stApp")).to_have_css("background-color", rgb(DARK.ground))
    assert ink(page) == rgb(DARK.ink)
    drawn = set(page.evaluate(CHART_COLOURS))
    assert {rgb(DARK.water), rgb(DARK.soil), rgb(DARK.ink)} <= drawn
    assert not drawn & colours(LIGHT)
    page.emulate_media(color_scheme="dark", media="print")
    assert ink(page) == rgb(LIGHT.ink)
    assert not set(page.evaluate(CHART_COLOURS)) & colours(DARK)


def test_the_map_and_the_plain_page_turn_dark(visit: Visit, address: str) -> None:
    """In the map's own frame, and without a script: ground, outlines and patches."""
    page = visit.page
    page.emulate_media(color_scheme="dark")
    open_portfolio(page, address)
    drawn = page.frame_locator("iframe").first
    fills = ".leaflet-overlay-pane path, .patch rect"
    seen = {rgb(DARK.ground), rgb(DARK.paper), rgb(DARK.water)}
    found = "all => all.flatMap(part => [getComputedStyle(part).fill, getComputedStyle(part).stroke])"
    on_map = set(drawn.locator(f"{fills}, .patch path").evaluate_all(found))
    assert seen <= on_map
    assert not on_map & colours(LIGHT)
    page.goto(f"{address}/plain")
    still = set(page.locator("main svg *").evaluate_all(found))
    assert seen - {rgb(DARK.ground)} <= still
    assert not still & colours(LIGHT)
    expect(page.locator("body")).to_have_css("background-color", rgb(DARK.ground))


def test_no_page_begins_white_in_the_dark(visit: Visit, address: str) -> None:
    """Before any script has come, each page says that it knows both looks."""
    for page in ("", "week", "site", "files", "figures"):
        assert (
            '<meta name="color-scheme" content="light dark">'
            in visit.page.request.get(f"{address}/{page}").text()
        )
