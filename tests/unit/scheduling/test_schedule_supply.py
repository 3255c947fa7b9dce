"""What the pump delivers: from the log where it shows enough, else from the sun, else nobody knows."""

from datetime import date
from typing import Any

import duckdb
import pytest

from pipeline.config import Settings
from pipeline.errors import SunrillError
from pipeline.measures.statements import prepare_sums, run_statement
from pipeline.scheduling.asked import Asked
from pipeline.scheduling.supply import sun_of, supply

EQUINOX = date(2026, 3, 21)
SUN = sun_of(0.0, 0.0, "UTC", EQUINOX, Settings())
PUMP = {"site_id": "S1", "pump_rated_flow_m3h": 10.0, "pump_rated_power_kw": 4.0, "pv_capacity_kwp": 10.0}


def asked(
    flows: tuple[dict[str, Any], ...] = (), solar: tuple[dict[str, Any], ...] = (), **site: Any
) -> Asked:
    return Asked(PUMP | site, (), (), (), (), flows, solar, (), (), {}, {})


def flow(hour: int, flow_m3h: float, days: int = 20, month: int = 3) -> dict[str, Any]:
    return {"month": month, "hour": hour, "flow_m3h": flow_m3h, "days": days}


def test_the_window_is_an_hour_inside_of_the_daylight() -> None:
    """Twelve hours and some minutes of light at the equator: about 7 to 17 o'clock."""
    assert SUN.window is not None
    assert SUN.window[0] == pytest.approx(7 * 60 + 4, abs=5)
    assert SUN.window[1] == pytest.approx(17 * 60 + 10, abs=5)


def test_the_log_is_taken_at_its_word() -> None:
    """Hours that were often pumped in."""
    found = supply(asked((flow(9, 6.0), flow(10, 8.0), flow(14, 7.0))), SUN, 3, Settings())
    assert found.known_from == "log"
    assert (found.hourly_m3h[9], found.hourly_m3h[10], found.hourly_m3h[14]) == (6.0, 8.0, 7.0)
    assert found.hourly_m3h[2] == 0.0


def test_an_hour_seldom_pumped_in_takes_what_the_same_sun_gave() -> None:
    """Two days of a weak afternoon don't count: half past two is as high a sun as twenty past nine or so."""
    found = supply(asked((flow(9, 6.0), flow(11, 9.0), flow(14, 1.0, days=2))), SUN, 3, Settings())
    assert found.hourly_m3h[14] == pytest.approx(6.5, abs=0.2)  # noon is at 12:07
    assert found.hourly_m3h[12] == pytest.approx(9.0, abs=0.4)
    assert max(found.hourly_m3h) <= 9.0


def test_a_neighbouring_month_stands_in() -> None:
    """Four days in March are too few; April has twenty."""
    found = supply(asked((flow(10, 3.0, days=4), flow(10, 8.0, month=4))), SUN, 3, Settings())
    assert found.hourly_m3h[10] == 8.0
    assert "April" in found.sentence


def test_without_a_log_the_sun_counts() -> None:
    """20 MJ/m² on a day of twelve hours: at noon about 720 W/m², 10 kWp × 0.8 drive the 4 kW pump at its rated flow."""
    found = supply(asked(solar=({"month": 3, "solar_mj_m2": 20.0, "days": 31},)), SUN, 3, Settings())
    assert found.known_from == "sun"
    assert found.hourly_m3h[12] == 10.0
    # from 7 to 8 about 257 W/m²: 7 of the 250 between the start-up at 250 and the 500 that drive the pump
    assert found.hourly_m3h[7] == pytest.approx(0.3, abs=0.1)
    assert found.hourly_m3h[6] == 0.0  # under the start-up irradiance of 250 W/m²


def test_a_small_array_gives_a_part_of_the_flow() -> None:
    """2.5 kWp × 0.8 would drive 4 kW at 2000 W/m²; 720 are 470 of the 1750 above the start-up: 2.7 m³/h."""
    solar = ({"month": 3, "solar_mj_m2": 20.0, "days": 31},)
    found = supply(asked(solar=solar, pv_capacity_kwp=2.5), SUN, 3, Settings())
    assert found.hourly_m3h[12] == pytest.approx(2.7, abs=0.1)


@pytest.mark.parametrize("missing", ["pump_rated_flow_m3h", "pump_rated_power_kw", "pv_capacity_kwp"])
def test_what_is_missing_is_named(missing: str) -> None:
    """Neither a log nor enough to reckon with: the error says what to fill in."""
    solar = ({"month": 3, "solar_mj_m2": 20.0, "days": 31},)
    with pytest.raises(SunrillError) as caught:
        supply(asked(solar=solar, **{missing: None}), SUN, 3, Settings())
    assert missing in caught.value.fault.mend
    assert caught.value.fault.where == "S1"


def test_missing_weather_is_named() -> None:
    """Everything about the pump, nothing about the sun."""
    with pytest.raises(SunrillError, match="radiation"):
        supply(asked(), SUN, 3, Settings())


def test_the_reckoned_day_keeps_the_measured_sun() -> None:
    """Hour by hour the irradiance sums to the day's 20 MJ/m²: with a pump without bound, the flow shows it."""
    solar = ({"month": 3, "solar_mj_m2": 20.0, "days": 31},)
    of = asked(solar=solar, pump_rated_power_kw=1000.0, pump_rated_flow_m3h=1000.0, pv_capacity_kwp=1.0)
    found = supply(of, SUN, 3, Settings(start_irradiance_wm2=0.0))
    # 1 m³/h for each kW: 20 MJ/m² are 5.56 kWh/m², × 1 kWp × 0.8
    assert sum(found.hourly_m3h) == pytest.approx(5.556 * 0.8, rel=0.01)


def test_where_the_sun_does_not_set_there_is_no_window() -> None:
    """Midsummer at 80° north: no sunrise, and so no hour after it."""
    assert sun_of(80.0, 0.0, "UTC", date(2026, 6, 21), Settings()).window is None


LOG = """
    CREATE TABLE sites AS SELECT 'S1' AS site_id, 'Africa/Blantyre' AS zone, 10.0 AS pump_rated_flow_m3h;
    CREATE TABLE telemetry AS
    SELECT 'S1' AS site_id, TIMESTAMP '2026-03-01 08:00' + to_days(k::INTEGER) + to_minutes((15 * q)::INTEGER) AS logged_at,
           DATE '2026-03-01' + k::INTEGER AS logged_day, CASE WHEN k >= 8 THEN 99.0 WHEN q = 4 THEN 0.1 ELSE 5.0 + q END AS flow_m3h
    FROM generate_series(0, 9) d(k), generate_series(1, 4) e(q);
    CREATE TABLE log_spells AS SELECT * FROM (VALUES
        ('S1', TIMESTAMP '2026-03-09 00:00', TIMESTAMP '2026-03-10 00:00', 'frozen'),
        ('S1', TIMESTAMP '2026-03-10 00:00', NULL, 'clock_off'),
        ('S1', TIMESTAMP '2026-03-01 00:00', TIMESTAMP '2026-03-05 00:00', 'silent')) t(site_id, from_at, to_at, verdict)"""


def test_days_of_the_log_that_can_t_be_trusted_teach_nothing() -> None:
    """Eight days of 6, 7 and 8 m³/h; two of a frozen log and a wrong clock; a trickle is no pumping."""
    connection = duckdb.connect()
    connection.execute(LOG)
    taken = Settings(delivery_quantile=0.5).as_parameters() | {"sites": ["S1"], "months": [2, 3, 4]}
    run_statement(connection, "week_flows", taken, package="pipeline.scheduling")
    # what ends at 11 o'clock local time belongs to the hour before
    assert connection.execute("FROM week_flows").fetchall() == [("S1", 3, 10, 7.0, 8)]


SOIL = """
    CREATE TABLE root_zone_days AS SELECT 'S1' AS site_id, block_id, crop, DATE '2026-03-01' AS planted_on,
        DATE '2026-03-09' AS day, ha::FLOAT AS planted_ha, mm::FLOAT AS depletion_wettest_mm, mm::FLOAT AS depletion_driest_mm,
        40::FLOAT AS raw_mm, 80::FLOAT AS taw_mm
    FROM (VALUES ('A', 'maize', 1.0, 10.0), ('A', 'beans', 3.0, 30.0), ('B', 'maize', 1.0, 10.0)) t(block_id, crop, ha, mm);
    CREATE TABLE planting_spans AS SELECT 'S1' AS site_id, block_id, crop, DATE '2026-03-01' AS planted_on,
        last_day::DATE AS last_day, fallow
    FROM (VALUES ('A', 'maize', NULL, FALSE), ('A', 'beans', NULL, FALSE), ('A', 'sorrel', '2026-03-08', FALSE),
                 ('A', 'fallow', NULL, TRUE), ('B', 'maize', NULL, FALSE), ('B', 'sorrel', '2026-03-09', FALSE))
        t(block_id, crop, last_day, fallow)"""


def test_a_block_with_a_crop_whose_roots_nobody_knows_has_no_known_soil() -> None:
    """A: 10 mm on a hectare and 30 on three; its sorrel is gone by the evening before. B's still stands."""
    connection = duckdb.connect()
    connection.execute(SOIL)
    prepare_sums(connection)
    taken = {"sites": ["S1"], "from_day": date(2026, 3, 10)}
    run_statement(connection, "week_soil", taken, package="pipeline.scheduling")
    assert connection.execute("FROM week_soil").fetchall() == [("S1", "A", 25.0, 25.0, 40.0, 80.0)]
