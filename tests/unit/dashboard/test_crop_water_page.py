"""The page of the crops' water: its sentence, its pictures and its table, with all known, with little and with nothing."""

import json
import re
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from dashboard.access import Viewer
from dashboard.charts.fields import Field, fields, labels, runs, state
from dashboard.charts.root_zone import root_zone, told
from dashboard.charts.stress_days import stress_days
from dashboard.crop_water.answer import answer
from dashboard.crop_water.district import HELD
from dashboard.crop_water.tables import ORDERS, ordered, plantings_rows
from dashboard.crop_water.week import planned
from pipeline.cli import main
from pipeline.config import Settings
from pipeline.errors import SunrillError
from pipeline.measures import run
from pipeline.scheduling import week_of
from pipeline.scheduling.table import as_table
from pipeline.store import Store
from tests.unit.dashboard.conftest import FIRST, LAST, opened, texts, write_csv
from tests.unit.dashboard.test_dashboard_maps import HOSTILE
from tests.unit.dashboard.test_site_page import bodies, charts, take

WHOLE = {"from": str(FIRST), "to": str(LAST)}
PERIOD = (date(2026, 8, 1), date(2026, 8, 31))
Row = dict[str, Any]


def planting(block: str = "B", least: int = 0, most: int = 0, known: int = 30, **more: Any) -> Row:
    """Thirty days of maize."""
    return {
        "site_id": "S", "block_id": block, "crop": "maize", "planted_on": PERIOD[0], "from_day": PERIOD[0],
        "to_day": PERIOD[0] + timedelta(days=29), "days": 30, "need_days": 30, "rain_days": 30, "irrigation_days": known,
        "irrigation_known_on": PERIOD[0] + timedelta(days=known - 1) if known else None, "blocks_on_water": 1,
        "stress_days_least": least, "stress_days_most": most, "yield_loss_most": None, "percolation_least_m3": None,
    } | more  # fmt: skip


def without(why: str) -> Row:
    return {"site_id": "S", "block_id": "C", "crop": "sorrel", "planted_on": PERIOD[0], "last_day": None, "why": why}  # fmt: skip


def day(n: int, wettest: float = 10.0, driest: float = 10.0, **more: Any) -> Row:
    """A day on which 20 mm are readily available and 40 mm in all."""
    return {
        "site_id": "S", "own_block": "B", "crop": "maize", "planted_on": PERIOD[0], "blocks": ["B"],
        "day": PERIOD[0] + timedelta(days=n), "rain_mm": 0.0, "irrigation_mm": 3.0, "raw_mm": 20.0, "taw_mm": 40.0,
        "depletion_wettest_mm": wettest, "depletion_driest_mm": driest,
        "stress_sure_share": float(wettest > 20), "stress_possible_share": float(driest > 20),
    } | more  # fmt: skip


def said(plantings: list[Row], bare: list[Row] | None = None) -> str:
    return answer(plantings, bare or [], PERIOD, Settings())


def one_field(*days: Row) -> Field:
    (field,) = fields(list(days), [])
    return field


def traces(drawn: Any) -> dict[str, Any]:
    return {trace.name: trace for trace in drawn.data}


def test_the_sentence_counts_every_planting_once() -> None:
    """Two surely, one perhaps, one spared, one silent, one without roots: six."""
    found = [planting("A", 23, 31), planting("B", 2, 2), planting("C", 0, 6), planting("D"), planting("E", 0, 30, 9)]  # fmt: skip
    assert said(found, [without("roots")]) == (
        "Of 6 plantings that stood from 2026-08-01 to 2026-08-31, 2 surely lacked water (maize in block A, 23 to 31 days; "
        "maize in block B, 2 days), one may have (maize in block C, up to 6 days), one did not lack any. "
        "For 2 nobody can say: 1 – no meter reading since 2026-08-09; 1 – how deep the crop's roots go is not on record."
    )


def test_one_planting_and_all_alike_are_said_plainly() -> None:
    """No count where one stands for all; four of five are named by their worst three."""
    assert said([planting()]).startswith("The one planting that stood")
    assert said([planting()]).endswith("did not lack water.")
    assert "all surely lacked water (maize in block A, 4 days; maize in block B, 3 days; maize in block C, 2 days; and one more)" in said(
        [planting(block, n, n) for block, n in zip("DCBA", (1, 2, 3, 4), strict=True)]
    )  # fmt: skip


def test_where_nobody_knows_of_any_the_sentence_says_only_that() -> None:
    """Silence is no verdict, and it is told what is missing."""
    assert said([planting(most=30, known=0, irrigation_known_on=None)]) == (
        "One planting stood from 2026-08-01 to 2026-08-31. Nobody can say whether it lacked water: no meter reading tells of the water."
    )  # fmt: skip
    assert "only 20 % of the days" in said([planting(most=9, known=6, irrigation_known_on=PERIOD[1])])


def test_what_is_shared_is_said_to_be() -> None:
    """On one meter all of it hangs on how farmers shared the water."""
    shared = said([planting("A", 3, 3, blocks_on_water=2), planting("B", blocks_on_water=2)])
    assert "went evenly over its blocks (A and B); nobody knows how farmers shared it" in shared
    assert "evenly" not in said([planting("A", 3, 3)])


def test_a_silent_planting_that_lacked_water_in_any_case_did() -> None:
    """Even the wettest course is too dry: no reading could change that."""
    assert "surely lacked water" in said([planting(least=2, most=30, known=5)])


def test_stress_is_solid_where_it_is_sure_and_hatched_where_it_may_be() -> None:
    """Day 1 enough, day 2 perhaps (10 to 30 mm), day 3 surely (25 to 35 mm), below 20 mm."""
    drawn = traces(root_zone(one_field(day(0), day(1, 10, 30), day(2, 25, 35)), PERIOD, {"rain": 1, "irrigation": 4}))  # fmt: skip
    sure, possible = drawn["stress_sure"], drawn["stress_possible"]
    assert [y for y in sure.y if y is not None] == [20, 20, 20, 25, 25, 25]
    assert [y for y in possible.y if y is not None] == [20, 20, 25, 25, 35, 35, 30, 30]
    assert (sure.fillpattern.shape, possible.fillpattern.shape) == (None, "/")


def test_missing_water_is_drawn_downwards_between_its_courses() -> None:
    """0 on top, and the roots' reach within the axis; the band lies between the two lines."""
    made = root_zone(one_field(day(0, 5, 15)), PERIOD, {"rain": 1, "irrigation": 4})
    bottom, top = made.layout.yaxis3.range
    assert top == 0
    assert bottom > 40
    drawn = traces(made)
    assert drawn["depletion_driest_mm"].fill == "tonexty"
    assert (drawn["depletion_wettest_mm"].y, drawn["depletion_driest_mm"].y) == ((5,), (15,))
    assert (drawn["raw_mm"].y, drawn["taw_mm"].y) == ((20,), (40,))


def test_a_silent_day_is_a_dashed_line_and_no_bar() -> None:
    """Unknown is not 0: irrigation of the second day, not its rain."""
    drawn = traces(
        root_zone(one_field(day(0), day(1, irrigation_mm=None)), PERIOD, {"rain": 1, "irrigation": 4})
    )
    assert drawn["irrigation"].y == (3.0, None)
    assert len(drawn["irrigation_unknown"].x) == 3
    assert drawn["rain_unknown"].x == ()
    assert "Irrigation unknown" in told(day(1, irrigation_mm=None))


def test_a_day_of_unknown_need_is_neither_stress_nor_enough() -> None:
    """Without the need there is no line to hold the water against."""
    unknown = day(0, raw_mm=None, stress_sure_share=None, stress_possible_share=None)
    assert state(unknown) == "unknown"
    drawn = traces(root_zone(one_field(unknown), PERIOD, {"rain": 1, "irrigation": 4}))
    assert drawn["stress_sure"].x == drawn["stress_possible"].x == ()


def test_every_axis_has_its_unit() -> None:
    """Each of the three panels says what it measures, in mm or mm a day."""
    made = root_zone(one_field(day(0)), PERIOD, {"rain": 1, "irrigation": 4})
    units = [note.text for note in made.layout.annotations[:3]]
    assert units == ["rain, mm a day", "irrigation at the roots, mm a day", "missing from the root zone, mm"]


def test_plantings_of_a_block_stand_one_after_the_other_and_others_beside() -> None:
    """Maize, then beans on the same block: one field; tomatoes at the same time: another; shared ones first."""
    later = day(10, crop="beans", planted_on=date(2026, 8, 11))
    beside = day(0, crop="tomato")
    shared = day(0, crop="onion", own_block=None, blocks=["C", "D"])
    found = fields([day(0), later, beside, shared], [])
    assert [field.crops for field in found] == [("onion",), ("maize", "beans"), ("tomato",)]
    assert [field.shares for field in found] == [True, False, False]
    assert found[0].blocks == ("C", "D")


def test_days_alike_are_one_stretch_and_a_gap_ends_it() -> None:
    """Two days of enough, one of stress, and after a day off the record one more."""
    days = [day(0), day(1), day(2, 30, 30), day(4, 30, 30)]
    assert [(kind, start.day, end.day) for kind, start, end in runs(days, state)] == [
        ("enough", 1, 2), ("sure", 3, 3), ("sure", 5, 5),
    ]  # fmt: skip


def test_a_name_too_long_for_its_days_reaches_back() -> None:
    """Two days at the end of a month have no room for a name: it ends where they end."""
    (label,) = labels(one_field(day(29), day(30)).groups, PERIOD)
    assert (label.ends, label.on, label.letters >= len("maize")) == (True, date(2026, 9, 1), True)


def test_at_a_glance_sure_is_filled_and_perhaps_is_hatched() -> None:
    """One lane, a bar a stretch; the silent day is dashed below it."""
    field = one_field(day(0), day(1, 10, 30), day(2, 30, 30, irrigation_mm=None))
    drawn = traces(stress_days([field], PERIOD))
    assert drawn["sure"].marker.pattern.shape == ("",)
    assert drawn["possible"].marker.pattern.shape == ("/",)
    assert [len(drawn[kind].x) for kind in ("enough", "possible", "sure", "unknown")] == [1, 1, 1, 0]
    assert len(drawn["silent"].x) == 3


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_can_run_in_a_chart(name: str) -> None:
    """A tag in a crop or a block is text, in labels and under the pointer, and cut."""
    field = one_field(day(0, crop=name, own_block=name, blocks=[name], irrigation_mm=None))
    for drawn in (root_zone(field, PERIOD, {"rain": 1, "irrigation": 4}), stress_days([field], PERIOD)):
        made = json.dumps(json.loads(drawn.to_json()), ensure_ascii=False).replace("<br>", "")
        assert not re.search(r"<[a-zA-Z/!]", made)
        assert "A" * 60 not in made


def test_the_table_is_ordered_as_chosen_and_the_unknown_stands_last() -> None:
    """By stress the worst first; by yield the one without a figure last; each order takes every row."""
    found = [planting("A", 0, 4, yield_loss_most=None), planting("B", 9, 9, yield_loss_most=0.2)]
    for by in ORDERS:
        assert len(ordered(found, by)) == 2
    assert [row["block_id"] for row in ordered(found, "stress")] == ["B", "A"]
    assert [row["block_id"] for row in ordered(found, "yield")] == ["B", "A"]
    assert [row["block_id"] for row in ordered(found, "block")] == ["A", "B"]


def test_the_file_has_every_planting_with_the_same_columns() -> None:
    """Those without a balance too, with what is missing."""
    rows = plantings_rows([planting("A", 1, 1)], [without("weather")], Settings())
    assert [(row["verdict"], row["why"]) for row in rows] == [("lacked", None), ("unseen", "weather")]
    assert len({tuple(row) for row in rows}) == 1
    assert [row["why"] for row in plantings_rows([], [without("crop")], Settings())] == ["crop"]


def page(**address: str) -> AppTest:
    return opened("crop_water", **address)


def whole(test: AppTest) -> str:
    return " ".join(" ".join(texts(test)).split())


@pytest.mark.usefixtures("shown")
def test_the_page_answers_and_shows_what_it_rests_on() -> None:
    """Sentence, method, a glance, a picture, its numbers, the planting, four files, the sources."""
    test = page(site="N2", **WHOLE)
    told = whole(test)
    assert "Mitengo N2 · North" in told
    assert "The one planting that stood from 2026-08-01 to 2026-09-30" in told
    assert "FAO-56, chapter 8" in told
    assert "Nobody measured it in the soil" in told
    assert "the programme's default" in told
    assert len(charts(test)) == 2
    assert bodies(test).count('data-numbers="root_zone"') == 1
    assert len(test.get("download_button")) == 4
    assert bodies(test).index('href="#week"') < bodies(test).index('id="week"')


@pytest.mark.usefixtures("shown")
def test_without_a_site_or_with_one_that_is_gone_one_is_picked() -> None:
    """A sentence, the field, and the way to the page that has all sites beside one another."""
    bare = page()
    assert any(t.startswith("Pick a site by its name to see whether") for t in texts(bare))
    assert re.search(r'href="\./\?[^"]*"><bdi>All sites', bodies(bare))
    gone = page(site="<script>window.ran=1</script>")
    assert "That site isn't on record" in whole(gone)
    assert "<script" not in bodies(gone)


@pytest.mark.usefixtures("shown")
def test_a_site_outside_the_scope_is_as_gone(monkeypatch: pytest.MonkeyPatch) -> None:
    """A northerner learns nothing of a site in the south."""
    monkeypatch.setattr("dashboard.access.viewer", lambda: Viewer("northerner", ("N1", "N2")))
    told = whole(page(site="S1"))
    assert "That site isn't on record" in told
    assert "Chigwa" not in told


def test_blocks_on_one_meter_are_one_picture(own: Store, tmp_path: Path) -> None:
    """A second block of maize of the same day: one picture of both, and the sentence that nobody knows."""
    take(own, tmp_path / "more", blocks="site_id|block_id|area_ha|irrigation_method\nN2|C|1|furrow",
         plantings="site_id|block_id|crop|planted_on\nN2|C|maize|2026-07-01")  # fmt: skip
    test = page(site="N2", **WHOLE)
    told = whole(test)
    assert "Blocks B and C: maize" in told
    assert told.count("if the water was spread evenly") == 2  # in the table, a row a planting
    for order in ORDERS:
        test.selectbox(key="crop_water.order").select(order).run()
        assert [e.value for e in test.exception] == []
        assert whole(test).count("if the water was spread evenly") == 2
    assert "Blocks B and C get their water through one meter. Nobody knows how farmers shared it." in told
    assert "Of 2 plantings" in told
    assert len(charts(test)) == 2


def test_a_crop_of_unknown_roots_is_told_with_the_way_to_mend_it(own: Store, tmp_path: Path) -> None:
    """It counts as unseen in the sentence, and the table names it."""
    write_csv(tmp_path, "blocks", "site_id|block_id|area_ha|irrigation_method\nN2|C|1|furrow")
    write_csv(tmp_path, "plantings", "site_id|block_id|crop|planted_on\nN2|C|moonflower|2026-08-10")
    report = own.load([tmp_path / "blocks.csv", tmp_path / "plantings.csv"])
    assert [fault.rule for fault in report.faults] == ["unknown_crop"]
    run.refresh(own)
    told = whole(page(site="N2", **WHOLE))
    assert "Of 2 plantings" in told
    assert "nobody can say: the crop's values are not on record" in told
    assert "moonflower in block C, planted 2026-08-10. Neither its Kc nor its days are known. Add a row moonflower" in told  # fmt: skip


def test_where_no_crop_stood_the_page_leads_to_days_with_one(own: Store, tmp_path: Path) -> None:
    """Cleared in August: September has none, and a link to the days before."""
    take(own, tmp_path / "more", plantings="site_id|block_id|crop|planted_on|cleared_on\nN2|B|maize|2026-07-01|2026-08-20")  # fmt: skip
    test = page(site="N2", **{"from": "2026-09-01", "to": "2026-09-30"})
    assert "No crop stood on this site from 2026-09-01 to 2026-09-30." in whole(test)
    assert "Look at 2026-08-01 to 2026-08-19" in whole(test)
    assert charts(test) == []


def test_without_weather_the_plantings_are_told_as_unseen(own: Store, tmp_path: Path) -> None:
    """A planting after the last day of the weather: on record, and nothing can be computed of it."""
    take(own, tmp_path / "more", maintenance="record_id|site_id|kind|reported_at\nJ|N2|inspection|2026-10-20 08:00",
         plantings="site_id|block_id|crop|planted_on|cleared_on\nN2|B|maize|2026-07-01|2026-08-20\nN2|B|beans|2026-10-05|")  # fmt: skip
    told = whole(page(site="N2", **{"from": "2026-10-01", "to": "2026-10-20"}))
    assert "Nobody can say whether it lacked water: no weather of those days is on record." in told
    assert "Load the table weather with a station near the site." in told


def test_the_sites_page_leads_to_it_and_back(shown: Store) -> None:
    """Each has a link to the other that keeps site and period."""
    assert shown
    there = bodies(opened("site", site="N2", **WHOLE))
    assert re.search(r'href="crop_water\?[^"]*site=N2', there)
    assert re.search(r'href="site\?[^"]*site=N2', bodies(page(site="N2", **WHOLE)))


def test_the_farmers_week_is_the_commands(own: Store, tmp_path: Path) -> None:
    """The rows on the page are those that `sunrill schedule` writes, and the sheet is there as PDF and picture."""
    told = "site_id|name|latitude|longitude|pump_rated_power_kw|pv_capacity_kwp\nN2|Mitengo|-13.3|33.6|2.2|3"
    flows = "site_id|block_id|area_ha|design_flow_m3h\nN2|B|1|8"
    take(own, tmp_path / "told", sites=told, blocks=flows)
    page = opened("crop_water", site="N2", **WHOLE)
    (picked,) = [field for field in page.date_input if field.label == "Week from"]
    with own.read() as reader:
        found = week_of(reader, "N2", picked.value)
    assert picked.value > LAST
    assert picked.value.weekday() == 0
    sheet = planned(own.manifest().number, Viewer("test"), "N2", picked.value, "en")  # type: ignore[union-attr]
    assert sheet.rows == as_table([found]).to_pylist()
    assert sheet.pdf.startswith(b"%PDF")
    assert sheet.picture.startswith(b"\x89PNG")
    text = " ".join(texts(page))
    assert all(sentence in text for sentence in ("not for drinking", f"{found.given_m3:,.0f} m³"))


def test_a_districts_sheets_are_the_commands(own: Store, tmp_path: Path) -> None:
    """One ZIP with what `sunrill wall-sheets --district` writes; who gets none is named with the reason."""
    told = "site_id|name|latitude|longitude|pump_rated_power_kw|pv_capacity_kwp\nN2|Mitengo|-13.3|33.6|2.2|3"
    take(own, tmp_path / "told", sites=told, blocks="site_id|block_id|area_ha|design_flow_m3h\nN2|B|1|8")
    page = opened("crop_water", site="N2", **WHOLE)
    (week,) = [field.value for field in page.date_input if field.label == "Week from"]
    page.button(key="district.make").click().run()
    assert not page.exception
    packed = page.session_state[HELD].file
    assert "One sheet of 2 is made." in " ".join(texts(page))
    assert re.search(r"<li>Kwacha \(N1\): .*pv_capacity_kwp", bodies(page))
    out = tmp_path / "out"
    command = [
        "wall-sheets",
        "--week",
        str(week),
        "--district",
        "North",
        "--store",
        str(own.path),
        "--out",
        str(out),
    ]
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 0, done.output
    with ZipFile(BytesIO(packed)) as bundle:
        assert {name: bundle.read(name) for name in bundle.namelist()} == {
            path.name: path.read_bytes() for path in out.iterdir()
        }
    another = next(field for field in page.date_input if field.label == "Week from")
    another.set_value(week + timedelta(days=7)).run()
    assert "One sheet of 2 is made." not in " ".join(texts(page))


@pytest.mark.usefixtures("shown")
def test_a_site_that_cant_be_planned_says_what_is_missing() -> None:
    """Neither a log nor the size of its array: nobody knows what the pump delivers, and how to mend that."""
    page = opened("crop_water", site="N2", **WHOLE)
    assert "missing: pump_rated_power_kw, pv_capacity_kwp in the table of sites" in bodies(page)


@pytest.mark.usefixtures("shown")
def test_week_and_language_stand_in_the_address() -> None:
    """A link shows the same sheet; a week that nobody chose follows the period."""
    page = opened("crop_water", site="N2", week="2026-10-12", language="ny", **WHOLE)
    (picked,) = [field for field in page.date_input if field.label == "Week from"]
    assert picked.value == date(2026, 10, 12)
    assert page.selectbox(key="chosen.language").value == "ny"
    page.selectbox(key="chosen.language").select("sw").run()
    assert (page.query_params["week"], page.query_params["language"]) == ("2026-10-12", "sw")
    page = opened("crop_water", site="N2", **{"from": "2026-08-01", "to": "2026-09-10"})
    (picked,) = [field for field in page.date_input if field.label == "Week from"]
    assert picked.value == date(2026, 9, 14)


def test_another_scopes_week_is_not_planned(shown: Store) -> None:
    """A viewer of N1 gets no week of N2."""
    number = shown.manifest().number  # type: ignore[union-attr]
    with pytest.raises(SunrillError):
        planned(number, Viewer("other", ("N1",)), "N2", date(2026, 11, 2), "en")
