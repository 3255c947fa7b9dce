"""What stands beside the figures: visits and their causes, meter verdicts, fates of rows, settings; as HTML."""

from collections.abc import Sequence
from html import escape

from dashboard.data import FATES
from dashboard.numbers import share
from pipeline.config import Settings
from pipeline.measures.explained import COUNTED, LOG_VERDICTS, VERDICTS, InForce, settings_in_force
from pipeline.visits import explained as visits_explained
from pipeline.words import say

CHANGED = "changed"  # the class of a row


def visits(settings: Settings) -> str:
    """Return how a visit's value is reckoned, and every rule with its causes."""
    steps = "".join(f"<li>{escape(step)}</li>" for step in visits_explained.value(settings))
    rows = [
        (", ".join(rule.causes), rule.looks_for, _span(rule.probability), _span(rule.ends))
        for rule in visits_explained.rules(settings)
    ]
    heads = [say(f"figures_page.rule_{name}") for name in ("causes", "looks_for", "probability", "ends")]
    return _part("visits", f'<ul class="steps">{steps}</ul>{_table(heads, rows, numbers_from=2)}')


def _span(bounds: tuple[float, float]) -> str:
    low, high = bounds
    return share(low) if low == high else say("figures_page.to", low=share(low), high=share(high))


def verdicts(settings: Settings) -> str:
    """Return what an interval of a meter, and a stretch of a log, can be found to be."""
    values = settings.texts()
    rows = [
        (verdict, say(f"explained.verdict_{verdict}", **values), say(f"figures_page.counts_{'yes' if verdict in COUNTED else 'no'}"))
        for verdict in VERDICTS
    ]  # fmt: skip
    rows += [
        (say("figures_page.of_log", verdict=verdict), say(f"explained.log_{verdict}", **values), say(f"figures_page.counts_{'amounts' if verdict == 'clock_off' else 'no'}"))
        for verdict in LOG_VERDICTS
    ]  # fmt: skip
    heads = [say(f"figures_page.verdict_{name}") for name in ("name", "says", "counts")]
    lead = f"<p>{escape(say('figures_page.verdicts_lead'))}</p>"
    return _part("verdicts", lead + _table(heads, rows, names=True))


def fates() -> str:
    """Return what becomes of each row of a file."""
    rows = [(say(f"dashboard.fate_{fate}"), say(f"figures_page.fate_{fate}")) for fate in FATES]
    heads = [say("figures_page.fate"), say("figures_page.fate_says")]
    return _part("fates", _table(heads, rows, names=True))


def settings_table(settings: Settings) -> str:
    """Return every setting in force, with its default, unit and meaning."""
    rows = [
        (of.name, _value(of), of.default, of.plain_unit, of.meaning) for of in settings_in_force(settings)
    ]
    marks = [CHANGED if of.changed else "" for of in settings_in_force(settings)]
    heads = [say(f"figures_page.setting_{name}") for name in ("name", "value", "default", "unit", "meaning")]
    lead = f"<p>{escape(say('figures_page.settings_lead'))}</p>"
    return _part("settings", lead + _table(heads, rows, marks=marks, names=True))


def _value(of: InForce) -> str:
    """The value; that it was changed is told in a word, too."""
    return say("figures_page.changed_value", value=of.value) if of.changed else of.value


def _part(name: str, inner: str) -> str:
    title = escape(say(f"figures_page.part_{name}"))
    return f'<section class="explained"><h2 id="part-{name}">{title}</h2>{inner}</section>'


def _table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    numbers_from: int = 99,
    marks: Sequence[str] = (),
    names: bool = False,
) -> str:
    """A table whose rows become blocks on a phone, each cell behind its heading; `names`: the first column stays whole."""
    kinds = ["number" if n >= numbers_from else "text" for n in range(len(heads))]
    head = "".join(
        f'<th scope="col" class="{kind}">{escape(text)}</th>' for kind, text in zip(kinds, heads, strict=True)
    )
    body = "".join(
        f'<tr class="{mark}">{_cells(kinds, heads, row)}</tr>'
        for row, mark in zip(rows, marks or [""] * len(rows), strict=True)
    )
    kind = " names" if names else ""
    return f'<table class="figures facts stacked{kind}"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'


def _cells(kinds: Sequence[str], heads: Sequence[str], row: Sequence[str]) -> str:
    return "".join(
        f'<td class="{kind}{"" if cell else " nothing"}"><small class="head">{escape(head)}</small>{escape(cell)}</td>'
        for kind, head, cell in zip(kinds, heads, row, strict=True)
    )
