"""Drop files in, see what would become of each row, then take them in or put them aside.

What was previewed is what is taken: the same bytes, read the same way, met with the same rows. Where the
store has changed in between, the preview is made anew and said to be.
"""

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any

import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from dashboard.data import LoadReport, ReadOptions
from dashboard.files import data as files_data
from dashboard.files import report as files_report
from dashboard.files import tables as files_tables
from pipeline.errors import StoreChanged, SunrillError
from pipeline.tables import TABLES
from pipeline.words import say, say_n

SEEN, TURN = "files.seen", "files.turn"
MOST_NAMED = 5  # sites that a load touched, by name
FOCUS = """<script>/* told {turn} */ setTimeout(() => {{
    const told = document.getElementById("told");
    if (told) told.focus();
}}, 250)</script>"""  # the place of the buttons is far below that of the words
REPORT, DONE, FAULT = "files.report", "files.done", "files.fault"


@dataclass(frozen=True)
class Seen:
    """A preview, what it is of, and whether it was made anew because the store had changed."""

    of: tuple[Any, ...]
    report: LoadReport | None
    fault: str = ""
    anew: bool = False


def draw(who: Viewer) -> None:
    """Draw the place to drop files, the preview of what was dropped, and what the last load came to."""
    turn = st.session_state.setdefault(TURN, 0)
    files = st.file_uploader(say("dashboard.drop"), accept_multiple_files=True, key=f"files.drop.{turn}")
    options = _options()
    if not files:
        st.session_state[SEEN] = None
        _told()
        return
    st.session_state.update({REPORT: None, DONE: "", FAULT: ""})
    shown_now = _preview(who, files, options)
    _decide(who, files, options, shown_now=shown_now)


def _options() -> ReadOptions:
    """What can be said about the files."""
    with st.expander(say("dashboard.about_files")):
        table = st.selectbox(
            say("dashboard.table"),
            ["", *TABLES],
            format_func=lambda name: name or say("dashboard.by_name"),
            key="files.table",
        )
        decimal = st.checkbox(say("dashboard.decimal_point"), key="files.decimal")
        day_first = st.checkbox(say("dashboard.day_first"), key="files.day_first")
    return ReadOptions(table, "point" if decimal else "", day_first)


def _preview(who: Viewer, files: list[Any], options: ReadOptions) -> bool:
    """Preview what was dropped, once; anew where the store has changed since. Return whether it was now."""
    of = (*((f.file_id, f.name, f.size) for f in files), options)
    seen: Seen | None = st.session_state.get(SEEN)
    if seen is None or seen.of != of:
        st.session_state[SEEN] = _made(who, files, options, of, anew=False)
    elif seen.report is not None and files_data.has_changed(who, seen.report.met):
        st.session_state[SEEN] = _made(who, files, options, of, anew=True)
    else:
        return False
    return True


def _made(who: Viewer, files: list[Any], options: ReadOptions, of: tuple[Any, ...], *, anew: bool) -> Seen:
    try:
        with _bar(say("files_page.previewing")) as watch:
            return Seen(of, files_data.preview(who, _contents(files), options, watch), anew=anew)
    except SunrillError as error:
        return Seen(of, None, str(error), anew)


def _contents(files: list[Any]) -> list[tuple[str, bytes]]:
    return [(file.name, file.getvalue()) for file in files]


class _bar:  # noqa: N801 - used like a function
    """A bar for as long as the block lasts: which file, and how many of the rows."""

    def __init__(self, words: str) -> None:
        self.words = words

    def __enter__(self) -> Callable[[files_data.Step], None]:
        self.drawn = st.progress(0.0, text=self.words)
        return self.show

    def show(self, step: files_data.Step) -> None:
        share = min(1.0, step.rows / step.of_rows) if step.of_rows else 0.0
        key = "files_page.step" if step.of_rows else "files_page.reading"
        words = say(
            key, what=self.words, file=_plain(step.name), rows=f"{step.rows:,}", of=f"{step.of_rows:,}"
        )
        self.drawn.progress(share, text=words)

    def __exit__(self, *_error: object) -> None:
        self.drawn.empty()


def _plain(name: str) -> str:
    """A file's name where the framework reads marks in a text: none of them works."""
    return "".join(
        f"\\{c}" if not c.isalnum() and c.isascii() and c.isprintable() and c != " " else c for c in name
    )


def _decide(who: Viewer, files: list[Any], options: ReadOptions, *, shown_now: bool) -> None:
    """Show the preview and the two ways on; a click that came before it was shown doesn't count."""
    seen: Seen = st.session_state[SEEN]
    if seen.anew:
        st.html(f'<p class="caution" role="alert">{escape(say("files_page.changed"))}</p>')
    if seen.report is None:
        st.html(f'<p class="caution" role="alert">{files_tables.lines(seen.fault)}</p>')
    else:
        files_report.draw(seen.report, preview=True)
    with st.container(horizontal=True, key="files.decide"):
        readable = seen.report is not None and bool(seen.report.files)
        take = readable and st.button(say("dashboard.take_in"), type="primary", key="files.load")
        aside = st.button(say("files_page.put_aside"), key="files.aside")
    if aside:
        _end(DONE, say_n("files_page.aside", len(files)))
    if take and not shown_now:
        _take(who, files, options, seen)


def _take(who: Viewer, files: list[Any], options: ReadOptions, seen: Seen) -> None:
    """Take in what was previewed; where the store has changed meanwhile, look again."""
    met = seen.report.met if seen.report else None
    try:
        with _bar(say("dashboard.loading")) as watch:
            st.session_state[REPORT] = data.load(who, _contents(files), options, met=met, progress=watch)
    except StoreChanged:
        st.session_state[SEEN] = _made(who, files, options, seen.of, anew=True)
        st.rerun()
    except SunrillError as error:
        st.html(f'<p class="caution" role="alert">{files_tables.lines(str(error))}</p>')
        return
    _compute(who)


def _compute(who: Viewer) -> None:
    bar = st.progress(0.0, text=say("dashboard.computing"))

    def watch(done: int, of: int) -> None:
        bar.progress(min(1.0, done / max(of, 1)), text=say("dashboard.computing"))

    try:
        names = data.waiting_names(data.version(), who, MOST_NAMED + 1)
        told = say_n("dashboard.computed", data.compute(who, watch))
        if 0 < len(names) <= MOST_NAMED:
            told = f"{told} {say('files_page.computed_names', names=', '.join(names))}"
        _end(DONE, told)
    except SunrillError as error:
        _end(FAULT, str(error))


def _end(key: str, words: str) -> None:
    """Clear the place for the next drop, and say how this one ended."""
    st.session_state[TURN] += 1
    st.session_state.update({SEEN: None, key: words})
    st.rerun()


def tell(key: str, words: str) -> None:
    """Have the page say something in the place of the last load's words, from its top."""
    st.session_state.update({REPORT: None, DONE: "", FAULT: ""} | {key: words})
    st.session_state[TURN] += 1
    st.rerun()


def _told() -> None:
    """What the last load, or its undo, came to."""
    if st.session_state.get(FAULT):
        st.html(
            f'<p class="caution" id="told" tabindex="-1" role="alert">{files_tables.lines(st.session_state[FAULT])}</p>'
        )
    report: LoadReport | None = st.session_state.get(REPORT)
    told = [files_tables.sentence(report, "dashboard.n_")] if report and report.files else []
    told.append(st.session_state.get(DONE, ""))
    if any(told):
        words = escape(" ".join(text for text in told if text))
        st.html(f'<p class="answer" id="told" tabindex="-1" role="status">{words}</p>')
    if any(told) or st.session_state.get(FAULT):
        st.html(FOCUS.format(turn=st.session_state[TURN]), unsafe_allow_javascript=True)
    if report:
        files_report.draw(report, preview=False)
