"""The pictures of the pages: how they are taken and compared."""

from io import BytesIO
from pathlib import Path
from typing import Literal

import numpy as np
from PIL import Image
from playwright.sync_api import Browser

PICTURES = Path(__file__).with_name("pictures")
SIZES = {"laptop": (1366, 768), "phone": (390, 844)}
VIEWS = {
    "three_sites": "?site=N2",
    "week": "week",
    "site": "site?site=N2",
    "crop_water": "crop_water?site=N2",
    "files": "files",
    "figures": "figures",
    "find": "find?find=N2",
    "harvest": "harvest",
    "plain": "plain",
}
Look = Literal["light", "dark"]
TAKEN: list[tuple[str, str, Look]] = [(view, size, "light") for view in VIEWS for size in SIZES]
TAKEN += [(view, "laptop", "dark") for view in ("three_sites", "site", "crop_water")]
WHOLE = {  # what a page draws last, by the end of its address
    "/": ("iframe", ".list tbody tr"),
    "/?site=N2": ("iframe", ".list tbody tr"),
    "/site?site=N2": (".js-plotly-plot .main-svg",),
    "/crop_water?site=N2": (".st-key-chart_own_0 .main-svg",),
    "/sprays?site=N1": (".st-key-chart_cans .main-svg", "table.sprays"),
}
WAIT_MS = 60_000


def picture_of(view: str, size: str, look: Look) -> Path:
    """Return where a picture is kept."""
    return PICTURES / f"{view}_{size}{'_dark' if look == 'dark' else ''}.png"


def take(browser: Browser, address: str, size: str, look: Look = "light") -> bytes:
    """Return a page's first screen as PNG, once its map and its typeface are there."""
    width, height = SIZES[size]
    page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=look)
    page.goto(address)
    page.locator("p.answer").first.wait_for(timeout=WAIT_MS)
    for last in next((parts for end, parts in WHOLE.items() if address.endswith(end)), ()):
        page.locator(last).first.wait_for(timeout=WAIT_MS)
    page.evaluate("document.fonts.ready")
    page.mouse.move(0, 0)
    if page.locator("iframe").count():
        page.frame_locator("iframe").first.locator(".patch").first.wait_for(timeout=WAIT_MS)
        page.wait_for_timeout(1200)  # Leaflet fades in, and patches move apart after it
    page.wait_for_timeout(800)
    picture = page.screenshot(animations="disabled", caret="hide")
    page.close()
    return picture


def difference(one: bytes, other: bytes) -> float:
    """Return the share of a picture's area that differs, seen coarsely [0–1].

    Both are made grey and small, so that a letter's edge, which another version of the browser
    draws otherwise, weighs little, and a missing or moved part weighs much.
    """
    small = [Image.open(BytesIO(p)).convert("L") for p in (one, other)]
    if small[0].size != small[1].size:
        return 1.0
    size = (small[0].width // 8, small[0].height // 8)
    grey = [np.asarray(p.resize(size, Image.Resampling.BOX), dtype=float) for p in small]
    return float(np.mean(np.abs(grey[0] - grey[1]) > 24))  # of 255: seen at a glance
