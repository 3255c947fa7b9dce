"""The pages look as they did when somebody last looked at them."""

from io import BytesIO

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Browser

from tests.browser.taking import PICTURES, SIZES, TAKEN, VIEWS, Look, difference, picture_of, take

pytestmark = pytest.mark.browser

TOLERANCE = 0.03  # of the area: letters of another Chromium differ less, a part that is gone more


@pytest.mark.parametrize(("view", "size", "look"), TAKEN)
def test_a_page_looks_as_its_picture(
    chromium: Browser, address: str, view: str, size: str, look: Look
) -> None:
    """Within 3 % of the area; what was meant to change is taken anew by `make_pictures.py`."""
    seen = take(chromium, f"{address}/{VIEWS[view]}", size, look)
    assert difference(seen, picture_of(view, size, look).read_bytes()) <= TOLERANCE


def test_a_missing_part_is_seen() -> None:
    """The comparison can fail: a page whose list is blank is farther off than the tolerance."""
    whole = (PICTURES / "three_sites_laptop.png").read_bytes()
    picture = Image.open(BytesIO(whole)).convert("RGB")
    ImageDraw.Draw(picture).rectangle((570, 260, 1275, 690), fill="#888888")
    blank = BytesIO()
    picture.save(blank, "PNG")
    assert difference(whole, whole) == 0
    assert difference(whole, blank.getvalue()) > TOLERANCE


def test_the_readmes_picture_is_small_and_of_a_laptop() -> None:
    """It loads fast, and shows what a laptop shows."""
    path = PICTURES / "portfolio.png"
    assert path.stat().st_size < 400_000
    with Image.open(path) as picture:
        assert picture.size == SIZES["laptop"]
