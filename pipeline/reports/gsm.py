"""How much a text message holds: 160 letters of the short alphabet, or 70 of any.

3GPP TS 23.038, 6.2.1: the GSM 7 bit default alphabet and its extension table, of which a letter takes two
places; one letter outside makes the whole message UCS2. The tables are written from memory.
"""

from dataclasses import dataclass

BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENSION = frozenset("\f^{}\\[~]|€")
MOST_SEPTETS, MOST_UCS2 = 160, 70


@dataclass(frozen=True)
class Size:
    """What a message takes of what it may take: septets, or UCS2 code units."""

    units: int
    most: int

    @property
    def fits(self) -> bool:
        """Whether it goes out as one message."""
        return self.units <= self.most


def size(text: str) -> Size:
    """Return the size of a message.

    Examples
    --------
    >>> size("7:00 A")
    Size(units=6, most=160)
    >>> size("{A}")
    Size(units=5, most=160)
    >>> size("ŵ")
    Size(units=1, most=70)
    """
    if all(letter in BASIC or letter in EXTENSION for letter in text):
        return Size(len(text) + sum(letter in EXTENSION for letter in text), MOST_SEPTETS)
    return Size(len(text.encode("utf-16-be", "surrogatepass")) // 2, MOST_UCS2)
