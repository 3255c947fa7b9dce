"""The field patch: read back from its SVG."""

import re
from xml.etree import ElementTree as ET

import pytest

from dashboard.look import LIGHT
from dashboard.patch import BAR_HEIGHT, EDGE, PLOT_WIDTH, ROWS, STEP, as_uri, patch

SVG = "{http://www.w3.org/2000/svg}"
ROW_LENGTH = PLOT_WIDTH - 10


def shapes(drawing: str, tag: str) -> list[dict[str, str]]:
    return [dict(found.attrib) for found in ET.fromstring(drawing).iter(f"{SVG}{tag}")]  # noqa: S314 - our own drawing


def wetted(drawing: str) -> list[float]:
    """The lengths of the wetted rows, from the top."""
    lines = [s for s in shapes(drawing, "path") if s["stroke"] == LIGHT.water and s["d"].startswith("M5 ")]
    return [float(length) for line in lines for length in re.findall(r"h([\d.]+)", line["d"])]


@pytest.mark.parametrize("met", [0.0, 0.1, 0.25, 0.5, 0.62, 0.9, 1.0])
def test_as_much_of_the_rows_is_wet_as_the_need_was_met(met: float) -> None:
    """The wetted length over the length of all rows is the share of the need that was met."""
    assert sum(wetted(patch(met, 1.0))) / (ROWS * ROW_LENGTH) == pytest.approx(met, abs=STEP / 2 + 0.001)


def test_rows_are_wetted_one_after_the_other() -> None:
    """At five eighths of the need two rows of four are full and the third is half wet."""
    assert wetted(patch(0.625, 1.0)) == [ROW_LENGTH, ROW_LENGTH, ROW_LENGTH / 2]


@pytest.mark.parametrize(("supply", "stands"), [(1.0, False), (1.2, False), (1.21, True), (3.0, True)])
def test_a_puddle_stands_past_the_edge_above_120_percent(supply: float, *, stands: bool) -> None:
    """Too much water is seen, too; the rows are no wetter than wet."""
    drawing = patch(supply, 1.0)
    assert any(s["d"].startswith("M1 ") for s in shapes(drawing, "path")) is stands
    assert wetted(drawing) == [ROW_LENGTH] * ROWS


@pytest.mark.parametrize("coverage", [0.1, 0.5, 0.95, 1.0])
def test_the_solid_part_of_the_border_is_the_known_part_of_the_time(coverage: float) -> None:
    """Half the time known: half the border drawn solid, the rest dotted."""
    solid = next(s for s in shapes(patch(0.5, coverage), "rect") if s["fill"] == "none")
    assert float(solid["stroke-dasharray"].split()[0]) / EDGE == pytest.approx(coverage, abs=STEP / 2 + 0.001)


@pytest.mark.parametrize(("supply", "coverage"), [(None, None), (None, 0.9), (0.5, None), (0.5, 0.0)])
def test_nothing_known_is_a_bare_dashed_outline(supply: float | None, coverage: float | None) -> None:
    """Unknown is no dry field: no row is drawn, neither dry nor wet, and the border is dashed."""
    drawing = patch(supply, coverage)
    assert shapes(drawing, "path") == []
    (outline,) = shapes(drawing, "rect")
    assert outline["stroke"] == LIGHT.quiet
    assert outline["stroke-dasharray"]


def test_a_known_zero_is_dry_rows_in_a_border() -> None:
    """No water and known: four dry rows, which the unknown hasn't."""
    drawing = patch(0.0, 1.0)
    assert wetted(drawing) == []
    assert [line["d"].count("h") for line in shapes(drawing, "path")] == [ROWS]


@pytest.mark.parametrize(("averts", "height"), [(1.0, BAR_HEIGHT), (0.5, BAR_HEIGHT / 2), (None, None), (0.0, None), (0.01, None)])  # fmt: skip
def test_the_bar_is_what_a_visit_averts(averts: float | None, height: float | None) -> None:
    """Half of the most in view: half the height; unknown, none or next to none: no bar."""
    bars = [float(s["height"]) for s in shapes(patch(0.5, 1.0, averts), "rect") if s["fill"] == LIGHT.alarm]
    assert bars == ([] if height is None else [height])


def test_water_out_of_range_is_drawn_within_the_plot() -> None:
    """A figure below 0 is dry, one far above 1 is full: the shape stays itself."""
    assert wetted(patch(-1.0, 1.0)) == []
    assert wetted(patch(80.0, 2.0)) == [ROW_LENGTH] * ROWS


def test_a_patch_is_a_picture_of_its_own() -> None:
    """As an address it asks nothing of any server."""
    assert as_uri(patch(0.5, 1.0)).startswith("data:image/svg+xml;base64,")
    assert "http" not in patch(0.5, 1.0).replace("http://www.w3.org/2000/svg", "")
