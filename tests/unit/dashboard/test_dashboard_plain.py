"""The page without a script, and its still map."""

import re
from html import escape, unescape

import pytest

from dashboard import data
from dashboard.access import Viewer
from dashboard.outlook import Wanted, outlook
from dashboard.plain import plain_page
from dashboard.still_map import still_map
from pipeline.store import Store
from pipeline.words import say
from tests.browser.hostile import NAMES
from tests.unit.dashboard.conftest import FIRST, LAST, look_at
from tests.unit.dashboard.test_dashboard_scope import NORTHERNER, SOUTHERN

EVERYBODY = Viewer("everybody")
SITE = {"site_id": "S1", "name": "One", "latitude": -13.5, "longitude": 33.8}
FIGURE = {"relative_irrigation_supply": 0.5, "supply_coverage": 1.0}
NO_BASE: dict[str, list[dict[str, object]]] = {"districts": [], "roads": [], "bases": []}


def shown(**asked: str) -> str:
    return plain_page(data.version(), EVERYBODY, asked)


def texts(page: str) -> str:
    return unescape(re.sub(r"<[^>]+>", " ", page.split("</style>")[1]))


@pytest.mark.usefixtures("shown_store")
def test_the_plain_page_says_what_the_page_with_scripts_says() -> None:
    """The same sentence, and every visit of the ranking with its evidence."""
    seen = outlook(data.version(), EVERYBODY, (FIRST, LAST), Wanted())
    page = texts(shown(**{"from": str(FIRST), "to": str(LAST)}))
    assert seen.answer in page
    for visit in seen.ranking:
        assert visit["evidence"] in page


@pytest.mark.usefixtures("shown_store")
def test_the_plain_page_says_whom_to_telephone_and_which_jobs_are_open() -> None:
    """What the week has of the last day, of the sites that are looked at."""
    today = data.on_day(data.version(), EVERYBODY, LAST)
    assert today["calls"] or today["jobs"]
    page = texts(shown(to=str(LAST)))
    for call in today["calls"]:
        assert say(f"week_page.ask_{call['ask']}") in page
    for job in today["jobs"]:
        assert job["record_id"] in page
    assert "Telephone these first" not in texts(shown(to=str(LAST), standing="unjudged"))


@pytest.mark.usefixtures("shown_store")
def test_the_plain_page_runs_nothing_and_is_small() -> None:
    """No script and no address but its own; tens of kilobytes."""
    page = shown()
    assert "<script" not in page
    assert re.findall(r"(?:https?:)?//(?!www\.w3\.org)", page) == []
    assert len(page.encode()) < 60_000


@pytest.mark.usefixtures("shown_store")
def test_the_form_chooses_as_the_fields_do() -> None:
    """A district leaves its site; nonsense leaves all of them."""
    assert "one of 3 sites shown" in texts(shown(district="South"))
    assert "2 of 3 sites shown" in texts(shown(agreement="AGN"))
    assert "No site is like this" in texts(shown(standing="unjudged"))
    assert "sites shown" not in texts(shown(district="<script>", standing="'; DROP TABLE sites; --", to="x"))


@pytest.mark.usefixtures("shown_store")
def test_the_plain_page_keeps_to_the_viewers_scope() -> None:
    """Who may see the north finds no word of the south."""
    page = plain_page(data.version(), NORTHERNER, {})
    assert [word for word in SOUTHERN[1:] if word in texts(page)] == []


def test_an_empty_store_says_what_to_do_without_scripts() -> None:
    """Before anything was loaded there is a sentence and no form."""
    page = plain_page(0, EVERYBODY, {})
    assert "Nothing has been loaded yet" in page
    assert "<form" not in page


@pytest.fixture
def shown_store(programme: Store, monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]  # a generator
    """The page looks at the programme."""
    yield from look_at(programme, monkeypatch)


def test_sites_that_look_alike_share_a_drawing() -> None:
    """A hundred sites of one supply: one drawing, a hundred uses of it, each a link to its row."""
    sites = [SITE | {"site_id": f"S{n}", "longitude": 33 + n / 1000} for n in range(100)]
    drawn = still_map(sites, {s["site_id"]: FIGURE for s in sites}, {}, NO_BASE)
    assert drawn.count("<g id=") == 1
    assert drawn.count("<use ") == 100
    assert 'href="#S7"' in drawn
    assert len(drawn) < 200_000


def test_the_still_maps_bar_is_as_long_as_it_says() -> None:
    """Two sites a degree of latitude apart, 111 km: the bar of 20 km is 20/111 of their distance."""
    sites = [SITE | {"site_id": "A", "latitude": -13.0}, SITE | {"site_id": "B", "latitude": -14.0}]
    drawn = still_map(sites, {}, {}, NO_BASE)
    ys = [float(y) for y in re.findall(r'<use [^>]* y="(-?\d+)"', drawn)]
    km, bar = re.search(r"v5h([\d.]+)v-5", drawn), re.search(r">(\d+) km<", drawn)
    assert km is not None
    assert bar is not None
    assert float(km[1]) / abs(ys[0] - ys[1]) == pytest.approx(float(bar[1]) / 111.32, rel=0.01)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_on_the_still_map_is_text(name: str) -> None:
    """Whatever a site, a district or a base is called."""
    shape = '{"type":"Polygon","coordinates":[[[33,-14],[34,-14],[34,-13],[33,-14]]]}'
    base = NO_BASE | {"districts": [{"name": name, "shape": shape}]}
    drawn = still_map([SITE | {"name": name}], {}, {}, base)
    assert drawn.count(escape(name)) >= 1  # a long one is short on the map, and whole in the site's title
    assert len(re.findall(r"<script|<img|onerror=", drawn.replace(escape(name), ""))) == 0
