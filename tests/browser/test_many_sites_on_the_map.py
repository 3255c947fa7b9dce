"""More sites than have room on the map: groups, in a real Chromium."""

import pytest

from dashboard import maps
from dashboard.patch import APART_AT_MOST
from tests.browser.conftest import Visit
from tests.browser.hostile import NAMES

pytestmark = pytest.mark.browser

SITES = [
    {
        "site_id": f"S{n}",
        "name": NAMES[n % len(NAMES)],
        "latitude": -13.9 + n % 20 / 25,
        "longitude": 33.4 + n // 20 / 15,
    }
    for n in range(APART_AT_MOST * 2)
]


def test_close_sites_share_a_patch_with_their_number_and_a_key_goes_nearer(
    visit: Visit, address: str
) -> None:
    """No site is left out, the one where a visit averts most is drawn, names stay text, and Enter opens a group."""
    page = visit.page
    page.goto(f"{address}/_stcore/health")  # the map's scripts come from the dashboard's own server
    made = maps.sites_map(SITES, {}, {"S77": 1.0}, {"districts": [], "roads": [], "bases": []})
    page.set_content(made.get_root().render())
    page.locator(".patch.stack").first.wait_for()
    page.wait_for_timeout(500)
    page.mouse.move(5, 5)
    counts = [int(text) for text in page.locator(".patch.stack b").all_inner_texts()]
    assert sum(counts) + page.locator(".patch:not(.stack)").count() == len(SITES)
    best = page.locator(".patch[title*='(S77)']")
    assert best.count() == 1
    before = page.locator(".patch").count()
    best.focus()
    page.keyboard.press("Enter")
    page.wait_for_function("n => document.querySelectorAll('.patch').length != n", arg=before)
    assert not visit.ran()
    assert not visit.outside()
