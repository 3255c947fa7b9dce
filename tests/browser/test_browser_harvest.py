"""The page of the harvest in a browser: its picture, its switch, the keyboard, both looks, a phone."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from dashboard.look import DARK, LIGHT
from pipeline.store import Store
from tests.browser.conftest import Visit, serve, stop
from tests.browser.test_both_looks import CHART_COLOURS, TOO_WIDE, colours, rgb
from tests.browser.test_keyboard_alone import CLICKABLE, UNREACHED, UNSEEN, walk
from tests.unit.dashboard.harvest_programme import lay_harvests
from tests.unit.dashboard.week_programme import HOSTILE

pytestmark = pytest.mark.browser

WAIT_MS = 90_000
QUERY = "from=2026-08-01&to=2026-09-30"


@pytest.fixture(scope="module")
def harvest_address(programme: Store, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the dashboard on the programme with harvests."""
    process, found = serve(lay_harvests(programme, tmp_path_factory.mktemp("harvest")).path)
    yield found
    stop(process)


def open_harvest(page: Page, address: str) -> None:
    """Open the page and wait for its sentence, its picture and its last table."""
    page.goto(f"{address}/harvest?{QUERY}")
    expect(page.locator("p.answer").first).to_contain_text("had their last harvest", timeout=WAIT_MS)
    page.locator(".js-plotly-plot .main-svg .scatterlayer .point").first.wait_for(timeout=WAIT_MS)
    expect(page.get_by_role("heading", name="By site")).to_be_visible(timeout=WAIT_MS)


def test_marks_bands_and_what_they_say(visit: Visit, harvest_address: str) -> None:
    """Three plantings and two bands; a mark says its planting in plain words; per m³ of irrigation no band is left."""
    page = visit.page
    open_harvest(page, harvest_address)
    plot = page.locator(".js-plotly-plot")
    expect(plot.locator(".scatterlayer .point")).to_have_count(3)
    assert plot.locator(".shapelayer path").count() == 4  # two bands, and two lines between three crops
    plot.locator(".scatterlayer .point").first.hover(force=True)
    said = plot.locator(".hoverlayer .hovertext").first
    expect(said).to_contain_text("kg/m³, ", timeout=WAIT_MS)
    expect(said).to_contain_text("block H")
    assert HOSTILE in page.locator("body").inner_text()
    page.get_by_text("Per m³ of irrigation, not of the crop's need").click()
    expect(page.get_by_text("No range is drawn")).to_be_visible(timeout=WAIT_MS)
    expect(plot.locator(".shapelayer path")).to_have_count(2)  # the lines alone
    assert visit.ran() == []
    assert visit.outside() == []


def test_tab_reaches_all_of_it(visit: Visit, harvest_address: str) -> None:
    """Fields, switches, links, downloads and what unfolds; nothing holds the focus."""
    page = visit.page
    open_harvest(page, harvest_address)
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(1000)
    page.evaluate(CLICKABLE)
    assert len(walk(page)) >= 15
    assert page.evaluate(UNREACHED) == []
    assert page.evaluate(UNSEEN) == []


def test_it_is_dark_in_the_dark_and_fits_a_phone(visit: Visit, harvest_address: str) -> None:
    """Marks, bands and words in the other colours; nothing is too wide at 390, all unfolded."""
    page = visit.page
    page.emulate_media(color_scheme="dark")
    page.set_viewport_size({"width": 390, "height": 844})
    open_harvest(page, harvest_address)
    drawn = set(page.evaluate(CHART_COLOURS))
    assert {rgb(DARK.water), rgb(DARK.soil), rgb(DARK.ink)} <= drawn
    assert not drawn & colours(LIGHT)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    page.wait_for_timeout(500)
    assert page.evaluate(TOO_WIDE, 390) == []


def test_what_is_listed_can_be_downloaded(visit: Visit, harvest_address: str) -> None:
    """By crop, by planting and by site, as files of their own."""
    page = visit.page
    open_harvest(page, harvest_address)
    names = []
    for button in page.get_by_role("button", name="Download as CSV", exact=True).all():
        with page.expect_download(timeout=WAIT_MS) as begun:
            button.click()
        names.append(begun.value.suggested_filename)
    assert names == ["harvest_by_crop.csv", "harvest_by_planting.csv", "harvest_by_site.csv"]
