"""The order of visits: by value, ties by what is known, the unknown apart."""

from datetime import date, timedelta

import pytest

from pipeline.config import Settings
from pipeline.visits.benefit import benefit
from pipeline.visits.causes import averted_share
from pipeline.visits.ranking import SCHEMA
from pipeline.visits.scene import Finding, Scene

AS_OF = date(2026, 10, 31)


def found(cause="none", probability=0.5, mends=0.0, *, stops=False):
    return Finding(cause, probability, None, "", mends, stops=stops)


def facts(days, *, supply=None, down_share=None, paused_since=None):
    return {"coming": days, "supply": supply, "down_share": down_share, "paused_since": paused_since}


def test_equal_sites_rank_by_name_in_any_order_of_arrival(make_field, ranked, tmp_path):
    """Three sites alike, loaded in two orders: A, B, C each time."""
    for n, order in enumerate(("BAC", "CBA")):
        f = make_field()
        for site in order:
            f.site(site)
            f.meter(f"W-{site}", site, lambda _day: 30.0)
        rows = ranked(f.store(tmp_path / str(n)))
        assert [row["site_id"] for row in rows] == ["A", "B", "C"]
        assert len({row["value"] for row in rows}) == 1


def test_only_the_sites_asked_for_are_ranked(make_field, ranked, tmp_path):
    """A viewer of B alone sees one line, rank 1, with the value that it has among all."""
    f = make_field()
    for site, daily in (("A", 10.0), ("B", 30.0)):
        f.site(site)
        f.meter(f"W-{site}", site, lambda _day, daily=daily: daily)
    store = f.store(tmp_path)
    everybody = {row["site_id"]: row["value"] for row in ranked(store)}
    (row,) = ranked(store, sites=["B"])
    assert (row["site_id"], row["rank"], row["value"]) == ("B", 1, everybody["B"])
    assert ranked(store, sites=[]) == []


def test_parts_are_those_that_the_cause_takes(make_field, ranked, tmp_path):
    """Two parts on record for a stopped pump, apart by a semicolon, in their order."""
    f = make_field()
    f.site("A")
    f.add(
        "maintenance",
        record_id="J",
        site_id="A",
        kind="corrective",
        reported_at="2026-10-30 09:00",
        water_stopped="yes",
    )
    for part in ("seal kit", "capacitor"):
        f.add("part_needs", cause="pump_stopped", part=part, quantity=1)
    (row,) = ranked(f.store(tmp_path))
    assert (row["cause"], row["parts"], row["skills"]) == (
        "pump_stopped",
        "capacitor;seal kit",
        "pump;electrical",
    )


def test_columns_are_the_contracts(make_field, ranked, tmp_path):
    """A store without a site in service gives no row; the columns stand all the same."""
    f = make_field()
    f.site("A", commissioned_on=AS_OF + timedelta(days=9))
    assert ranked(f.store(tmp_path)) == []
    assert SCHEMA.names == [
        "site_id", "rank", "value", "unmet_m3_per_day", "cause", "cause_probability", "other_causes", "evidence",
        "since_day", "visit_kind", "skills", "parts", "duration_h", "due_by", "data_age_days", "value_by_day",
    ]  # fmt: skip


def test_half_the_need_of_two_hectares_unmet():
    """100 m³ a day for 2 ha, supply 0.5, all of it mended: 50 m³/d unmet, one hectare-day a day."""
    worth = benefit(facts([(100.0, 2.0)] * 4, supply=0.5), [found("intake_blocked", 1.0, 1.0)])
    assert worth.unmet_m3_per_day == 50
    assert worth.by_day == (4, 3, 2, 1)


def test_a_probable_cause_averts_its_share():
    """A cause that is there with 0.5 and would end 0.6 of the shortage: 0.3 of it."""
    assert averted_share([found("intake_blocked", 0.5, 0.6)]) == pytest.approx(0.3)
    both = [found("intake_blocked", 0.5, 0.6), found("array_soiled", 0.5, 0.4)]
    assert averted_share(both) == pytest.approx(1 - 0.7 * 0.8)


def test_a_stop_is_mended_whatever_its_cause():
    """The probability is of the cause; that nothing comes is sure."""
    assert averted_share([found("pump_stopped", 0.55, 1.0, stops=True), found("tamper", 0.4, 0.3)]) == 1


@pytest.mark.parametrize(
    ("days", "supply", "expected"),
    [
        ([(None, None)] * 2, 0.5, (None, None)),  # no crop on record
        ([(10.0, 1.0)] * 2, None, (None, None)),  # need, and no water known
        ([(0.0, 1.0)] * 2, None, (0.0, 0.0)),  # rain enough, or fallow
        ([(10.0, 1.0)] * 2, 1.3, (0.0, 0.0)),  # more than enough
    ],
)
def test_unknown_is_not_zero(days, supply, expected):
    """A need or a supply that nobody knows leaves value and shortage empty; no need is 0."""
    worth = benefit(facts(days, supply=supply, down_share=0.1), [found()])
    assert (worth.value, worth.unmet_m3_per_day) == expected


def test_a_silent_site_takes_the_programmes_share_of_time_without_water():
    """One tenth of the known time was without water: a tenth of two hectare-days; nobody's time known: empty."""
    silent = [found("data_silent", 0.5)]
    worth = benefit(facts([(10.0, 1.0)] * 2, down_share=0.1), silent)
    assert (worth.value, worth.unmet_m3_per_day) == (pytest.approx(0.2), None)
    assert benefit(facts([(10.0, 1.0)] * 2), silent).value is None


def test_days_after_the_harvest_count_no_need():
    """One day of a crop, one without: half of the stop's need a day, one hectare-day."""
    worth = benefit(
        facts([(10.0, 1.0), (None, None)], supply=0.0), [found("pump_stopped", 0.8, 1.0, stops=True)]
    )
    assert (worth.unmet_m3_per_day, worth.by_day) == (5, (1, 0))


def test_the_horizon_is_a_setting():
    """Fourteen days unless the programme says otherwise."""
    assert Settings().horizon_days == 14


@pytest.mark.parametrize(("served_supply", "short"), [(0.8, False), (0.9, True)])
def test_a_site_is_short_below_the_programmes_own_share_of_the_need(served_supply, short):
    """What counts as served on every page is not short in the ranking."""
    settings = Settings(served_supply=served_supply)
    assert Scene({"supply": 0.85}, AS_OF, settings).short is short
