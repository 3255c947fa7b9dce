"""Nothing after the day of a ranking matters to it."""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from data_demo import generate
from pipeline.measures import run
from pipeline.store import open_store
from pipeline.visits.as_of import look_back, nothing_is_later

AS_OF = date(2026, 10, 31)
AFTER_DELIVERY_DAYS = (0, 11)  # the day on which sheets came, and one between two deliveries


@pytest.fixture(scope="module")
def told_then_and_later(tmp_path_factory, ranked):
    """For several days: the ranking of the store as it was then, and of the full store, looking back."""
    folder = tmp_path_factory.mktemp("looking_back")
    deliveries = sorted((generate(folder / "demo", sites=8, days=150) / "deliveries").iterdir())
    store = open_store(folder / "store", create=True)
    store.change_setting("timezone", "Africa/Blantyre")
    then = {}
    for number, delivery in enumerate(deliveries):
        came_on = date.fromisoformat(delivery.name)
        store.load([delivery], arrived_at=datetime.combine(came_on, time(12), UTC))
        if number < 2:
            continue  # too little to rank
        run.refresh(store)
        for days in AFTER_DELIVERY_DAYS:
            then[came_on + timedelta(days=days)] = ranked(store, came_on + timedelta(days=days))
    return {day: (rows, ranked(store, day, known=True)) for day, rows in then.items()}


def test_a_look_back_equals_the_store_of_that_day(told_then_and_later):
    """What arrived later is out: row by row, column by column the ranking is the one that was shown then."""
    assert len(told_then_and_later) == 8
    for day, (then, later) in told_then_and_later.items():
        assert later == then, day


def test_days_differ(told_then_and_later):
    """The rankings compared are not one and the same, and some have a value."""
    rankings = [rows for rows, _ in told_then_and_later.values()]
    assert len({str(rows) for rows in rankings}) > len(rankings) / 2
    assert any(row["value"] for rows in rankings for row in rows)


def _one_site(make_field):
    f = make_field()
    for site in ("A", "B"):
        f.site(site)
        f.meter(f"W-{site}", site, lambda _day: 30.0)
        f.add(
            "surveys",
            survey_id=f"V-{site}",
            site_id=site,
            surveyed_on=AS_OF - timedelta(days=20),
            pv_condition=2,
        )
    return f


def test_no_later_row_or_cell_changes_a_ranking(make_field, ranked, tmp_path):
    """Readings, jobs, alarms, surveys, pauses, plantings of a later day, and the later end of an open job."""
    job = {
        "record_id": "J", "site_id": "B", "kind": "corrective", "reported_at": "2026-10-31 09:00",
        "water_stopped": "yes", "component": "pump",
    }  # fmt: skip
    before = _one_site(make_field)
    before.add("maintenance", **job, status="open")
    after = _one_site(make_field)
    after.add(
        "maintenance", **job, status="closed", arrived_at="2026-11-01 07:00", restored_at="2026-11-01 08:00",
        cause="worn bearing", action="exchanged", parts_used="bearing", cost=5000, technician="T",
    )  # fmt: skip
    after.add("maintenance", record_id="J9", site_id="A", kind="preventive", reported_at="2026-10-20 09:00",
              restored_at="2026-11-01 09:00", water_stopped="no", status="closed")  # fmt: skip
    before.add("maintenance", record_id="J9", site_id="A", kind="preventive", reported_at="2026-10-20 09:00",
               water_stopped="no", status="open")  # fmt: skip
    for site in "AB":
        after.add("meter_readings", meter_id=f"W-{site}", read_at="2026-11-01 07:00", value=999999)
        after.add("alarms", site_id=site, kind="tamper", raised_at="2026-11-01 01:00")
        after.add(
            "surveys", survey_id=f"X-{site}", site_id=site, surveyed_on=date(2026, 11, 1), pv_condition=5
        )
        after.add("plantings", site_id=site, block_id="A", crop="fallow", planted_on=date(2026, 11, 2))
        after.add("pauses", site_id=site, from_on=date(2026, 11, 3), reason="flood")
    after.add(
        "telemetry",
        site_id="A",
        logged_at="2026-11-01 12:00",
        flow_m3h=0,
        input_kw=0,
        irradiance_wm2=900,
        tank_level_pct=10,
    )
    expected = ranked(before.store(tmp_path / "before"))
    assert ranked(after.store(tmp_path / "after")) == expected
    assert expected[0]["cause"] == "pump_stopped"


def test_a_day_ends_on_the_programmes_clock(make_field, ranked, tmp_path):
    """A survey that came at half past midnight in Blantyre, still the day before in UTC, was not known."""
    f = _one_site(make_field)
    store = f.store(tmp_path)
    store.change_setting("timezone", "Africa/Blantyre")
    late = tmp_path / "surveys_late.csv"
    late.write_text(f"survey_id,site_id,surveyed_on,strainer_found\nL,A,{AS_OF},sand\n", encoding="utf-8")
    day = date(2026, 11, 1)
    store.load([late], arrived_at=datetime(2026, 11, 1, 22, 30, tzinfo=UTC))
    run.refresh(store)
    causes = {
        known: {r["site_id"]: r["cause"] for r in ranked(store, day, known=known)} for known in (True, False)
    }
    assert causes == {
        True: {"A": "array_soiled", "B": "array_soiled"},
        False: {"A": "intake_blocked", "B": "array_soiled"},
    }


def test_a_stamp_of_midnight_belongs_to_the_day_that_ends(make_field, tmp_path):
    """A log's last row of the day, 00:00 in Blantyre, is no later row; one of a quarter past is."""
    found = {}
    for last in ("00:00", "00:15"):
        f = _one_site(make_field)
        for clock in (f"{AS_OF} 23:45", f"2026-11-01 {last}"):
            f.add("telemetry", site_id="A", logged_at=clock, flow_m3h=0, input_kw=0)
        f.add("meters", meter_id="W-daily", site_id="A", quantity="water")
        f.add("meter_readings", meter_id="W-daily", read_at=f"2026-11-01 {last}", value=7)
        with f.store(tmp_path / last[-2:]).read() as reader:
            nothing = nothing_is_later(reader, AS_OF)
            look_back(reader, AS_OF, known=False)
            query = "SELECT (SELECT count(*) FROM telemetry), count(*) FROM meter_readings WHERE meter_id = 'W-daily'"
            found[last] = (nothing, *reader.connection.execute(query).fetchone())
    assert found == {"00:00": (True, 2, 1), "00:15": (False, 1, 0)}
