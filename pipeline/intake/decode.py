"""From bytes to text: UTF-8 with or without a byte-order mark, else Windows-1252."""

from pipeline.errors import FileFault
from pipeline.words import say

UTF8_MARK = b"\xef\xbb\xbf"


def decoded(raw: bytes, name: str) -> str:
    """Return a file's text.

    Raises
    ------
    FileFault
        Where the bytes are no text: a NUL, or bytes that neither encoding knows.
    """
    if b"\x00" in raw:
        raise FileFault(
            say("intake.not_text"), where=name, why=say("intake.nul"), mend=say("intake.save_as_csv")
        )
    raw = raw.removeprefix(UTF8_MARK)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        pass  # the second encoding is tried below
    try:
        return raw.decode("cp1252")
    except UnicodeDecodeError as error:
        raise FileFault(
            say("intake.not_text"),
            where=name,
            why=say("intake.unknown_bytes"),
            mend=say("intake.save_as_csv"),
        ) from error
