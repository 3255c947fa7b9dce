"""The command for wall sheets: which sites, which files, what is said of those that have none."""

import csv
import io
from datetime import UTC, date, datetime, timedelta

import pytest
from pypdf import PdfReader

from pipeline.errors import SunrillError
from pipeline.reports import batch
from pipeline.scheduling.runs import Run
from pipeline.scheduling.week import Supply, Week
from pipeline.store import open_store
from pipeline.words import LANGUAGES, say

MONDAY = date(2026, 11, 2)
FILES = {
    "sites": """site_id,name,latitude,longitude,district
S1,Mwera Gardens,-13.5,33.8,Kati
=S2,"=HYPERLINK(""http://example.invalid"")",-13.6,33.9,Kati
S3,Lukwendo \U0001f331,-13.4,33.7,Kwacha
""",
    "blocks": "site_id,block_id,area_ha\nS1,1,0.4\n=S2,1,0.4\nS3,1,0.4\n",
    "contacts": """site_id,role,name,phone,language,consent_on
S1,chair,Tamanda Kambwele,+265 000 00001,Chichewa,2026-01-01
""",
}
PLAN_ERROR = SunrillError("Nobody knows the pump.", mend="Fill in pump_rated_flow_m3h.")


def planned(site_id):
    start = datetime(2026, 11, 2, 7, tzinfo=UTC)
    run = Run(site_id, MONDAY, "1", start, start + timedelta(hours=1), 5.0, 20.0, 0.0)
    return Week(
        site_id,
        MONDAY,
        MONDAY + timedelta(days=6),
        (run,),
        (),
        Supply((0.0,) * 24, "sun", ""),
        ("No more than 100 m³.",),
    )


@pytest.fixture(scope="module")
def sites(tmp_path_factory):
    """Three sites of two districts, a block each; one has a name that wants to do harm."""
    folder = tmp_path_factory.mktemp("files")
    for name, rows in FILES.items():
        (folder / f"{name}.csv").write_text(rows, encoding="utf-8")
    store = tmp_path_factory.mktemp("store") / "store"
    assert not open_store(store, create=True).load([folder]).unreadable
    return store


@pytest.fixture(autouse=True)
def schedule(monkeypatch):
    """The schedule, which has tests of its own: S3 can't be planned."""
    asked = []

    def weeks_of(_reader, site_ids, week, *, standing=None):
        asked.append((tuple(site_ids), week, standing))
        return {site: PLAN_ERROR if site == "S3" else planned(site) for site in site_ids}

    monkeypatch.setattr(batch, "weeks_of", weeks_of)
    return asked


def sheets(sunrill, store, out, *options, code=0):
    return sunrill("wall-sheets", "--store", store, "--week", MONDAY, "--out", out, *options, code=code)


def rows(path):
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def pages(path):
    return len(PdfReader(io.BytesIO(path.read_bytes())).pages)


def test_each_site_has_a_file_and_a_line_and_a_site_that_cant_be_planned_says_why(sunrill, sites, tmp_path):
    """Two of three are written; the third is told on the screen and in the list."""
    done = sheets(sunrill, sites, tmp_path / "new")
    found = {row["site_id"]: row for row in rows(tmp_path / "new" / "sheets.csv")}
    assert list(found) == ["'=S2", "S1", "S3"]
    assert found["S1"]["file"] == "sheet-S1-2026-11-02.pdf"
    assert found["S1"]["about_the_week"] == "No more than 100 m³."
    assert pages(tmp_path / "new" / "sheet-S1-2026-11-02.pdf") == 1
    assert pages(tmp_path / "new" / found["'=S2"]["file"]) == 1
    assert found["S3"]["file"] == ""
    assert found["S3"]["remark"] == "Nobody knows the pump. Fill in pump_rated_flow_m3h."
    assert "S3: Nobody knows the pump." in done.stderr
    assert f"Wrote 2 sheets of 3 to {tmp_path / 'new'}" in done.stdout.replace("\n", "")
    assert not (tmp_path / "new" / "all.pdf").exists()


@pytest.mark.parametrize(
    ("options", "asked"),
    [
        (("--site", "S1"), ("S1",)),
        (("--site", "mwera gardens", "--site", "S1"), ("S1",)),
        (("--district", "Kati"), ("=S2", "S1")),
        ((), ("=S2", "S1", "S3")),
    ],
)
def test_sites_are_chosen_by_name_by_district_or_all(sunrill, sites, tmp_path, schedule, options, asked):
    """A site that is named twice has one sheet."""
    sheets(sunrill, sites, tmp_path, *options)
    assert schedule == [(asked, MONDAY, None)]


def test_a_lasting_sheet_is_asked_of_the_schedule(sunrill, sites, tmp_path, schedule):
    """For the month."""
    sheets(sunrill, sites, tmp_path, "--site", "S1", "--standing", "month")
    assert schedule == [(("S1",), MONDAY, "month")]


def test_an_unknown_site_or_district_names_the_near_ones(sunrill, sites, tmp_path):
    """Nothing is written then."""
    assert "S1" in sheets(sunrill, sites, tmp_path / "x", "--site", "Mwera Garden", code=1).stderr
    assert "Kati, Kwacha" in sheets(sunrill, sites, tmp_path / "x", "--district", "Nowhere", code=1).stderr
    assert (
        "not both"
        in sheets(sunrill, sites, tmp_path / "x", "--site", "S1", "--district", "Kati", code=2).stderr
    )
    assert not list((tmp_path / "x").glob("*.pdf"))


def test_all_sheets_together_are_one_file_of_those_that_were_made(sunrill, sites, tmp_path):
    """Two pages for three sites."""
    sheets(sunrill, sites, tmp_path, "--together")
    assert pages(tmp_path / "all.pdf") == 2


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_sheet_speaks_the_language_that_was_asked_for(sunrill, sites, tmp_path, language):
    """Each of the list."""
    sheets(sunrill, sites, tmp_path, "--site", "S1", "--language", language)
    text = PdfReader(tmp_path / "sheet-S1-2026-11-02.pdf").pages[0].extract_text()
    assert say("wall_sheet.day_3", language=language) in text


def test_the_list_of_texts_alone_holds_telephone_numbers(sunrill, sites, tmp_path):
    """A message for the chair in Chichewa, a text to read aloud for each sheet that was made."""
    done = sheets(sunrill, sites, tmp_path / "out", "--text", tmp_path / "texts.csv")
    found = rows(tmp_path / "texts.csv")
    assert [(row["site_id"], row["use"]) for row in found] == [
        ("'=S2", "message"), ("'=S2", "aloud"), ("S1", "message"), ("S1", "aloud"),
    ]  # fmt: skip
    chair = found[2]
    assert (chair["phone"], chair["language"], chair["is_draft"]) == ("'+265 000 00001", "ny", "True")
    assert chair["text"].startswith("Zoyesera. Mwera Gardens 2/11-8/11: Lol A 7:00-8:00.")
    assert "+265" not in (tmp_path / "out" / "sheets.csv").read_text(encoding="utf-8") + done.output


def test_a_name_that_the_page_cant_show_is_told(sunrill, sites, tmp_path, monkeypatch):
    """A picture letter in the site's name."""
    monkeypatch.setattr(batch, "weeks_of", lambda _r, ids, _w, **_: {site: planned(site) for site in ids})
    done = sheets(sunrill, sites, tmp_path, "--site", "S3")
    assert "lacks these letters" in done.stderr
    assert "◊" in PdfReader(tmp_path / "sheet-S3-2026-11-02.pdf").pages[0].extract_text()


def test_the_same_call_writes_the_same_bytes(sunrill, sites, tmp_path):
    """All of it: sheets, list, together, texts."""
    for out in ("one", "two"):
        sheets(sunrill, sites, tmp_path / out, "--together", "--text", tmp_path / out / "texts.csv")
    first = {path.name: path.read_bytes() for path in (tmp_path / "one").iterdir()}
    assert len(first) == 5
    assert first == {path.name: path.read_bytes() for path in (tmp_path / "two").iterdir()}


def test_a_folder_that_cant_be_written_to_is_told_without_a_trace(sunrill, sites, tmp_path):
    """A file where the folder should be; a folder where a sheet should be."""
    (tmp_path / "file").write_text("x")
    assert "Why:" in sheets(sunrill, sites, tmp_path / "file", code=1).stderr
    (tmp_path / "out" / "sheet-S1-2026-11-02.pdf").mkdir(parents=True)
    assert (
        "sheet-S1-2026-11-02.pdf" in sheets(sunrill, sites, tmp_path / "out", "--site", "S1", code=1).stderr
    )
