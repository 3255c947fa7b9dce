"""The page itself: one, A4, the same bytes, every word on it, hostile names as data, readable without colour."""

import io
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from itertools import combinations, cycle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import IndirectObject

from dashboard import patch
from dashboard.look import LIGHT
from pipeline.errors import SunrillError
from pipeline.reports import pages
from pipeline.reports.glyphs import LACKING, can_draw, lacking, letters, shown
from pipeline.reports.messages import aloud
from pipeline.reports.plan import plan_of
from pipeline.reports.typesetting import HERE
from pipeline.words import LANGUAGES, say
from tests.unit.reports.sheets import run, sheet_of, week

A4_PT = (841.89, 595.28)  # ISO 216: 297 mm × 210 mm
HOSTILE = (
    "#panic()", "$x$", "*bold* _it_ `raw`", "<script>alert(1)</script>", "line\nbreak\ttab", "\\ \" ' {sheet} [x]",
    '#{import "/etc/passwd"}', "// comment /* */", "@ref <label>", "= heading", "مزرعة", "\u202etxet", "🌱 Mwera",
    "W" * 300, "Mwera " * 60, "", " ", "a\x00b", "ŵ", "%%EOF", "~", "---",
)  # fmt: skip


def text_of(made):
    """A PDF's words, a blank between them: where a line broke is no matter."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(made)).pages).split())


def picture(sheet, ppi=100):
    return np.asarray(Image.open(io.BytesIO(pages.pictures([sheet], ppi=ppi)[0])).convert("L"))


@pytest.mark.parametrize(
    ("count", "language"),
    [*zip(range(1, 13), cycle(LANGUAGES), strict=False), *((12, language) for language in LANGUAGES)],
)
def test_a_sheet_is_one_a4_page_with_every_word_on_it(count, language):
    """In each language, with few blocks and with many; the typesetter ends where a text has no room."""
    sheet = week(count, language=language)
    made = pages.pdf([sheet])
    found = PdfReader(io.BytesIO(made))
    assert len(found.pages) == 1
    assert tuple(map(float, found.pages[0].mediabox[2:])) == pytest.approx(A4_PT, abs=0.01)
    text = text_of(made)
    for key in (*pages.WORDS, *(f"day_{k}" for k in range(1, 8))):
        if key in {
            "no_turn",
            "rest",
            "north",
            "plan",
            "draft",
        }:  # a picture's description; only where it is one
            continue
        assert shown(say(f"wall_sheet.{key}", language=language)) in text, key
    assert "Kamondera" in text
    assert "23/11 – 29/11/2026" in text


@pytest.mark.parametrize("language", [code for code, one in LANGUAGES.items() if one.is_draft])
def test_a_language_that_no_native_speaker_has_read_says_draft_and_keeps_the_english_of_safety(language):
    """Each safety sentence has its English and its picture; the draft says so twice."""
    text = text_of(pages.pdf([week(4, language=language)]))
    for key in ("draft", "care_touch", "care_drink", "care_next", "care_stop"):
        assert say(f"wall_sheet.{key}") in text


def test_english_says_no_draft_and_no_sentence_twice():
    """It is the language that the words were written in."""
    text = text_of(pages.pdf([week(4)]))
    assert "Draft" not in text
    assert text.count(say("wall_sheet.care_drink")) == 1


def test_every_picture_has_a_description_and_the_file_is_tagged():
    """PDF/UA-1 (ISO 14289-1): the typesetter refuses a figure without one; the claim stands in the file."""
    found = PdfReader(io.BytesIO(pages.pdf([week(3, language="fr")])))
    assert found.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert found.trailer["/Root"]["/Lang"] == "fr"
    assert b"pdfuaid" in found.trailer["/Root"]["/Metadata"].get_data()
    objects = (found.get_object(IndirectObject(k, 0, found)) for k in range(1, found.trailer["/Size"]))
    described = {str(one["/Alt"]) for one in objects if isinstance(one, dict) and "/Alt" in one}
    for key in (
        "plan",
        "morning",
        "midday",
        "afternoon",
        "care_touch",
        "care_drink",
        "care_next",
        "care_stop",
    ):
        assert say(f"wall_sheet.{key}", language="fr") in described


def test_the_same_sheet_gives_the_same_bytes():
    """No clock, no counter, no order of a set."""
    sheets = [week(5, language="ny"), week(3)]
    assert pages.pdf(sheets) == pages.pdf([week(5, language="ny"), week(3)])
    assert pages.pdf([sheets[0]]) != pages.pdf([sheets[1]])


def test_two_people_who_ask_at_once_get_each_their_own_sheet():
    """Eight times two different sheets, from four threads."""
    sheets = [week(3), week(5)]
    alone = [pages.pdf([sheet]) for sheet in sheets]
    with ThreadPoolExecutor(4) as at_once:
        assert list(at_once.map(lambda sheet: pages.pdf([sheet]), sheets * 8)) == alone * 8


def test_the_typesetter_knows_the_shipped_typeface_alone():
    """Every font in the file is the one that we ship."""
    made = PdfReader(io.BytesIO(pages.pdf([week(3)])))
    fonts = made.pages[0]["/Resources"]["/Font"]
    names = {str(font.get_object()["/BaseFont"]) for font in fonts.values()}
    assert names
    assert all("SunrillSheet" in name for name in names)


def test_several_sheets_are_a_page_each():
    """For the printer."""
    assert len(PdfReader(io.BytesIO(pages.pdf([week(3), week(12), week(1)]))).pages) == 3


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_is_shown_and_never_obeyed(name):
    """As the site's name and as a block's, with its letters where the typeface has them."""
    sheet = sheet_of([run(name)], (name, "2"), name=name)
    made = pages.pdf([sheet])
    assert len(PdfReader(io.BytesIO(made)).pages) == 1
    seen = shown(name)
    if seen and len(seen) <= pages.LONGEST_ID:
        assert "".join(seen.split()) in "".join(text_of(made).split())


@given(st.text(max_size=120), st.text(max_size=30), st.text(max_size=30))
def test_whatever_the_names_are_there_is_one_page(name, one, other):
    """Any letters at all, for the site and for two blocks."""
    sheet = sheet_of(
        [run(one), run(other, start="9:00")], (one, other) if one != other else (one,), name=name
    )
    assert len(PdfReader(io.BytesIO(pages.pdf([sheet]))).pages) == 1


@pytest.mark.parametrize(("name", "told"), [("Mwera", 0), ("🌱", 1), ("W" * 81, 1), ("مزرعة " * 40, 2)])
def test_what_a_sheet_shows_otherwise_than_on_record_is_said(name, told):
    """A letter that lacks, a name that is cut."""
    assert len(pages.unlike(sheet_of([run()], name=name))) == told


def test_the_typesetter_draws_just_the_letters_that_we_say_it_can():
    """Letters from each corner of the first plane: ours against the typesetter's own verdict."""
    for letter in "aŵŴéŁşΔ€∞◊…":
        assert can_draw(letter)
        pages.pdf([sheet_of([run()], name=f"x{letter}")])
    for letter in "\u202eمЖ漢🌱☀\ufffd□ẽ":
        assert not can_draw(letter)
        assert lacking(f"a {letter}") == letter
        assert shown(letter) == LACKING
    assert LACKING in letters()


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_typeface_has_every_letter_of_every_sentence(language):
    """A translation with a letter that lacks would print a lozenge."""
    for key in pages.WORDS:
        assert not lacking(say(f"wall_sheet.{key}", language=language)), key


@pytest.mark.parametrize("count", [0, 25])
def test_a_site_without_blocks_or_with_too_many_says_why_it_has_no_sheet(count):
    """A page takes 24."""
    with pytest.raises(SunrillError, match="block"):
        pages.pdf([sheet_of([], [str(k) for k in range(count)])])


def test_the_most_blocks_that_are_taken_fit():
    """Twenty-four blocks on the plan, twelve turns a day."""
    blocks = [str(k + 1) for k in range(24)]
    runs = [run(block, start=f"{6 + k % 12}:00", minutes=30) for k, block in enumerate(blocks[:12])]
    assert len(PdfReader(io.BytesIO(pages.pdf([sheet_of(runs, blocks, language="fr")]))).pages) == 1


@pytest.mark.parametrize("count", [4, 8, 12, 16, 20, 24])
def test_ids_of_the_widest_letters_fit_under_the_plan(count):
    """However many blocks, ids of fourteen W and a number fit, cut where there is no room, and that is said."""
    blocks = [f"{k:02d}{'W' * 14}" for k in range(count)]
    runs = [run(block, start=f"{6 + k}:00", minutes=30) for k, block in enumerate(blocks[:8])]
    sheet = sheet_of(runs, blocks, language="tum")
    assert len(PdfReader(io.BytesIO(pages.pdf([sheet]))).pages) == 1
    assert len(pages.unlike(sheet)) == count


def test_a_standing_sheet_says_how_long_it_holds():
    """The last day is on the page, and the days have no dates: they come again each week."""
    text = text_of(pages.pdf([sheet_of([run()], until=date(2026, 12, 20))]))
    assert say("wall_sheet.repeats_until", day="20/12/2026") in text
    assert "23/11 – 20/12/2026" in text
    assert (text.count("23/11"), text.count("24/11")) == (1, 0)
    assert "24/11" in text_of(pages.pdf([sheet_of([run()])]))


def test_without_outlines_the_sheet_says_that_its_plan_is_plain():
    """Nobody takes equal plots for a map."""
    assert say("wall_sheet.plain_plan") in text_of(pages.pdf([week(3, mapped=False)]))
    assert say("wall_sheet.plain_plan") not in text_of(pages.pdf([week(3)]))


def test_blocks_can_be_told_apart_without_colour():
    """Twelve plain plots in grey: no two have the same picture, letters left out."""
    grey = picture(week(12, mapped=False), ppi=150)
    per_mm = 150 / 25.4
    sheet = week(12, mapped=False)
    top = 210 - 9 - 47
    corners = []
    for block in plan_of(sheet.blocks).blocks:
        x, y = min(block.outline)[0] + 9 + 0.6, min(c[1] for c in block.outline) + top + 0.6
        corners.append(
            grey[round(y * per_mm) : round(y * per_mm) + 24, round(x * per_mm) : round(x * per_mm) + 24]
        )
    for one, other in combinations(corners, 2):
        assert np.abs(one.astype(int) - other.astype(int)).mean() > 12


def test_the_page_holds_in_black_and_white():
    """Every colour of a mark has 3:1 against paper, of a text 4.5:1 (WCAG 2.2, 1.4.11 and 1.4.3)."""
    marks = (HERE / "marks.typ").read_text()
    named = dict(
        line.removeprefix("#let ").split(" = rgb(")[0:2] for line in marks.splitlines() if " = rgb(" in line
    )
    colours = {name: code.strip('")') for name, code in named.items()}
    for name in ("ink", "quiet", "water", "alarm"):
        assert contrast(colours[name], colours["paper"]) >= 4.5, name
    assert contrast(colours["soil"], colours["paper"]) >= 3


def contrast(one, other):
    """WCAG 2.2's ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour):
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_field_patch_on_paper_is_that_of_the_screen():
    """The same number of rows, the same colours."""
    marks = (HERE / "marks.typ").read_text()
    assert f"#let ROWS = {patch.ROWS} " in marks
    for name in ("ink", "quiet", "water", "alarm", "soil", "paper"):
        assert f'#let {name} = rgb("{getattr(LIGHT, name)}")' in marks


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_block_of_unknown_need_is_no_block_without_a_turn(language):
    """A has turns, B is in fallow, of C nobody knows what grows: the sheet and the text to read tell the two apart."""
    sheet = sheet_of([run()], ("1", "2", "3"), language=language, unknown=("3",))
    assert (sheet.without_turn, sheet.unknown_need) == (("B",), ("C",))
    told = [
        say(f"wall_sheet.{key}", language=language, blocks="C") for key in ("unknown_need", "aloud_unknown")
    ]
    text = " ".join(text_of(pages.pdf([sheet])).split())
    assert " ".join(told[0].split()) in text
    assert told[1] in aloud(sheet)
