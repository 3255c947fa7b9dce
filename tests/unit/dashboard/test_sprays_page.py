"""The page of sprays, run as Streamlit runs it, on a programme with cans."""

import csv
import io
import re
import shutil
from collections.abc import Iterator
from datetime import date
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from dashboard import access, data
from dashboard.access import Viewer
from dashboard.charts.cans import cans
from dashboard.charts.overlap import overlap
from dashboard.sprays import data as sprays_data
from dashboard.sprays import lists
from dashboard.sprays.answer import sprays_answer
from dashboard.sprays.words import flow_words, overlap_words, standing_words
from pipeline.cli import main
from pipeline.config import Settings
from pipeline.measures.spray_cans import catch_can_surveys
from pipeline.outputs import csv_text
from pipeline.store import Store
from tests.unit.dashboard.conftest import LAST, NORTH, look_at, opened, texts
from tests.unit.dashboard.sprays_programme import lay_sprays
from tests.unit.dashboard.week_programme import HOSTILE, load

EVERYBODY = Viewer("everybody")
Row = dict[str, Any]


@pytest.fixture(scope="module")
def sprayed(programme: Store, tmp_path_factory: pytest.TempPathFactory) -> Store:
    return lay_sprays(programme, tmp_path_factory.mktemp("sprays"))


@pytest.fixture
def sprays(sprayed: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    yield from look_at(sprayed, monkeypatch)


def html(test: AppTest) -> str:
    return "\n".join(element.proto.body for element in test.get("html"))


def answer(test: AppTest) -> str:
    return unescape(re.findall(r'<p class="answer">(.*?)</p>', html(test))[0])


def work(test: AppTest) -> list[tuple[str, str, str]]:
    """Whose the entry is, the site, and its title."""
    found = re.findall(
        r'<li class="(\w+)" data-site="([^"]+)">.*?<b><bdi>(.*?)</bdi>', html(test), flags=re.DOTALL
    )
    return [(whose, unescape(site), unescape(title)) for whose, site, title in found]


def table(test: AppTest) -> list[tuple[str, str]]:
    """Site and block of each row."""
    return [(unescape(site), unescape(block)) for block, site in re.findall(r'<tr[^>]* data-block="([^"]*)" data-site="([^"]*)"', html(test))]  # fmt: skip


@pytest.mark.usefixtures("sprays")
def test_the_sentence_says_what_needs_work_and_counts_the_unseen() -> None:
    """Two blocks are named, of one site the survey doesn't say which; of four sites two have no cans."""
    assert answer(opened("sprays")) == (
        "2 blocks need work on their laterals, by their own records: 1 flushing, 1 other nozzles or a closer spacing, "
        "and so does some block at one site, by its survey, which doesn't say which: straightening at 1. "
        f"Of 4 sites, 2 have cans read in the 365 days to {LAST}; 2 can't be judged by cans: 1 never had any read, "
        "1 has no laterals on record or is not in service."
    )


@pytest.mark.usefixtures("sprays")
def test_a_block_is_named_only_by_its_own_records() -> None:
    """N2's only block by its cans, N1's block C by its spacing; N1's uneven cans stand on some block of it."""
    assert work(opened("sprays")) == [
        ("named", "N2", "Block B: flush the laterals"),
        ("site", "N1", "On some block of this site: straighten the laterals"),
        ("named", "N1", "Block C: look at nozzles and spacing"),
    ]


def test_the_page_and_the_command_have_the_same_rows(sprays: Store, tmp_path: Path) -> None:
    """Row by row and column by column."""
    out = tmp_path / "sprays.csv"
    done = CliRunner().invoke(
        main, ["sprays", "--store", str(sprays.path), "--as-of", str(LAST), "--out", str(out)]
    )
    assert done.exit_code == 0, done.output
    text = out.read_text(encoding="utf-8")
    assert csv_text(sprays_data.blocks(data.version(), EVERYBODY, LAST)) == text
    with_laterals = {
        (r["site_id"], r["block_id"])
        for r in csv.DictReader(io.StringIO(text))
        if r["standing"] != "no_laterals"
    }
    assert set(table(opened("sprays"))) == with_laterals


@pytest.mark.usefixtures("sprays")
def test_nothing_later_than_the_chosen_day_is_known() -> None:
    """On 15 September N1's newer survey does not exist, and its cans of August were even."""
    page = opened("sprays", to="2026-09-15", site="N1")
    assert ("site", "N1", "On some block of this site: straighten the laterals") not in work(page)
    assert "4 cans were read on 2026-08-10. On which of its 2 blocks is not on record." in texts(page)
    assert "takes 12 cans, 4 were read" in html(page)


@pytest.mark.usefixtures("sprays")
def test_a_chosen_site_shows_its_cans_and_stands_first_in_the_table() -> None:
    """The newest survey until an older one is chosen; hazards on record beside the cautions."""
    page = opened("sprays", site="N1")
    assert table(page)[:2] == [("N1", "B"), ("N1", "C")]
    assert "12 cans were read on 2026-09-20." in html(page)
    assert "open well of N1" in html(page)
    assert "Can 1: 5.0 mm, in the low quarter" in html(page)
    older = opened("sprays", site="N1", survey="V0")
    assert "4 cans were read on 2026-08-10." in html(older)
    assert "They stood on block B, the only one with laterals." in html(opened("sprays", site="N2"))


@pytest.mark.usefixtures("sprays")
def test_without_a_choice_the_least_even_cans_are_drawn() -> None:
    """N1's cans have 0.50, N2's 0.67: N1 is shown, and the page says that it picked it."""
    page = html(opened("sprays"))
    assert "its cans were the least even" in page
    assert '<h2 id="site" tabindex="-1">Kwacha' in page


@pytest.mark.usefixtures("sprays")
def test_hours_give_a_rate_against_the_soils() -> None:
    """10 mm in two hours are 5 mm/h; a clay takes in 1 to 5, a loam 10 to 20."""
    page = opened("sprays", site="N1")
    assert "The cans filled at" not in html(page)
    page.number_input(key="sprays.hours.V1").set_value(2.0).run()
    assert "The cans filled at 5.0 mm/h. Once wet, the soils here take in: clay 1 to 5 mm/h, loam 10 to 20 mm/h." in html(page)  # fmt: skip


@pytest.mark.usefixtures("sprays")
def test_the_table_is_found_in_and_ordered() -> None:
    """By words of name, need and soil; by the overlap, the least first and the unknown last."""
    assert table(opened("sprays", blocks="nozzles")) == [("N1", "C")]
    assert table(opened("sprays", blocks="mitengo flush")) == [("N2", "B")]
    assert "No block has all of these words." in html(opened("sprays", blocks="nowhere"))
    rates = table(opened("sprays", order="rate"))
    assert rates[0] == ("N1", "C")  # 10 m³/h on 0.05 ha
    assert rates[-1][0] == "N3"
    assert table(opened("sprays", order="cans"))[:2] == [("N1", "B"), ("N1", "C")]


@pytest.mark.usefixtures("sprays")
def test_hostile_names_and_ids_are_text() -> None:
    """A site and a block that would run; a search for them finds them."""
    sent = html(opened("sprays", site="N3"))
    assert "<img src=x" not in sent
    assert sent.count("&lt;img src=x onerror=window.ran=1&gt;") >= 3
    assert table(opened("sprays", blocks="onerror")) == [("N3", HOSTILE)]


@pytest.mark.usefixtures("sprays")
def test_a_site_without_cans_says_what_would_help() -> None:
    """No drawing, but which columns to fill."""
    page = html(opened("sprays", site="N3"))
    assert "No cans of this site are on record up to" in page
    assert "add lateral_spacing_m and wetted_diameter_m" in page


@pytest.mark.usefixtures("sprays")
def test_who_may_see_the_south_sees_no_block_of_the_north(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its one site has a furrow."""
    monkeypatch.setattr(access, "viewer", lambda: Viewer("southerner", ("S1",)))
    page = opened("sprays")
    assert answer(page).startswith(f"On {LAST} the one site in view has no block with laterals on record")
    assert "Kwacha" not in html(page)


@pytest.mark.usefixtures("sprays")
def test_filters_narrow_and_leave_none() -> None:
    """The south has no laterals; an agreement of the north in the south leaves no site."""
    assert "no block with laterals" in answer(opened("sprays", district="South"))
    assert answer(opened("sprays", district="South", agreement="AGN")).startswith("No site is in this")
    assert {site for site, _ in table(opened("sprays", agreement="AGN"))} == set(NORTH)


@pytest.mark.usefixtures("bare")
def test_an_empty_store_says_what_to_do() -> None:
    """No field and no table."""
    page = opened("sprays")
    assert "Nothing has been loaded yet" in html(page)
    assert not page.date_input


def test_two_hundred_cans_are_drawn_without_their_rims(sprayed: Store, tmp_path: Path) -> None:
    """The strip stays a strip; the dry ones are crossed, and the spilt ones a dash."""
    own = Store(tmp_path / "store")
    shutil.copytree(sprayed.path, own.path)
    depths = ";".join(["0", *(str(5 + n % 7) for n in range(199))])
    load(own, tmp_path / "files", surveys=f"survey_id|site_id|surveyed_on|catch_depths_mm\nV9|N1|2026-09-29|{depths}")  # fmt: skip
    with own.read() as reader:
        survey = catch_can_surveys(reader, LAST, sites=["N1"])[0]
    assert (survey["cans"], len(survey["low_cans"])) == (200, 50)
    names = [trace.name for trace in cans(survey).data]
    assert names == ["water", "dry", "mean", "low_quarter"]
    few = survey | {"depths_mm": [1.0, None, 0.0, 2.0], "low_cans": [], "low_quarter_mm": None}
    assert [trace.name for trace in cans(few).data] == ["can", "water", "dry", "spilt", "mean"]


def test_the_throws_are_drawn_to_scale() -> None:
    """3 m apart, 2.4 m across: the strip from 1.2 to 1.8 m stays dry; with 3 m there is none."""
    drawn = {trace.name: trace for trace in overlap(3.0, 2.4).data}
    assert (drawn["dry"].x[0], round(drawn["dry"].width[0], 6)) == (1.5, 0.6)
    assert [(t.x[0], t.x[1]) for t in overlap(3.0, 2.4).data if t.name == "wet"] == [(-1.2, 1.2), (1.8, 4.2)]
    assert "dry" not in {trace.name for trace in overlap(3.0, 3.0).data}
    assert "jet" not in {trace.name for trace in overlap(3.0, 0.0).data}


def row(**more: Any) -> Row:
    """A block of which nothing is known."""
    names = ("evidence_on", "job_since_on", "cans_on", "christiansen", "overlap_share", "lateral_spacing_m", "flow_m3h",
             "design_flow_m3h", "flow_share", "application_rate_mm_h", "soil", "irrigation_method")  # fmt: skip
    texts_ = {"site_id": "A", "block_id": "1", "needs": "", "site_needs": "", "unjudged_why": "never", "standing": "unjudged", "evidence": "",
              "site_evidence": "", "flow_rests_on": "none", "throw_rests_on": "none"}  # fmt: skip
    return dict.fromkeys(names) | texts_ | more


def test_what_is_unknown_says_what_lacks() -> None:
    """Spacing, throw, design; when cans were last read."""
    assert overlap_words(row()) == ["unknown", "no spacing on record"]
    assert overlap_words(row(lateral_spacing_m=3.0)) == ["unknown", "no throw on record"]
    assert flow_words(row()) == ["unknown", "no design flow on record"]
    at_least = row(flow_m3h=5.0, design_flow_m3h=10.0, flow_rests_on="at_least", flow_on=date(2026, 9, 1))
    assert flow_words(at_least)[0] == "at least 5.0 m³/h"
    assert standing_words(row()) == "Can't be judged: no cans were ever read at this site"
    old = row(unjudged_why="old", cans_on=date(2025, 3, 3))
    assert standing_words(old) == "Can't be judged: no cans since 2025-03-03"


def test_the_sentence_has_a_form_for_whatever_is_known() -> None:
    """Nothing needed, the pump first, a pressure to measure, water too fast."""
    told = sprays_answer([row(unjudged_why="", standing="site_even")], 1, LAST, Settings())
    assert told == (
        "No block is known to need flushing, straightening or an end cap. "
        f"Of one site, 1 has cans read in the 365 days to {LAST}."
    )
    pump = [row(site_needs="water_first", standing="site_needs"), row(site_id="B", site_needs="pressure", standing="site_needs"),
            row(site_id="C", needs="slower", standing="needs")]  # fmt: skip
    told = sprays_answer(pump, 3, LAST, Settings())
    for part in ("At one site less water comes from the pump", "At one site a pressure would tell", "On one block the water falls faster",
                 "3 can't be judged by cans: 3 never had any read."):  # fmt: skip
        assert part in told


def test_every_finding_has_its_place_in_the_order() -> None:
    """Flushing before slower water; of one site's blocks the site is told once."""
    places = {"A": {"site_id": "A", "name": "a", "district": None}}
    rows = [
        row(block_id="1", needs="slower", evidence="e"),
        row(block_id="2", site_needs="flush", site_evidence="s", site_evidence_on=None),
    ]
    listed = lists.work_list([*rows, rows[1] | {"block_id": "3"}], places)
    assert listed.count("<li") == 2
    assert listed.index("flush the laterals") < listed.index("Block 1: water slower")
    assert lists.work_list([row()], places) == ""
    many = [row(block_id=str(n), needs="flush") for n in range(lists.MOST + 2)]
    assert "2 more follow" in lists.work_list(many, places)
