"""The page of the week, run as Streamlit runs it, on a programme in which something happened."""

import csv
import io
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from dashboard import access, data
from dashboard.access import Viewer
from dashboard.week import data as week_data
from pipeline.cli import main
from pipeline.outputs import csv_text
from pipeline.store import Store
from tests.unit.dashboard.conftest import FIRST, LAST, NORTH, look_at, opened
from tests.unit.dashboard.week_programme import WEEK, lay_happened, load

NORTHERNER = Viewer("northerner", NORTH)


def html(test: AppTest) -> str:
    """All the HTML of the page, as it is sent."""
    return "\n".join(element.proto.body for element in test.get("html"))


def answer(test: AppTest) -> str:
    return unescape(re.findall(r'<p class="answer">(.*?)</p>', html(test))[0])


def shown(test: AppTest) -> dict[str, str]:
    """The kinds of change on the page, by site."""
    found = re.findall(r'data-site="([^"]+)" data-kind="([^"]+)"', html(test))
    return {unescape(site): kind for site, kind in found}


def unsaid(test: AppTest) -> str:
    return "\n".join(re.findall(r'<li data-why="\w+">.*?</li>', html(test)))


@pytest.fixture(scope="module")
def happened(programme: Store, tmp_path_factory: pytest.TempPathFactory) -> Store:
    return lay_happened(programme, tmp_path_factory.mktemp("happened"))


@pytest.fixture
def week(happened: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    yield from look_at(happened, monkeypatch)


def written(store: Store, tmp_path: Path, since: str, to: str) -> str:
    """What the command writes, as text."""
    out = tmp_path / "changes.csv"
    done = CliRunner().invoke(main, ["changes", "--store", str(store.path), "--since", since, "--to", to, "--out", str(out)])  # fmt: skip
    assert done.exit_code == 0, done.output
    return out.read_text(encoding="utf-8")


def test_the_page_shows_what_the_command_writes(week: Store, tmp_path: Path) -> None:
    """Row by row and column by column; each changed site once, each unsaid one by name; the counts of the sentence."""
    text = written(week, tmp_path, **WEEK)
    rows = list(csv.DictReader(io.StringIO(text)))
    page = opened("week", **WEEK)
    told = {r["site_id"]: r["kind"] for r in rows if r["direction"] in ("worse", "better", "otherwise")}
    assert shown(page) == told
    assert told["N1"] == "stopped"
    for row in rows:
        assert (f">{row['site_id']} ·" in unsaid(page)) is (row["direction"] == "unsaid")
    asked = week_data.changed(data.version(), Viewer("all"), *map(type(LAST).fromisoformat, WEEK.values()))
    assert csv_text(asked) == text
    worse = sum(row["direction"] == "worse" for row in rows)
    assert answer(page).startswith(
        f"Since 23 September: {worse if worse > 1 else 'one'} site{'s' * (worse > 1)} got worse ("
    )


@pytest.mark.usefixtures("week")
def test_what_came_after_the_later_day_does_not_exist_for_it() -> None:
    """A day before the stop neither the change nor its job is known."""
    page = opened("week", since="2026-09-22", to="2026-09-29")
    assert shown(page).get("N1") != "stopped"
    assert "J-N1" not in html(page)


@pytest.mark.usefixtures("week")
def test_the_earlier_day_is_a_week_before_until_somebody_chooses() -> None:
    """The last known day is the later one; a chosen later day takes the earlier one along; a broken link counts as none."""
    page = opened("week")
    assert (page.query_params["since"], page.query_params["to"]) == ("2026-09-23", "2026-09-30")
    page.date_input(key="chosen.to").set_value(type(LAST)(2026, 9, 20)).run()
    assert page.query_params["since"] == "2026-09-13"
    page.date_input(key="chosen.since").set_value(type(LAST)(2026, 9, 1)).run()
    page.date_input(key="chosen.to").set_value(type(LAST)(2026, 9, 25)).run()
    assert page.query_params["since"] == "2026-09-01"
    assert answer(page).startswith("Since 1 September: ")
    assert opened("week", since="yesterday", to="2026-13-01").query_params["since"] == "2026-09-23"


@pytest.mark.usefixtures("week")
def test_a_day_outside_the_known_ones_is_brought_inside() -> None:
    """A link to before the first day shows the first; one whose earlier day is the later shows the day before it."""
    assert opened("week", since="2020-01-01").query_params["since"] == str(FIRST)
    assert opened("week", since="2026-09-30", to="2026-09-20").query_params["since"] == "2026-09-19"


@pytest.mark.usefixtures("week")
def test_on_the_first_day_there_is_nothing_to_compare_with() -> None:
    """The sentence says so and keeps the jobs; no list of changes is drawn."""
    page = opened("week", to=str(FIRST))
    assert answer(page) == (
        "The days on record begin on 2026-08-01: there is no earlier day to compare with. Choose a later day, or load "
        "older readings. As of that day no job is open."
    )
    assert shown(page) == {}


@pytest.mark.usefixtures("bare")
def test_an_empty_store_says_what_to_do() -> None:
    """No list and no field, but the way to load files."""
    page = opened("week")
    assert "Nothing has been loaded yet" in html(page)
    assert not page.date_input


def test_sites_without_a_day_are_counted(bare: Store, tmp_path: Path) -> None:
    """One site on record and nothing else: what lacks is said."""
    load(bare, tmp_path / "files", sites="site_id|name|latitude|longitude\nL|Lone|-13.2|33.4")
    assert "One site is on record" in html(opened("week"))


def test_a_quiet_programme_says_that_nothing_changed(
    programme: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three sites with the same water each day: no change, no job, no call, and nothing unsaid."""
    for _ in look_at(programme, monkeypatch):
        page = opened("week")
        assert answer(page) == "Since 23 September: no change is known at any site; no job is open."
        for words in ("No change is known between these days", "No job is open on that day"):
            assert words in html(page)


@pytest.mark.usefixtures("week")
def test_district_and_agreement_narrow_every_list() -> None:
    """The south has its old job and no changed site; an agreement of another district leaves none."""
    south = opened("week", district="South", **WEEK)
    assert shown(south) == {}
    assert "J-S1" in html(south)
    assert "J-N1" not in html(south)
    assert "one job is open, for more than two weeks" in answer(south)
    assert "No site is both" in answer(opened("week", district="South", agreement="AGN", **WEEK))
    assert "N3" not in html(opened("week", agreement="AGN", **WEEK))


@pytest.mark.usefixtures("week")
def test_who_may_see_the_north_is_told_of_no_other_site(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither change, job, contact, call nor option of the south comes to the page."""
    everything = html(opened("week", **WEEK))
    assert "J-S1" in everything
    monkeypatch.setattr(access, "viewer", lambda: NORTHERNER)
    page = opened("week", **WEEK)
    sent = re.sub(r"data:image[^\"]+", "", html(page)) + str([list(box.options) for box in page.selectbox])
    for word in ("S1", "N3", "Chigwa", "South", "southern"):
        assert word not in sent
    asked = str(data.on_day(data.version(), NORTHERNER, LAST))
    assert not any(word in asked for word in ("Southern Chair", "southern words", "southern pipe"))


@pytest.mark.usefixtures("week")
def test_whom_to_telephone_stands_with_number_last_call_and_question() -> None:
    """N3's counter stands: its contacts, what was said, and a question to a person; the number can be dialled."""
    sent = html(opened("week", **WEEK))
    assert '<a href="tel:+265000333">+265 (0) 00-333</a>' in sent
    assert "Read me the number on the water meter, and again after ten minutes" in sent
    assert "Last called on 2026-09-20, 10 days before:" in sent
    assert "agreed to be on file" in sent  # of Zed, of whom no consent is on record


@pytest.mark.usefixtures("week")
def test_hostile_texts_are_shown_and_never_run() -> None:
    """Name, contact, role, language, answer, component: as text; a number that is a script is no link."""
    sent = html(opened("week", **WEEK))
    assert "<img src=x" not in sent
    assert sent.count("&lt;img src=x onerror=window.ran=1&gt;") >= 6
    assert 'href="javascript' not in sent
    assert 'href="tel:javascript' not in sent


@pytest.mark.usefixtures("week")
def test_each_site_links_to_its_page_and_shows_its_patch_before_and_now() -> None:
    """The id is in the address, with the days and the district chosen; both pictures have their figures in words."""
    sent = html(opened("week", **WEEK, district="North"))
    assert '<a href="site?since=2026-09-23&amp;to=2026-09-30&amp;district=North&amp;site=N1"' in sent
    item = re.findall(r'<li data-site="N1" data-kind="stopped">.*?</li>', sent)[0]
    alts = re.findall(r'alt="([^"]+)"', item)
    assert ["2026-09-23" in alts[0], "2026-09-30" in alts[1]] == [True, True]
    assert all("of the need" in alt for alt in alts)


@pytest.mark.usefixtures("week")
def test_contacts_go_into_no_download() -> None:
    """The files hold changes and jobs; a telephone number stays on the page."""
    page = opened("week", **WEEK)
    keys = {button.proto.id for button in page.get("download_button")}
    assert {key for key in keys if "calls" in key} == set()
    rows = data.on_day(data.version(), Viewer("all"), LAST)
    assert "+265" not in csv_text(rows["jobs"])


@pytest.mark.usefixtures("week")
def test_an_earlier_last_day_moves_a_later_first_day_before_it() -> None:
    """The period stays one: with the first day of September chosen before, the end of August leaves 90 days."""
    page = opened("week", to="2026-08-20")
    page.session_state["kept.from"] = "2026-09-01"
    page.run()
    assert page.session_state["kept.from"] == str(FIRST)
