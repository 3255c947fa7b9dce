"""The tables of the harvest, as HTML: by crop, by half-year, by site, by planting. Every text is escaped."""

from collections.abc import Callable, Sequence
from html import escape
from typing import Any

from dashboard.charts.template import inert
from dashboard.harvest.words import (
    covered,
    half_year,
    known,
    mass,
    masses,
    money,
    of_plantings,
    per_m3,
    published,
)
from dashboard.links import link
from dashboard.look import QUIET
from dashboard.numbers import number, share
from pipeline.measures.harvest_columns import COMPARED
from pipeline.words import say, say_n

Row = dict[str, Any]
Rows = list[Row]
Cell = tuple[str, bool]  # HTML, and whether it is a number

MOST_ROWS, ALL_ROWS = 10, 500  # of a table, until more are asked for; at most
ORDERS = ("last_harvest", "site", "crop", "harvest", "yield", "per_irrigation", "per_need", "lost")
GROUP_HEADS = ("plantings", "harvest", "yield", "per_irrigation", "per_need", "compared", "lost")
PLANTING_HEADS = ("planting", "harvest", "yield", "irrigation", "per_irrigation", "per_need", "lost")

STYLE = f"""<style>
.stApp table.harvest {{max-width:none}} .harvest td {{min-width:5.2rem}} .harvest td:first-child {{min-width:8.5rem}}
.harvest td small {{display:block;color:{QUIET};font-size:.85rem;white-space:normal}} .harvest td div {{overflow-wrap:anywhere}}
.harvest thead th {{white-space:normal;overflow-wrap:normal}} .harvest thead th.number {{white-space:normal}}
.numbers summary {{cursor:pointer;color:{QUIET};font-size:.9rem;padding:.2rem 0}} .numbers .figures {{font-size:.9rem;max-width:44rem}}
</style>"""


def crop_table(groups: Rows, plantings: Rows, currency: str) -> str:
    """Return the sums by crop, the published range beside them."""
    ranges = {row["crop"]: row for row in plantings}

    def name(group: Row) -> str:
        return _two(f"<b><bdi>{escape(group['crop'])}</bdi></b>", _source(ranges.get(group["crop"])))

    return _groups(sorted(groups, key=lambda g: -g["harvest_kg"]), "crop", name, currency)


def half_year_table(groups: Rows, currency: str) -> str:
    """Return the sums by half-year of planting, in the order of time."""
    rows = sorted(groups, key=lambda g: (g["half_year"] is None, g["half_year"] or ""))
    return _groups(rows, "half_year", lambda g: f"<b>{escape(half_year(g['half_year']))}</b>", currency)


def site_table(groups: Rows, places: dict[str, Row], currency: str, *, whole: bool) -> str:
    """Return the sums by site, by name."""
    rows = sorted(groups, key=lambda g: _site_key(g, places))
    return _groups(rows, "site", lambda g: _site(places[g["site_id"]]), currency, whole=whole)


def _groups(
    groups: Rows, first: str, name: Callable[[Row], str], currency: str, *, whole: bool = True
) -> str:
    body = [[(name(group), False), *_group_cells(group, currency)] for group in groups]
    return _table([first, *GROUP_HEADS], body, whole=whole)


def _group_cells(group: Row, currency: str) -> list[Cell]:
    stand = ", ".join(
        say(f"harvest_page.n_{name}", n=f"{group[f'{name}_plantings']:,}") for name in COMPARED if group[f"{name}_plantings"]
    )  # fmt: skip
    value = (
        money(group["harvest_value"], group["harvest_value"], currency)
        if group["harvest_value"] is not None
        else ""
    )
    priced = (
        say("harvest_page.priced", share=share(group["priced_share"]))
        if value and group["priced_share"] < 1
        else ""
    )
    return [
        (escape(f"{group['plantings']:,}"), True),
        (_two(escape(mass(group["harvest_kg"])), known(group), value, priced), False),
        (_per_ha(group["harvest_kg_per_ha"]), True),
        (_two(escape(per_m3(group["water_productivity_kg_m3"])), of_plantings(group["rated_plantings"])), False),
        (_two(escape(per_m3(group["et_productivity_kg_m3"])), of_plantings(group["et_plantings"])), False),
        (escape(stand or say("harvest_page.not_compared")), False),
        (_lost(group, currency, of_plantings(group["costed_plantings"])), False),
    ]  # fmt: skip


def planting_table(rows: Rows, places: dict[str, Row], currency: str, *, whole: bool) -> str:
    """Return the plantings as they are ordered, the first of them or all."""
    body = [_planting_cells(row, places[row["site_id"]], currency) for row in rows]
    return _table(PLANTING_HEADS, body, whole=whole)


def _planting_cells(row: Row, site: Row, currency: str) -> list[Cell]:
    block = say("harvest_page.block", crop=row["crop"], block=row["block_id"])
    water = "" if row["water_m3"] is None else say("harvest_page.cubic_metres", m3=number(row["water_m3"], 1))
    cover = "" if row["water_coverage"] is None else covered(row["water_coverage"])
    whose = "" if row["own_meter"] is None else say("harvest_page.own_meter" if row["own_meter"] else "harvest_page.shared_meter")  # fmt: skip
    why = f"harvest_page.why_{row['unrated_why']}" if row["unrated_why"] else ""
    return [
        (_two(f"<b><bdi>{escape(block)}</bdi></b>", *when(row)) + f"<div>{_site(site)}</div>", False),
        (_two(escape(mass(row["harvest_kg"])), known(row)), False),
        (_per_ha(row["harvest_kg_per_ha"]), True),
        (_two(escape(water or say("dashboard.unknown")), cover, whose), False),
        (_two(escape(per_m3(row["water_productivity_kg_m3"])), say(why) if why else ""), False),
        (_two(escape(per_m3(row["et_productivity_kg_m3"])), stands(row)), False),
        (_lost(row, currency, say(f"harvest_page.why_{row['uncosted_why']}") if row["uncosted_why"] else ""), False),
    ]  # fmt: skip


def when(row: Row) -> tuple[str, ...]:
    """Return when a planting was planted and last harvested, each by itself."""
    if row["planted_on"] is None:
        return (say("harvest_page.when_loose", last=row["last_harvest_on"]),)
    last = say("harvest_page.when_last", last=row["last_harvest_on"])
    return say("harvest_page.when_planted", planted=row["planted_on"]), last


def stands(row: Row) -> str:
    """Return how a planting stands to the published range, or why that can't be told."""
    if row["compared"] is None:
        return say(f"harvest_page.why_{row['uncompared_why']}")
    return say(f"harvest_page.is_{row['compared']}", range=published(row))


def mark_words(row: Row, site: Row, per: str) -> str:
    """Return what a mark of the drawing says: plain text, made inert."""
    value = row["et_productivity_kg_m3" if per == "need" else "water_productivity_kg_m3"]
    parts = [
        say("harvest_page.mark", crop=inert(row["crop"]), site=inert(site["name"] or site["site_id"]), block=inert(row["block_id"])),
        per_m3(value) + (f", {stands(row)}" if per == "need" else ""),
        ", ".join(when(row)),
        f"{mass(row['harvest_kg'])}: {known(row)}",
    ]  # fmt: skip
    return "<br>".join(parts)


def found(row: Row, site: Row, wanted: str) -> bool:
    """Tell whether each word that is looked for stands in a planting's row."""
    texts = (site["name"], site["site_id"], site["district"], row["block_id"], row["crop"], known(row))
    text = " ".join(part for part in texts if part).casefold()
    return all(word in text for word in wanted.casefold().split())


def ordered(rows: Rows, places: dict[str, Row], order: str) -> Rows:
    """Return the plantings in an order of `ORDERS`: days the latest first, amounts the least, losses the greatest; unknown last."""

    def key(row: Row) -> tuple[Any, ...]:
        place = (*_site_key(row, places), row["block_id"], str(row["planted_on"]), row["crop"])
        if order == "site":
            return place
        if order == "crop":
            return (row["crop"].casefold(), *place)
        if order == "last_harvest":
            return (-row["last_harvest_on"].toordinal(), *place)
        value = {
            "harvest": row["harvest_kg"],
            "yield": row["harvest_kg_per_ha"],
            "per_irrigation": row["water_productivity_kg_m3"],
            "per_need": row["et_productivity_kg_m3"],
            "lost": None if row["lost_kg_most"] is None else -row["lost_kg_most"],
        }[order]
        return (value is None, value or 0.0, *place)

    return sorted(rows, key=key)


def numbers_table(crops: Sequence[tuple[str, Rows]], column: str) -> str:
    """Return what the drawing shows, as numbers, folded: for who reads no chart."""
    heads = [
        say(f"harvest_page.head_{name}")
        for name in ("crop", "plantings", "least", "middle", "most", "published")
    ]
    body = []
    for crop, rows in crops:
        values = sorted(row[column] for row in rows)
        middle = (values[(len(values) - 1) // 2] + values[len(values) // 2]) / 2
        cells = [f"{len(rows):,}", *(per_m3(v) for v in (values[0], middle, values[-1])), published(rows[0]) or say("harvest_page.no_range")]  # fmt: skip
        body.append(
            f"<tr><td><bdi>{escape(crop)}</bdi></td>{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}</tr>"
        )
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    return (
        f'<details class="numbers"><summary>{escape(say("harvest_page.as_numbers"))}</summary><div class="scroll">'
        f'<table class="figures"><thead><tr>{head}</tr></thead><tbody>{"".join(body)}</tbody></table></div></details>'
    )


def _source(row: Row | None) -> str:
    """A crop's published range, where it stands, and how it was read."""
    if row is None or row["published_least_kg_m3"] is None:
        return say("harvest_page.no_range")
    key = f"harvest_page.source_{row['published_how_known']}"
    return say(key, range=published(row), product=say(f"harvest_page.product_{row['product']}"), source=row["published_in"])  # fmt: skip


def _lost(row: Row, currency: str, of: str) -> str:
    if row["lost_kg_most"] is None:
        return _two(escape(say("dashboard.unknown")), of)
    value = money(row["lost_value_least"], row["lost_value_most"], currency) if row["lost_value_most"] is not None else ""  # fmt: skip
    return _two(escape(masses(row["lost_kg_least"], row["lost_kg_most"])), value, of)


def _per_ha(kg_ha: float | None) -> str:
    return escape(
        say("dashboard.unknown") if kg_ha is None else say("harvest_page.kg_ha", value=number(kg_ha, 0))
    )


def _site(site: Row) -> str:
    """A site's name as a link to its page, with its district."""
    more = " · ".join(part for part in (site["site_id"], site["district"]) if part)
    return f"{link('site', site['name'] or site['site_id'], site=site['site_id'])} <small><bdi>{escape(more)}</bdi></small>"


def _site_key(row: Row, places: dict[str, Row]) -> tuple[str, str]:
    return (places[row["site_id"]]["name"] or row["site_id"]).casefold(), row["site_id"]


def _two(first: str, *more: str) -> str:
    """A line of HTML and plain ones under it, small."""
    return f"<div>{first}</div>" + "".join(f"<small>{escape(line)}</small>" for line in more if line)


def _table(names: Sequence[str], body: list[list[Cell]], *, whole: bool) -> str:
    heads = [say(f"harvest_page.head_{name}") for name in names]
    numeric = [is_number for _, is_number in body[0]] if body else [False] * len(heads)
    head = "".join(
        f'<th scope="col"{" class=number" if is_number else ""}>{escape(text)}</th>'
        for text, is_number in zip(heads, numeric, strict=True)
    )
    most = ALL_ROWS if whole else MOST_ROWS
    rows = "".join(_row(cells, heads) for cells in body[:most])
    left = len(body) - most
    more = f'<p class="quiet">{escape(say_n("harvest_page.more_rows", left))}</p>' if left > 0 else ""
    return f'<div class="scroll"><table class="figures harvest labelled"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>{more}'


def _row(cells: list[Cell], heads: list[str]) -> str:
    drawn = "".join(
        f'<td data-head="{escape(head)}"{" class=number" if is_number else ""}><div>{cell}</div></td>'
        for head, (cell, is_number) in zip(heads, cells, strict=True)
    )
    return f"<tr>{drawn}</tr>"
