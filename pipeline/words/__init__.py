"""Message catalogues: every string that a person sees.

A key is `room.name`; its English stands in `en/<room>.po`. Other languages come as further folders
with the same files; a key that a language lacks falls back to English.
"""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from babel.messages.pofile import read_po


@dataclass(frozen=True)
class Language:
    """A language of screens, sheets and messages.

    Attributes
    ----------
    code
        ISO 639: two letters, or three where there are no two.
    english_name, own_name, other_names
        As a contact's row may write it, and as its speakers do.
    is_draft
        Whether no native speaker has read its catalogues yet: every output in it says so.
    """

    code: str
    english_name: str
    own_name: str
    other_names: tuple[str, ...] = ()
    is_draft: bool = True

    @property
    def names(self) -> tuple[str, ...]:
        """Whatever may be written for it."""
        return (self.code, self.english_name, self.own_name, *self.other_names)


LANGUAGES = {
    language.code: language
    for language in (
        Language("en", "English", "English", is_draft=False),
        Language("ny", "Chichewa", "Chichewa", ("Chewa", "Chinyanja", "Nyanja")),
        Language("tum", "Tumbuka", "Chitumbuka"),
        Language("sw", "Swahili", "Kiswahili"),
        Language("fr", "French", "français"),
        Language("pt", "Portuguese", "português"),
    )
}


def language_of(written: str | None) -> Language | None:
    """Return the language that is meant by a code or a name, None where it is none of ours.

    Examples
    --------
    >>> language_of(" chichewa ").code
    'ny'
    """
    wanted = (written or "").strip().casefold()
    return next(
        (
            language
            for language in LANGUAGES.values()
            if wanted in {name.casefold() for name in language.names}
        ),
        None,
    )


@cache
def _catalogue(language: str, room: str) -> MappingProxyType[str, str | tuple[str, ...]]:
    source = files(__name__).joinpath(language, f"{room}.po")
    if not source.is_file():
        return MappingProxyType({})
    with source.open("rb") as stream:
        catalogue = read_po(stream, locale=language)
    return MappingProxyType(
        {
            m.id if isinstance(m.id, str) else m.id[0]: m.string
            if isinstance(m.string, str)
            else tuple(m.string)
            for m in catalogue
            if m.id and m.string
        }
    )


def _message(key: str, language: str) -> str | tuple[str, ...]:
    room = key.partition(".")[0]
    found = _catalogue(language, room).get(key) or _catalogue("en", room).get(key)
    if found is None:
        raise KeyError(f"words/en/{room}.po has no {key!r}")
    return found


def say(key: str, *, language: str = "en", **values: object) -> str:
    """Return the sentence of `key` with its values filled in.

    Only the catalogue's own text is a template: braces inside a value stay as they are.

    Raises
    ------
    KeyError
        Where the English catalogue lacks the key: a mistake of ours, not of the user.
    """
    message = _message(key, language)
    text = message if isinstance(message, str) else message[0]
    return text.format(**values)


def say_n(key: str, n: int, *, language: str = "en", **values: object) -> str:
    """Return the sentence of `key` in the number of `n`: `{n} site`, `{n} sites`."""
    message = _message(key, language)
    # English, Portuguese, Swahili, Chichewa and Tumbuka tell one from many; French counts 0 as one
    one = n == 1 or (language == "fr" and n == 0)
    text = message if isinstance(message, str) else message[0 if one else -1]
    return text.format(n=_Count(n), **values)


class _Count(int):
    """A number of things, written with its thousands apart."""

    def __format__(self, spec: str) -> str:
        return super().__format__(spec or ",")
