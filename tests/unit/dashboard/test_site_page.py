"""A site's own page, run as Streamlit runs it: with a site, without one, with nothing and with anything."""

import json
import re
from datetime import date
from html import unescape
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from dashboard import data
from dashboard.access import Viewer
from dashboard.site import data as site_data
from pipeline.measures import run
from pipeline.measures.indicators import INDICATORS
from pipeline.store import Store
from tests.unit.dashboard.conftest import FIRST, LAST, opened, texts, write_csv, write_geojson
from tests.unit.dashboard.test_dashboard_maps import HOSTILE

WHOLE = {"from": str(FIRST), "to": str(LAST)}
EVERYBODY = Viewer("everybody")


def site_page(**address: str) -> AppTest:
    return opened("site", **address)


def bodies(page: AppTest) -> str:
    return "\n".join(element.proto.body for element in page.get("html"))


def charts(page: AppTest) -> list[dict[str, object]]:
    return [json.loads(element.proto.spec) for element in page.get("plotly_chart")]


def rows(page: AppTest, name: str) -> list[dict[str, str]]:
    """The rows of a folded table: each cell by the figure that it shows."""
    table = re.search(rf'data-numbers="{name}".*?</details>', bodies(page), flags=re.DOTALL)
    assert table
    return [
        {"from": start} | {of: unescape(text) for of, text in re.findall(r'data-of="(\w+)">([^<]*)<', cells)}
        for start, cells in re.findall(r'<tr data-from="([^"]+)"[^>]*>(.*?)</tr>', table.group())
    ]


def take(store: Store, folder: Path, **tables: str) -> None:
    """Load tables given as text, and compute."""
    folder.mkdir(exist_ok=True)
    for name, text in tables.items():
        write_csv(folder, name, text)
    assert store.load([folder]).faults == []
    run.refresh(store)


@pytest.mark.usefixtures("shown")
def test_without_a_site_one_is_picked_by_its_name() -> None:
    """A sentence and the field; the pick brings the site and goes into the address."""
    page = site_page()
    assert any(t.startswith("Pick a site by its name") for t in texts(page))
    page.selectbox(key="chosen.site").select("N2").run()
    assert page.query_params["site"] == "N2"
    assert any(t.startswith("Mitengo") for t in texts(page))


@pytest.mark.usefixtures("shown")
@pytest.mark.parametrize("gone", ["NOBODY", "<script>window.ran=1</script>", "'; DROP TABLE sites; --"])
def test_a_site_that_is_gone_is_a_calm_sentence(gone: str) -> None:
    """What the address asks for is not there: said once, with the field to pick another."""
    page = site_page(site=gone)
    assert any(t.startswith("That site isn't on record") for t in texts(page))
    assert "<script" not in bodies(page)
    assert page.selectbox(key="chosen.site").value is None
    assert charts(page) == []


@pytest.mark.usefixtures("shown")
def test_a_site_outside_the_scope_is_as_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    """A northerner learns nothing of a site in the south, not even that it is there."""
    northerner = Viewer("northerner", ("N1", "N2"))
    monkeypatch.setattr("dashboard.access.viewer", lambda: northerner)
    page = site_page(site="S1")
    told = " ".join(texts(page))
    assert "That site isn't on record" in told
    assert "Chigwa" not in told
    assert not any("S1" in option for option in page.selectbox(key="chosen.site").options)


@pytest.mark.usefixtures("shown")
def test_the_page_says_how_the_site_is_and_shows_every_figure() -> None:
    """Name, district, answer, hazards, cautions, charts or why there is none, each figure once, two files."""
    page = site_page(site="N2", **WHOLE)
    told = " ".join(" ".join(texts(page)).split())
    assert "Mitengo N2 · North" in told
    assert "of the crops' need was pumped" in told
    assert "open well of N2" in told
    assert "Nobody works alone at a well" in told
    assert "In no month are water and energy known for the same time." in told  # there is no energy meter
    assert len(charts(page)) == 3
    assert re.findall(r'data-figure="(\w+)"', bodies(page)).count("water_m3") == 1
    assert set(re.findall(r'data-figure="(\w+)"', bodies(page))) == {figure.name for figure in INDICATORS}
    assert [button.label for button in page.get("download_button")][-2:] == ["Download as CSV", "XLSX"]


@pytest.mark.usefixtures("shown")
def test_weeks_and_months_are_those_of_the_pipeline() -> None:
    """8 m³ a day, read at seven: 56 m³ in a whole week; August and September have a row each."""
    page = site_page(site="N2", **WHOLE)
    weeks = rows(page, "weeks")
    assert weeks[1]["from"] == "2026-08-03"
    assert weeks[1]["water_m3"] == "56.0"
    months = rows(page, "uptime")
    assert [month["from"] for month in months] == ["2026-08-01", "2026-09-01"]
    assert {month["uptime"] for month in months} == {"100 %"}
    drawn = next(c for c in charts(page) if any(t["name"] == "water_m3_per_ha" for t in c["data"]))  # type: ignore[index,attr-defined]
    assert len(drawn["layout"]["xaxis"]["range"]) == 2  # type: ignore[index,call-overload]


@pytest.mark.usefixtures("shown")
def test_links_lead_from_the_portfolio_to_the_site_and_back() -> None:
    """Each carries site and period, and what else the address says."""
    portfolio = opened("portfolio", site="N2", district="North", **WHOLE)
    there = re.search(r'href="(site\?[^"]+)"', bodies(portfolio))
    assert there
    for part in ("site=N2", "district=North", f"from={FIRST}", f"to={LAST}"):
        assert part in unescape(there.group(1))
    back = re.search(r'href="(\./\?[^"]+)"', bodies(site_page(site="N2", district="North", **WHOLE)))
    assert back
    for part in ("site=N2", "district=North", f"from={FIRST}", f"to={LAST}"):
        assert part in unescape(back.group(1))


@pytest.mark.usefixtures("shown")
def test_the_button_prints_once() -> None:
    """The click brings the script, the next run takes it away."""
    page = site_page(site="N2", **WHOLE)
    assert "window.print" not in bodies(page)
    page.button(key="print_site").click().run()
    assert "window.print" in bodies(page)
    page.selectbox(key="chosen.site").select("N1").run()
    assert "window.print" not in bodies(page)


def test_a_site_without_anything_is_drawn_as_unknown(own: Store, tmp_path: Path) -> None:
    """No meter, no crop, no block: sentences in place of charts, and never a nought."""
    take(own, tmp_path / "files", sites="site_id|name|latitude|longitude\nBARE|Bare one|-13.25|33.5")
    page = site_page(site="BARE", **WHOLE)
    told = " ".join(texts(page))
    assert "Nothing is known of this site from 2026-08-01 to 2026-09-30." in told
    assert "No reading, log, survey or crop of it has come yet" in told
    assert "Neither water nor need of a week is known" in told
    assert "No crop is on record in this period." in told
    assert "is known for unknown" not in told
    assert "No hazard is on record here; that doesn't mean" in told


def test_a_period_without_data_leads_to_days_with_some(own: Store, tmp_path: Path) -> None:
    """A site that was given up in August: in September the page links to its last days."""
    sites = "site_id|name|district|latitude|longitude|commissioned_on|decommissioned_on\nN2|Mitengo|North|-13.3|33.6|2026-08-01|2026-08-21"
    take(own, tmp_path / "files", sites=sites)
    page = site_page(site="N2", **{"from": "2026-09-01", "to": "2026-09-30"})
    way = re.search(r'href="(site\?[^"]+)"', bodies(page))
    assert way
    assert "from=2026-08-01" in unescape(way.group(1))
    assert "to=2026-08-20" in unescape(way.group(1))


@pytest.mark.parametrize("name", [HOSTILE[0], HOSTILE[2], HOSTILE[4], "A" * 200])
def test_hostile_names_stay_text_wherever_they_stand(own: Store, tmp_path: Path, name: str) -> None:
    """Site, crop and block of one such name: no tag opens in HTML or chart."""
    folder = tmp_path / "files"
    folder.mkdir()
    square = [[[33.4, -13.2], [33.401, -13.2], [33.401, -13.199], [33.4, -13.2]]]
    write_geojson(
        folder / "blocks.geojson",
        [({"site_id": "N1", "block_id": name, "area_ha": 1}, {"type": "Polygon", "coordinates": square})],
    )
    write_csv(folder, "plantings", f"site_id|block_id|crop|planted_on\nN1|{name}|{name}|2026-08-01")
    write_csv(
        folder, "sites", f"site_id|name|latitude|longitude|commissioned_on\nN1|{name}|-13.2|33.4|2026-08-01"
    )
    assert {fault.rule for fault in own.load([folder]).faults} == {"unknown_crop"}
    run.refresh(own)
    page = site_page(site="N1", **WHOLE)
    assert not re.search(r"<(script>window|img src=x)", bodies(page))
    assert name in " ".join(texts(page)).replace("  ", " ")
    drawn = "\n".join(json.dumps(chart["data"]) for chart in charts(page))
    assert not re.search(r"<(script|img|a )", drawn)
    assert "A" * 60 not in drawn


@pytest.mark.usefixtures("shown")
def test_the_days_of_the_file_sum_to_the_figures() -> None:
    """61 days; their water is the period's."""
    version = data.version()
    days = site_data.days(version, EVERYBODY, "N2", FIRST, LAST)
    assert [days[0]["day"], days[-1]["day"], len(days)] == [FIRST, LAST, 61]
    figure = site_data.measured(version, EVERYBODY, "N2", FIRST, LAST).figure
    assert figure
    assert sum(d["water_m3"] or 0 for d in days) == pytest.approx(figure["water_m3"], abs=0.06)


@pytest.mark.usefixtures("shown")
def test_a_site_is_measured_alone_as_among_others() -> None:
    """The page asks for one site: its figures are those that the portfolio shows."""
    version = data.version()
    alone = site_data.measured(version, EVERYBODY, "N2", FIRST, LAST).figure
    among = next(f for f in data.indicators(version, EVERYBODY, FIRST, LAST) if f["site_id"] == "N2")
    assert alone == among


@pytest.mark.usefixtures("shown")
def test_known_days_are_the_sites_own() -> None:
    """The first and the last day that the site itself tells of."""
    assert site_data.known_days(data.version(), EVERYBODY, "N1") == (date(2026, 8, 1), date(2026, 9, 30))
    assert site_data.known_days(data.version(), EVERYBODY, "NOBODY") is None
