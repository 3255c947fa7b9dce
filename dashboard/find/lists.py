"""What was found as HTML, by kind: each a link to where it stands, with what it is there. Every text is escaped."""

from collections.abc import Callable
from html import escape
from typing import Any

from dashboard.data import Rows
from dashboard.links import link
from dashboard.look import LINE, PAPER, QUIET, WATER
from dashboard.records.record import place
from dashboard.records.table import Made, telephone
from pipeline.words import say, say_n

Row = dict[str, Any]

STYLE = f"""<style>
.stApp .found {{list-style:none;margin:0 0 .3rem;padding:0;max-width:66rem;background:{PAPER};border:1px solid {LINE};overflow-wrap:anywhere}}
.stApp .found > li {{padding:.5rem .8rem;margin:0;border-top:1px solid {LINE}}} .stApp .found > li:first-child {{border-top:0}}
.found a {{color:{WATER};text-underline-offset:3px}} .found > li > a {{display:inline-block;padding:.2rem 0}}
.stApp .found p {{color:{QUIET};font-size:.92rem;line-height:1.4}}
.stApp h2 .quiet {{font-weight:400}}
</style>"""
SECTIONS = {  # of a site's record, by what was found there
    "contact": "contacts", "technician": "maintenance", "surveyor": "surveys", "writer": "notes", "crew": "visits",
    "water_meter": "meters", "energy_meter": "meters", "component": "components", "job": "maintenance", "survey": "surveys",
}  # fmt: skip


def groups(found: dict[str, Rows]) -> str:
    """Return every kind with its number, its nearest matches, and how many more there are."""
    return "".join(_group(kind, rows) for kind, rows in found.items())


def _group(kind: str, rows: Rows) -> str:
    of = rows[0]["found"]
    title = f'{escape(say(f"find_page.kind_{kind}"))} <span class="quiet">({of:,})</span>'
    items = "".join(f'<li data-kind="{kind}">{_way(row)}<p>{_told(row)}</p></li>' for row in rows)
    left = of - len(rows)
    more = f'<p class="quiet">{escape(say_n("find_page.more", left))}</p>' if left else ""
    return f'<h2>{title}</h2><ol class="found">{items}</ol>{more}'


def _way(row: Row) -> str:
    """The link to where a match stands."""
    if row["field"] in SECTIONS:
        at = place(SECTIONS[row["field"]], row["site_id"])
        return link("site", row["key"], site=row["site_id"], section=at, row=row["key"])
    return WAYS[row["field"]](row)


WAYS: dict[str, Callable[[Row], str]] = {
    "site": lambda row: link("site", row["name"] or row["key"], site=row["key"]),
    "file": lambda row: link("files", row["text"], file=row["key"]),
    "agreement": lambda row: link("", f"{row['key']} {row['more']}", agreement=row["key"]),
    "district": lambda row: link("", row["key"], district=row["key"]),
}


def _told(row: Row) -> str:
    """What a match is, and at which site, as HTML."""
    parts = [part if isinstance(part, Made) else f"<bdi>{escape(part)}</bdi>" for part in _parts(row) if part]
    return " · ".join(parts)


def _parts(row: Row) -> list[str]:
    field = row["field"]
    if field == "site":
        return [
            row["key"],
            row["district"] or "",
            say("find_page.alias", alias=row["alias"]) if row["alias"] else "",
        ]
    if field == "file":
        return [say("find_page.came", at=row["since"])]
    if field == "agreement":
        return [row["funder"], say_n("find_page.sites", row["times"]), say("find_page.lasts", start=row["since"], end=row["until"])]  # fmt: skip
    if field == "district":
        return [say_n("find_page.sites", row["times"])]
    return [say(f"find_page.is_{field}", site=_site(row)), *_more(row)]


def _site(row: Row) -> str:
    """A site with its id and district."""
    name = say("dashboard.site_option", name=row["name"] or row["site_id"], site=row["site_id"])
    return ", ".join(part for part in (name, row["district"]) if part)


def _more(row: Row) -> list[str]:
    """What else is told of a match, by what it is."""
    field, since = row["field"], row["since"]
    if field == "contact":
        agreed = say("find_page.agreed", day=since) if since else say("week_page.not_agreed")
        return [row["more"] or "", telephone(row["phone"]), agreed]
    if field in ("technician", "surveyor", "writer", "crew"):
        return [say_n(f"find_page.times_{field}", row["times"], day=since)]
    if field == "job":
        done = say("find_page.done", day=row["until"]) if row["until"] else ""
        return [say(f"dashboard.kind_{row['more']}"), say("find_page.reported", day=since), done]
    if field == "survey":
        return [str(since)]
    installed = say("find_page.installed", day=since) if since else ""
    removed = say("find_page.removed", day=row["until"]) if row["until"] else ""
    block = say("find_page.block", block=row["more"]) if row["more"] and field != "component" else ""
    return [row["more"] or "" if field == "component" else block, installed, removed]
