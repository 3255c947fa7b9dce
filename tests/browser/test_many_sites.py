"""More sites than have room on a map or go to a list at once, in a real Chromium."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from dashboard import maps
from dashboard.patch import APART_AT_MOST
from dashboard.visit_list import EXTRAS, MOST_SENT
from tests.browser.conftest import Visit, serve_script, stop
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


@pytest.fixture
def long_list(tmp_path: Path) -> Iterator[str]:
    """The address of a list of more visits than go to the browser at once; the last is of a site named Kumapeto."""
    script = tmp_path / "long_list.py"
    visit = {"value": 1.0, "data_age_days": 1, "cause": "none", "evidence": "x"} | dict.fromkeys(EXTRAS)
    figure = {"relative_irrigation_supply": 0.5, "supply_coverage": 1.0}
    script.write_text(f"""
from dashboard.visit_list import visit_list
ids = [f"S{{n}}" for n in range({MOST_SENT + 1})]
places = {{s: {{"name": "Kumapeto" if s == ids[-1] else f"Site {{s}}", "district": "North"}} for s in ids}}
visits = [{visit!r} | {{"site_id": s, "rank": n}} for n, s in enumerate(ids, 1)]
visit_list(visits, places, dict.fromkeys(ids, {figure!r}), {{}}, None, key="list", picked=lambda: None)
""")
    process, address = serve_script(script)
    yield address
    stop(process)


def test_a_list_finds_and_orders_what_it_was_not_sent(visit: Visit, long_list: str) -> None:
    """The browser has the first visits; the last is found by its name, and comes first when the order is turned."""
    page = visit.page
    page.goto(long_list)
    names = page.locator(".list td.site button")
    names.first.wait_for()
    page.locator("input[type=search]").fill("kumap")
    page.get_by_role("button", name="Kumapeto").wait_for()
    assert names.count() == 1
    page.locator("input[type=search]").fill("")
    page.locator("th.rank button").click()
    expect(names.first).to_have_text("Kumapeto")
