"""The page that explains every figure, run as Streamlit runs it."""

import csv
import re
from html import unescape
from io import StringIO

import pytest
from streamlit.testing.v1 import AppTest

from dashboard import data
from dashboard.access import Viewer
from dashboard.downloads import _written
from dashboard.figures import blocks as figure_blocks
from dashboard.site import panel as site_panel
from pipeline.config import Settings
from pipeline.measures import run
from pipeline.measures.explained import settings_rows
from pipeline.measures.indicators import BY_NAME, INDICATORS
from pipeline.store import Store
from tests.unit.dashboard.conftest import FIRST, LAST, opened


def html(test: AppTest) -> str:
    return "".join(element.proto.body for element in test.get("html"))


def blocks(test: AppTest) -> dict[str, str]:
    """Each figure's block by name."""
    found = re.findall(r'<details id="figure-(\w+)".*?</details>', html(test), re.DOTALL)
    parts = re.findall(r'<details id="figure-\w+".*?</details>', html(test), re.DOTALL)
    return dict(zip(found, parts, strict=True))


def plain(part: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", part)).split())


@pytest.mark.usefixtures("shown")
def test_every_figure_has_its_block_once() -> None:
    """All figures of the one list, in the groups of a site's panel and one more."""
    grouped = [name for members in figure_blocks.ALL_GROUPS.values() for name in members]
    assert sorted(grouped) == sorted(BY_NAME)
    found = blocks(opened("figures"))
    assert sorted(found) == sorted(BY_NAME)
    assert {name for name, part in found.items() if "Formula" not in plain(part)} == set()


@pytest.mark.usefixtures("shown")
def test_a_block_shows_the_programmes_value_and_its_coverage() -> None:
    """N1 counts 40 m³ a day, N2 8, S1 30: 78 m³ on each of 59 days are 4,602 m³, all of the time known."""
    found = blocks(opened("figures", **{"from": "2026-08-02", "to": "2026-09-29"}))
    assert "4,602 m³" in plain(found["water_m3"])
    assert "Time covered by water readings: 100 %" in plain(found["water_m3"])
    assert "unknown" in plain(found["om_cost"]).split("Cost of the jobs")[0]
    assert "no coverage is computed" in plain(found["om_cost"])
    assert "by agreement" in plain(found["households"])


@pytest.mark.usefixtures("shown")
def test_values_are_those_of_the_sites_in_scope(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who sees the south alone reads its 30 m³ a day, and the sentence says one site."""
    monkeypatch.setattr("dashboard.access.viewer", lambda: Viewer("southerner", ("S1",)))
    page = opened("figures", **{"from": "2026-08-02", "to": "2026-09-29"})
    assert "1,770 m³" in plain(blocks(page)["water_m3"])
    assert "those of one site from 2026-08-02" in plain(html(page))


def test_the_net_need_stands_beside_that_of_the_other_rule() -> None:
    """400 mm against 412.3 and 380: how far apart, and by which rule; nothing where either is unknown."""
    net, by_roots, by_store = (
        {"net_need_mm": 400.0, "other_net_need_mm": other} for other in (None, 412.3, 380.0)
    )
    rooted = Settings(need_by_root_zone=True)
    assert "by what the roots can hold" in figure_blocks.beside("net_need_mm", by_roots, Settings())
    assert figure_blocks.beside("net_need_mm", by_roots, Settings()).endswith("412 mm: 12.3 mm more.")
    assert "by the block's store" in figure_blocks.beside("net_need_mm", by_store, rooted)
    assert figure_blocks.beside("net_need_mm", by_store, rooted).endswith("380 mm: 20.0 mm less.")
    assert figure_blocks.beside("net_need_mm", net, Settings()) == ""
    assert figure_blocks.beside("net_need_mm", None, Settings()) == ""
    assert figure_blocks.beside("need_m3", by_roots, Settings()) == ""


@pytest.mark.usefixtures("shown")
def test_the_page_shows_both_net_needs() -> None:
    """Each with its own block, and the difference in that of the one in force."""
    found = blocks(opened("figures"))
    assert "With the rain by what the roots can hold" in plain(found["net_need_mm"])
    assert "other_net_need_mm" in found


@pytest.mark.usefixtures("shown")
def test_the_figure_of_the_address_is_open_and_marked() -> None:
    """One block, with the focus brought to it; all others are closed."""
    page = opened("figures", figure="uptime")
    assert re.findall(r'<details id="figure-(\w+)" open data-named>', html(page)) == ["uptime"]
    assert len(re.findall(r'<details id="figure-\w+">', html(page))) == len(BY_NAME) - 1
    assert "scrollIntoView" in html(page)


@pytest.mark.usefixtures("shown")
@pytest.mark.parametrize(
    "name", ["uptme", "<img src=x onerror=window.ran=1>", "'; DROP TABLE sites; --", "{0}"]
)
def test_a_figure_that_does_not_exist_is_a_calm_sentence(name: str) -> None:
    """It says so, in escaped letters, and all figures are there."""
    page = opened("figures", figure=name)
    assert f"There is no figure named {name}; here are all" in plain(html(page))
    assert "<img" not in html(page)
    assert len(blocks(page)) == len(BY_NAME)
    assert "data-named>" not in html(page)
    if name == "uptme":
        assert "Perhaps uptime" in plain(html(page))


@pytest.mark.usefixtures("shown")
def test_the_search_finds_words_of_explanations() -> None:
    """A word of a formula; one figure alone is open; a word that nobody wrote says the way back."""
    page = opened("figures")
    page.text_input(key="figures.find").input("hydraulic energy").run()
    assert list(blocks(page)) == ["lift_efficiency"]
    assert '<details id="figure-lift_efficiency" open>' in html(page)
    page.text_input(key="figures.find").input("zzz <b>").run()
    assert blocks(page) == {}
    assert "Clear the search to see all" in html(page)
    page.text_input(key="figures.find").input("").run()
    page.toggle(key="figures.full").set_value(True).run()
    assert html(page).count('" open>') == len(BY_NAME)


def test_a_changed_setting_is_told_with_its_default_everywhere(own: Store) -> None:
    """In the sentence, the definition, the figure's own list and the table; until computed, a word of caution."""
    assert "judged_coverage" not in plain(html(opened("figures"))).split("Crops and their need")[0]
    own.change_setting("judged_coverage", "0.65")
    page = opened("figures")
    shown = plain(html(page))
    assert "2 settings are not at their defaults: timezone, judged_coverage." in shown
    assert "New rows have come for 3 sites" in shown
    block = plain(blocks(page)["unjudged_ha"])
    assert "less than 0.65 of the month" in block
    assert "judged_coverage = 0.65 (default 0.7)" in block
    assert "judged_coverage In force 0.65 (changed) Default 0.7" in shown
    run.refresh(own)
    assert "New rows have come" not in plain(html(opened("figures")))


def test_a_currency_that_would_run_stays_text(own: Store) -> None:
    """A setting is free text: it is escaped wherever it stands."""
    own.change_setting("currency", "<script>window.ran=1</script>")
    own_page = html(opened("figures"))
    assert "<script>window" not in own_page
    assert "&lt;script&gt;window.ran=1" in own_page


@pytest.mark.usefixtures("bare")
def test_without_a_reading_everything_is_explained_all_the_same() -> None:
    """No value, no period, and no error."""
    page = opened("figures", figure="uptime")
    assert len(blocks(page)) == len(BY_NAME)
    assert "Their values show once readings have been loaded." in plain(html(page))
    assert "unknown" in plain(blocks(page)["uptime"])


@pytest.mark.usefixtures("shown")
def test_every_label_of_a_sites_panel_leads_to_its_figure() -> None:
    """A plain link with the period, escaped, for each figure; its definition has the settings in force."""
    figure = next(
        r for r in data.indicators(data.version(), Viewer("all"), FIRST, LAST) if r["site_id"] == "N1"
    )
    table = site_panel.figures_table(figure, (FIRST, LAST), Settings(served_supply=0.6))
    links = re.findall(r'<a href="([^"]*)">', table)
    assert [unescape(link) for link in links] == [
        f"figures?figure={name}&from=2026-08-01&to=2026-09-30"
        for members in site_panel.GROUPS.values()
        for name in members
    ]
    assert {link.split("figure=")[1].split("&")[0] for link in links} == {of.name for of in INDICATORS}
    assert "got at least 0.6 of its need" in table


def test_the_settings_can_be_had_as_a_table() -> None:
    """A line a setting, with default and meaning; a text that a spreadsheet would run gets a quote."""
    rows = settings_rows(Settings(currency="=1+1"))
    text = _written(rows, "settings.csv", None)().decode()
    read = list(csv.DictReader(StringIO(text)))
    assert read[1]["value"] == "'=1+1"
    assert {row["name"] for row in read} >= {"served_supply", "timezone"}
    assert read[1]["default"] == "MWK"
