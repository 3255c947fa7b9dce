"""What needs work as a list, and the blocks as a table, as HTML. Every text is escaped."""

from html import escape
from typing import Any

from dashboard.links import link
from dashboard.look import ALARM, LINE, PAPER, QUIET, WATER
from dashboard.sprays.answer import first_need
from dashboard.sprays.words import (
    cans_words,
    flow_words,
    is_work,
    needs_words,
    overlap_words,
    rate_words,
    standing_words,
)
from pipeline.measures.spray_findings import NEEDS
from pipeline.words import say, say_n

Row = dict[str, Any]
Rows = list[Row]

MOST = 12  # findings on the page; the files have all
MOST_ROWS, ALL_ROWS = 15, 500  # of the table, until more are asked for; at most
COLUMNS = ("block", "stands", "overlap", "flow", "rate", "cans")
ORDERS = ("stands", "block", "overlap", "flow", "rate", "cans")

STYLE = f"""<style>
.stApp .work {{list-style:none;margin:0;padding:0;background:{PAPER};border:1px solid {LINE};overflow-wrap:anywhere;max-width:66rem}}
.stApp .work > li {{padding:.6rem .8rem;margin:0;border-top:1px solid {LINE};border-left:4px solid {LINE}}} .stApp .work > li:first-child {{border-top:0}}
.stApp .work > li.named {{border-left-color:{ALARM}}} .stApp .work > li.site {{border-left-style:dashed;border-left-color:{ALARM}}}
.work a {{color:{WATER};text-underline-offset:3px}} .stApp .work p {{line-height:1.4}} .work small {{color:{QUIET};font-size:.85rem}}
.stApp table.sprays {{max-width:none}} .sprays td {{min-width:6rem}} .sprays td:nth-child(2) {{min-width:11rem}}
.sprays td div + div {{color:{QUIET};font-size:.85rem}} .sprays td div:first-child {{font-variant-numeric:tabular-nums}}
.stApp dl.even {{display:flex;flex-wrap:wrap;gap:.4rem 1.6rem;margin:.3rem 0;padding:0}} .even div {{min-width:7.5rem;max-width:15rem}}
.even dt {{color:{QUIET};font-size:.9rem}} .even dd {{margin:0;font-variant-numeric:tabular-nums;font-size:1.1rem}} .even small {{display:block;color:{QUIET};font-size:.85rem}}
.even .low {{color:{ALARM};font-weight:700}}
.stApp .cans {{list-style:none;columns:11rem;margin:.3rem 0;padding:0;font-size:.9rem}} .cans li {{margin:0}}
.numbers summary {{cursor:pointer;color:{QUIET};font-size:.9rem;padding:.2rem 0}} .numbers .figures {{font-size:.9rem;max-width:28rem}}
</style>"""


def work_list(rows: Rows, places: dict[str, Row]) -> str:
    """Return what needs work: a block where its own records tell, else a site, the most urgent first."""
    entries = [(row["needs"], row, "") for row in rows if row["needs"]]
    once = {row["site_id"]: row for row in reversed(rows) if row["site_needs"]}
    entries += [(row["site_needs"], row, "site_") for row in once.values()]
    entries.sort(key=lambda entry: (NEEDS.index(first_need(entry[0])), *_place(entry[1], places)))
    items = [_work(row, whose, places[row["site_id"]]) for _, row, whose in entries]
    left = len(items) - MOST
    more = f'<p class="quiet">{escape(say_n("sprays_page.more_work", left))}</p>' if left > 0 else ""
    return f'<ol class="work">{"".join(items[:MOST])}</ol>{more}' if items else ""


def _work(row: Row, whose: str, site: Row) -> str:
    needs, on, since_on = row[f"{whose}needs"], row[f"{whose}evidence_on"], row["job_since_on"]
    key = "block" if not whose else "somewhere" if is_work(needs) else "site"
    title = say(f"sprays_page.{key}_title", block=row["block_id"], needs=needs_words(needs))
    told = say("sprays_page.job_since", day=since_on) if on and since_on and since_on > on else ""
    since = f"<p><small>{escape(told)}</small></p>" if told else ""
    return (
        f'<li class="{"site" if whose else "named"}" data-site="{escape(row["site_id"])}"><p>{_site(site)}</p>'
        f"<p><b><bdi>{escape(title)}</bdi></b></p><p>{escape(row[f'{whose}evidence'])}</p>{since}</li>"
    )


def _site(site: Row) -> str:
    """A site's name as a link to its cans here, with its district."""
    more = " · ".join(part for part in (site["site_id"], site["district"]) if part)
    return f"{link('sprays', site['name'] or site['site_id'], site=site['site_id'], survey='')} <small><bdi>{escape(more)}</bdi></small>"


def found(row: Row, site: Row, wanted: str) -> bool:
    """Tell whether each word that is looked for stands in a block's row."""
    if not wanted:
        return True
    texts = (site["name"], site["site_id"], site["district"], row["block_id"], standing_words(row), row["soil"], row["irrigation_method"])  # fmt: skip
    text = " ".join(part for part in texts if part).casefold()
    return all(word in text for word in wanted.casefold().split())


def ordered(rows: Rows, places: dict[str, Row], order: str, chosen: str | None) -> Rows:
    """Return the rows in an order of `ORDERS`: the least first, of rates the highest, the unknown last.

    Those of a chosen site stand before all others.
    """
    return sorted(rows, key=lambda row: (row["site_id"] != chosen, *_key(row, order), *_place(row, places)))


def _key(row: Row, order: str) -> tuple[bool, float]:
    if order == "stands":
        need = first_need(row["needs"]) or first_need(row["site_needs"])
        return not need, (NEEDS.index(need) if need else row["standing"] == "unjudged")
    if order == "block":
        return False, 0.0
    value = {
        "overlap": row["overlap_share"],
        "flow": row["flow_share"],
        "rate": None if row["application_rate_mm_h"] is None else -row["application_rate_mm_h"],
        "cans": row["christiansen"],
    }[order]
    return value is None, value or 0.0


def _place(row: Row, places: dict[str, Row]) -> tuple[str, str, str]:
    return (places[row["site_id"]]["name"] or row["site_id"]).casefold(), row["site_id"], row["block_id"]


def block_table(rows: Rows, places: dict[str, Row], chosen: str | None, *, whole: bool) -> str:
    """Return the first of the blocks as a table, or all of them, and how many more there are."""
    most = ALL_ROWS if whole else MOST_ROWS
    heads = [say(f"sprays_page.head_{name}") for name in COLUMNS]
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    body = "".join(_row(row, places[row["site_id"]], heads, chosen) for row in rows[:most])
    left = len(rows) - most
    more = f'<p class="quiet">{escape(say_n("sprays_page.more_rows", left))}</p>' if left > 0 else ""
    return f'<div class="scroll"><table class="figures sprays labelled"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>{more}'


def _row(row: Row, site: Row, heads: list[str], chosen: str | None) -> str:
    name = say("sprays_page.block", block=row["block_id"])
    cells = [
        f"<div><b><bdi>{escape(name)}</bdi></b></div><div>{_site(site)}</div>",
        escape(standing_words(row)),
    ]
    cells += [
        _lines(words) for words in (overlap_words(row), flow_words(row), rate_words(row), cans_words(row))
    ]
    told = "".join(
        f'<td data-head="{escape(head)}"><div>{cell}</div></td>'
        for head, cell in zip(heads, cells, strict=True)
    )
    picked = ' class="picked"' if row["site_id"] == chosen else ""
    return (
        f'<tr{picked} data-block="{escape(row["block_id"])}" data-site="{escape(row["site_id"])}">{told}</tr>'
    )


def _lines(words: list[str]) -> str:
    return "".join(f"<div>{escape(word)}</div>" for word in words if word)
