"""A table of records as HTML: on a phone each row becomes a block of labelled lines."""

import re
from collections.abc import Sequence
from html import escape

from dashboard.look import LINE, QUIET, WATER

STYLE = f"""<style>
.stApp table.record {{max-width:none}}
.stApp .record a {{color:{WATER}}}
.record td div {{white-space:pre-line}}
.record td div + div {{color:{QUIET};font-size:.92rem}}
.record td.time div:first-child {{white-space:nowrap;overflow-wrap:normal;font-variant-numeric:tabular-nums}}
.stApp .record + h3 {{margin-top:1.2rem}}
[class*="st-key-section_"] summary {{scroll-margin-top:4.5rem}}
.stApp .told {{white-space:pre-line;overflow-wrap:anywhere}}
@media (min-width: 901px) {{.record td {{min-width:6.3rem}}}}  /* a long word may not squeeze the others */
@media (max-width: 900px) {{
  .stApp table.record, .record tbody {{display:block}} .record thead {{display:none}}
  .stApp .record tr {{display:block;border-bottom:1px solid {LINE};padding:.5rem 0}}
  .stApp .record td {{display:grid;grid-template-columns:minmax(5.5rem,28%) 1fr;column-gap:.6rem;border:0;padding:.1rem 0}}
  .record td::before {{content:attr(data-head);color:{QUIET};font-size:.92rem;grid-row:1 / span 20}}
  .record td div {{grid-column:2}} .stApp .record td.none {{display:none}}
}}
</style>"""

DIALLED = re.compile(r"\+?[0-9](?:[ .-]?[0-9]){4,14}")  # at most the 15 digits of E.164; of two numbers, none


class Made(str):
    """HTML that was made here, from texts that were escaped."""

    __slots__ = ()


Cell = Sequence[str]  # its lines, the first in ink and the rest quiet; empty ones are left out


def table(heads: Sequence[str], rows: Sequence[Sequence[Cell]], times: int = 1) -> str:
    """Return a table.

    Parameters
    ----------
    heads
        The columns' words.
    rows
        Cells in the order of the heads.
    times
        How many columns at the start hold a day or a time, which is never broken.
    """
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    body = "".join(f'<tr role="row">{_cells(heads, row, times)}</tr>' for row in rows)
    return f'<table class="figures record" role="table"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def _cells(heads: Sequence[str], row: Sequence[Cell], times: int) -> str:
    pairs = enumerate(zip(heads, row, strict=True))
    return "".join(_cell(head, lines, "time" if n < times else "said") for n, (head, lines) in pairs)


def _cell(head: str, lines: Cell, kind: str) -> str:
    filled = [line if isinstance(line, Made) else escape(line) for line in lines if line]
    none = "" if filled else " none"
    text = "".join(f"<div>{line}</div>" for line in filled)
    return f'<td role="cell" class="{kind}{none}" data-head="{escape(head)}">{text}</td>'


def telephone(written: str | None) -> str:
    """Return a number as a link that dials it; a text that might be no number, or two, stays a text."""
    text = (written or "").strip()
    if not DIALLED.fullmatch(text):
        return text
    return Made(f'<a href="tel:{re.sub(r"[ .-]", "", text)}">{escape(text)}</a>')
