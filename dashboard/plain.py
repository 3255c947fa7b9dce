"""The portfolio without a script: for a slow link, an old telephone, a printer.

The same sentence, map and ranking as the page with scripts, under the same scope; the fields are a
form. It weighs tens of kilobytes where the framework's own scripts weigh megabytes.
"""

import logging
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from html import escape
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse

from dashboard import choices, data, together
from dashboard.access import Viewer, viewer
from dashboard.legend import legend
from dashboard.look import ALARM, GROUND, INK, LINE, PAPER, QUIET, STYLE, WATER, darkened
from dashboard.numbers import share
from dashboard.outlook import Outlook, Period, Wanted, address, districts, known_period, outlook, titles
from dashboard.site.panel import takes
from dashboard.standing import STANDINGS
from dashboard.start import lines, nothing
from dashboard.still_map import still_map
from dashboard.visit_list import worth
from dashboard.week import lists as week_lists
from pipeline.errors import SunrillError
from pipeline.words import say, say_n

Rows = list[dict[str, Any]]

MOST_ROWS = 100  # of the ranking, unless all are asked for
PLAIN = f"""{STYLE}{darkened()}{week_lists.RULES} .week p {{margin:0}}
body {{margin:0;padding:1rem;background:{GROUND};color:{INK};line-height:1.4}} main {{max-width:66rem;margin:auto}}
body * {{box-sizing:border-box}} p.answer {{font-size:1.2rem;border-left:4px solid {WATER};padding-left:.9rem}}
.caution {{border-left:4px solid {ALARM};padding-left:.9rem}}
form {{display:flex;flex-wrap:wrap;gap:.6rem 1rem;align-items:end}} label {{display:grid;grid-template-columns:minmax(0,auto);font-size:.9rem;color:{QUIET};min-width:0;max-width:100%}}
input, select, button {{font:inherit;color:{INK};background:{PAPER};border:1px solid {QUIET};padding:.3rem .5rem;max-width:100%}}
svg {{width:100%;max-width:44rem;height:auto;display:block}} main dl.together {{margin:1rem 0}}
h2 {{font-size:1.05rem;margin:1.2rem 0 .4rem}} .legend {{color:{QUIET};font-size:.9rem;line-height:1.9;max-width:44rem}} p.quiet {{color:{QUIET}}}
.figures th {{overflow-wrap:normal}} .figures td.rank {{color:{QUIET}}} .figures td.rank + td {{min-width:7.5rem}} .figures b {{display:block}} .figures small {{color:{QUIET};display:block}} a {{color:{WATER}}}
@media (max-width:640px) {{.figures thead {{display:none}} .figures tr {{display:block;border-bottom:1px solid {LINE};padding:.5rem 0}}
  .figures td {{display:block;border:0;padding:.1rem 0}} .figures td.rank, .figures td.rank + td {{display:inline-block;vertical-align:top}} .figures td.rank {{width:2rem}} .figures td.number {{text-align:left}} .figures td[data-head]::before {{content:attr(data-head) " ";color:{QUIET}}}}}
@media print {{form, .all {{display:none}} body {{background:{PAPER}}}}}
"""  # fmt: skip


async def respond(request: Request) -> HTMLResponse:
    """Answer a request for the plain page."""
    try:
        page = await run_in_threadpool(plain_page, data.version(), viewer(), dict(request.query_params))
    except SunrillError as error:  # such as a store that a newer Sunrill wrote
        page = _framed(_said(str(error)))
    except Exception:
        logging.getLogger(__name__).exception("the plain page ended")
        page = _framed(_said(say("dashboard.unforeseen")))
    return HTMLResponse(page, headers={"Cache-Control": "no-store", "Content-Security-Policy": POLICY})


def _said(text: str) -> str:
    return f'<p class="caution">{lines(text)}</p>'


# nothing runs, and nothing comes from elsewhere
POLICY = "default-src 'none'; style-src 'unsafe-inline'; font-src 'self'; img-src data:; form-action 'self'"


def plain_page(version: int, viewer: Viewer, asked: Mapping[str, str]) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    version
        Of the store; 0: nothing was ever loaded.
    viewer
        Who looks.
    asked
        from, to, district, agreement, standing and all, as in the address; what means nothing counts
        as not said.
    """
    places = data.sites(version, viewer) if version else []
    days = data.known_days(version, viewer) if places else None
    if days is None:
        return _framed(f'<p class="answer">{escape(nothing(len(places)))}</p>')
    agreements = titles(data.agreements(version, viewer))
    wanted = Wanted(
        _one_of(asked.get("district"), districts(places)),
        _one_of(asked.get("agreement"), agreements),
        _one_of(asked.get("standing"), STANDINGS),
    )
    seen = outlook(version, viewer, known_period([asked.get("from"), asked.get("to")], days), wanted)
    fields = _form(seen, wanted, districts(places), agreements) + _left_out(asked, seen.period, wanted)
    return _framed(_body(version, viewer, seen, wanted, fields, whole="all" in asked))


def _left_out(asked: Mapping[str, str], period: Period, wanted: Wanted) -> str:
    """What the address asks for in vain."""
    days = zip(choices.PERIOD, map(str, period), strict=True)
    told = [choices.left_out(asked.get(name), day, "dashboard.no_such_day") for name, day in days]
    told += [choices.left_out(asked.get(n), v, "dashboard.not_on_record") for n, v in asdict(wanted).items()]
    return "".join(told)


def _one_of(asked: str | None, options: Any) -> str | None:
    return asked if asked in options else None


def _body(version: int, viewer: Viewer, seen: Outlook, wanted: Wanted, fields: str, *, whole: bool) -> str:
    top = f'<p class="answer">{escape(seen.answer)}</p>'
    waiting = data.waiting(version, viewer)
    if waiting:
        top += f'<p class="caution">{escape(say_n("dashboard.waiting", waiting))}</p>'
    if len(seen.places) < seen.of:
        fields += (
            f'<p class="quiet">{escape(say_n("dashboard.shown", len(seen.places), all=f"{seen.of:,}"))}</p>'
        )
    if not seen.places:
        return top + fields
    figure = data.together(version, viewer, *seen.period, tuple(seen.figures), wanted.agreement)
    start, end = seen.period
    today = {
        name: [row for row in rows if row["site_id"] in seen.figures]
        for name, rows in data.on_day(version, viewer, end).items()
    }
    return (
        top
        + week_lists.ways_down(today["calls"], today["jobs"])
        + fields
        + ("" if figure is None else together.figures(figure, seen.settings.currency))
        + f"<h2>{escape(say('dashboard.map_title', start=start, end=end))}</h2>"
        + still_map(seen.places, seen.figures, seen.averts, data.base_map(version, viewer))
        + legend(seen.most, len(seen.places), moved=False)
        + f"<h2>{escape(say('dashboard.list_title', day=end))}</h2>"
        + _ranking(seen, wanted, whole=whole)
        + _calls_and_jobs(today, {s["site_id"]: s for s in seen.places}, end)
    )


def _calls_and_jobs(today: dict[str, Rows], places: dict[str, dict[str, Any]], end: date) -> str:
    """Whom to telephone first, and which jobs are open, as the page of the week has them."""
    drawn = ""
    if today["calls"]:
        drawn = (
            f'<h2 id="calls">{escape(say("week_page.calls_title"))}</h2><p>{escape(say("week_page.calls_say"))}</p>'
            + week_lists.call_list(today["calls"], places)
        )
    if today["jobs"]:
        title = escape(say("week_page.jobs_title", day=end))
        drawn += f'<h2 id="jobs">{title}</h2>{week_lists.job_list(today["jobs"], places)}'
    return drawn


def _form(seen: Outlook, wanted: Wanted, names: list[str], agreements: dict[str, str]) -> str:
    """The fields of the page with scripts, as a form."""
    days = "".join(
        f'<label>{escape(say(f"dashboard.{name}"))}<input type="date" name="{name}" value="{day}"></label>'
        for name, day in zip(("from", "to"), seen.period, strict=True)
    )
    labels = {kind: say(f"dashboard.stands_{kind}") for kind in STANDINGS}
    return (
        f'<form method="get">{days}'
        + _select("district", {name: name for name in names}, wanted.district, say("dashboard.all_districts"))
        + _select("agreement", agreements, wanted.agreement, say("dashboard.all_agreements"))
        + _select("standing", labels, wanted.standing, say("dashboard.all_standings"))
        + f"<button>{escape(say('dashboard.show'))}</button></form>"
    )


def _select(name: str, options: Mapping[str, str], chosen: str | None, nothing: str) -> str:
    shown = f'<option value="">{escape(nothing)}</option>' + "".join(
        f'<option value="{escape(value)}"{" selected" if value == chosen else ""}>{escape(text)}</option>'
        for value, text in options.items()
    )
    return f'<label>{escape(say(f"dashboard.{name}"))}<select name="{name}">{shown}</select></label>'


def _ranking(seen: Outlook, wanted: Wanted, *, whole: bool) -> str:
    if not seen.ranking:
        return f'<p class="quiet">{escape(say("dashboard.no_visits"))}</p>'
    heads = {
        name: say(f"dashboard.head_{name}") for name in ("rank", "site", "value", "supply", "age", "why")
    }
    top = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads.values())
    named = {s["site_id"]: s for s in seen.places}
    shown = seen.ranking if whole else seen.ranking[:MOST_ROWS]
    rows = "".join(_row(visit, named[visit["site_id"]], seen, heads) for visit in shown)
    left = len(seen.ranking) - len(shown)
    more = f'<p class="all"><a href="?{escape(address(seen, wanted))}&amp;all=1">{escape(say_n("dashboard.show_rest", left))}</a></p>'
    return f'<table class="figures"><thead><tr>{top}</tr></thead><tbody>{rows}</tbody></table>{more if left else ""}'


def _row(visit: dict[str, Any], site: dict[str, Any], seen: Outlook, heads: dict[str, str]) -> str:
    figure, age = seen.figures[visit["site_id"]], visit["data_age_days"]
    coverage = figure["supply_coverage"]
    known = f"<small>{escape(say('dashboard.of_known', share=share(coverage)))}</small>" if coverage else ""
    numbers = {
        "value": worth(visit),
        "supply": share(figure["relative_irrigation_supply"]),
        "age": say("dashboard.unknown") if age is None else str(age),
    }
    cells = "".join(
        f'<td class="number" data-head="{escape(heads[name])}">{escape(text)}{known if name == "supply" else ""}</td>'
        for name, text in numbers.items()
    )
    return (
        f'<tr id="{escape(visit["site_id"])}"><td class="rank">{visit["rank"]}</td>'
        f"<td><b>{escape(site['name'] or visit['site_id'])}</b><small>{escape(site['district'] or '')}</small></td>{cells}"
        f"<td><b>{escape(say('dashboard.cause_' + visit['cause']))}</b>{escape(visit['evidence'])}<small>{escape(takes(visit))}</small></td></tr>"
    )


def _framed(body: str) -> str:
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>Sunrill</title><style>{PLAIN}</style></head><body><main>"
        f'<p class="all"><a href="./">{escape(say("dashboard.with_scripts"))}</a></p>{body}</main></body></html>'
    )
