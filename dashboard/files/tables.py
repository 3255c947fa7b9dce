"""Tables of files and rows as HTML: everything in them came from outside and is escaped.

On a phone each row becomes a card whose cells bear their heading, so that nothing runs off the side.
"""

from collections.abc import Iterable
from dataclasses import asdict
from html import escape
from typing import Any

from dashboard.data import FATES, LoadReport
from dashboard.look import LINE, PAPER, QUIET, WATER
from pipeline.tables import TABLES
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

COUNTS = ("rows", *FATES, "flaws")
FAULT_COLUMNS = ("file", "line", "column", "value", "fate", "rule", "how_to_mend")
FAULT_KINDS = ["text", "short", "cell", "cell", "short", "text", "text"]
CHANGE_COLUMNS = ("row", "cell", "old", "new", "old_file", "file")
MOST_ROWS = 25  # of a table on the page; its download has all
AROUND, LONGEST = 30, 160  # letters before the first difference, and of a text at most
EXTRA = "_extra"  # the store's name for cells of columns that the contract doesn't know

STYLE = f"""<style>
#told, #came-file {{scroll-margin-top:4.5rem;outline:none}}
.cards td small {{display:block;color:{QUIET};font-size:.85rem}}
.figures.cards {{min-width:0;max-width:none}} .figures.cards th {{overflow-wrap:normal}} .cards td.short {{white-space:nowrap;overflow-wrap:normal}}
.cards td.cell {{min-width:5rem}} .cards td.zero {{color:{QUIET}}} .cards a {{color:{WATER}}}
 .cards td.old {{color:{QUIET}}} .cards td.new {{font-weight:700}}
.cards tr.picked {{background:{PAPER};box-shadow:inset 3px 0 currentColor}} .cards td:first-child {{padding-left:.5rem}} .cards th:first-child {{padding-left:.5rem}}
@media (max-width: 900px) {{
  .cards thead {{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}}
  .figures.cards, .cards tbody {{display:block}}
  .cards tr {{display:block;border-bottom:1px solid {LINE};padding:.5rem 0}}
  .figures.cards td {{border:0;padding:.1rem 0;display:grid;grid-template-columns:7rem 1fr;min-width:0}}
  .cards td::before {{content:attr(data-label);color:{QUIET};font-size:.9rem;font-weight:400}}
  .figures.cards td:first-child {{display:block;font-weight:700;padding-left:0}} .figures.cards tr.picked td:first-child {{padding-left:.5rem}} .cards td:first-child::before {{display:none}}
  .figures.cards td.number {{display:inline-grid;grid-template-columns:auto auto;gap:.35rem;margin-right:1rem;text-align:left}}
  .cards td small {{font-weight:400}}
}}
</style>"""


def table(heads: list[str], rows: list[list[str]], kinds: list[str] | None = None) -> str:
    """Return an HTML table of texts.

    Parameters
    ----------
    kinds
        A class for each column, such as `number`; left out: all are texts.
    """
    classes = kinds or ["text"] * len(heads)
    return drawn(heads, [[escape(cell) for cell in row] for row in rows], classes)


def drawn(heads: list[str], rows: list[list[str]], classes: list[str], marks: Iterable[str] = ()) -> str:
    """Return an HTML table whose cells are HTML already; `marks` are the rows' classes."""
    top = "".join(f'<th class="{c}">{escape(h)}</th>' for c, h in zip(classes, heads, strict=True))
    labelled = list(zip(classes, heads, strict=True))
    of_rows = list(marks) or [""] * len(rows)
    body = "".join(
        f'<tr class="{mark}">{cells}</tr>' if mark else f"<tr>{cells}</tr>"
        for mark, cells in zip(of_rows, (_cells(labelled, row) for row in rows), strict=True)
    )
    return f'<div class="scroll"><table class="figures cards"><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table></div>'


def _cells(labelled: list[tuple[str, str]], row: list[str]) -> str:
    return "".join(
        f'<td class="{f"{kind} zero" if cell == "0" else kind}" data-label="{escape(head)}">{cell}</td>'
        for (kind, head), cell in zip(labelled, row, strict=True)
    )


def place(row: dict[str, Any]) -> str:
    """Return a file with its sheet, where it has several."""
    return f"{row['file']} · {row['sheet']}" if row["sheet"] else str(row["file"])


def fates(lines: Rows) -> str:
    """Return the five fates of each sheet as a table."""
    heads = [say("dashboard.file"), say("dashboard.table"), *(say(f"dashboard.fate_{n}") for n in COUNTS)]
    rows = [
        [place(line), line["table"] or say("files_page.no_table"), *(f"{line[n]:,}" for n in COUNTS)]
        for line in lines
    ]
    return table(heads, rows, ["text", "text", *["number"] * len(COUNTS)])


def sentence(report: LoadReport, family: str) -> str:
    """Return the fates in words, in the family's own; those that no row had are left out."""
    lines = [asdict(line) for line in report.files]
    rows = sum(line["rows"] for line in lines)
    if not rows:
        return say("dashboard.no_rows")
    sums = {fate: sum(line[fate] for line in lines) for fate in FATES}
    shown = [say(f"{family}{fate}", n=f"{n:,}") for fate, n in sums.items() if n]
    key = "dashboard.fates" if family == "dashboard.n_" else "files_page.would"
    return say_n(key, rows, rows=f"{rows:,}", fates=", ".join(shown))


def faults(rejects: Rows) -> str:
    """Return the rows that were not taken as written, each with the rule and the way to mend it."""
    heads = [say(f"dashboard.reject_{name}") for name in FAULT_COLUMNS]
    rows = [[_fault_cell(row, name) for name in FAULT_COLUMNS] for row in rejects[:MOST_ROWS]]
    return table(heads, rows, FAULT_KINDS) + more(len(rejects) - MOST_ROWS)


def _fault_cell(row: dict[str, Any], name: str) -> str:
    if name == "file":
        return place(row)
    if name == "fate":
        return say(f"dashboard.fate_{row[name]}")
    return "" if row[name] is None else str(row[name])


def corrections(report: LoadReport) -> str:
    """Return the corrected cells, before and after."""
    heads = [say(f"files_page.change_{name}") for name in CHANGE_COLUMNS]
    rows: list[list[str]] = []
    for cell in report.correction_rows():
        if len(rows) == MOST_ROWS:
            break
        old, new = cut(cell["old"], cell["new"])
        came_from = {"file": cell["old_file"], "sheet": cell["old_sheet"], "line": cell["old_line"]}
        rows.append(
            [f"{cell['table']} {cell['key']}", _column(cell), old, new, _line_of(came_from), _line_of(cell)]
        )
    drawn_rows = table(heads, rows, ["text", "text", "cell old", "cell new", "text", "text"])
    untold = report.corrections_untold
    note = f'<p class="quiet">{escape(say_n("files_page.untold", untold))}</p>' if untold else ""
    return drawn_rows + more(len(report.corrections) - MOST_ROWS) + note


def _column(cell: dict[str, Any]) -> str:
    if cell["column"] == EXTRA:
        return say("files_page.extra_columns")
    column = TABLES[cell["table"]].by_name[cell["column"]]
    return f"{column.name} ({column.unit})" if column.unit else column.name


def _line_of(row: dict[str, Any]) -> str:
    if row["line"] is None:
        return place(row)
    return say("files_page.line_of", file=place(row), line=row["line"])


def cut(old: str | None, new: str | None) -> tuple[str, str]:
    """Return two texts short enough to be read, around where they begin to differ.

    >>> cut("5", None)
    ('5', '(empty)')
    >>> [text[:14] for text in cut("a" * 200 + "b", "a" * 200 + "c")]
    ['… aaaaaaaaaaaa', '… aaaaaaaaaaaa']
    """
    texts = old or "", new or ""
    same = next((n for n, (a, b) in enumerate(zip(*texts, strict=False)) if a != b), min(map(len, texts)))
    start = max(0, same - AROUND) if max(map(len, texts)) > LONGEST else 0
    shown = [_part(text, start) if text else say("files_page.empty_cell") for text in texts]
    return shown[0], shown[1]


def _part(text: str, start: int) -> str:
    end = start + LONGEST
    return f"{'… ' if start else ''}{text[start:end]}{' …' if len(text) > end else ''}"


def more(left: int) -> str:
    """Return how many rows a table leaves to its download."""
    return f'<p class="quiet">{escape(say_n("dashboard.more_in_csv", left))}</p>' if left > 0 else ""


def lines(text: str) -> str:
    """Return a text of several lines as HTML."""
    return escape(text).replace("\n", "<br>")
