"""Finding something from any page: by which of its texts, how near, for whom, and where its link leads."""

import doctest
import re
from html import unescape
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from dashboard import access, choices, data
from dashboard.access import Viewer
from dashboard.find import data as find_data
from dashboard.find.data import MOST, MOST_LETTERS
from dashboard.records import record
from pipeline.store import Store
from tests.unit.dashboard.conftest import NORTH, VIEWS, opened, write_csv
from tests.unit.dashboard.record_pages import HOSTILE, read, recorded, records_store  # noqa: F401

EVERYBODY, NORTHERNER = Viewer("everybody"), Viewer("northerner", NORTH)


def html(test: AppTest) -> str:
    return "\n".join(element.proto.body for element in test.get("html"))


def answer(test: AppTest) -> str:
    return unescape(re.findall(r'<p class="answer"[^>]*>(.*?)</p>', html(test))[0])


def items(test: AppTest) -> list[tuple[str, str, str]]:
    """What was found: its kind, where its link leads, and what is told of it."""
    found = re.findall(r'<li data-kind="(\w+)"><a href="([^"]+)">(.*?)</li>', html(test))
    return [(kind, unescape(way), read(told)) for kind, way, told in found]


def found(text: str, who: Viewer = EVERYBODY) -> dict[str, int]:
    """How many were found of each kind."""
    return {k: rows[0]["found"] for k, rows in find_data.find(data.version(), who, text).items()}


@pytest.mark.usefixtures("recorded")
@pytest.mark.parametrize(
    ("text", "kind", "way", "told"),
    [
        ("kwach", "sites", "site?{find}&site=N1", "Kwacha N1 · North"),
        ("n1", "sites", "site?{find}&site=N1", "Kwacha N1 · North"),
        ("atup", "people", "site?{find}&site=N1&section=contacts.N1&row=Atupele",
         "Atupele Contact at Kwacha (N1), North · clerk · 0999 111 222 / 0888 333 444 · that the person agreed to be on file isn't on record: ask first"),
        ("0888-333 444", "people", "site?{find}&site=N1&section=contacts.N1&row=Atupele",
         "Atupele Contact at Kwacha (N1), North · clerk · 0999 111 222 / 0888 333 444 · that the person agreed to be on file isn't on record: ask first"),
        ("temwa", "people", "site?{find}&site=N1&section=surveys.N1&row=Temwa",
         "Temwa Surveyor at Kwacha (N1), North · one survey, on 2026-09-10"),
        ("C1", "people", "site?{find}&site=N1&section=visits.N1&row=C1",
         "C1 Crew that was at Kwacha (N1), North · one visit, on 2026-09-03"),
        ("wn1", "meters", "site?{find}&site=N1&section=meters.N1&row=WN1", "WN1 Water meter at Kwacha (N1), North"),
        ("p1", "components", "site?{find}&site=N1&section=components.N1&row=P1",
         "P1 Serial number at Kwacha (N1), North · pump · since 2024-09-01 · taken out on 2026-09-01"),
        ("j2", "records", "site?{find}&site=N1&section=maintenance.N1&row=J2",
         "J2 Job at Kwacha (N1), North · mend · reported on 2026-09-01 · restored on 2026-09-03"),
        ("v2", "records", "site?{find}&site=N1&section=surveys.N1&row=V2", "V2 Survey of Kwacha (N1), North · 2026-09-11"),
        ("southern fund", "agreements", "./?{find}&agreement=AGS",
         "AGS Southern promise Southern fund · one site · from 2026-01-01 to 2027-12-31"),
        ("north", "districts", "./?{find}&district=North", "North 2 sites"),
    ],
)  # fmt: skip
def test_a_part_of_a_name_leads_to_where_it_stands(text: str, kind: str, way: str, told: str) -> None:
    """Each kind is found by its own texts; the link leads to the site's section, or filters the portfolio."""
    page = opened("find", find=text)
    query = f"find={text.replace(' ', '+')}"
    assert (kind, way.format(find=query), told) in items(page)


@pytest.mark.usefixtures("recorded")
def test_a_person_stands_once_for_each_part_and_the_contact_first() -> None:
    """Thoko is a contact, mended a job and wrote 27 notes; what is written so comes before what only holds it."""
    people = [told for kind, _, told in items(opened("find", find="THOKO")) if kind == "people"]
    assert [told.split(" · ")[-1] for told in people] == [
        "that the person agreed to be on file isn't on record: ask first", "27 notes and decisions, the last on 2026-09-27", "one job, reported on 2026-09-01",
    ]  # fmt: skip
    assert found("thoko n1") == {}
    sites = find_data.find(data.version(), EVERYBODY, "n")["sites"]
    assert [row["key"] for row in sites] == ["N1", "N2", "S1"][: len(sites)]


@pytest.mark.usefixtures("recorded")
def test_a_file_leads_to_its_place_on_the_page_of_data() -> None:
    """It is found by its name, by who may see files; the page says how many more there are than it shows."""
    kind, way, told = items(opened("find", find="trainings.c"))[0]
    assert (kind, told.split(" came ")[0]) == ("files", "trainings.csv")
    page = opened("files", file=way.rpartition("file=")[2])
    assert '<h2 id="came-file" tabindex="-1">trainings.csv</h2>' in html(page)
    many = opened("find", find=".csv")
    of = found(".csv")["files"]
    assert len(items(many)) == MOST < of
    assert f"{of - MOST} more. Type more of the name to see them." in html(many)
    assert answer(many) == f"{of} matches for “.csv” are on record."
    assert found(".csv", NORTHERNER) == {}


def test_case_and_accents_are_folded(own: Store, tmp_path: Path) -> None:
    """However a name is typed or stored, composed or not; the words may stand in another order."""
    folder = tmp_path / "files"
    folder.mkdir()
    write_csv(
        folder, "contacts", "site_id|role|name|phone|language|consent_on\nN1|chair|Zoé Mbirañi|||2026-08-01"
    )
    assert own.load([folder]).faults == []
    for typed in ("zoe mbirani", "ZOÉ", "zoe\u0301", "mbirañi zoé", "Mbirani"):
        assert found(typed) == {"people": 1}, typed
    assert found("\u0301") == {}  # of an accent alone nothing is left


@pytest.mark.usefixtures("recorded")
@pytest.mark.parametrize(
    "text",
    ["%", "_", "'; DROP TABLE sites; --", '"', "\\", "x" * 10_000, "<script>window.ran=1</script>", "a\0b", "{0} {text}",
     "$text", "\u202e", "a " * 5_000, "🌱"],
)  # fmt: skip
def test_a_hostile_text_is_looked_for_like_any_other(text: str) -> None:
    """No sign means anything but itself, nothing runs, and what is endless is cut."""
    page = opened("find", find=text)
    assert "<script" not in html(page)
    assert len(answer(page)) < MOST_LETTERS + 200
    holding = [told for _, _, told in items(page)]
    if text in ("%", '"', "\\", "$text"):
        assert holding == []
    if text == "_":
        assert all("_" in told for told in holding)


@pytest.mark.usefixtures("recorded")
def test_hostile_names_are_told_as_they_are_written() -> None:
    """A contact whose name would run, and one whose number is a script: both are texts."""
    sent = html(opened("find", find="onerror"))
    assert read(sent).count(HOSTILE) >= 2
    assert "<img src=x" not in sent
    sent = html(opened("find", find="thoko"))
    assert "javascript:alert(1)" in sent
    assert 'href="javascript' not in sent
    assert 'href="tel:javascript' not in sent


@pytest.mark.usefixtures("recorded")
@pytest.mark.parametrize(
    ("typed", "meant"),
    [("kwahca", "kwacha"), ("Southren fund", "southern fund"), ("thoko kwahca", "thoko kwacha"), ("wnx1", None), ("zzz", None)],
)  # fmt: skip
def test_a_mistyped_name_is_understood_where_nothing_else_is_found(typed: str, meant: str | None) -> None:
    """Letters that changed places, of names alone: another id is another thing."""
    spelled = find_data.spelled(data.version(), EVERYBODY, typed)
    assert (spelled.casefold() if spelled else None) == meant
    told = answer(opened("find", find=typed))
    if meant in ("kwacha", "southern fund"):
        assert told == f"Nothing on record is written “{typed}”. One match for “{spelled}” is."
    else:
        assert told.startswith(f"Nothing on record matches “{typed}”.")


@pytest.mark.usefixtures("shown")
def test_who_may_see_the_north_finds_nothing_of_the_south(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither by its name nor by what is like it, and no file, which may speak of any site."""
    for text in ("Chigwa", "S1", "WS1", "South", "AGS", "sites.csv"):
        assert found(text)
        assert found(text, NORTHERNER) == {}
    assert find_data.spelled(data.version(), EVERYBODY, "Chigaw") == "chigwa"
    assert find_data.spelled(data.version(), NORTHERNER, "Chigaw") is None
    assert found("N1", Viewer("nobody", ())) == {}
    monkeypatch.setattr(access, "viewer", lambda: NORTHERNER)
    assert answer(opened("find", find="Chigwa")).startswith("Nothing on record matches")


@pytest.mark.usefixtures("shown")
def test_nothing_typed_says_what_can_be_found() -> None:
    """Spaces alone are nothing; there is no list, and nothing to download on any page of finds."""
    for text in ("", "   "):
        page = opened("find", find=text)
        assert answer(page).startswith("Type a part of what you look for into the field at the top")
        assert items(page) == []
    assert not opened("find", find="kwacha").get("download_button")


@pytest.mark.usefixtures("bare")
def test_an_empty_store_says_what_to_do() -> None:
    """Not that nothing matches, but that nothing has come yet."""
    assert "Nothing has been loaded yet" in html(opened("find", find="kwacha"))


@pytest.mark.usefixtures("recorded")
def test_a_link_opens_its_section_and_shows_the_row_below_the_newest() -> None:
    """Of 28 notes 25 are shown; the oldest three come along where a link asks for who wrote them; a link to another site's opens none."""

    def notes(**address: str) -> tuple[bool, str]:
        section = next(
            e for e in opened("site", site="N1", **address).expander if e.label.startswith("Notes")
        )
        return section.proto.expanded, "".join(read(element.proto.body) for element in section.get("html"))

    plain, linked = notes(), notes(section="notes.N1", row="Thoko")
    assert (plain[0], linked[0], notes(section="notes.N2", row="Thoko")[0]) == (False, True, False)
    assert ("because 1 " in f"{plain[1]} ", "because 1 " in f"{linked[1]} ") == (False, True)


@pytest.mark.usefixtures("shown")
def test_the_field_asks_from_any_page_and_keeps_what_was_typed() -> None:
    """What a link says stands in the field; what is typed goes into the address, on one line and not without end."""
    frame = AppTest.from_function(_frame, default_timeout=60)
    frame.query_params["find"] = "  Chig\nwa  "
    frame.run()
    (field,) = frame.text_input
    assert (field.value, field.proto.label_visibility.value) == ("Chig wa", 2)
    assert field.label.startswith("Find a site, a person")
    field.input("Thoko")
    frame.button(key="find.ask").click().run()
    assert frame.query_params["find"] == "Thoko"
    assert frame.session_state["asked"] is True
    assert choices.tidy("x" * 10_000, MOST_LETTERS) == "x" * MOST_LETTERS
    assert (
        choices.tidy("a\ud800b\0c", MOST_LETTERS) == "a?b c"
    )  # half a letter, and what ends a text elsewhere


def _frame() -> None:
    import streamlit as st  # noqa: PLC0415 - this function's text is a script of its own

    from dashboard.find import field  # noqa: PLC0415

    st.session_state["asked"] = field.draw()


def test_the_examples_of_the_docstrings_hold() -> None:
    """What is typed, made tidy and folded."""
    for module in (choices, find_data, record):
        run = doctest.testmod(module)
        assert (run.failed, run.attempted > 0) == (0, True)


def test_every_page_has_the_field() -> None:
    """The frame draws it before the page that was chosen."""
    app = (VIEWS.parent / "app.py").read_text()
    assert app.index("field.draw()") < app.index("chosen.run()")
