"""A season's weeks and stages: sums by hand, gaps where nothing is known, and the same as the figures."""

from datetime import date, timedelta

import pytest

from pipeline.measures.figures import indicators
from pipeline.measures.indicators import BY_NAME
from pipeline.measures.seasons import planting_stages, site_weeks

MONDAY, SUNDAY_AFTER = date(2026, 6, 1), date(2026, 6, 14)
SITES = "site_id|name|latitude|longitude|commissioned_on\nA|a|-13|33|2025-01-01"
BLOCKS = "site_id|block_id|area_ha\nA|B1|2"
DAY_HEAD = "site_id|day|water_m3|water_cover|long_water_m3|long_water_cover\n"
NEED_HEAD = "site_id|day|known|need_m3\n"


def days(start: date, n: int) -> list[date]:
    return [start + timedelta(days=k) for k in range(n)]


def water(*rows: str) -> str:
    return DAY_HEAD + "\n".join(rows)


def need(*rows: str) -> str:
    return NEED_HEAD + "\n".join(rows)


def test_a_week_sums_its_days_and_its_area(given):
    """Seven days of 10 m³ and 20 m³ of need on 2 ha: 35 and 70 m³/ha, half of the need."""
    reader = given(
        sites=SITES,
        blocks=BLOCKS,
        site_days=water(*(f"A|{day}|10|1||" for day in days(MONDAY, 7))),
        site_need_days=need(*(f"A|{day}|true|20" for day in days(MONDAY, 7))),
    )
    first, second = site_weeks(reader, MONDAY, SUNDAY_AFTER).to_pylist()
    assert (first["week_from"], first["week_to"]) == (MONDAY, date(2026, 6, 7))
    assert (first["water_m3"], first["need_m3"]) == (70, 140)
    assert (first["water_m3_per_ha"], first["need_m3_per_ha"]) == (35, 70)
    assert (first["relative_irrigation_supply"], first["supply_coverage"]) == (0.5, 1)
    assert first["water_judged"]
    assert first["need_judged"]
    # of the second week nothing is known: no 0
    assert (second["water_m3"], second["need_m3"], second["relative_irrigation_supply"]) == (None, None, None)
    assert (second["water_coverage"], second["need_coverage"]) == (0, 0)
    assert not second["water_judged"]


def test_a_week_of_which_less_than_the_judged_share_is_known_is_told(given):
    """Four of seven days are less than 0.7 of the week, five are not."""
    reader = given(
        sites=SITES,
        blocks=BLOCKS,
        site_days=water(
            *(f"A|{day}|10|1||" for day in [*days(MONDAY, 4), *days(MONDAY + timedelta(days=7), 5)])
        ),
    )
    low, enough = site_weeks(reader, MONDAY, SUNDAY_AFTER).to_pylist()
    assert (low["water_m3"], low["water_judged"]) == (40, False)
    assert (enough["water_m3"], enough["water_judged"]) == (50, True)


def test_a_day_without_known_need_asks_nothing_of_the_ratio(given):
    """Need known on one of two watered days, of which half is covered: 5 m³ over half of 20 m³."""
    reader = given(
        sites=SITES,
        blocks=BLOCKS,
        site_days=water(f"A|{MONDAY}|5|0.5||", "A|2026-06-02|10|1||"),
        site_need_days=need(f"A|{MONDAY}|true|20", "A|2026-06-02|false|"),
    )
    week = site_weeks(reader, MONDAY, date(2026, 6, 7)).to_pylist()[0]
    assert week["relative_irrigation_supply"] == 0.5
    assert week["supply_coverage"] == pytest.approx(0.5 / 7)


def test_a_long_interval_is_in_no_week_but_is_told(given):
    """What one reading after two months shows can't be laid to a week: unknown, with its days counted."""
    reader = given(sites=SITES, blocks=BLOCKS, site_days=water(f"A|{MONDAY}||0|50|1"))
    week = site_weeks(reader, MONDAY, MONDAY + timedelta(days=60)).to_pylist()[0]
    assert (week["water_m3"], week["long_water_days"]) == (None, 1)


def test_weeks_are_cut_where_period_and_service_begin_and_end(given):
    """Commissioned on Wednesday, taken out on the next Tuesday, asked to Sunday: five days and one."""
    reader = given(
        sites="site_id|name|latitude|longitude|commissioned_on|decommissioned_on\nA|a|-13|33|2026-06-03|2026-06-09"
    )
    weeks = site_weeks(reader, MONDAY, SUNDAY_AFTER).to_pylist()
    assert [(w["week_from"], w["week_to"]) for w in weeks] == [
        (date(2026, 6, 3), date(2026, 6, 7)),
        (date(2026, 6, 8), date(2026, 6, 8)),
    ]


def test_a_site_out_of_service_has_no_week(given):
    """Nothing to draw, not a week of noughts."""
    reader = given(
        sites="site_id|name|latitude|longitude|decommissioned_on\nA|a|-13|33|2026-05-01", blocks=BLOCKS
    )
    assert site_weeks(reader, MONDAY, SUNDAY_AFTER).num_rows == 0


def test_without_an_area_on_record_amounts_stand_alone(given):
    """No block: m³ are known, m³/ha are not."""
    reader = given(sites=SITES, site_days=water(f"A|{MONDAY}|10|1||"))
    week = site_weeks(reader, MONDAY, SUNDAY_AFTER).to_pylist()[0]
    assert (week["water_m3"], week["water_m3_per_ha"]) == (10, None)


def test_only_the_sites_asked_for_have_weeks(given):
    """Two sites, one asked for; with none asked for there is no row."""
    both = SITES + "\nB|b|-13|33|2025-01-01"
    assert {w["site_id"] for w in site_weeks(given(sites=both), MONDAY, SUNDAY_AFTER).to_pylist()} == {
        "A",
        "B",
    }
    one = site_weeks(given(sites=both), MONDAY, SUNDAY_AFTER, sites=["B"]).to_pylist()
    assert {w["site_id"] for w in one} == {"B"}
    assert site_weeks(given(sites=both), MONDAY, SUNDAY_AFTER, sites=[]).num_rows == 0


def test_weeks_say_what_the_figures_of_the_same_days_say(given):
    """Uneven days over a month, cut at both ends: each week and their sum are the indicators'."""
    start, end = date(2026, 6, 3), date(2026, 7, 7)
    all_days = days(start, 35)
    reader = given(
        sites=SITES,
        blocks=BLOCKS,
        site_days=water(*(f"A|{day}|{1.1 * n}|{1 if n % 3 else 0.5}||" for n, day in enumerate(all_days) if n % 5)),
        site_need_days=need(*(f"A|{day}|{n % 7 != 2}|{2.3 * n}" for n, day in enumerate(all_days))),
    )  # fmt: skip
    weeks = site_weeks(reader, start, end).to_pylist()
    whole = indicators(reader, start, end).to_pylist()[0]
    for name in ("water_m3", "need_m3", "water_m3_per_ha"):
        total = sum(w[name] for w in weeks if w[name] is not None)
        assert total == pytest.approx(whole[name], abs=rounding(name)), name
    assert len(weeks) == 6
    for week in weeks:
        told = indicators(reader, week["week_from"], week["week_to"]).to_pylist()[0]
        for name in (
            "water_m3",
            "need_m3",
            "relative_irrigation_supply",
            "water_coverage",
            "supply_coverage",
        ):
            assert week[name] == pytest.approx(told[name], abs=rounding(name)), name


def rounding(name: str) -> float:
    """How far a published figure may be from the exact one."""
    return 0.5 * 10.0 ** -BY_NAME[name].decimals + 1e-9


def spans(*rows: str) -> str:
    return "\n".join(["site_id|block_id|crop|planted_on|last_day|fallow|known", *rows])


def test_a_planting_stands_in_its_four_stages(given):
    """A crop of 10, 20, 30 and 5 days, planted on the first of June."""
    reader = given(
        crops="crop|kc_ini|kc_mid|kc_end|ini_days|dev_days|mid_days|late_days\nokra|0.4|1|0.9|10|20|30|5",
        planting_spans=spans("A|B1|Okra|2026-06-01|2026-08-04|false|true"),
    )
    stages = planting_stages(reader, MONDAY, date(2026, 12, 31))
    assert [(s["stage"], s["from_day"], s["to_day"]) for s in stages] == [
        ("initial", date(2026, 6, 1), date(2026, 6, 10)),
        ("development", date(2026, 6, 11), date(2026, 6, 30)),
        ("mid", date(2026, 7, 1), date(2026, 7, 30)),
        ("late", date(2026, 7, 31), date(2026, 8, 4)),
    ]


def test_a_crop_cleared_early_has_no_later_stage_and_one_cleared_late_goes_on_without(given):
    """Cleared in its mid-season; or standing ten days after its last stage."""
    crops = "crop|kc_ini|kc_mid|kc_end|ini_days|dev_days|mid_days|late_days\nokra|0.4|1|0.9|10|20|30|5"
    early = given(crops=crops, planting_spans=spans("A|B1|okra|2026-06-01|2026-07-05|false|true"))
    assert [s["stage"] for s in planting_stages(early, MONDAY, date(2026, 12, 31))] == [
        "initial",
        "development",
        "mid",
    ]
    late = given(crops=crops, planting_spans=spans("A|B1|okra|2026-06-01|2026-08-14|false|true"))
    last = planting_stages(late, MONDAY, date(2026, 12, 31))[-1]
    assert (last["stage"], last["from_day"], last["to_day"]) == (None, date(2026, 8, 5), date(2026, 8, 14))


def test_fallow_and_a_crop_that_nobody_knows_have_no_stage(given):
    """Fallow without an end, and an unknown crop: one row each, to nobody knows when."""
    reader = given(
        planting_spans=spans("A|B1|fallow|2026-06-01||true|true", "A|B2|moonfruit|2026-06-01||false|false")
    )
    stages = planting_stages(reader, MONDAY, SUNDAY_AFTER)
    assert [(s["block_id"], s["fallow"], s["stage"], s["to_day"]) for s in stages] == [
        ("B1", True, None, None),
        ("B2", False, None, None),
    ]


def test_stages_outside_the_period_and_the_scope_are_left_out(given):
    """Maize planted in June: in August its initial stage is over; of B nothing is asked."""
    reader = given(
        planting_spans=spans("A|B1|maize|2026-06-01|2026-10-08|false|true", "B|B1|maize|2026-06-01|2026-10-08|false|true")
    )  # fmt: skip
    stages = planting_stages(reader, date(2026, 8, 1), date(2026, 8, 31), sites=["A"])
    assert {s["site_id"] for s in stages} == {"A"}
    assert "initial" not in {s["stage"] for s in stages}
    assert all(s["to_day"] >= date(2026, 8, 1) and s["from_day"] <= date(2026, 8, 31) for s in stages)
