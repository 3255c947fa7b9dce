"""A file of tiles on a stick, as it shows under the sites."""

import re
from collections.abc import Iterator
from math import asinh, pi, radians, tan
from pathlib import Path

import pytest
from playwright.sync_api import expect

from pipeline.store import Store
from tests.browser.conftest import Visit, serve, stop
from tests.browser.test_portfolio_page import WAIT_MS, open_portfolio
from tests.unit.tiles.conftest import picture, write_mbtiles

pytestmark = pytest.mark.browser

WEST, SOUTH, EAST, NORTH = 33.0, -14.0, 34.0, -13.0
N1 = (33.4, -13.2)


def tile_of(longitude: float, latitude: float, zoom: int) -> tuple[int, int, int]:
    """The tile of a place, by the formula in OpenStreetMap's wiki, "Slippy map tilenames"."""
    n = 2**zoom
    row = n * (1 - asinh(tan(radians(latitude))) / pi) / 2
    return zoom, int(n * (longitude + 180) / 360), int(row)


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    """Tiles of the programme's districts, each zoom in a shade of its own."""
    tiles = {}
    for zoom in range(7, 12):
        _, left, top = tile_of(WEST, NORTH, zoom)
        _, right, bottom = tile_of(EAST, SOUTH, zoom)
        places = [(zoom, x, y) for x in range(left, right + 1) for y in range(top, bottom + 1)]
        tiles |= dict.fromkeys(places, picture(10 * zoom))
    return write_mbtiles(tmp_path / "stick.mbtiles", tiles, attribution="<b>Plateau</b> Survey Office")


@pytest.fixture
def stick_address(programme: Store, stick: Path) -> Iterator[str]:
    """The dashboard, started with the file."""
    process, address = serve(programme.path, "--basemap", str(stick))
    yield address
    stop(process)


def test_tiles_lie_under_the_sites_until_they_are_switched_off_or_gone(
    visit: Visit, stick_address: str, stick: Path
) -> None:
    """The tile of a site's place is drawn below its patch, from this machine; a torn file leaves the map, and a sentence."""
    page = visit.page
    open_portfolio(page, stick_address)
    frame = page.frame_locator("iframe").first
    drawn = frame.locator("img.leaflet-tile-loaded")
    expect(drawn.first).to_be_visible(timeout=WAIT_MS)
    assert drawn.first.evaluate("tile => tile.naturalWidth") == 256
    asked = {
        tuple(map(int, found))
        for url in visit.requests
        for found in re.findall(r"/tiles/(\d+)/(\d+)/(\d+)", url)
    }
    zoom = max(place[0] for place in asked)
    assert tile_of(*N1, zoom) in asked
    patch = frame.locator(".patch[title^='Kwacha']")
    above = "patch => { const b = patch.getBoundingClientRect(); return patch.contains(document.elementFromPoint(b.x + b.width / 2, b.y + b.height / 2)); }"
    assert patch.evaluate(above)
    expect(page.get_by_text("Background: Plateau Survey Office")).to_be_visible()

    frame.get_by_label("background").focus()
    page.keyboard.press("Space")
    expect(drawn).to_have_count(0)
    page.reload()
    expect(frame.locator(".patch").first).to_be_visible(timeout=WAIT_MS)
    expect(frame.get_by_label("background")).not_to_be_checked()

    stick.write_bytes(stick.read_bytes()[: stick.stat().st_size // 2])
    page.reload()
    expect(page.get_by_text("cut off or damaged")).to_be_visible(timeout=WAIT_MS)
    expect(frame.locator(".patch")).to_have_count(3, timeout=WAIT_MS)
    expect(frame.get_by_label("background")).to_have_count(0)
    assert visit.outside() == []
