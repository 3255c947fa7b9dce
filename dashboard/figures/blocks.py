"""Figures explained, as HTML: a block for each that opens, with its value now and what it rests on."""

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from dashboard.look import ALARM, LINE, QUIET, WATER
from dashboard.numbers import figure as shown
from dashboard.numbers import unit
from dashboard.site.panel import GROUPS
from pipeline.config import Settings
from pipeline.measures.explained import COVERAGES, FIELDS, Explanation, InForce
from pipeline.measures.indicators import BY_NAME, TARGET_FIGURES
from pipeline.words import say

AGREEMENT = "agreement"  # the group of what only an agreement has
ALL_GROUPS: Mapping[str, tuple[str, ...]] = GROUPS | {AGREEMENT: tuple(of.name for of in TARGET_FIGURES)}
SECTIONS = ("visits", "verdicts", "fates", "settings")

STYLE = f"""<style>
.contents {{display:flex;flex-wrap:wrap;gap:.2rem 1.1rem;line-height:1.9}}
.stApp .explained a, .stApp .contents a {{color:{WATER};text-underline-offset:3px}}
.explained details {{border-top:1px solid {LINE};scroll-margin-top:4.5rem;max-width:66rem}}
.explained details[data-named] {{border-left:4px solid {WATER};padding-left:.9rem}}
.explained summary {{cursor:pointer;padding:.45rem 0;display:grid;grid-template-columns:1fr auto;gap:.1rem 1.2rem;list-style:none}}
.explained summary::-webkit-details-marker {{display:none}}
.explained summary h3::before {{content:"+";display:inline-block;width:1.1rem;color:{QUIET}}}
.explained details[open] > summary h3::before {{content:"−"}}
.explained summary .now {{text-align:right;font-variant-numeric:tabular-nums}}
.explained summary p {{grid-column:1;padding-left:1.1rem;max-width:46rem}}
.explained summary small {{grid-column:2;text-align:right;color:{QUIET};font-size:.85rem;max-width:20rem}}
.explained h3 code {{font-weight:400;font-size:.85rem;color:{QUIET};background:none;overflow-wrap:anywhere}}
.stApp .explained dl {{padding:0;display:grid;grid-template-columns:8.5rem 1fr;gap:.45rem 1rem;margin:.2rem 0 1rem 1.1rem}}
.explained dt {{color:{QUIET}}} .explained dd {{margin:0;padding:0;overflow-wrap:anywhere}} .explained dd.formula {{font-weight:700}}
.explained code {{background:none;padding:0;color:inherit;font-size:.92em}}
.explained ul {{margin:0;padding-left:1.1rem}} .explained li {{margin:0}}
.explained .was {{color:{ALARM}}}
.explained .steps li {{margin:.25rem 0}} .explained .steps, .explained > p {{max-width:66rem}}
.stacked small.head {{display:none}} .stacked thead th.number {{white-space:normal}}
.stacked.names td:first-child {{white-space:nowrap;overflow-wrap:normal}} .stacked tr.changed td:nth-child(2) {{font-weight:700}}
@media (max-width: 640px) {{
  .explained summary {{grid-template-columns:1fr}} .explained summary p {{order:1}}
  .explained summary .now, .explained summary small {{grid-column:1;text-align:left;padding-left:1.1rem;max-width:none}}
  .stApp .explained dl {{grid-template-columns:1fr;gap:.1rem}} .explained dd {{margin-bottom:.5rem}}
  .facts.stacked tr {{grid-template-columns:1fr}} .facts.stacked td.number {{text-align:left;white-space:normal}}
  .stacked td:not(:first-child) small.head {{display:inline;color:{QUIET};font-size:.85rem;margin-right:.5rem}}
  .stacked td:first-child {{font-weight:700}} .stacked td.nothing {{display:none}}
}}
</style>"""

# the figure that the address names comes into view and has the keyboard's focus
JUMP = """<script>/* figure {name} */ setTimeout(() => {{
    const block = document.querySelector("details[data-named]");
    if (block) {{ block.scrollIntoView(); block.querySelector("summary").focus({{preventScroll: true}}); }}
}}, 400)</script>"""


def contents() -> str:
    """Return links to the parts of the page."""
    parts = [(f"group-{name}", group_title(name)) for name in ALL_GROUPS]
    parts += [(f"part-{name}", say(f"figures_page.part_{name}")) for name in SECTIONS]
    links = " ".join(f'<a href="#{place}">{escape(title)}</a>' for place, title in parts)
    return f'<nav class="contents">{links}</nav>'


def group_title(name: str) -> str:
    """Return what a group is called."""
    return say("figures_page.group_agreement" if name == AGREEMENT else f"dashboard.group_{name}")


def found(explanation: Explanation, wanted: str) -> bool:
    """Tell whether each word that is looked for stands in a figure's name or sentences."""
    text = " ".join(explanation.as_row().values()).casefold()
    return all(word in text for word in wanted.casefold().split())


def group(
    name: str,
    explanations: Sequence[Explanation],
    values: Mapping[str, Any] | None,
    settings: Settings,
    opened: Sequence[str],
    named: str | None,
) -> str:
    """Return a group's heading and blocks.

    Parameters
    ----------
    name
        Of the group.
    explanations
        Of its figures that are shown.
    values
        Of the programme in the period; None: nothing is known.
    settings
        The programme's.
    opened
        Names of those that are shown in full.
    named
        The figure that the address names.
    """
    blocks = "".join(_block(e, values, settings, e.name in opened, e.name == named) for e in explanations)
    head = f'<h2 id="group-{name}">{escape(group_title(name))}</h2>'
    return f'<section class="explained">{head}{blocks}</section>'


def now(name: str, values: Mapping[str, Any] | None, settings: Settings) -> str:
    """Return a figure's value with its unit; of an agreement's counts what they are of."""
    of = BY_NAME[name]
    if of in TARGET_FIGURES:
        return say("figures_page.by_agreement")
    value = None if values is None else values[name]
    behind = "" if value is None else unit(of, settings.currency)
    return f"{shown(value, of)} {behind}".strip()


def ground(explanation: Explanation, values: Mapping[str, Any] | None, settings: Settings) -> str:
    """Return what says how much of a figure is known, or that nothing does; empty where it says so itself."""
    if explanation.name in COVERAGES:
        return ""
    if not explanation.rests_on:
        return say("figures_page.no_coverage")
    label = say(f"dashboard.figure_{explanation.rests_on}")
    return say("figures_page.rests_on", label=label, value=now(explanation.rests_on, values, settings))


def beside(name: str, values: Mapping[str, Any] | None, settings: Settings) -> str:
    """Return how far the net need lies from that of the rule which is not in force; empty elsewhere."""
    if name != "net_need_mm" or values is None or None in (values[name], values["other_net_need_mm"]):
        return ""
    apart = values["other_net_need_mm"] - values[name]
    by_store = settings.need_by_root_zone
    return say(
        "figures_page.other_more" if apart >= 0 else "figures_page.other_less",
        rule=say("figures_page.rule_by_store" if by_store else "figures_page.rule_by_roots"),
        other=now("other_net_need_mm", values, settings),
        apart=f"{abs(apart):,.1f}",
    )


def _block(
    of: Explanation, values: Mapping[str, Any] | None, settings: Settings, opened: bool, named: bool  # noqa: FBT001 - two states of one block
) -> str:  # fmt: skip
    state = (" open" if opened or named else "") + (" data-named" if named else "")
    summary = (
        f'<h3>{escape(of.label)} <code>{of.name}</code></h3><b class="now">{escape(now(of.name, values, settings))}</b>'
        f'<p class="quiet">{escape(of.definition)}</p><small>{escape(ground(of, values, settings))}</small>'
        f"{_line(beside(of.name, values, settings))}"
    )
    fields = {
        "formula": escape(of.formula),
        "limits": escape(of.limits),
        "together": escape(of.together),
        "settings": _settings(of.settings),
        "sources": escape(" ".join(of.sources)),
        "needs": _needs(of.needs),
    }
    rows = "".join(
        f'<dt>{escape(say(f"explained.field_{key}"))}</dt><dd class="{key}">{fields[key]}</dd>'
        for key in FIELDS
    )
    return f'<details id="figure-{of.name}"{state}><summary>{summary}</summary><dl>{rows}</dl></details>'


def _line(text: str) -> str:
    return f'<p class="quiet">{escape(text)}</p>' if text else ""


def _settings(used: Sequence[InForce]) -> str:
    if not used:
        return escape(say("explained.no_settings"))
    lines = "".join(f"<li>{_setting(s)}</li>" for s in used)
    return f"<ul>{lines}</ul>"


def _setting(of: InForce) -> str:
    told = f"<code>{escape(of.name)}</code> = <b>{escape(of.with_unit)}</b>"
    if of.changed:
        told += f' <span class="was">{escape(say("explained.default_is", value=of.default))}</span>'
    return f'{told} <span class="quiet">{escape(of.meaning)}</span>'


def _needs(needs: Mapping[str, Sequence[str]]) -> str:
    lines = "".join(
        f"<li><code>{table}</code>: {', '.join(columns)}</li>" for table, columns in needs.items()
    )
    return f"<ul>{lines}</ul>"
