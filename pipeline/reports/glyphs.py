"""Which letters the shipped typeface can draw: what it lacks is shown as a lozenge, never left out.

The font's own table of letters is read (OpenType specification, `cmap`, format 4), so that the answer
can't differ from the file that the typesetter takes.
"""

import struct
import unicodedata
from functools import cache
from pathlib import Path

FONTS = Path(__file__).with_name("font")
FACES = ("sunrill-sheet-400.ttf", "sunrill-sheet-700.ttf")
LACKING = "◊"  # in the font, and in nobody's name
UNICODE = (3, 1)  # platform and encoding of the table that is read
SEGMENTS_ONLY = 4  # the format for letters below U+10000


def shown(text: str) -> str:
    r"""Return a text as one line that the typeface can draw.

    Line breaks and tabs become spaces; a letter that the typeface lacks becomes a lozenge.

    Examples
    --------
    >>> shown("Mwera\nGardens 🌱")
    'Mwera Gardens ◊'
    """
    return "".join(
        c if can_draw(c) else LACKING for c in " ".join(unicodedata.normalize("NFC", text).split())
    )


def lacking(text: str) -> str:
    """Return the letters of a text that the typeface can't draw, each once."""
    return "".join(dict.fromkeys(c for c in unicodedata.normalize("NFC", text) if not _is_fine(c)))


def _is_fine(letter: str) -> bool:
    return letter.isspace() or can_draw(letter)


def can_draw(letter: str) -> bool:
    """Tell whether the typeface has a letter. An accent by itself it can't set over the letter before."""
    return letter in letters() and not unicodedata.combining(letter)


@cache
def letters() -> frozenset[str]:
    """Return the letters that every shipped face has."""
    faces = [_letters_of((FONTS / face).read_bytes()) for face in FACES]
    return frozenset.intersection(*faces)


def _letters_of(font: bytes) -> frozenset[str]:
    table = _table(font, b"cmap")
    (count,) = struct.unpack_from(">H", table, 2)
    for at in range(4, 4 + 8 * count, 8):
        platform, encoding, offset = struct.unpack_from(">HHI", table, at)
        if (platform, encoding) == UNICODE and struct.unpack_from(">H", table, offset)[0] == SEGMENTS_ONLY:
            return frozenset(map(chr, _codes(table[offset:])))
    raise ValueError("a shipped font has no Unicode table of letters")


def _table(font: bytes, name: bytes) -> bytes:
    (count,) = struct.unpack_from(">H", font, 4)
    for at in range(12, 12 + 16 * count, 16):
        tag, _, offset, length = struct.unpack_from(">4sIII", font, at)
        if tag == name:
            return font[offset : offset + length]
    raise ValueError(f"a shipped font has no table {name.decode()}")


def _codes(segments: bytes) -> list[int]:
    """The code points of a format 4 table that lead to a glyph; glyph 0 is the one for what lacks."""
    (twice,) = struct.unpack_from(">H", segments, 6)
    n = twice // 2
    ends = struct.unpack_from(f">{n}H", segments, 14)
    starts, deltas = (struct.unpack_from(f">{n}H", segments, 16 + k * twice) for k in (1, 2))
    offsets_at = 16 + 3 * twice
    found = []
    for k in range(n):
        (offset,) = struct.unpack_from(">H", segments, offsets_at + 2 * k)
        for code in range(starts[k], min(ends[k], 0xFFFE) + 1):
            glyph = code
            if offset:
                (glyph,) = struct.unpack_from(
                    ">H", segments, offsets_at + 2 * k + offset + 2 * (code - starts[k])
                )
            if (glyph + deltas[k]) % 65536 if glyph or not offset else 0:
                found.append(code)
    return found
