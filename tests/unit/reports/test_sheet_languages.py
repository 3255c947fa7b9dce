"""The sheet's catalogues: the same keys and gaps in every language, and one list of languages."""

import re
from importlib.resources import files

import pytest
from babel.messages.pofile import read_po

import pipeline.words
from pipeline.words import LANGUAGES, language_of, say

GAP = re.compile(r"\{[a-z_]*\}")


def catalogue(language):
    with files(pipeline.words).joinpath(language, "wall_sheet.po").open("rb") as stream:
        return {m.id: m.string for m in read_po(stream, locale=language) if m.id}


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_catalogue_has_the_same_keys_and_gaps(language):
    """A key that lacks would fall back to English in the middle of a sheet; a gap that lacks loses a value."""
    english, other = catalogue("en"), catalogue(language)
    assert other.keys() == english.keys()
    for key, sentence in english.items():
        assert other[key].strip(), key
        assert sorted(GAP.findall(other[key])) == sorted(GAP.findall(sentence)), key


@pytest.mark.parametrize("language", [code for code in LANGUAGES if code != "en"])
def test_a_translation_is_none_of_the_english(language):
    """What was left in English would be taken for read."""
    english, other = catalogue("en"), catalogue(language)
    assert [
        key for key in english if GAP.sub("", english[key]).strip(" .:-,") and english[key] == other[key]
    ] == []


def test_every_folder_of_words_is_a_language_of_the_list():
    """And every language of the list has a folder."""
    folders = {f.name for f in files(pipeline.words).iterdir() if f.is_dir() and not f.name.startswith("_")}
    assert folders == set(LANGUAGES)


def test_a_language_that_babel_does_not_know_has_its_words_all_the_same():
    """Tumbuka is in no list of locales."""
    assert say("wall_sheet.day_1", language="tum") == "Mande"


def test_a_key_that_a_language_lacks_is_said_in_english():
    """The other rooms aren't translated yet."""
    assert say("cli.help_main", language="tum") == say("cli.help_main")


@pytest.mark.parametrize(
    ("written", "code"),
    [("Chichewa", "ny"), (" chinyanja ", "ny"), ("NY", "ny"), ("Kiswahili", "sw"), ("français", "fr"), ("Klingon", None), ("", None), (None, None)],
)  # fmt: skip
def test_a_language_is_known_by_its_code_and_its_names(written, code):
    """As a contact's row may write it."""
    found = language_of(written)
    assert (found.code if found else None) == code


def test_english_alone_was_read_by_a_native_speaker():
    """Whoever takes a language off this list has had it read."""
    assert [code for code, language in LANGUAGES.items() if not language.is_draft] == ["en"]
