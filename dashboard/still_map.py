"""The map as one still picture in SVG: shapes in, text out, for a page without script and for paper."""

import json
from collections import defaultdict
from collections.abc import Iterator
from html import escape
from math import cos, radians
from typing import Any

from shapely.geometry import shape

from dashboard.look import LIGHT
from dashboard.patch import APART_AT_MOST, GROUP_PX, HEIGHT, WIDTH, Shared, patch
from pipeline.words import say

Rows = list[dict[str, Any]]
Point = tuple[float, float]

WIDTH_PX, MARGIN_PX, TALLEST_PX = 720, 30, 900
LETTERS = 24  # of a name on the map
SCALES_KM = (1, 2, 5, 10, 20, 50, 100, 200, 500)
OUTLINE = f'fill="{LIGHT.paper}" stroke="{LIGHT.quiet}" stroke-width="1.2"'
STREET = f'fill="none" stroke="{LIGHT.road}" stroke-width="1.5"'
DEGREE_KM = 111.32  # of a meridian, 40,075 km / 360


class _Frame:
    """Where degrees lie on the picture: both axes in the same scale at the middle latitude."""

    def __init__(self, points: list[Point]) -> None:
        xs, ys = [x for x, _ in points], [y for _, y in points]
        self.west, self.north = min(xs), max(ys)
        self.squeeze = cos(radians((min(ys) + max(ys)) / 2))
        wide = max((max(xs) - min(xs)) * self.squeeze, 1e-3)
        high = max(max(ys) - min(ys), 1e-3)
        inner = WIDTH_PX - 2 * MARGIN_PX
        self.per_degree = min(inner / wide, (TALLEST_PX - 2 * MARGIN_PX) / high)
        self.height = high * self.per_degree + 2 * MARGIN_PX

    def place(self, point: Point) -> Point:
        x, y = point
        return (
            MARGIN_PX + (x - self.west) * self.squeeze * self.per_degree,
            MARGIN_PX + (self.north - y) * self.per_degree,
        )


def still_map(
    sites: Rows, figures: dict[str, dict[str, Any]], averts: dict[str, float], base: dict[str, Rows]
) -> str:
    """Return the map of sites as SVG; each is a link to its place in the list, of many those that lie close share one.

    Parameters
    ----------
    sites
        With site_id, name, latitude, longitude; at least one.
    figures
        relative_irrigation_supply and supply_coverage by site_id.
    averts
        What a visit averts by site_id, over the most in view.
    base
        Districts, roads and bases with their shapes as GeoJSON.
    """
    shapes = {
        kind: [(row["name"], json.loads(row["shape"])) for row in rows if row["shape"]]
        for kind, rows in base.items()
    }
    places = [(s["longitude"], s["latitude"]) for s in sites]
    districts = [p for _, found in shapes["districts"] for line in _lines(found) for p in line]
    frame = _Frame(districts + places)
    drawings, marks = _marks(frame, sites, figures, averts)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH_PX} {frame.height:.0f}" role="img" '
        f'aria-label="{escape(say("dashboard.still_map"))}"><defs>{drawings}</defs>'
        f"{_paths(frame, shapes['districts'], OUTLINE)}{_paths(frame, shapes['roads'], STREET)}"
        f"{_names(frame, shapes)}{marks}{_scale(frame)}</svg>"
    )


def _lines(found: dict[str, Any]) -> Iterator[list[Point]]:
    """The rings or lines of a shape; a point is a line of one."""
    geometry = shape(found)
    for part in getattr(geometry, "geoms", [geometry]):
        rings = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
        yield from ([(p[0], p[1]) for p in ring.coords] for ring in rings)


def _paths(frame: _Frame, shapes: list[tuple[str, dict[str, Any]]], look: str) -> str:
    lines = [line for _, found in shapes for line in _lines(found)]
    drawn = "".join("M" + "L".join("{:.1f} {:.1f}".format(*frame.place(p)) for p in line) for line in lines)
    return f'<path d="{drawn}" {look}/>' if drawn else ""


def _names(frame: _Frame, shapes: dict[str, list[tuple[str, dict[str, Any]]]]) -> str:
    """Districts in their middle, bases beside a square."""
    drawn = []
    for kind, mark in (("districts", ""), ("bases", "■ ")):
        for name, found in shapes[kind]:
            points = [p for line in _lines(found) for p in line]
            if not points:
                continue
            xs, ys = [x for x, _ in points], [y for _, y in points]
            x, y = frame.place(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2))
            drawn.append(
                f'<text x="{x:.0f}" y="{y:.0f}" fill="{LIGHT.quiet}" font-size="13">{escape(mark + _short(name))}</text>'
            )
    return "".join(drawn)


def _short(name: str | None) -> str:
    text = name or ""
    return text if len(text) <= LETTERS else text[: LETTERS - 1] + "…"


def _marks(
    frame: _Frame, sites: Rows, figures: dict[str, dict[str, Any]], averts: dict[str, float]
) -> tuple[str, str]:
    """The drawings that sites share, and each site's use of one, with how many lie there."""
    shared = Shared()
    marks = []
    for site, here in _together(frame, sites, averts):
        figure = figures.get(site["site_id"], {})
        supply, coverage = figure.get("relative_irrigation_supply"), figure.get("supply_coverage")
        place = shared.place(patch(supply, coverage, averts.get(site["site_id"])))
        x, y = frame.place((site["longitude"], site["latitude"]))
        marks.append(
            f'<a href="#{escape(site["site_id"])}"><use href="#p{place}" x="{x - WIDTH / 2:.0f}" y="{y - HEIGHT / 2:.0f}">'
            f"<title>{escape(site['name'] or site['site_id'])}</title></use>{_number(here, x, y)}</a>"
        )
    symbols = "".join(f'<g id="p{n}">{_inside(drawing)}</g>' for n, drawing in enumerate(shared.drawings))
    return symbols, "".join(marks)


def _together(frame: _Frame, sites: Rows, averts: dict[str, float]) -> Iterator[tuple[dict[str, Any], int]]:
    """Each site and 1; of many, the site of each cell of a grid where a visit averts most, and how many lie in it."""
    cells: dict[Any, Rows] = defaultdict(list)
    for site in sites:
        x, y = frame.place((site["longitude"], site["latitude"]))
        cell = (x // GROUP_PX, y // GROUP_PX) if len(sites) > APART_AT_MOST else site["site_id"]
        cells[cell].append(site)
    for here in cells.values():
        yield max(here, key=lambda site: averts.get(site["site_id"], 0.0)), len(here)


def _number(sites: int, x: float, y: float) -> str:
    if sites == 1:
        return ""
    return f'<text x="{x + WIDTH / 2:.0f}" y="{y + 4:.0f}" font-size="12" font-weight="700" fill="{LIGHT.ink}">{sites}</text>'


def _inside(drawing: str) -> str:
    return drawing[drawing.index(">") + 1 : drawing.rindex("</svg>")]


def _scale(frame: _Frame) -> str:
    """A bar of a round number of kilometres, and where north is."""
    per_km = frame.per_degree / DEGREE_KM
    km = max((n for n in SCALES_KM if n * per_km <= WIDTH_PX / 4), default=SCALES_KM[0])
    y = frame.height - 8
    return (
        f'<path d="M{MARGIN_PX} {y - 5:.0f}v5h{km * per_km:.1f}v-5" fill="none" stroke="{LIGHT.ink}"/>'
        f'<text x="{MARGIN_PX + 4}" y="{y - 6:.0f}" font-size="12" fill="{LIGHT.ink}">{km} km</text>'
        f'<path d="M{WIDTH_PX - 16} 22v-16l-4 8m4 -8l4 8" fill="none" stroke="{LIGHT.ink}"/>'
        f'<text x="{WIDTH_PX - 16}" y="36" font-size="12" text-anchor="middle" fill="{LIGHT.ink}">{escape(say("dashboard.north"))}</text>'
    )
