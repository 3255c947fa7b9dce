"""Charts: what is drawn, what stays a gap, what is hatched, and that no name can run in them."""

import json
import re
from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

import pytest
from coloraide import Color

from dashboard.charts.blocks import blocks
from dashboard.charts.cans import cans
from dashboard.charts.energy import energy
from dashboard.charts.legend import SIGNS, legend
from dashboard.charts.overlap import overlap
from dashboard.charts.season import MOST_LANES, lanes, season
from dashboard.charts.template import CONFIG, DAY_MS, inert
from dashboard.charts.water_need import by_area, told, water_need
from dashboard.look import LIGHT
from pipeline.measures.seasons import STAGES
from tests.unit.dashboard.test_dashboard_maps import HOSTILE

MONDAY = date(2026, 8, 3)
PERIOD = (MONDAY, date(2026, 8, 30))
SITE = {"site_id": "S1", "name": "Kwacha", "latitude": 0.0, "longitude": 33.0}


def week(n: int, water: float | None = 70.0, need: float | None = 140.0, known: float = 1.0) -> dict[str, Any]:  # fmt: skip
    """A week on 2 ha."""
    start = MONDAY + timedelta(days=7 * n)
    return {
        "week_from": start,
        "week_to": start + timedelta(days=6),
        "water_m3": water,
        "need_m3": need,
        "water_m3_per_ha": None if water is None else water / 2,
        "need_m3_per_ha": None if need is None else need / 2,
        "water_coverage": 0.0 if water is None else known,
        "need_coverage": 0.0 if need is None else 1.0,
        "water_judged": water is not None and known >= 0.7,
        "need_judged": need is not None,
    }


def month(n: int = 8, **more: float | None) -> dict[str, Any]:
    return {
        "from_day": date(2026, n, 1),
        "to_day": date(2026, n, 28),
        "energy_kwh_per_m3": 0.15,
        "lift_efficiency": 0.4,
        "water_coverage": 1.0,
        "energy_coverage": 1.0,
        "uptime": 0.8,
        "uptime_low": 0.6,
        "uptime_high": 0.85,
        "uptime_unknown": 0.25,
    } | more


def stage(**more: Any) -> dict[str, Any]:
    return {
        "site_id": "S1",
        "block_id": "B1",
        "crop": "maize",
        "fallow": False,
        "planted_on": MONDAY,
        "last_day": PERIOD[1],
        "stage": "mid",
        "from_day": MONDAY,
        "to_day": PERIOD[1],
    } | more


def trace(drawn: Any, name: str) -> Any:
    return next(t for t in drawn.data if t.name == name)


def test_a_weeks_water_stands_within_its_need_in_m3_per_ha() -> None:
    """70 of 140 m³ on 2 ha: 35 in 70 m³/ha, the axis says so; the water's bar is the narrower."""
    drawn = water_need([week(0)], PERIOD)
    need, water = trace(drawn, "need_m3_per_ha"), trace(drawn, "water_m3_per_ha")
    assert (list(need.y), list(water.y)) == ([70], [35])
    assert water.width[0] < need.width[0] <= 7 * DAY_MS
    assert drawn.layout.annotations[0].text == "m³/ha in a week"


def test_what_is_not_known_of_a_week_is_a_gap_and_no_nought() -> None:
    """Of three weeks one lacks water, one need: two bars each, and a dashed line under the one without water."""
    drawn = water_need([week(0), week(1, water=None), week(2, need=None)], PERIOD)
    water, need = trace(drawn, "water_m3_per_ha"), trace(drawn, "need_m3_per_ha")
    assert list(water.y) == [35, 35]
    assert list(need.y) == [70, 70]
    unknown = trace(drawn, "unknown")
    assert list(unknown.x) == [date(2026, 8, 10), date(2026, 8, 16), None]
    assert "dash" in unknown.line.to_plotly_json()


def test_a_week_that_got_no_water_is_a_bar_of_nought() -> None:
    """Known and 0 isn't unknown: it has a bar and no dashed line."""
    drawn = water_need([week(0, water=0.0)], PERIOD)
    assert list(trace(drawn, "water_m3_per_ha").y) == [0]
    assert list(trace(drawn, "unknown").x) == []


def test_a_week_of_which_too_little_is_known_is_hatched() -> None:
    """Half known is hatched on paper, wholly known isn't."""
    pattern = trace(water_need([week(0, known=0.5), week(1)], PERIOD), "water_m3_per_ha").marker.pattern
    assert list(pattern.shape) == ["/", ""]
    assert pattern.bgcolor == LIGHT.paper


def test_without_an_area_the_axis_says_m3() -> None:
    """No hectare on record: amounts are drawn, in m³."""
    bare = week(0) | {"water_m3_per_ha": None, "need_m3_per_ha": None}
    assert not by_area([bare])
    drawn = water_need([bare], PERIOD)
    assert list(trace(drawn, "water_m3").y) == [70]
    assert drawn.layout.annotations[0].text == "m³ in a week"


def test_a_week_is_told_with_its_units_and_what_is_known() -> None:
    """Who touches a bar reads days, amounts and shares; an unknown one is a word."""
    assert told(week(0, need=None)) == (
        "2026-08-03 to 2026-08-09<br>Pumped: 70.0 m³; 100 % of the time known<br>Needed: unknown; 0 % of the time known"
    )


def test_a_month_without_the_figure_is_a_gap_and_one_hardly_known_is_hatched() -> None:
    """Three months: one lacks both figures, one has half of its energy known."""
    months = [month(6), month(7, energy_kwh_per_m3=None, lift_efficiency=None), month(8, energy_coverage=0.5)]
    drawn = energy(months, (date(2026, 6, 1), date(2026, 8, 28)), 0.7)
    per_m3, lift = trace(drawn, "energy_kwh_per_m3"), trace(drawn, "lift_efficiency")
    assert (list(per_m3.y), list(lift.y)) == ([0.15, 0.15], [0.4, 0.4])
    assert list(per_m3.marker.pattern.shape) == ["", "/"]
    assert list(per_m3.text) == ["0.150", "0.150"]
    assert [a.text for a in drawn.layout.annotations] == ["Energy per m³, kWh/m³", "Lift efficiency"]
    assert list(drawn.layout.yaxis2.ticktext) == ["0 %", "50 %", "100 %"]


def test_an_efficiency_over_all_that_can_be_is_still_seen() -> None:
    """A broken meter makes 260 %: the axis goes that far, it isn't cut off."""
    drawn = energy([month(lift_efficiency=2.6)], PERIOD, 0.7)
    assert drawn.layout.yaxis2.range[1] > 2.6
    assert "200 %" in drawn.layout.yaxis2.ticktext


def test_a_months_service_time_is_up_unknown_and_down() -> None:
    """60 % up, 25 % unknown above it, 15 % down at the top; the unknown is hatched, the down is crossed."""
    drawn = season([], [month()], PERIOD)
    up, unknown, down = (trace(drawn, name) for name in ("up", "unknown", "down"))
    assert (up.y[0], unknown.base[0], unknown.y[0], down.base[0]) == (0.6, 0.6, 0.25, 0.85)
    assert down.y[0] == pytest.approx(0.15)
    assert [t.marker.pattern.shape[0] for t in (up, unknown, down)] == ["", "/", "x"]
    assert "Uptime: 80 %" in up.hovertext[0]


def test_a_month_without_service_time_has_no_strip() -> None:
    """A pause isn't down, and it isn't unknown."""
    none = dict.fromkeys(("uptime", "uptime_low", "uptime_high", "uptime_unknown"))
    assert len(trace(season([], [month(**none)], PERIOD), "up").y) == 0


def test_crops_of_a_block_follow_in_one_lane_and_stand_beside_each_other_in_two() -> None:
    """Maize, then beans after it, onion beside the maize: two lanes; another block has its own."""
    mid = MONDAY + timedelta(days=10)
    rows = [
        stage(to_day=mid),
        stage(crop="beans", planted_on=mid + timedelta(days=1), from_day=mid + timedelta(days=1)),
        stage(crop="onion"),
        stage(block_id="B2"),
    ]
    assert [[r["crop"] for r in lane] for lane in lanes(rows)] == [["maize", "beans"], ["onion"], ["maize"]]
    drawn = season(rows, [], PERIOD)
    assert list(drawn.layout.yaxis.ticktext) == ["B1", "B1", "B2"]
    assert list(trace(drawn, "crops").text) == ["maize", "beans", "onion", "maize"]


def test_a_stage_is_cut_to_the_period_and_one_without_end_goes_on() -> None:
    """Planted before, no last day known: the bar spans the whole period."""
    drawn = season([stage(from_day=date(2026, 1, 1), to_day=None, stage=None)], [], PERIOD)
    bar = drawn.data[0]
    assert (bar.base[0], bar.x[0]) == (str(MONDAY), 28 * DAY_MS)
    assert list(bar.marker.pattern.shape) == ["/"]  # the stage isn't known
    assert "not known" in bar.hovertext[0]


def test_no_more_lanes_than_the_paper_holds() -> None:
    """Twenty blocks: as many lanes as there is room for; the page says how many are left out."""
    rows = [stage(block_id=f"B{n:02}") for n in range(20)]
    assert len(lanes(rows)) == 20
    assert len(season(rows, [], PERIOD).layout.yaxis.tickvals) == MOST_LANES


def square(west: float, south: float, size: float = 0.001) -> str:
    ring = [[west, south], [west + size, south], [west + size, south + size], [west, south + size], [west, south]]  # fmt: skip
    return json.dumps({"type": "Polygon", "coordinates": [ring]})


def test_blocks_lie_in_metres_from_the_sites_point() -> None:
    """A thousandth of a degree at the equator is 111 m, eastwards and northwards."""
    drawn = blocks([{"block_id": "B1", "area_ha": 1.24, "shape": square(33.001, 0.001)}], SITE)
    outline = trace(drawn, "block")
    assert (min(x for x in outline.x if x is not None), max(x for x in outline.x if x is not None)) == (
        pytest.approx(111.2, abs=0.1),
        pytest.approx(222.4, abs=0.1),
    )
    assert outline.line.color == LIGHT.soil
    assert list(trace(drawn, "ids").text) == ["<b>B1</b><br>1.24 ha"]
    assert list(trace(drawn, "metres").text) == [" 50 m"]
    assert drawn.layout.yaxis.scaleanchor == "x"


def test_a_site_without_outlines_is_its_point_and_a_scale() -> None:
    """Blocks without a shape are no shapes, and the plan isn't zoomed in without bound."""
    drawn = blocks([{"block_id": "B1", "area_ha": 1.0, "shape": None}], SITE)
    assert not any(t.name == "block" for t in drawn.data)
    assert drawn.layout.xaxis.range[1] - drawn.layout.xaxis.range[0] >= 100
    assert list(trace(drawn, "site").x) == [0]


def test_a_hole_in_a_block_is_drawn_as_one() -> None:
    """Two rings: the outline, then the hole, with a break between."""
    outer, inner = (json.loads(square(33.0, 0.0, size))["coordinates"][0] for size in (0.002, 0.001))
    shape = json.dumps({"type": "Polygon", "coordinates": [outer, inner]})
    drawn = blocks([{"block_id": "B1", "area_ha": 1.0, "shape": shape}], SITE)
    assert list(trace(drawn, "block").x).count(None) == 2


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_opens_no_tag_in_a_chart(name: str) -> None:
    """Crop, block and site: every `<` of theirs is written out, wherever a chart shows them."""
    figures = [
        season([stage(crop=name, block_id=name)], [month()], PERIOD),
        blocks([{"block_id": name, "area_ha": 1.0, "shape": square(33.0, 0.0)}], SITE | {"name": name}),
    ]
    for drawn in figures:
        for text in shown(json.loads(drawn.to_json())["data"]):
            bare = text.replace("<br>", "").replace("<b>", "", 1).replace("</b>", "", 1)
            assert "<" not in bare
            assert len(text) < 200


def shown(data: list[dict[str, Any]]) -> list[str]:
    """Every text of a figure's traces."""
    found = [t for d in data for key in ("text", "hovertext") for t in (d.get(key) if isinstance(d.get(key), list) else [d.get(key)])]  # fmt: skip
    return [t for t in found if t]


def test_an_inert_text_reads_as_it_was_written() -> None:
    """A chart turns &lt; back into a letter: what is cut is cut before it is made inert."""
    assert inert("<a>" * 20, 5) == "&lt;a&gt;&lt;…"
    assert inert("two\nlines\tone") == "two lines one"


def test_a_chart_has_no_bar_of_buttons_and_lets_a_phone_scroll() -> None:
    """No mode bar, no zoom, no drag: a finger on a chart moves the page."""
    drawn = water_need([week(0)], PERIOD)
    assert CONFIG["displayModeBar"] is False
    template = drawn.layout.template.layout
    assert (template.dragmode, template.xaxis.fixedrange, template.yaxis.fixedrange) == (False, True, True)
    assert "Atkinson Hyperlegible" in template.font.family


def test_a_chart_has_no_colour_that_would_stay_light_in_the_dark() -> None:
    """Of each chart every colour is one that the page's style knows a dark one for."""
    made = [
        water_need([week(0, known=0.5), week(1, water=None)], PERIOD),
        energy([month(energy_coverage=0.5)], PERIOD, 0.7),
        season([stage(stage=name, block_id=name) for name in STAGES] + [stage(stage=None), stage(fallow=True)], [month()], PERIOD),
        blocks([{"block_id": "B1", "area_ha": 1.24, "shape": square(33.001, 0.001)}], SITE),
        cans({"depths_mm": [0.0, None, 3.0, 4.0], "low_cans": [0], "mean_depth_mm": 2.3, "low_quarter_mm": 0.5}),
        overlap(3.0, 2.4),
    ]  # fmt: skip
    known = {Color(colour).to_string(hex=True) for colour in asdict(LIGHT).values()}
    for drawn in made:
        found = re.findall(r'"(#[0-9a-fA-F]{3,8}|rgba?\([^)]*\))"', drawn.to_json())
        assert len(found) > 5
        opaque = [Color(colour) for colour in found if Color(colour).alpha()]
        assert {colour.set("alpha", 1).to_string(hex=True) for colour in opaque} <= known


def test_a_legend_shows_each_sign_and_its_escaped_words() -> None:
    """Every sign there is can be drawn; words are text."""
    entries = [
        *((sign, "<b>") for sign in SIGNS),
        ("dashed", "x"),
        ("gap", "x"),
        ("site", "x"),
        ("line", "x"),
        ("dash", "x"),
        (0.5, "x"),
    ]
    made = legend(entries)
    assert made.count("<img") == len(entries)
    assert "<b>" not in made
