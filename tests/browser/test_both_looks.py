"""Light and dark as the reader's system has it, light on paper; and nothing runs off the side at twice the size."""

from dataclasses import asdict

import pytest
from playwright.sync_api import Browser, Page, expect

from dashboard.look import DARK, LIGHT, Palette
from tests.browser.conftest import Visit
from tests.browser.hostile import NAMES
from tests.browser.test_portfolio_page import WAIT_MS, open_portfolio

pytestmark = pytest.mark.browser

LONGEST = f"site=H{len(NAMES) - 1}"  # a name of 200 letters
PAGES = (
    f"?{LONGEST}",
    "week",
    f"site?{LONGEST}",
    f"crop_water?{LONGEST}",
    f"sprays?{LONGEST}",
    "files",
    "figures",
    "harvest",
    "plain",
)
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
    seen = {rgb(DARK.quiet), rgb(DARK.paper), rgb(DARK.water)}
    found = "all => all.flatMap(part => [getComputedStyle(part).fill, getComputedStyle(part).stroke])"
    on_map = set(drawn.locator(".leaflet-overlay-pane path, .patch rect, .patch path").evaluate_all(found))
    assert seen <= on_map
    assert not on_map & colours(LIGHT)
    expect(drawn.locator(".leaflet-container")).to_have_css("background-color", rgb(DARK.ground))
    page.goto(f"{address}/plain")
    still = set(page.locator("main svg *").evaluate_all(found))
    assert seen <= still
    assert not still & colours(LIGHT)
    expect(page.locator("body")).to_have_css("background-color", rgb(DARK.ground))


def test_no_page_begins_white_in_the_dark(visit: Visit, address: str) -> None:
    """Before any script has come, each page says that it knows both looks."""
    for page in PAGES[:-1]:
        assert (
            '<meta name="color-scheme" content="light dark">'
            in visit.page.request.get(f"{address}/{page}").text()
        )


def test_no_page_runs_off_the_side_at_twice_the_size_or_on_a_phone(
    chromium: Browser, hostile_address: str
) -> None:
    """A laptop of 1366 × 768 at 200 % (WCAG 2.2, 1.4.4) and a telephone of 390: nothing beside what scrolls by itself."""
    context = chromium.new_context(viewport={"width": 683, "height": 384}, device_scale_factor=2)
    page = context.new_page()
    for name in PAGES:
        page.set_viewport_size({"width": 683, "height": 384})
        page.goto(f"{hostile_address}/{name}")
        expect(page.locator("p.answer, p.empty").first).to_be_visible(timeout=WAIT_MS)
        page.wait_for_function(DRAWN)
        for width, height in ((683, 384), (390, 844)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(500)  # a chart takes its new width
            assert page.evaluate(TOO_WIDE, width) == [], (name, width)
    context.close()


DRAWN = (
    """() => [undefined, "notRunning"].includes(document.querySelector(".stApp")?.dataset.testScriptState)"""
)
# what reaches past the screen, but for what lies in a part that scrolls or cuts by itself
TOO_WIDE = """(width) => {
    const page = ["HTML", "BODY", "MAIN"];
    const held = (part) => {
        for (let box = part.parentElement; box; box = box.parentElement)
            if (getComputedStyle(box).overflowX !== "visible" && !page.includes(box.tagName) && !box.matches(".stApp, .stApp > *")) return true;
        return false;
    };
    return [document.documentElement, ...document.querySelectorAll("body *")]
        .filter((part) => part.getBoundingClientRect().width && part.getBoundingClientRect().right > width + 1 && !held(part)
            || (page.includes(part.tagName) || part.matches(".stMain .stButton p")) && part.scrollWidth > part.clientWidth + 1)
        .map((part) => part.outerHTML.slice(0, 100));
}"""
