"""Paper: the one way to the typesetter, with the shipped fonts alone and the same bytes on every run."""

import json
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any, Literal

import typst

from pipeline.errors import SunrillError
from pipeline.reports.glyphs import FONTS
from pipeline.words import say

HERE = Path(__file__).parent
STANDARDS: list[Any] = ["1.7", "ua-1"]  # tagged, for a screen reader
ONE_AT_A_TIME = Lock()  # the kept typesetter refuses a second document while it sets one


def pdf(template: str, data: object, dated_on: date) -> bytes:
    """Return a document as a tagged PDF (PDF/UA-1).

    Parameters
    ----------
    template : str
        The name of a `.typ` file of this package.
    data : object
        What it reads by `json(bytes(sys.inputs.data))`. It is data there, never markup.
    dated_on : date
        The document's date: a clock would change the bytes.

    Raises
    ------
    SunrillError
        Where the typesetter refuses, such as a text that doesn't fit where it must stand.
    """
    made = _compiled(template, data, dated_on, "pdf")
    return made if isinstance(made, bytes) else b"".join(made)


def pictures(template: str, data: object, dated_on: date, *, ppi: float = 72) -> list[bytes]:
    """Return a document's pages as PNG pictures."""
    made = _compiled(template, data, dated_on, "png", ppi=ppi)
    return [made] if isinstance(made, bytes) else made


def _compiled(
    template: str, data: object, dated_on: date, kind: Literal["pdf", "png"], *, ppi: float | None = None
) -> bytes | list[bytes]:
    moment = datetime(dated_on.year, dated_on.month, dated_on.day, 12, tzinfo=UTC)
    inputs = {"data": json.dumps(data, ensure_ascii=False, sort_keys=True)}
    try:
        with ONE_AT_A_TIME:
            made = _compiler(template).compile(
                format=kind,
                ppi=ppi,
                sys_inputs=inputs,
                timestamp=int(moment.timestamp()),
                pdf_standards=STANDARDS if kind == "pdf" else [],
            )
    except typst.TypstError as error:
        raise SunrillError(
            say("reports.not_set"), where=template, why=_reason(error), mend=say("reports.not_set_mend")
        ) from error
    if made is None:
        raise SunrillError(say("reports.not_set"), where=template, mend=say("reports.not_set_mend"))
    return made


@cache
def _compiler(template: str) -> typst.Compiler:
    """A typesetter is kept: it holds its fonts and what it has drawn before."""
    return typst.Compiler(HERE / template, root=HERE, font_paths=_fonts())


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])


def _reason(error: typst.TypstError) -> str:
    """The typesetter's own sentence, without its places in our file."""
    return str(error.message).removeprefix("panicked with: ").strip('"')
