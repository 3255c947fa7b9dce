"""The page of the harvest, run as Streamlit runs it, on a programme with harvests."""

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from dashboard import data
from dashboard.access import Viewer
from dashboard.charts.productivity import drawn, productivity
from dashboard.harvest import data as harvest_data
from dashboard.harvest import tables
from dashboard.harvest.answer import cost_sentences, harvest_answer, known_sentence
from pipeline.cli import main
from pipeline.measures.harvest_columns import LEAST_COVERAGE
from pipeline.outputs import csv_text
from pipeline.store import Store
from tests.unit.dashboard.conftest import FIRST, LAST, NORTH, SOUTH, look_at, opened, texts
from tests.unit.dashboard.harvest_programme import lay_harvests
from tests.unit.dashboard.week_programme import HOSTILE

EVERYBODY = Viewer("everybody")
EVERYWHERE = (*NORTH, *SOUTH)
PERIOD = {"from": str(FIRST), "to": str(LAST)}
Row = dict[str, Any]


@pytest.fixture(scope="module")
def harvested(programme: Store, tmp_path_factory: pytest.TempPathFactory) -> Store:
    return lay_harvests(programme, tmp_path_factory.mktemp("harvests"))


@pytest.fixture
def harvests(harvested: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    yield from look_at(harvested, monkeypatch)


def found(by: str = "planting", sites: tuple[str, ...] = EVERYWHERE) -> list[Row]:
    return harvest_data.harvests(data.version(), EVERYBODY, FIRST, LAST, sites)[by]


def html(test: AppTest) -> str:
    return "\n".join(element.proto.body for element in test.get("html"))


def answer(test: AppTest) -> str:
    return unescape(re.findall(r'<p class="answer">(.*?)</p>', html(test))[0])


def listed(test: AppTest) -> list[str]:
    """The plantings in the order of their table."""
    whole = re.findall(r"<table.*?</table>", html(test), flags=re.DOTALL)
    (table,) = [t for t in whole if ">Irrigation</th>" in t]
    return [unescape(name) for name in re.findall(r"<td[^>]*><div><div><b><bdi>(.*?)</bdi>", table)]


@pytest.mark.usefixtures("harvests")
def test_the_sentence_says_what_was_harvested_how_it_compares_and_what_cannot() -> None:
    """Four plantings, two compared; the crop of one has no range, and the maize was planted before the weather begins."""
    compared = {row["crop"]: row["compared"] for row in found() if row["compared"]}
    assert set(compared) == {"beans", "tomato"}
    assert answer(opened("harvest", **PERIOD)) == (
        f"From {FIRST} to {LAST}, 4 plantings had their last harvest: 15.3 t in all. "
        "2 can be compared with published water productivity: 1 below the range, 1 within it. "
        "2 can't: no range is published for the crop of 1, too little is known of the need of 1. "
        "Besides, 40.0 kg were harvested of crops without a planting on record."
    )


@pytest.mark.parametrize("by", ["planting", "crop", "site", "half_year"])
def test_the_page_and_the_command_have_the_same_rows(harvests: Store, tmp_path: Path, by: str) -> None:
    """Row by row and column by column, by whatever they are put together."""
    out = tmp_path / "harvest.csv"
    period = ["--from", str(FIRST), "--to", str(LAST)]
    done = CliRunner().invoke(main, ["harvest", "--store", str(harvests.path), *period, "--by", by, "--out", str(out)])  # fmt: skip
    assert done.exit_code == 0, done.output
    shown = [row | {"currency": "MWK"} for row in found(by)]
    assert csv_text(shown) == out.read_text(encoding="utf-8")


@pytest.mark.usefixtures("harvests")
def test_a_sites_harvest_per_m3_is_the_figure_that_its_own_page_has() -> None:
    """Site by site, the unknown ones too."""
    figures = {row["site_id"]: row["water_productivity_kg_m3"] for row in data.indicators(data.version(), EVERYBODY, FIRST, LAST)}  # fmt: skip
    here = {row["site_id"]: row["water_productivity_kg_m3"] for row in found("site")}
    assert here == figures
    assert any(value is not None for value in here.values())


@pytest.mark.usefixtures("harvests")
def test_each_planting_is_a_mark_and_a_band_stands_where_a_range_is_published() -> None:
    """Beans and tomato have one, lettuce none; what is from memory alone is an open square."""
    crops = drawn(found(), "need")
    assert [crop for crop, _ in crops] == ["tomato", "lettuce", "beans"]
    figure = productivity(crops, "need", [[row["crop"] for row in rows] for _, rows in crops])
    bands = [(shape.x0, shape.x1) for shape in figure.layout.shapes if shape.type == "rect"]
    assert bands == [(10, 12), (0.3, 0.6)]
    recorded, memory = figure.data
    assert (set(recorded.hovertext), set(memory.hovertext)) == ({"tomato", "beans"}, {"lettuce"})
    assert (set(recorded.marker.symbol), set(memory.marker.symbol)) == ({"circle"}, {"square-open"})


@pytest.mark.usefixtures("harvests")
def test_per_m3_of_irrigation_no_band_is_drawn() -> None:
    """What is published is not per m³ pumped."""
    crops = drawn(found(), "irrigation")
    assert crops
    figure = productivity(crops, "irrigation", [["" for _ in rows] for _, rows in crops])
    assert [shape for shape in figure.layout.shapes if shape.type == "rect"] == []
    page = opened("harvest", **PERIOD)
    page.toggle(key="harvest.per").set_value(True).run()
    assert [e.value for e in page.exception] == []
    assert "No range is drawn" in html(page)


def test_nothing_harvested_stands_at_the_edge() -> None:
    """A crop that failed: 0 kg has no place on a logarithmic axis, and is no gap either."""
    row = {"et_productivity_kg_m3": 0.0, "harvest_kg": 0.0, "recall_share": None, "crop": "maize"}
    row |= {"published_least_kg_m3": 0.8, "published_most_kg_m3": 1.6}
    crops = drawn([row, row | {"et_productivity_kg_m3": 1.0}], "need")
    figure = productivity(crops, "need", [["nothing", "one"]])
    assert figure.data[0].marker.symbol == ("triangle-left", "circle")
    assert 0 < figure.data[0].x[0] < 0.8


@pytest.mark.usefixtures("harvests")
def test_how_the_kilograms_are_known_is_said() -> None:
    """900 of 15,340 kg weighed, 12,000 by a slip, 2,400 from memory; 40 nobody said."""
    assert known_sentence(found()) == (
        "Of the kilograms: 6 % weighed, 78 % by a buyer's slip, 16 % from memory, 0.3 % nobody said how. "
        "2 plantings rest on memory alone."
    )


@pytest.mark.usefixtures("harvests")
def test_the_cost_of_dryness_is_a_range_with_what_it_rests_on() -> None:
    """Beans and tomato have a yield response; lettuce's values nobody printed, the maize's need isn't known."""
    told = cost_sentences(found(), "MWK")
    costed = [row for row in found() if row["lost_kg_most"] is not None]
    assert all(row["lost_kg_least"] <= row["lost_kg_most"] for row in costed)
    assert "nobody can say" in told
    assert "It is a thought, not a measurement." in html(opened("harvest", **PERIOD))


def test_a_cost_without_a_price_has_no_money() -> None:
    """100 kg lost for certain, no price: kilograms alone."""
    row = {"planted_on": FIRST, "uncosted_why": None, "harvest_kg": 400.0, "lost_value_least": None}
    row |= {"lost_kg_least": 100.0, "lost_kg_most": 100.0, "lost_value_most": None}
    assert cost_sentences([row], "MWK") == (
        "Dryness is thought to have cost one planting 100 kg, beside the 400 kg that it gave. No price is on record for them."
    )


@pytest.mark.usefixtures("harvests")
def test_filters_words_and_orders() -> None:
    """A district, an agreement; words that all stand in a row; the least first."""
    assert set(listed(opened("harvest", **PERIOD, district="South"))) == {"tomato, block H", "maize, block B"}
    assert listed(opened("harvest", **PERIOD, agreement="AGS")) == ["tomato, block H", "maize, block B"]
    assert listed(opened("harvest", **PERIOD, plantings="mitengo lettuce")) == ["lettuce, block H"]
    assert listed(opened("harvest", **PERIOD, harvest_order="harvest"))[:3] == [f"{HOSTILE}, block B", "maize, block B", "beans, block H"]  # fmt: skip
    assert "Nothing here has these words" in html(opened("harvest", **PERIOD, plantings="zzz"))
    assert "No site is both" in answer(opened("harvest", **PERIOD, district="South", agreement="AGN"))


def test_unknown_values_come_last_in_every_order() -> None:
    """Least first; of what is lost the most first."""
    places = {"A": {"name": "a"}}
    rows = [
        {"site_id": "A", "block_id": str(n), "planted_on": FIRST, "crop": "maize", "last_harvest_on": FIRST, "harvest_kg": 1.0}
        | dict.fromkeys(("harvest_kg_per_ha", "water_productivity_kg_m3", "et_productivity_kg_m3", "lost_kg_most"), value)
        for n, value in enumerate([None, 2.0, 1.0])
    ]  # fmt: skip
    for order in ("yield", "per_irrigation", "per_need"):
        assert [row["block_id"] for row in tables.ordered(rows, places, order)] == ["2", "1", "0"]
    assert [row["block_id"] for row in tables.ordered(rows, places, "lost")] == ["1", "2", "0"]


@pytest.mark.usefixtures("harvests")
def test_hostile_crops_stay_text() -> None:
    """In the tables and in what a mark says."""
    page = opened("harvest", **PERIOD)
    assert HOSTILE not in html(page)
    assert any(HOSTILE in text for text in texts(page))
    row = next(row for row in found() if row["crop"] == HOSTILE)
    assert "<img" not in tables.mark_words(row, {"name": HOSTILE, "site_id": "N2"}, "need")


def test_without_a_harvest_the_page_says_what_to_do(shown: Store) -> None:
    """Nothing is drawn, and no table stands empty."""
    page = opened("harvest", **PERIOD)
    assert answer(page) == f"No harvest is on record from {FIRST} to {LAST}. Choose other days, or load a sheet of harvests."  # fmt: skip
    assert "<table" not in html(page)
    assert harvest_answer([], (FIRST, LAST)) == answer(page)
    assert shown.manifest() is not None


@pytest.mark.usefixtures("bare")
def test_an_empty_store_has_a_way_on() -> None:
    """Before anything was loaded."""
    assert 'class="empty"' in html(opened("harvest"))


def test_the_bound_of_the_pages_words_is_that_of_the_statement() -> None:
    """Four fifths, in the one place where it is computed with."""
    statement = (
        Path(harvest_data.__file__).parents[2] / "pipeline/measures/figures_harvests.sql"
    ).read_text()
    assert f"{LEAST_COVERAGE} AS least_coverage" in statement
