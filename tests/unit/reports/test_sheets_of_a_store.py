"""Sheets of a store's sites: names and outlines as on record, and who gets which message."""

import io
from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest
from pypdf import PdfReader

from pipeline.reports import pages
from pipeline.reports.wall_sheets import RECIPIENTS, file_name, texts, wall_sheets
from pipeline.scheduling.runs import Run
from pipeline.store import open_store
from pipeline.words import say
from tests.unit.reports.sheets import MONDAY, run

FILES = {
    "sites": "site_id,name,latitude,longitude\nS1,Kamondera,-13.5,33.8\nS2,Mtsindera,-13.6,33.9\n",
    "blocks": """site_id,block_id,area_ha,geometry
S1,1,0.4,"POLYGON((33.8 -13.5,33.801 -13.5,33.801 -13.501,33.8 -13.501,33.8 -13.5))"
S1,2,0.4,"POLYGON((33.801 -13.5,33.802 -13.5,33.802 -13.501,33.801 -13.501,33.801 -13.5))"
S2,1,0.4,
""",
    "contacts": """site_id,role,name,phone,language,consent_on
S1,agronomist,Atupele Lungwani,+265 000 00003,English,2026-01-01
S1,chair,Tamanda Kambwele,+265 000 00001,Chichewa,2026-01-01
S1,operator,Mphatso Sambanthe,+265 000 00002,Elvish,2026-11-23
S1,treasurer,Limbani Nyasonde,+265 000 00004,English,
S2,chair,Tamanda Lungwani,+265 000 00005,Chichewa,2026-11-24
S2,operator,Atupele Chipewa,,Chichewa,2026-01-01
""",
}


@dataclass(frozen=True)
class Planned:
    """A week as the schedule hands it on."""

    site_id: str
    runs: tuple[Run, ...] = (run(),)
    from_day: date = MONDAY
    repeats_until: date | None = None
    unknown_blocks: tuple[str, ...] = ()


@pytest.fixture(scope="module")
def reader(tmp_path_factory):
    folder = tmp_path_factory.mktemp("files")
    for name, rows in FILES.items():
        (folder / f"{name}.csv").write_text(rows, encoding="utf-8")
    store = open_store(tmp_path_factory.mktemp("store") / "store", create=True)
    done = store.load([folder], arrived_at=datetime(2026, 11, 20, tzinfo=UTC))
    assert not done.unreadable
    with store.read() as found:
        yield found


def test_a_sheet_has_the_sites_name_its_blocks_and_their_outlines(reader):
    """Two blocks with outlines; the other site's block has none."""
    first, second = wall_sheets(reader, [Planned("S1"), Planned("S2")], "ny", 2)
    assert (first.site_name, first.language, first.is_draft) == ("Kamondera", "ny", True)
    assert [(block.block_id, block.letter) for block in first.blocks] == [("1", "A"), ("2", "B")]
    assert first.blocks[0].outline[0] == pytest.approx((33.8, -13.5))
    assert second.blocks[0].outline is None
    assert pages.pdf([first, second])


def test_two_people_who_agreed_get_the_message_the_operator_first(reader):
    """Each in the person's language; one whose language is none of ours in the sheet's, and the row says so."""
    rows = [
        row for row in texts(reader, wall_sheets(reader, [Planned("S1")], "fr", 2)) if row.use == "message"
    ]
    assert [(row.role, row.language, row.is_draft) for row in rows] == [
        ("operator", "fr", True), ("chair", "ny", True),
    ]  # fmt: skip
    assert len(rows) == RECIPIENTS
    assert rows[0].remark == say("reports.other_language", written="Elvish")
    assert rows[1].text.startswith(say("wall_sheet.sms_draft", language="ny"))
    assert all(0 < row.units <= row.most for row in rows)


def test_nobody_is_written_to_before_agreeing_or_without_a_number(reader):
    """One agreed on Tuesday, the other has no number: the row says that there is nobody."""
    rows = texts(reader, wall_sheets(reader, [Planned("S2")], "en", 2))
    assert [(row.use, row.phone, row.text == "") for row in rows] == [
        ("message", "", True),
        ("aloud", "", False),
    ]
    assert rows[0].remark == say("reports.nobody_agreed")


def test_no_phone_number_and_no_person_is_on_a_sheet_or_in_a_text_to_read(reader):
    """They stand in the list of messages alone."""
    sheets = wall_sheets(reader, [Planned("S1")], "en", 2)
    aloud = next(row for row in texts(reader, sheets) if row.use == "aloud")
    page = PdfReader(io.BytesIO(pages.pdf(sheets))).pages[0].extract_text()
    assert "Kamondera" in page
    for private in ("265", "Kambwele", "Sambanthe"):
        assert private not in aloud.text
        assert private not in page


@pytest.mark.parametrize(
    "site_id", ["../../etc/passwd", "CON", "a/b", "s1", "S 1", "Ü" * 300, ".", "", "=S2", "a\nb", "-rf", "😀", "all", "A" * 41]
)  # fmt: skip
def test_a_sites_file_has_a_name_that_every_file_system_takes(site_id):
    """Short, plain, of no other site, whatever the id is."""
    name = file_name(site_id, MONDAY)
    assert name.isascii()
    assert len(name) <= 75
    assert name.startswith("sheet-")
    assert not set(name) & set('/\\:*?"<>| \n\x00')
    assert name.casefold() != file_name(site_id + "x", MONDAY).casefold()


def test_ids_that_differ_in_their_case_alone_have_files_of_their_own():
    """Some file systems take S1 and s1 for one."""
    assert file_name("S1", MONDAY) == "sheet-S1-2026-11-23.pdf"
    assert file_name("s1", MONDAY).casefold() != file_name("S1", MONDAY).casefold()
