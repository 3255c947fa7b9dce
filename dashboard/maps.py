"""Maps: tables in, a folium map out. Drawn from the programme's own shapes, over the user's own tiles if any."""

import json
from importlib.resources import files
from typing import Any
from urllib.parse import quote

import folium
from folium.template import Template
from folium.utilities import JsCode

from dashboard.look import COLOURS, GROUND, INK, LIGHT, LINE, PAPER, QUIET, darkened, in_the_dark
from dashboard.numbers import share
from dashboard.patch import APART_AT_MOST, GROUP_PX, HEIGHT, WIDTH, Shared, patch
from dashboard.tiles import address
from pipeline.tiles import TileFile
from pipeline.words import say

STATIC = "/app/static/vendor"
folium.Map.default_js = [
    ("leaflet", f"{STATIC}/leaflet/leaflet.js"),
    ("jquery", f"{STATIC}/jquery/jquery.min.js"),
    ("supercluster", f"{STATIC}/supercluster/supercluster.min.js"),
]
folium.Map.default_css = [("leaflet_css", f"{STATIC}/leaflet/leaflet.css")]
CLEAR_OF_BUTTONS = (60, 24)  # pixels that the zoom buttons take
NEAREST_ZOOM = 17
DISTRICT_FILL = 0.6  # how far a district's paper covers what lies under it
NUMBER = f"position:absolute;left:100%;top:50%;transform:translateY(-50%);font:700 12px 'Atkinson Hyperlegible',sans-serif;color:{INK};background:{PAPER};padding:0 2px"

Rows = list[dict[str, Any]]

# the label becomes a title, which is text: nothing in it runs
DRAW_SITE = f"""(drawings) => (feature, latlng) => {{
    const label = decodeURIComponent(feature.properties.label);
    return L.marker(latlng, {{
        icon: L.divIcon({{html: drawings[feature.properties.patch], className: "patch", iconSize: [{WIDTH}, {HEIGHT}]}}),
        title: label, alt: label, riseOnHover: true, keyboard: true}});
}}"""
HALO = ",".join([f"0 0 2px {PAPER}"] * 4)  # letters stay legible on any background map
# a name becomes a text node: nothing in it runs
DRAW_NAME = f"""(feature, latlng) => {{
    const name = document.createElement("span");
    name.textContent = feature.properties.mark + decodeURIComponent(feature.properties.name);
    name.style.cssText = "position:absolute;white-space:nowrap;max-width:12em;overflow:hidden;text-overflow:ellipsis;"
        + "color:{QUIET};font:12px 'Atkinson Hyperlegible',sans-serif;text-shadow:{HALO};" + feature.properties.place;
    return L.marker(latlng, {{icon: L.divIcon({{html: name, className: "", iconSize: [0, 0]}}),
        interactive: false, keyboard: false, zIndexOffset: -10000}});
}}"""
TOLD = ("name", "site", "supply", "coverage")  # what a site's label says
PLACES = {"districts": "transform:translate(-50%,-50%);letter-spacing:.08em", "bases": "left:-5px;top:-9px"}
STYLE = f"""{COLOURS}{darkened()}{in_the_dark([".leaflet-tile-pane{filter:brightness(.35)}"])}
body .leaflet-container {{background:{GROUND};color:{INK}}} body .leaflet-bar {{border-color:{LINE}}}
body .leaflet-bar a, body .leaflet-control-scale-line {{background:{PAPER};color:{INK};border-color:{LINE};text-shadow:none}}
"""
MARKS = {"districts": "", "bases": "■ "}


class _Script(folium.MacroElement):
    """One of our scripts, run on the map with what it needs to know."""

    _template = Template("""{% macro script(this, kwargs) %}
        ({{ this.script }})({{ this._parent.get_name() }}, {{ this.options|tojson }});
    {% endmacro %}""")

    def __init__(self, name: str, options: dict[str, Any]) -> None:
        super().__init__()  # type: ignore[no-untyped-call]  # branca ships no types
        self.script = files("dashboard").joinpath(name).read_text(encoding="utf-8")
        self.options = options


def sites_map(
    sites: Rows,
    figures: dict[str, dict[str, Any]],
    averts: dict[str, float],
    base: dict[str, Rows],
    tiles: TileFile | None = None,
) -> folium.Map:
    """Return the map of sites, each a field patch; where there are many, a patch for those that lie close.

    Parameters
    ----------
    sites
        With site_id, name, latitude, longitude.
    figures
        relative_irrigation_supply and supply_coverage by site_id.
    averts
        What a visit averts by site_id, over the most in view.
    base
        Districts, roads and bases with their shapes as GeoJSON.
    tiles
        The user's own background map.
    """
    drawn = folium.Map(
        tiles=None, max_zoom=max(NEAREST_ZOOM, tiles.max_zoom if tiles else 0), zoom_control=True,
        attribution_control=False, scroll_wheel_zoom=False, zoom_snap=0.25,
    )  # fmt: skip
    outline = {"color": LIGHT.quiet, "weight": 1.2, "fillColor": LIGHT.paper, "fillOpacity": DISTRICT_FILL}
    _shapes(drawn, base["districts"], outline)
    _shapes(drawn, base["roads"], {"color": LIGHT.road, "weight": 1.5, "fill": False})
    for kind in ("districts", "bases"):
        _names(drawn, base[kind], kind)
    if len(sites) > APART_AT_MOST:
        drawn.add_child(_Script("sites_grouped.js", _grouped(sites, figures, averts)))
    elif sites:
        shared = Shared()
        features = [_feature(s, figures, averts, shared) for s in sites]
        _add(drawn, features, point_to_layer=JsCode(f"({DRAW_SITE})({json.dumps(shared.drawings)})"))
    if sites:
        drawn.fit_bounds(
            _bounds(sites), padding_top_left=CLEAR_OF_BUTTONS, padding_bottom_right=(24, 24), max_zoom=13
        )
    options = {
        "width": WIDTH, "height": HEIGHT, "ink": LIGHT.ink, "style": STYLE, "north": say("dashboard.north"),
    }  # fmt: skip
    drawn.add_child(_Script("sites_map.js", options))
    if tiles:
        drawn.add_child(_Script("background.js", _background(tiles)))
    return drawn


def _background(tiles: TileFile) -> dict[str, Any]:
    west, south, east, north = tiles.bounds or (-180.0, -90.0, 180.0, 90.0)
    return {
        "address": address(tiles),
        "bounds": [[south, west], [north, east]],
        "minNativeZoom": tiles.min_zoom,
        "maxNativeZoom": tiles.max_zoom,
        "paper": PAPER,
        "fill": DISTRICT_FILL,
        "label": say("dashboard.background"),
    }


def chosen_site(sites: Rows, site_id: str | None) -> folium.FeatureGroup:
    """Return the layer that sets a site off; it can change without drawing the map anew."""
    layer = folium.FeatureGroup(name="chosen")
    for site in sites:
        if site["site_id"] == site_id:
            folium.CircleMarker(
                (site["latitude"], site["longitude"]), radius=3, color=LIGHT.ink, weight=1, fill=True,
                fill_color=LIGHT.ink, fill_opacity=1, class_name="chosen", interactive=False,
            ).add_to(layer)  # fmt: skip
    return layer


def _bounds(sites: Rows) -> list[list[float]]:
    latitudes, longitudes = [s["latitude"] for s in sites], [s["longitude"] for s in sites]
    return [[min(latitudes), min(longitudes)], [max(latitudes), max(longitudes)]]


def _feature(
    site: dict[str, Any], figures: dict[str, dict[str, Any]], averts: dict[str, float], shared: Shared
) -> dict[str, Any]:
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [site["longitude"], site["latitude"]]},
        "properties": {
            "patch": _drawing(site, figures, averts, shared),
            "label": _inert(say("dashboard.map_label", **_told(site, figures))),
        },
    }


def _grouped(sites: Rows, figures: dict[str, dict[str, Any]], averts: dict[str, float]) -> dict[str, Any]:
    """What the script needs to draw many sites: each its place, drawing and worth, and its label apart."""
    shared = Shared()
    marks = [
        (
            round(s["longitude"], 5),  # a metre
            round(s["latitude"], 5),
            _drawing(s, figures, averts, shared),
            round(averts.get(s["site_id"], 0.0), 4),
        )
        for s in sites
    ]
    return {
        "sites": marks, "labels": ",".join(_inert(text) for s in sites for text in _told(s, figures).values()),
        "label": say("dashboard.map_label", **{name: f"{{{name}}}" for name in TOLD}), "drawings": shared.drawings,
        "group": say("dashboard.map_group", count="{count}", label="{label}"), "number": NUMBER,
        "width": WIDTH, "height": HEIGHT, "apart": GROUP_PX, "nearest": NEAREST_ZOOM,
    }  # fmt: skip


def _drawing(
    site: dict[str, Any], figures: dict[str, dict[str, Any]], averts: dict[str, float], shared: Shared
) -> int:
    figure = figures.get(site["site_id"], {})
    supply, coverage = figure.get("relative_irrigation_supply"), figure.get("supply_coverage")
    return shared.place(patch(supply, coverage, averts.get(site["site_id"])))


def _told(site: dict[str, Any], figures: dict[str, dict[str, Any]]) -> dict[str, str]:
    """What a site's label says of it."""
    figure = figures.get(site["site_id"], {})
    supply, coverage = figure.get("relative_irrigation_supply"), figure.get("supply_coverage")
    return dict(zip(TOLD, (site["name"], site["site_id"], share(supply), share(coverage)), strict=True))


def _inert(text: str) -> str:
    """A text that is only letters, digits, `%` and harmless signs until the browser decodes it.

    folium takes what it has rendered for a template once more: `{{ … }}` in a name would run here.
    """
    return quote(text, safe=" :()[]-_.")


def _names(drawn: folium.Map, rows: Rows, kind: str) -> None:
    """The names of districts in their middle, those of bases beside a square."""
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": _middle(json.loads(row["shape"]))},
            "properties": {"name": _inert(row["name"] or ""), "place": PLACES[kind], "mark": MARKS[kind]},
        }
        for row in rows
        if row["shape"]
    ]
    if features:
        _add(drawn, features, point_to_layer=JsCode(DRAW_NAME))


def _middle(shape: dict[str, Any]) -> list[float]:
    points = list(_points(shape["coordinates"]))
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return [(min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2]


def _points(nested: Any) -> list[list[float]]:
    """The positions in a geometry's coordinates, however deep they stand."""
    if nested and isinstance(nested[0], int | float):
        return [nested]
    return [point for inner in nested for point in _points(inner)]


def _shapes(drawn: folium.Map, rows: Rows, style: dict[str, Any]) -> None:
    features = [
        {"type": "Feature", "geometry": json.loads(r["shape"]), "properties": {}} for r in rows if r["shape"]
    ]
    if features:
        _add(drawn, features, style_function=lambda _feature: style, interactive=False)


def _add(drawn: folium.Map, features: list[dict[str, Any]], **options: Any) -> None:
    folium.GeoJson({"type": "FeatureCollection", "features": features}, **options).add_to(drawn)
