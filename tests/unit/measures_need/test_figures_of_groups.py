"""How periods, groups and unknowns come together."""

from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import given as generated
from hypothesis import strategies as st

from pipeline.errors import FigureError
from pipeline.measures.figures import indicators, target_figures
from pipeline.measures.indicators import INDICATORS, Grouping

SITES = """site_id|name|latitude|longitude|commissioned_on|district|households
    A|a|-13|33|2025-01-01|North|4
    B|b|-13|33|2025-01-01|North|
    C|c|-13|33|2025-01-01||6"""
DAY_HEAD = "site_id|day|water_m3|water_cover|long_water_m3|long_water_cover\n"
FROM, TO = date(2026, 1, 1), date(2026, 2, 28)
SUMS = [figure.name for figure in INDICATORS if figure.grouping is Grouping.SUM]


def test_columns_are_the_list_of_indicators_in_its_order(given):
    """One definition of the figures, one order."""
    table = indicators(given(sites=SITES), FROM, TO, group="district")
    assert table.column_names == ["district", "from_day", "to_day", *(f.name for f in INDICATORS)]


def test_a_site_without_data_is_unknown_not_zero(given):
    """Coverage is 0; water, need, uptime, outages and cost are empty."""
    row = indicators(given(sites=SITES), FROM, TO).to_pylist()[0]
    assert row["water_coverage"] == row["supply_coverage"] == 0
    for name in ("water_m3", "need_m3", "uptime", "outages", "om_cost", "harvest_kg", "served_ha"):
        assert row[name] is None, name


def test_shares_and_the_rest_sum_to_the_programme(given):
    """A is paid for at 0.4, B whole, C by nobody: 100, 200 and 300 m³."""
    reader = given(
        sites=SITES,
        agreement_sites="agreement_id|site_id|share\nG1|A|0.4\nG2|B|",
        site_days=DAY_HEAD + "A|2026-01-01|100|1||\nB|2026-01-01|200|1||\nC|2026-01-01|300|1||",
    )
    lines = indicators(reader, FROM, TO, group="agreement").to_pylist()
    assert [(line["agreement_id"], line["water_m3"]) for line in lines] == [
        ("G1", 40),
        ("G2", 200),
        ("not under an agreement", 360),
    ]
    assert indicators(reader, FROM, TO, group="programme").to_pylist()[0]["water_m3"] == 600


def test_districts_keep_a_line_for_sites_without_one(given):
    """North has A and B; C stands on a line without a name."""
    reader = given(sites=SITES, site_days=DAY_HEAD + "A|2026-01-01|1|1||\nC|2026-01-01|2|1||")
    lines = indicators(reader, FROM, TO, group="district").to_pylist()
    assert [(line["district"], line["water_m3"]) for line in lines] == [("North", 1), (None, 2)]


def test_a_long_interval_counts_in_a_long_period_only(given):
    """59 days take it, January alone doesn't."""
    reader = given(sites=SITES, site_days=DAY_HEAD + "A|2026-01-01||0|50|1")
    assert indicators(reader, FROM, TO).to_pylist()[0]["water_m3"] == 50
    assert indicators(reader, FROM, TO, by_month=True).to_pylist()[0]["water_m3"] is None


def test_the_need_of_a_half_covered_day_counts_half(given):
    """10 m³ in the covered half of a day that needs 20 m³: supply 1, for half a day of 59."""
    reader = given(
        sites=SITES,
        site_days=DAY_HEAD + "A|2026-01-01|10|0.5||",
        site_need_days="site_id|day|known|need_m3\nA|2026-01-01|true|20\nA|2026-01-02|true|20",
    )
    row = indicators(reader, FROM, TO).to_pylist()[0]
    assert row["relative_irrigation_supply"] == 1.0
    assert row["supply_coverage"] == round(0.5 / 59, 4)
    assert row["need_m3"] == 40


def test_restoring_times_of_all_jobs_give_one_median(given):
    """1 and 2 days at A, 9 at B: the programme's median is 2, whatever the sites' are."""
    reader = given(
        sites=SITES,
        maintenance="""record_id|site_id|kind|reported_at|restored_at|reported_day|restored_day|water_stopped|cost
            1|A|corrective|2026-01-01 08:00|2026-01-02 08:00|2026-01-01|2026-01-02|yes|10
            2|A|corrective|2026-01-05 08:00|2026-01-07 08:00|2026-01-05|2026-01-07|yes|
            3|B|corrective|2026-01-01 08:00|2026-01-10 08:00|2026-01-01|2026-01-10|yes|5
            4|B|corrective|2026-01-01 08:00|2026-02-10 08:00|2026-01-01|2026-02-10|no|1""",
    )
    row = indicators(reader, FROM, TO, group="programme").to_pylist()[0]
    assert (row["report_to_water_days"], row["om_cost"]) == (2, 16)


def test_served_area_is_a_mean_over_the_months_with_need(given):
    """January gets all, February half of its need: 2 ha served in one of two months is 1 ha."""
    days = [FROM + timedelta(days=n) for n in range(59)]
    reader = given(
        sites=SITES,
        site_days=DAY_HEAD + "\n".join(f"A|{day}|{10 if day.month == 1 else 5}|1||" for day in days),
        site_need_days="site_id|day|known|need_m3\n" + "\n".join(f"A|{day}|true|10" for day in days),
        block_days="site_id|block_id|day|block_ha|known|need_m3\n"
        + "\n".join(f"A|B1|{day}|2|true|10" for day in days),
    )
    row = indicators(reader, FROM, TO).to_pylist()[0]
    assert (row["served_ha"], row["unjudged_ha"]) == (1.0, 0.0)


def test_productivity_is_a_plantings_harvest_over_its_blocks_water(given):
    """Two harvests of one planting, 30 kg, over three days of 10 m³ through the block's meter."""
    reader = given(
        sites=SITES,
        blocks="site_id|block_id|area_ha\nA|B1|1",
        plantings="site_id|block_id|crop|planted_on\nA|B1|maize|2026-01-01\nA|B1|maize|2026-01-20",
        harvests="site_id|block_id|crop|harvested_on|harvest_kg\n"
        "A|B1|maize|2026-01-02|10\nA|B1|maize|2026-01-03|20",
        meter_intervals="site_id|meter_id|quantity|block_id|from_at|to_at|amount|valid|days\n"
        "A|M1|water|B1|2026-01-01 00:00|2026-01-04 00:00|30|true|3",
    )
    row = indicators(reader, FROM, TO).to_pylist()[0]
    assert row["water_productivity_kg_m3"] == 1.0


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@generated(
    st.lists(
        st.tuples(
            st.sampled_from("ABC"), st.integers(0, 58), st.decimals(0, 10**5, places=1, allow_nan=False)
        ),
        unique_by=lambda drawn: drawn[:2],
        max_size=20,
    )
)
def test_amounts_of_months_sum_to_their_period(given, drawn):
    """Whatever the days hold, January and February sum to both."""
    text = "\n".join(f"{site}|{FROM + timedelta(days=n)}|{water}|1||" for site, n, water in drawn)
    reader = given(sites=SITES, site_days=DAY_HEAD + text)
    months = indicators(reader, FROM, TO, by_month=True, group="programme").to_pylist()
    whole = indicators(reader, FROM, TO, group="programme").to_pylist()[0]
    for name in SUMS:
        parts = [row[name] for row in months if row[name] is not None]
        assert (sum(parts) if parts else None) == pytest.approx(whole[name]), name


def test_a_period_that_ends_before_it_starts_is_refused(given):
    """The error says which way round."""
    with pytest.raises(FigureError, match="before it starts"):
        indicators(given(sites=SITES), TO, FROM)


def test_figures_that_only_targets_name(given):
    """Two trainings, one without a count of men: attendances are what is known."""
    reader = given(
        sites=SITES,
        agreement_sites="agreement_id|site_id|share\nG1|A|0.5\nG1|C|",
        trainings="site_id|held_on|topic|women|men\nA|2026-01-05|x|3|1\nC|2026-01-06|x|5|\nB|2026-01-06|x|9|9",
    )
    row = target_figures(reader, "G1", FROM, TO).to_pylist()[0]
    assert row["trainings_held"] == 2
    assert row["training_attendances"] == 9
    assert row["women_share_of_attendances"] == 0.75
    assert (row["sites_in_service"], row["households"]) == (2, 10)


def test_only_the_sites_asked_for_are_read(given):
    """A viewer who sees B alone gets one row; one who sees none gets none."""
    reader = given(sites=SITES, site_days=DAY_HEAD + "A|2026-01-01|1|1||\nB|2026-01-01|2|1||")
    rows = indicators(reader, FROM, TO, sites=["B"]).to_pylist()
    assert [(row["site_id"], row["water_m3"]) for row in rows] == [("B", 2)]
    assert indicators(reader, FROM, TO, sites=[], group="programme").num_rows == 0
