"""The pages, run as Streamlit runs them, in the situations that a programme gets into."""

import json
import re
from html import unescape
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from dashboard import data
from pipeline.measures import run
from pipeline.store import Store
from tests.unit.dashboard.conftest import opened, texts, write_csv

DASHBOARD = Path(__file__).parents[3] / "dashboard"
SITES = "site_id|name|district|latitude|longitude|commissioned_on\n"


def fates(test: AppTest) -> dict[str, list[str]]:
    """The table of fates: its numbers by file."""
    for element in test.get("html"):
        rows = re.findall(r"<tr>(.*?)</tr>", element.proto.body)
        if rows and "Unchanged" in rows[0]:
            cells = [[unescape(c) for c in re.findall(r"<td[^>]*>(.*?)</td>", row)] for row in rows[1:]]
            return {row[0]: row[2:] for row in cells}
    return {}


def load_sites(store: Store, folder: Path, rows: str) -> None:
    folder.mkdir()
    write_csv(folder, "sites", SITES + rows)
    assert store.load([folder]).faults == []
    run.refresh(store)


def test_no_folder_is_taken_for_streamlits_own_pages() -> None:
    """With a folder `pages` beside the app, a bookmark on a fresh server shows the framework's menu, unstyled."""
    assert (DASHBOARD / "app.py").exists()
    assert not (DASHBOARD / "pages").exists()


@pytest.mark.usefixtures("bare")
def test_an_empty_store_says_what_to_do() -> None:
    """Neither page has a table; both say where files go."""
    assert any("Nothing has been loaded yet" in t for t in texts(opened("portfolio")))
    assert any("Drop the field's files here" in t for t in texts(opened("files")))


def test_sites_of_which_no_day_is_known_are_counted(bare: Store, tmp_path: Path) -> None:
    """One site on record and nothing else: the sentence is in the singular and says what lacks."""
    load_sites(bare, tmp_path / "files", "S1|Lone|North|-13.2|33.4|")
    assert any(t.startswith("One site is on record") for t in texts(opened("portfolio")))


def test_a_site_without_anything_stands_beside_the_others(own: Store, tmp_path: Path) -> None:
    """No meter, no crop, no district: the page draws it as unknown and says why it can't be judged."""
    load_sites(own, tmp_path / "files", "BARE|Bare one||-13.25|33.5|2026-01-01")
    shown = texts(opened("portfolio", site="BARE"))
    assert shown[1].startswith("Of 4 sites, 3 can be judged")
    assert shown[1].endswith("One can't be judged: no crops or no weather on record.")
    assert any("How far the crops' need was met isn't known" in t for t in shown)


@pytest.mark.usefixtures("shown")
@pytest.mark.parametrize(
    ("address", "start"),
    [
        ({}, "All 3 sites can be judged"),
        ({"district": "South"}, "The one site can be judged"),
        ({"district": "Nowhere", "site": "NOBODY", "from": "nonsense", "to": "1066-10-14"}, "All 3 sites"),
        ({"from": "2026-09-30", "to": "2026-08-01"}, ""),
        ({"from": "<script>", "to": "9999-99-99", "district": "'; DROP TABLE sites; --"}, "All 3 sites"),
    ],
)
def test_a_link_shows_its_page_and_a_broken_one_a_page(address: dict[str, str], start: str) -> None:
    """What the address can't mean counts as not said."""
    assert texts(opened("portfolio", **address))[1].startswith(start)


@pytest.mark.usefixtures("shown")
def test_the_address_keeps_what_was_chosen() -> None:
    """District and site that are chosen stand in the link; a site of another district goes."""
    page = opened("portfolio", site="S1")
    page.selectbox(key="chosen.district").select("North").run()
    assert page.query_params["district"] == "North"
    assert "site" not in page.query_params
    page.selectbox(key="chosen.site").select("N2").run()
    assert page.query_params["site"] == "N2"
    assert any(t.startswith("Mitengo") for t in texts(page))


@pytest.mark.usefixtures("shown")
def test_an_agreement_shows_its_sites_its_shares_and_what_was_promised() -> None:
    """Two of three sites; half of N2's water counts; the target stands beside the figure of the period."""
    page = opened("portfolio", **{"agreement": "AGN", "from": "2026-08-02", "to": "2026-09-29"})
    shown = texts(page)
    assert "2 of 3 sites shown" in shown
    # N1 counts 40 m³ a day, N2 8 m³ of which half is the agreement's: 59 days of 44 m³
    assert any("Water pumped 2,596  m³" in " ".join(t.split("  ")) or "2,596" in t for t in shown)
    promised = next(t for t in shown if "Promised" in t)
    assert "3,000 m³" in promised
    assert "2,596 m³" in promised
    assert promised.startswith("The one promised figure can be defended with what is known")
    assert "yes: 100 % known" in promised
    page.button(key="portfolio.show_all").click().run()
    assert "agreement" not in page.query_params
    assert not any(t.endswith("sites shown") for t in texts(page))


@pytest.mark.usefixtures("shown")
def test_districts_stand_beside_one_another_whatever_else_is_chosen() -> None:
    """Two sites of the north, one of the south: each with how many can be judged, and what its figures rest on."""
    page = opened("portfolio", **{"district": "South", "from": "2026-08-02", "to": "2026-09-29"})
    drawn = next(t for t in texts(page) if t.startswith("Districts beside one another"))
    north, south = drawn.index("North"), drawn.index("South")
    assert "2 of 2" in drawn[north:south]
    assert "1 of 1" in drawn[south:]


@pytest.mark.usefixtures("shown")
def test_sites_of_one_standing_are_shown_alone() -> None:
    """What the sentence counts can be looked at: the filter sorts as the sentence does."""
    page = opened("portfolio", standing="under_half")
    assert texts(page)[1].startswith("All 2 sites can be judged: 2 got less than half of their need")
    page.selectbox(key="chosen.standing").select("unjudged").run()
    assert texts(page)[1].startswith("No site is like this in the period")


@pytest.mark.usefixtures("shown")
def test_a_link_that_is_followed_later_wins_over_what_was_chosen() -> None:
    """The address changes under an open page, as when somebody goes back: the page follows."""
    page = opened("portfolio", district="North")
    page.query_params["district"] = "South"
    page.run()
    assert page.selectbox(key="chosen.district").value == "South"
    assert texts(page)[1].startswith("The one site can be judged")


def test_a_store_of_a_newer_sunrill_is_a_calm_sentence(own: Store) -> None:
    """No trace and no half page: what is so, and what to do."""
    newest = max(own.versions.glob("*.json"), key=lambda path: int(path.stem))
    record = json.loads(newest.read_text())
    record["format"] = 99
    newer = newest.with_name(f"{int(newest.stem) + 1}.json")
    newer.write_text(json.dumps(record | {"number": int(newer.stem)}))
    shown = texts(opened("../app"))
    assert any("a newer Sunrill wrote this store" in t and "Mend:" in t for t in shown)


def test_rows_without_their_figures_are_told_and_computed(own: Store) -> None:
    """Between a load and its figures the page says so; one button computes them."""
    own.change_setting("currency", "EUR")
    page = opened("portfolio")
    assert any("New rows have come for 3 sites" in t for t in texts(page))
    page.button(key="portfolio.compute").click().run()
    assert not any("New rows have come" in t for t in texts(page))


def test_the_page_shows_the_version_in_force_while_another_writes(own: Store) -> None:
    """A load under way locks nobody out: the page shows what was before."""
    with own.writing():
        assert texts(opened("portfolio"))[1].startswith("All 3 sites can be judged")


@pytest.mark.usefixtures("own")
def test_a_loads_figures_reach_the_portfolio() -> None:
    """After a drop the same session shows the new figures, not those kept of the version before."""
    before = texts(opened("portfolio"))[1]
    files = opened("files")
    files.file_uploader[0].upload(
        "plantings.csv", b"site_id,block_id,crop,planted_on\nN2,B,fallow,2026-07-01\n"
    )
    files.run()
    files.button(key="files.load").click().run()
    files.file_uploader[0].upload("sites.csv", b"site_id,name,latitude,longitude\nNEW,Newcomer,-13.2,33.5\n")
    files.run()
    files.button(key="files.load").click().run()
    after = texts(opened("portfolio"))[1]
    assert before.startswith("All 3 sites")
    assert after.startswith("Of 4 sites")


def test_the_files_page_names_what_held_rows_wait_for(own: Store, tmp_path: Path) -> None:
    """The five most wanted by name, as text whatever they hold, and how many more there are."""
    folder = tmp_path / "files"
    folder.mkdir()
    lines = [f"<b>{n}|2026-09-30 07:00|1" for n in range(7)] + ["<b>6|2026-09-30 08:00|1"]
    write_csv(folder, "meter_readings", "\n".join(["meter_id|read_at|value", *lines]))
    own.load([folder])
    told = next(t for t in texts(opened("files")) if t.startswith("Held until"))
    assert told.startswith(
        "Held until it has come: meter_readings (2) for meters: <b>6; meter_readings (1) for"
    )
    assert "; and 2 more, which `sunrill status` lists." in told


def test_a_drop_shows_its_five_fates_and_a_file_can_be_taken_back(own: Store) -> None:
    """Of five rows each fate has one; with the file taken back its reading is gone, and the reason is kept."""
    text = (
        "meter_id,read_at,value\n"
        "WN1,2026-09-30 17:00,3405\n"  # new: taken
        "WN1,2026-08-01 07:00,1000\n"  # as it was: unchanged
        "WN1,2026-09-30 07:00,3401\n"  # another value: corrected
        "NOBODYS,2026-09-30 07:00,1\n"  # no such meter yet: held
        'WN1,2026-09-30 18:00,"1,234"\n'  # rejected
    )
    page = opened("files")
    page.file_uploader[0].upload("meter_readings_late.csv", text.encode())
    page.run()
    assert fates(page) == {"meter_readings_late.csv": ["5", "1", "1", "1", "1", "1", "0"]}
    page.button(key="files.load").click().run()
    assert [e.value for e in page.exception] == []
    assert fates(page) == {"meter_readings_late.csv": ["5", "1", "1", "1", "1", "1", "0"]}
    shown = texts(page)
    assert any(
        t.startswith(
            "5 rows came: 1 taken, 1 unchanged, 1 corrected, 1 held until the site or meter that they speak of has come, "
            "1 rejected."
        )
        and t.endswith("The figures of one site were computed anew. This concerns Kwacha.")
        for t in shown
    )
    assert any("1,234" in t and "a comma" in t for t in shown)
    assert any(t.startswith("Held until it has come: meter_readings (1) for meters: NOBODYS.") for t in shown)

    page.selectbox(key="chosen.file").select_index(0).run()
    page.button(key="FormSubmitter:files.take_back-Take it back").click().run()
    assert any("Say why" in t for t in texts(page))
    page.text_input(key="files.why").input("wrong week")
    page.button(key="FormSubmitter:files.take_back-Take it back").click().run()
    assert any(re.search(r"meter_readings_late.csv \(.*\) was taken back", t) for t in texts(page))
    with own.read() as reader:
        count = reader.connection.execute("SELECT count(*) FROM meter_readings WHERE value IN (3405, 3401)")
        assert count.fetchone() == (0,)
    assert "wrong week" in own.ledger.read_text().splitlines()[-1]


@pytest.mark.usefixtures("own")
def test_a_file_that_cannot_be_read_and_one_of_hostile_name_are_told(tmp_path: Path) -> None:
    """The unreadable one says why, the other is loaded; nothing is written outside the store."""
    page = opened("files")
    page.file_uploader[0].set_value(
        [
            ("../../sites_out.csv", b"site_id,name,latitude,longitude\nX1,Out,-13.2,33.5\n", "text/csv"),
            ("sites_<b>bold.xlsx", b"PK\x03\x04 no workbook", "application/octet-stream"),
        ]
    )
    page.run()
    page.button(key="files.load").click().run()
    assert [e.value for e in page.exception] == []
    assert list(fates(page)) == ["sites_out.csv"]
    assert any("sites_<b>bold.xlsx" in t and "Mend:" in t for t in texts(page))
    assert not any("<b>bold" in element.proto.body for element in page.get("html"))
    assert not (tmp_path / "sites_out.csv").exists()


def test_a_load_that_meets_another_says_wait(own: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody else writes and doesn't end: a sentence, and the file isn't half in."""
    monkeypatch.setattr(data, "store", lambda: Store(own.path, patience_s=0.2))
    page = opened("files")
    page.file_uploader[0].upload("sites_b.csv", b"site_id,name,latitude,longitude\nX1,Out,-13.2,33.5\n")
    page.run()
    with own.writing():
        page.button(key="files.load").click().run()
    assert [e.value for e in page.exception] == []
    assert any("somebody else is writing to the store" in t and "Mend: Wait" in t for t in texts(page))


@pytest.mark.usefixtures("own")
def test_a_cell_that_was_not_taken_is_called_a_flaw() -> None:
    """One cell is one flaw, whatever the column of counts is called."""
    page = opened("files")
    text = "meter_id,site_id,quantity,digits\nWX,S1,water,99\n"
    page.file_uploader[0].upload("meters_more.csv", text.encode())
    page.run()
    page.button(key="files.load").click().run()
    assert any(">Flaw</td>" in element.proto.body for element in page.get("html"))
