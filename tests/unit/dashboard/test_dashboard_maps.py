"""Maps and lists: what stands in them, and that no name can run."""

import json
import re
from importlib.resources import files
from typing import Any
from urllib.parse import unquote

import pytest

from dashboard import maps, visit_list
from dashboard.patch import APART_AT_MOST, Shared
from dashboard.site import panel as site_panel
from dashboard.still_map import still_map
from pipeline.config import Settings
from pipeline.measures.indicators import INDICATORS

HOSTILE = (
    "<script>window.ran=1</script>",
    "</script><script>window.ran=1</script>",
    "<img src=x onerror=window.ran=1>",
    "${window.ran=1}`\\",
    "{{7*7}}",  # folium renders twice: it would read 49
    "{% raw %}",
    "{# gone #}",
    "{{ cycler.__init__.__globals__.os.getcwd() }}",
    "' + window.ran + '\"",
    "\u2028line\u2029end",
    "A" * 200,
)
BASE: dict[str, list[dict[str, Any]]] = {
    "districts": [{"name": "North", "shape": json.dumps({"type": "Polygon", "coordinates": [[[33, -14], [34, -14], [34, -13], [33, -14]]]})}],
    "roads": [{"name": "track", "shape": json.dumps({"type": "LineString", "coordinates": [[33, -14], [34, -13]]})}],
    "bases": [{"name": "Yard", "shape": json.dumps({"type": "Point", "coordinates": [33.2, -13.2]})}],
}  # fmt: skip
NOTHING: dict[str, list[dict[str, Any]]] = {"districts": [], "roads": [], "bases": []}


def site(site_id: str = "S1", name: str = "Kwacha", latitude: float = -13.5) -> dict[str, Any]:
    return {"site_id": site_id, "name": name, "district": "North", "latitude": latitude, "longitude": 33.8}


def drawn(sites: list[dict[str, Any]], base: dict[str, Any] = NOTHING, **more: Any) -> str:
    """The map as the browser gets it."""
    made = maps.sites_map(sites, more.get("figures", {}), more.get("averts", {}), base)
    return str(made.get_root().render())


def collections(page: str) -> list[dict[str, Any]]:
    """The GeoJSON collections in the map's script, as the browser reads them."""
    found = re.findall(r'(\{"features": .*?"type": "FeatureCollection"\})\s*\)', page, flags=re.DOTALL)
    return [json.loads(text) for text in found]


def labels(page: str) -> list[str]:
    return [
        unquote(feature["properties"]["label"])
        for collection in collections(page)
        for feature in collection["features"]
        if "label" in feature["properties"]
    ]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_stays_a_string_in_the_map(name: str) -> None:
    """In sites, districts and bases a name reads back as it was written, and opens no tag and no template."""
    base = {kind: [row | {"name": name} for row in rows] for kind, rows in BASE.items()}
    page = drawn([site(name=name)], base)
    assert labels(page) == [f"{name} (S1): water over need unknown, time known unknown"]
    names = {unquote(f["properties"].get("name", "")) for c in collections(page) for f in c["features"]} - {
        ""
    }
    assert names == {name}
    assert "<script>window" not in page
    assert "<img" not in page


def test_a_label_says_what_the_patch_shows() -> None:
    """Whoever can't see the drawing reads its figures."""
    figures = {"S1": {"relative_irrigation_supply": 0.47, "supply_coverage": 0.9}}
    assert labels(drawn([site()], figures=figures)) == ["Kwacha (S1): water over need 47 %, time known 90 %"]


def test_the_map_asks_for_nothing_from_outside() -> None:
    """Every script and sheet is the dashboard's own; no tile, no mark of Leaflet's."""
    page = drawn([site()], BASE)
    loaded = re.findall(r'(?:src|href)="([^"]+)"', page)
    assert loaded
    assert all(address.startswith("/app/static/") for address in loaded)
    assert "tileLayer" not in page
    assert '"attributionControl": false' in page


@pytest.mark.parametrize("sites", [[], [site()], [site(f"S{n}", latitude=-13.5) for n in range(3)]])
def test_none_one_and_several_at_one_place_can_be_drawn(sites: list[dict[str, Any]]) -> None:
    """No site is an empty ground; one isn't zoomed in without bound; several at a place are all there."""
    page = drawn(sites)
    assert len(labels(page)) == len(sites)
    assert ("fitBounds" in page) is bool(sites)
    assert not sites or '"maxZoom": 13' in page


def test_districts_roads_and_bases_are_drawn() -> None:
    """The programme's own shapes are the base map, with their names."""
    page = drawn([], BASE)
    kinds = sorted(f["geometry"]["type"] for c in collections(page) for f in c["features"])
    assert kinds == [
        "LineString",
        "Point",
        "Point",
        "Polygon",
    ]  # a name for the district and one for the base


def places_in(layer: Any) -> list[Any]:
    return [child.location for child in vars(layer)["_children"].values()]


def test_the_chosen_site_alone_is_set_off() -> None:
    """The layer that changes with the choice holds that site's place."""
    places = [site("S1"), site("S2", latitude=-13.6)]
    chosen = maps.chosen_site(places, "S2")
    assert places_in(chosen) == [[-13.6, 33.8]]
    assert places_in(maps.chosen_site(places, None)) == []


def test_the_list_says_unknown_where_nothing_is_known() -> None:
    """A value, a share or an age that nobody knows is a word, never a 0."""
    row = visit_list.row(
        listed("S1"), site(), {"relative_irrigation_supply": None, "supply_coverage": None}, None, Shared()
    )
    assert (row["value"], row["supply"], row["age"], row["known"]) == ("unknown", "unknown", "unknown", "")


def listed(site_id: str, **known: Any) -> dict[str, Any]:
    """A visit, of which nothing is known but what is said."""
    nothing = {
        "site_id": site_id,
        "rank": 1,
        "value": None,
        "data_age_days": None,
        "cause": "none",
        "evidence": "x",
    }
    return nothing | dict.fromkeys(visit_list.EXTRAS) | known


def test_of_many_visits_those_that_are_looked_for_come_in_the_order_asked_for() -> None:
    """As the browser does with those that it has: a part of a name, either case; the unknown last either way."""
    visits = [listed("S1", value=2.0), listed("S2"), listed("S3", value=5.0), listed("S4", value=1.0)]
    places = {
        v["site_id"]: site(v["site_id"], "Mtepwa" if v["site_id"] == "S4" else "Kwacha") for v in visits
    }
    figures = {s: {"relative_irrigation_supply": None, "supply_coverage": None} for s in places}

    def ids(**asked: Any) -> list[str]:
        return [v["site_id"] for v in visit_list.looked_for(visits, places, figures, asked)]

    assert ids() == ["S1", "S2", "S3", "S4"]
    assert ids(by="value", down=True) == ["S3", "S1", "S4", "S2"]
    assert ids(by="value", down=False) == ["S4", "S1", "S3", "S2"]
    assert ids(find=" kwaCHA ", by="value", down=True) == ["S3", "S1", "S2"]
    assert ids(find="S4", by="no such column") == ["S4"]


def test_the_list_builds_text_and_no_html() -> None:
    """Its script sets text alone: no way by which a name becomes a tag."""
    script = files("dashboard").joinpath("visit_list.js").read_text()
    assert "textContent" in script
    for way in ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval("):
        assert way not in script


def test_every_figure_stands_in_one_group() -> None:
    """The panel of a site leaves out no figure and shows none twice."""
    shown = [name for names in site_panel.GROUPS.values() for name in names]
    assert sorted(shown) == sorted(figure.name for figure in INDICATORS)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_stays_text_in_the_panel(name: str) -> None:
    """Name, district and a hazard's note are escaped."""
    page = site_panel.heading(site(name=name) | {"district": name})
    page += site_panel.cautions([{"hazard": "well", "note": name}])
    assert not re.search(r"<(script|img)", page)


@pytest.mark.parametrize(("distance_km", "told"), [(20.0, False), (34.2, True), (None, False)])
def test_far_weather_is_told_beside_the_need(distance_km: float | None, told: bool) -> None:  # noqa: FBT001
    """Beyond 20 km a sentence says how far the nearest station is."""
    figure = {"relative_irrigation_supply": 0.8, "supply_coverage": 1.0, "weather_distance_km": distance_km}
    assert ("weather station is up to 34.2 km away" in site_panel.answer(figure, None, Settings())) is told


def many(*names: str) -> list[dict[str, Any]]:
    """More sites than have room for a patch each, some with a name of their own."""
    spread = [site(f"S{n}", f"Site {n}", -13.5 + n / 500) for n in range(APART_AT_MOST + 1)]
    return [place | {"name": name} for place, name in zip(spread, names, strict=False)] + spread[len(names) :]


@pytest.mark.parametrize("name", HOSTILE)
def test_of_many_sites_a_hostile_name_stays_a_string(name: str) -> None:
    """The labels of grouped sites read back as they were written, and open no tag and no template."""
    page = drawn(many(name))
    found = re.search(r'"labels": "([^"]*)"', page)
    assert found
    read = [unquote(text) for text in found[1].split(",")]
    assert len(read) == 4 * (APART_AT_MOST + 1)
    assert read[:4] == [name, "S0", "unknown", "unknown"]
    assert "<script>window" not in page
    assert "<img" not in page


def test_of_many_sites_on_the_still_map_each_is_counted_once() -> None:
    """The numbers beside the patches sum to the sites; a group's patch is that of the site where a visit averts most."""
    places = many()
    page = still_map(places, {}, {"S70": 1.0}, NOTHING)
    shown = re.findall(
        r'<a href="#(S\d+)"><use [^>]*><title>[^<]*</title></use>(?:<text [^>]*>(\d+)</text>)?', page
    )
    assert sum(int(count or 1) for _, count in shown) == len(places)
    assert len(shown) < len(places) / 3
    assert "S70" in {site_id for site_id, _ in shown}
