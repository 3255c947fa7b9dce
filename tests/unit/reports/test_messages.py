"""The week as a text message and as a text to read aloud: what fits, what is left out first, who gets it."""

from datetime import date, timedelta
from importlib.resources import files

import pytest
from babel.messages.pofile import read_po
from hypothesis import given
from hypothesis import strategies as st

import pipeline.words
from pipeline.reports.gsm import BASIC, EXTENSION, MOST_SEPTETS, MOST_UCS2, size
from pipeline.reports.messages import CARE, aloud, message
from pipeline.words import LANGUAGES, say
from tests.unit.reports.sheets import MONDAY, run, sheet_of, week


def test_the_short_alphabet_is_that_of_3gpp_ts_23_038():
    """6.2.1: 127 letters beside the escape, ten more by the extension table (tables from memory)."""
    assert len(BASIC) == 127
    assert len(EXTENSION) == 10
    assert not BASIC & EXTENSION


@pytest.mark.parametrize(
    ("text", "units", "most"),
    [
        ("", 0, 160),
        ("A" * 160, 160, 160),
        ("€", 2, 160),  # by the extension table
        ("[A]", 5, 160),
        ("à", 1, 160),
        ("á", 1, 70),  # é, è and à are in the alphabet, á is not
        ("ŵ" + "A" * 69, 70, 70),
        ("🌱", 2, 70),  # a surrogate pair
        ("'", 1, 160),
        ("\N{RIGHT SINGLE QUOTATION MARK}", 1, 70),
    ],
)
def test_a_message_is_measured_in_the_units_that_it_is_sent_in(text, units, most):
    """Septets, or 16-bit units as soon as one letter lies outside."""
    assert (size(text).units, size(text).most) == (units, most)


names = st.one_of(st.text(max_size=200), st.text("Mwera Gardens", max_size=200), st.just("ŵ"))


@given(
    names, st.sampled_from(sorted(LANGUAGES)), st.integers(1, 12), st.text("S0ŵ-", min_size=1, max_size=12)
)
def test_a_message_always_fits_and_ends_with_a_whole_sentence(name, language, blocks, site_id):
    """Whatever the site's name: within the limit of its alphabet, never cut."""
    text = message(week(blocks, language=language, name=name, site_id=site_id))
    assert text is not None
    taken = size(text)
    assert taken.units <= taken.most
    assert taken.most == (MOST_SEPTETS if all(c in BASIC | EXTENSION for c in text) else MOST_UCS2)
    assert text.endswith(".")
    assert "\n" not in text


def test_a_site_whose_id_alone_is_too_long_has_no_message():
    """Nothing is sent in two parts."""
    assert message(week(2, name="W" * 200, site_id="W" * 200)) is None


def test_a_message_says_less_in_a_fixed_order():
    """First the care goes, then the ends, then the turns; the way to the sheet stays."""
    whole = message(sheet_of([run()]))
    assert whole == ("Kamondera 23/11-29/11: Mon A 7:00-8:00. " + say("wall_sheet.sms_care"))
    short = message(sheet_of([run(short_mm=1)], name="Kamondera " + "x" * 50))
    assert short.endswith("Mon A 7:00-8:00. Not enough water: A.")
    starts = message(week(9))
    assert starts == "Kamondera 23/11-29/11: Mon-Sat from 7:00: A B C D E F G H I. Not enough water: I."
    order = message(week(9, name="Kamondera " + "x" * 80))
    assert order.endswith("x 23/11-29/11: Mon-Sat 7:00 ABCDEFGHI. Not enough water: I.")
    turns = message(week(9, name="Kamondera " + "x" * 100))
    assert turns.endswith("x 23/11-29/11: Mon-Sat 7:00 ABCDEFGHI.")
    each_day = [run(day=MONDAY + timedelta(days=k), start=f"{6 + k}:00", short_mm=1) for k in range(7)]
    least = message(sheet_of(each_day, name="Kamondera " + "x" * 60))
    assert least.endswith("x 23/11-29/11: Not enough water: A. See the wall sheet.")
    assert message(week(6, name="x" * 150)) == "S1 23/11-29/11: See the wall sheet."


def test_days_with_the_same_turns_are_said_once():
    """Three on end are a span; two stand side by side."""
    days = [MONDAY + timedelta(days=k) for k in (0, 1, 2, 4, 5)]
    text = message(sheet_of([run(day=day) for day in days]))
    assert "Mon-Wed,Fri,Sat A 7:00-8:00." in text


def test_a_standing_sheets_message_names_its_last_day():
    """So does what is read aloud."""
    sheet = sheet_of([run()], until=date(2026, 12, 20))
    assert message(sheet).startswith("Kamondera 23/11-20/12:")
    assert "23/11 to 20/12." in aloud(sheet)


def test_a_week_without_turns_says_so():
    """An empty message would be taken for a mistake."""
    assert message(sheet_of([])).startswith("Kamondera 23/11-29/11: No turns.")


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_language_nobody_has_read_says_draft_and_leaves_safety_to_the_picture(language):
    """A message and a text to read have no picture beside them: safety stands in English, or not at all."""
    sheet = week(2, language=language)
    text, read = message(sheet), aloud(sheet)
    if sheet.is_draft:
        assert text.startswith(say("wall_sheet.sms_draft", language=language))
        assert read.startswith(say("wall_sheet.aloud_draft", language=language))
        for key in CARE:
            assert say(f"wall_sheet.{key}", language=language) not in read
    assert all(say(f"wall_sheet.{key}") in read for key in CARE)
    assert say("wall_sheet.aloud_short", language=language, blocks="B") in read


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_word_of_a_message_makes_it_a_long_one(language):
    """Our own words keep to the short alphabet; only a name may leave it."""
    source = files(pipeline.words).joinpath(language, "wall_sheet.po")
    with source.open("rb") as stream:
        said = [m.string for m in read_po(stream, locale=language) if "wall_sheet.sms_" in m.id]
    assert len(said) >= 16
    assert [sentence for sentence in said if size(sentence).most != MOST_SEPTETS] == []


def test_a_name_that_steers_a_screen_is_one_plain_line():
    """Line breaks, escapes and turns of the writing's direction are gone."""
    text = message(week(2, name="Mwe\x1b[2J\nra \u202eab"))
    assert text.startswith("Mwe [2J ra ab 23/11")
    assert "\u202e" not in aloud(week(2, name="a\u202eb"))
