"""A site's own page, as an O&M lead sees it on a laptop, on a phone and on paper."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from pipeline.measures import run
from pipeline.measures.indicators import BY_NAME, INDICATORS
from pipeline.store import Store
from tests.browser.conftest import Visit, serve, stop
from tests.browser.hostile import NAMES
from tests.browser.test_portfolio_page import near, open_portfolio, written
from tests.unit.dashboard.conftest import lay_programme, write_csv, write_geojson

pytestmark = pytest.mark.browser

FROM, TO = "2026-08-01", "2026-09-30"
PERIOD = f"from={FROM}&to={TO}"
WAIT_MS = 60_000
SIZES = {"laptop": (1366, 768), "phone": (390, 844)}
LONG = "Nkhwangwa " * 20  # 200 letters


@pytest.fixture(scope="module")
def equipped(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The programme, with an energy meter, a head, outlines, a stop and a long name at N2."""
    folder = tmp_path_factory.mktemp("equipped")
    store = lay_programme(folder)
    more = folder / "more"
    more.mkdir()
    write_csv(
        more,
        "sites",
        "site_id|name|district|latitude|longitude|commissioned_on|pump_rated_flow_m3h|total_dynamic_head_m\n"
        f"N2|Mitengo|North|-13.3|33.6|2026-08-01|10|30\nN1|{LONG.strip()}|North|-13.2|33.4|2026-08-01|10|30",
    )
    write_csv(more, "meters", "meter_id|site_id|quantity|digits\nEN2|N2|energy|6")
    readings = [f"EN2|2026-{8 + n // 31:02}-{n % 31 + 1:02} 07:00|{500 + 2 * n}" for n in range(61)]
    write_csv(more, "meter_readings", "meter_id|read_at|value\n" + "\n".join(readings))
    write_csv(
        more,
        "maintenance",
        "record_id|site_id|kind|reported_at|restored_at|water_stopped|cost\n"
        "J1|N2|corrective|2026-09-10 08:00|2026-09-14 08:00|yes|5000",
    )
    outline = [[[33.6, -13.3], [33.601, -13.3], [33.601, -13.299], [33.6, -13.299], [33.6, -13.3]]]
    block = {"site_id": "N2", "block_id": "B", "area_ha": 1, "irrigation_method": "furrow"}
    write_geojson(more / "blocks.geojson", [(block, {"type": "Polygon", "coordinates": outline})])
    assert store.load([more]).faults == []
    run.refresh(store)
    return store


@pytest.fixture(scope="module")
def site_address(equipped: Store) -> Iterator[str]:
    process, address = serve(equipped.path)
    yield address
    stop(process)


def open_site(page: Page, address: str, query: str) -> None:
    """Open the page and wait for its heading and its charts."""
    page.goto(f"{address}/site?{query}")
    expect(page.locator("h2#site")).to_be_visible(timeout=WAIT_MS)
    expect(page.locator(".st-key-chart_blocks .main-svg").first).to_be_visible(timeout=WAIT_MS)
    expect(page.locator(".st-key-site_after .stDownloadButton").last).to_be_visible(timeout=WAIT_MS)
    page.wait_for_load_state("networkidle")


def drawn(page: Page, chart: str) -> dict[str, Any]:
    """A chart's traces by name, as the browser has them."""
    traces = page.locator(f".st-key-chart_{chart} .js-plotly-plot").evaluate(
        "plot => plot.data.map(t => ({name: t.name, y: Array.from(t.y || []), x: Array.from(t.x || []).map(String)}))"
    )
    return {trace["name"]: trace for trace in traces}


def table(page: Page, name: str) -> dict[tuple[str, str], dict[str, str]]:
    """A folded table: its shown figures by the days of the row."""
    page.locator(f"details[data-numbers={name}] summary").click()
    rows = page.locator(f"details[data-numbers={name}] tr[data-from]")
    return {
        (row.get_attribute("data-from") or "", row.get_attribute("data-to") or ""): {
            cell.get_attribute("data-of") or "": cell.inner_text()
            for cell in row.locator("td[data-of]").all()
        }
        for row in rows.all()
    }


def of_site(rows: list[dict[str, str]], site: str = "N2") -> list[dict[str, str]]:
    return [row for row in rows if row["site_id"] == site]


def test_every_figure_is_the_commands(
    visit: Visit, site_address: str, equipped: Store, tmp_path: Path
) -> None:
    """Figures of the period, of each month and of each week: what `sunrill indicators` writes of these days."""
    page = visit.page
    open_site(page, site_address, f"{PERIOD}&site=N2")
    whole = of_site(written(equipped, tmp_path / "w.csv", "indicators", "--from", FROM, "--to", TO))[0]
    for figure in INDICATORS:
        shown = page.locator(f"tr[data-figure={figure.name}] td.number").inner_text()
        assert near(shown, whole[figure.name], percent=figure.unit == "–"), figure.name

    command = ("indicators", "--from", FROM, "--to", TO, "--by", "month")
    months = of_site(written(equipped, tmp_path / "m.csv", *command))
    for name in ("energy", "uptime"):
        shown_months = table(page, name)
        assert list(shown_months) == [(m["from_day"], m["to_day"]) for m in months]
        for month in months:
            for of, shown in shown_months[month["from_day"], month["to_day"]].items():
                assert near(shown, month[of], percent=BY_NAME[of].unit == "–"), of
    bars = drawn(page, "energy")
    for of in ("energy_kwh_per_m3", "lift_efficiency"):
        assert bars[of]["y"] == [float(m[of]) for m in months]
    strips = drawn(page, "season")
    assert strips["up"]["y"] == [float(m["uptime_low"]) for m in months]
    assert strips["unknown"]["y"] == [float(m["uptime_unknown"]) for m in months]
    assert strips["down"]["y"] == pytest.approx([1 - float(m["uptime_high"]) for m in months])
    assert any(y > 0.05 for y in strips["down"]["y"])

    weeks = table(page, "weeks")
    area = float(whole["area_ha"])
    heights = drawn(page, "water")["water_m3_per_ha"]["y"]
    assert len(weeks) == len(heights) == 10
    every_third = [*zip(weeks.items(), heights, strict=True)][::3]  # the short ones at either end among them
    assert every_third[-1][0][0][1] == TO
    for ((start, end), shown_week), height in every_third:
        told = of_site(written(equipped, tmp_path / "k.csv", "indicators", "--from", start, "--to", end))[0]
        for of in ("water_m3", "water_coverage", "need_m3", "relative_irrigation_supply"):
            assert near(shown_week[of], told[of], percent=BY_NAME[of].unit == "–"), (start, of)
        assert height == pytest.approx(float(told["water_m3"]) / area, abs=0.051)
    assert page.evaluate("document.documentElement.scrollWidth") <= 1366
    assert visit.outside() == []


def test_a_link_leads_from_the_portfolio_to_the_site_and_back(visit: Visit, site_address: str) -> None:
    """In the same tab, with site and period, and the district that was chosen."""
    page = visit.page
    open_portfolio(page, site_address, f"{PERIOD}&site=N2&district=North")
    page.locator("a[href^='site?']").click()
    page.wait_for_url(re.compile(r"/site\?.*site=N2"), timeout=WAIT_MS)
    expect(page.locator("h2#site")).to_contain_text("Mitengo", timeout=WAIT_MS)
    assert f"from={FROM}" in page.url
    page.locator("p.back a").click()
    page.wait_for_url(re.compile(r"/\?.*site=N2"), timeout=WAIT_MS)
    expect(page.locator(".list tbody tr").first).to_be_visible(timeout=WAIT_MS)
    assert page.locator(".list tbody tr").count() == 2
    assert len(page.context.pages) == 1


@pytest.mark.parametrize(("size", "site"), [("laptop", "N1"), ("phone", "N2")])
def test_the_page_stands_on_one_a4(chromium: Browser, site_address: str, size: str, site: str) -> None:
    """From a laptop and a phone, with a name of 200 letters too: one sheet, every chart whole on it, no field or button."""
    width, height = SIZES[size]
    page = chromium.new_page(viewport={"width": width, "height": height})
    open_site(page, site_address, f"{PERIOD}&site={site}")
    pdf = page.pdf(format="A4", print_background=True)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    for hidden in (".st-key-choices", ".stDownloadButton", ".stButton", "[data-testid=stHeader]", "a"):
        assert not any(found.is_visible() for found in page.locator(hidden).all()), hidden
    for chart in ("water", "season", "blocks"):
        box = page.locator(f".st-key-chart_{chart} .main-svg").first.bounding_box()
        assert box
        assert box["x"] + box["width"] <= width + 1
        view = page.locator(f".st-key-chart_{chart} .main-svg").first.get_attribute("viewBox")
        assert view
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert page.locator(".main-svg[viewBox]").count() == 0
    page.close()


def test_the_button_opens_the_print(visit: Visit, site_address: str) -> None:
    """One click, one print."""
    page = visit.page
    page.add_init_script("window.print = () => { window.printed = (window.printed || 0) + 1; }")
    open_site(page, site_address, f"{PERIOD}&site=N2")
    page.get_by_role("button", name="Print this page").click()
    page.wait_for_function("window.printed === 1", timeout=WAIT_MS)


def test_hostile_names_are_text_and_nothing_is_too_wide(visit: Visit, hostile_address: str) -> None:
    """Hostile sites on a laptop: shown as written, nothing runs, nothing leaves, nothing is wider."""
    page, width = visit.page, 1366
    for n in (0, 1, len(NAMES) - 1):
        page.goto(f"{hostile_address}/site?{PERIOD}&site=H{n}")
        expect(page.locator("h2#site")).to_contain_text(NAMES[n][:20], timeout=WAIT_MS)
        expect(page.locator(".st-key-chart_blocks .main-svg").first).to_be_visible(timeout=WAIT_MS)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        wide = page.locator("h2, h3, p, table.facts, .main-svg, .legend span").evaluate_all(
            f"all => all.filter(e => e.getBoundingClientRect().right > {width + 1}).map(e => e.outerHTML.slice(0, 80))"
        )
        assert wide == []
    assert visit.ran() == []
    assert visit.outside() == []
