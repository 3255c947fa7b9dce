"""Maps: tables in, a folium map out. Drawn from the programme's own shapes, without any tile."""

import json
from typing import Any

import folium
from folium.utilities import JsCode

from dashboard.look import GROUND, INK, LINE, QUIET
from dashboard.patch import HEIGHT, WIDTH, patch

EVERYWHERE = ((-85, -180), (85, 180))  # the ground under the programme's own shapes
STATIC = "/app/static/vendor"
folium.Map.default_js = [
    ("leaflet", f"{STATIC}/leaflet/leaflet.js"),
    ("jquery", f"{STATIC}/jquery/jquery.min.js"),
]
folium.Map.default_css = [("leaflet_css", f"{STATIC}/leaflet/leaflet.css")]

Rows = list[dict[str, Any]]

# the label becomes a title, which is text: nothing in it runs
DRAW_SITE = f"""(feature, latlng) => L.marker(latlng, {{
    icon: L.divIcon({{html: feature.properties.patch, className: "", iconSize: [{WIDTH}, {HEIGHT}]}}),
    title: feature.properties.label, alt: feature.properties.label, riseOnHover: true, keyboard: true}})"""


def sites_map(
    sites: Rows, figures: dict[str, dict[str, Any]], base: dict[str, Rows], chosen: str | None
) -> folium.Map:
    """Return the map of sites, each a field patch.

    Parameters
    ----------
    sites
        With site_id, name, latitude, longitude.
    figures
        relative_irrigation_supply and supply_coverage by site_id.
    base
        Districts, roads and bases with their shapes as GeoJSON.
    chosen
        The site that stands out.
    """
    drawn = folium.Map(tiles=None, max_zoom=17, zoom_control=True, prefer_canvas=True)
    folium.Control("Scale", position="bottomleft", imperial=False).add_to(drawn)
    folium.Rectangle(
        EVERYWHERE, stroke=False, fill=True, fill_color=GROUND, fill_opacity=1, interactive=False
    ).add_to(drawn)
    outline = {"color": QUIET, "weight": 1.2, "fillColor": "#ffffff", "fillOpacity": 0.6}
    _shapes(drawn, base["districts"], outline)
    _shapes(drawn, base["roads"], {"color": LINE, "weight": 1.5, "fill": False})
    features = [_feature(site, figures.get(site["site_id"], {})) for site in sites]
    if features:
        folium.GeoJson(
            {"type": "FeatureCollection", "features": features}, point_to_layer=JsCode(DRAW_SITE)
        ).add_to(drawn)
        drawn.fit_bounds(_bounds(sites), padding=(24, 24))
    for site in sites:
        if site["site_id"] == chosen:
            folium.CircleMarker(
                (site["latitude"], site["longitude"]), radius=24, color=INK, weight=2, fill=False
            ).add_to(drawn)
    return drawn


def _bounds(sites: Rows) -> list[list[float]]:
    latitudes, longitudes = [s["latitude"] for s in sites], [s["longitude"] for s in sites]
    return [[min(latitudes), min(longitudes)], [max(latitudes), max(longitudes)]]


def _feature(site: dict[str, Any], figure: dict[str, Any]) -> dict[str, Any]:
    drawing = patch(figure.get("relative_irrigation_supply"), figure.get("supply_coverage"))
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [site["longitude"], site["latitude"]]},
        "properties": {"patch": drawing, "label": f"{site['name']} ({site['site_id']})"},
    }


def _shapes(drawn: folium.Map, rows: Rows, style: dict[str, Any]) -> None:
    features = [{"type": "Feature", "geometry": json.loads(r["shape"]), "properties": {}} for r in rows]
    if features:
        folium.GeoJson(
            {"type": "FeatureCollection", "features": features},
            style_function=lambda _feature: style,
            interactive=False,
        ).add_to(drawn)
