"""Every text of the contract holds a name that would run, fetch or break a page; every page is opened with them."""

from pathlib import Path
from urllib.parse import urlencode

import pytest
from playwright.sync_api import expect

from pipeline.store import Store
from pipeline.tables import TABLES
from tests.browser.conftest import Visit
from tests.browser.hostile import NAMES, TEXTS
from tests.browser.test_both_looks import DRAWN

pytestmark = pytest.mark.browser

WAIT_MS = 60_000
IMAGE, TEMPLATE, LONG = NAMES[1], NAMES[5], NAMES[-1]
PERIOD = {"from": "2026-08-01", "to": "2026-09-30"}
WALK = [  # page, its address, and a name that it shows
    ("", {**PERIOD, "agreement": IMAGE, "site": IMAGE}, IMAGE),
    ("", {**PERIOD, "agreement": LONG, "site": LONG}, LONG),
    ("", {**PERIOD, "district": f"{IMAGE}, gone"}, IMAGE),
    ("week", {"since": "2026-09-15", "to": "2026-09-30", "agreement": TEMPLATE}, TEMPLATE),
    *(("site", {**PERIOD, "site": name}, name) for name in (TEMPLATE, LONG)),
    *(("crop_water", {**PERIOD, "site": name}, name) for name in (IMAGE, LONG)),
    *(("sprays", {"to": "2026-09-30", "site": name}, name) for name in (IMAGE, TEMPLATE, LONG)),
    ("files", {}, TEMPLATE),
    ("figures", {**PERIOD, "figure": IMAGE}, IMAGE),
    ("find", {"find": "onerror"}, IMAGE),
    ("find", {"find": "W" * 100}, LONG),
    *(("harvest", {**PERIOD, "plantings": name[:20]}, name) for name in (IMAGE, LONG)),
    ("plain", PERIOD, IMAGE),
]
WIDE = """width => [...document.querySelectorAll('.stMain *, main *')].filter(e => e.getBoundingClientRect().right > width + 1
    && !e.closest('svg, .scroll, .list, .js-plotly-plot, h1.unseen, [data-baseweb], [data-testid=stDateInput]')
    && e.getClientRects().length).map(e => e.outerHTML.slice(0, 120))"""


def test_every_page_is_walked() -> None:
    """A page that comes is opened with hostile texts, too, and held to ask nothing of another machine."""
    pages = {path.stem for path in Path("dashboard/views").glob("*.py")} - {"__init__"}
    assert pages | {"plain"} == {name or "portfolio" for name, _, _ in WALK}


def test_every_text_of_the_contract_is_hostile(hostile: Store) -> None:
    """No column of text or ids is left out, a new one neither: each holds every name, as it was written."""
    with hostile.read() as reader:
        for table in TABLES.values():
            for column in table.columns:
                if column.kind in TEXTS:
                    found = {
                        row[column.name] for row in reader.rows(f'SELECT "{column.name}" FROM "{table.name}"')
                    }
                    assert set(NAMES) <= found, f"{table.name}.{column.name}"


@pytest.mark.parametrize(("page_name", "address", "name"), WALK)
def test_hostile_texts_have_no_effect_on_any_page(
    visit: Visit, hostile_address: str, page_name: str, address: dict[str, str], name: str
) -> None:
    """On a phone, all unfolded: shown as written; nothing runs, is worked out, is fetched, or is too wide."""
    page = visit.page
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(f"{hostile_address}/{page_name}?{urlencode(address)}")
    expect(page.locator("p.answer").first).to_be_visible(timeout=WAIT_MS)
    page.wait_for_load_state("networkidle")
    page.wait_for_function(DRAWN)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    page.wait_for_timeout(700)  # what unfolds takes its place
    shown = page.locator("body").inner_text()
    assert name[:60] in shown
    assert page.locator("p.caution[role=alert], .stException").count() == 0
    assert page.locator("img[src*=example], a[href^=javascript]").count() == 0
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate(WIDE, 390) == []
    assert visit.ran() == []
    assert visit.requests
    assert visit.outside() == []
