"""The background map on the map, and the tiles that the server gives out."""

from pathlib import Path

import pytest
from starlette.requests import Request
from starlette.responses import Response

from dashboard import maps, tiles
from pipeline.store import Store
from pipeline.tiles import keep, open_tiles
from tests.unit.dashboard.conftest import opened, texts
from tests.unit.dashboard.test_dashboard_maps import NOTHING, site
from tests.unit.tiles.conftest import PICTURES, write_mbtiles

HERE = ("9", "303", "275")


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    """A file of tiles that the dashboard is started with."""
    return write_mbtiles(
        tmp_path / "stick.mbtiles", attribution="<script>window.ran=1</script>© Survey {{7*7}}"
    )


@pytest.fixture
def plugged(stick: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The dashboard was started with it."""
    monkeypatch.setenv("SUNRILL_BASEMAP", str(stick))
    return stick


def asked(zoom: str, column: str, row: str, **headers: str) -> Response:
    """The server's answer to a browser that asks for a tile."""
    place = {"zoom": zoom, "column": column, "row": row}
    sent = [(name.replace("_", "-").lower().encode(), text.encode()) for name, text in headers.items()]
    return tiles.respond(Request({"type": "http", "method": "GET", "path_params": place, "headers": sent}))


@pytest.mark.usefixtures("plugged")
def test_a_tile_comes_as_the_picture_that_it_is() -> None:
    """Its bytes and kind, kept by the browser until the file is another."""
    first = asked(*HERE)
    assert (first.status_code, first.body) == (200, PICTURES[9, 303, 275])
    assert first.headers["Content-Type"] == "image/png"
    assert first.headers["X-Content-Type-Options"] == "nosniff"
    again = asked(*HERE, If_None_Match=first.headers["ETag"])
    assert (again.status_code, again.body) == (304, b"")


@pytest.mark.parametrize("place", [("9", "-1", "0"), ("9", "0x1", "0"), ("9", "1", "9" * 5000), ("9", "²", "0"), ("9", "..", "etc"), ("9", " 1", "0")])  # fmt: skip
@pytest.mark.usefixtures("plugged")
def test_a_place_that_is_none_is_not_found(place: tuple[str, str, str]) -> None:
    """No number, a negative one, one without end, a path."""
    assert asked(*place).status_code == 404


@pytest.mark.parametrize(
    "place", [("9", "0", "0"), ("9", "512", "0"), ("99", "0", "0"), ("9", "0", "99999999")]
)
@pytest.mark.usefixtures("plugged")
def test_a_place_without_a_tile_is_empty(place: tuple[str, str, str]) -> None:
    """A file ends somewhere: nothing is wrong with that."""
    assert asked(*place).status_code == 204


def test_without_a_file_there_is_no_tile(plugged: Path) -> None:
    """A file torn meanwhile, and a stick that was pulled out."""
    plugged.write_bytes(plugged.read_bytes()[:5000])
    assert asked(*HERE).status_code == 404
    plugged.unlink()
    assert asked(*HERE).status_code == 404


def test_the_map_lays_tiles_under_the_shapes(stick: Path) -> None:
    """With their address here, their bounds and zooms; without a file there is none."""
    made = maps.sites_map([site()], {}, {}, NOTHING, open_tiles(stick))
    page = str(made.get_root().render())
    assert "/tiles/{z}/{x}/{y}?of=" in page
    assert '"minNativeZoom": 7' in page
    assert '"maxNativeZoom": 9' in page
    assert "[[-14.0, 33.0], [-13.0, 34.0]]" in page
    assert "window.ran" not in page


@pytest.mark.usefixtures("shown")
def test_a_page_names_whose_map_it_is_or_why_there_is_none(plugged: Path) -> None:
    """An attribution is text; a file that is gone is told in a sentence, and everything else is there."""
    assert any("Background: window.ran=1 © Survey {{7*7}}" in text for text in texts(opened("portfolio")))
    plugged.unlink()
    told = texts(opened("portfolio"))
    assert any("drawn without its background" in text and "Plug the stick in" in text for text in told)
    assert not any("Background:" in text for text in told)


def test_the_given_file_goes_before_the_kept_one(
    stick: Path, bare: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without either there is none."""
    assert tiles.background() is None
    keep(write_mbtiles(bare.path.with_name("other.mbtiles")), bare.path)
    found = tiles.background()
    assert found is not None
    assert found.path.parent == bare.path / "basemap"
    monkeypatch.setenv("SUNRILL_BASEMAP", str(stick))
    assert tiles.background() == open_tiles(stick)
