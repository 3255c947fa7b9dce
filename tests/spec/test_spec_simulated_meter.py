"""A simulated meter through the whole run of measures: replaced, read weekly or daily, in litres or m³."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

SITE = "site_id | commissioned_on | pump_rated_flow_m3h\nS1 | 2026-03-01 | 20"
FIRST = datetime(2026, 3, 1, 18, tzinfo=UTC)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    daily_m3=st.lists(st.floats(20, 200), min_size=29, max_size=29),
    apart=st.sampled_from([1, 7]),
    litres=st.booleans(),
    replaced_after=st.sampled_from([None, 14]),
    starts=st.tuples(st.integers(0, 99_999), st.integers(0, 999)),
)
def test_the_water_of_a_month_comes_back_within_the_meters_resolution(
    measure, daily_m3, apart, litres, replaced_after, starts
):
    """Four weeks of any use that the pump can do; a replacement on a day of reading loses nothing."""
    scale = 1000 if litres else 1
    days = list(range(0, 29, apart))
    spans = {"W1": [d for d in days if replaced_after is None or d <= replaced_after]}
    if replaced_after is not None:
        spans["W2"] = [d for d in days if d >= replaced_after]
    rows, meters = [], []
    for (meter, read), start in zip(spans.items(), starts, strict=False):
        installed, removed = (
            (_day(read[0]) if meter == "W2" else ""),
            (_day(read[-1]) if len(spans) == 2 and meter == "W1" else ""),
        )
        meters.append(f"{meter} | S1 | {'l' if litres else 'm3'} | {installed} | {removed}")
        for day in read:
            value = int((start + sum(daily_m3[read[0] : day])) * scale)
            rows.append(f"{meter} | {FIRST + timedelta(days=day):%Y-%m-%d %H:%M} | {value}")
    found = measure(
        sites=SITE,
        meters="meter_id | site_id | unit | installed_on | removed_on\n" + "\n".join(meters),
        meter_readings="meter_id | read_at | value\n" + "\n".join(rows),
    )
    (row,) = found.figures("2026-03-01", "2026-03-31")
    assert row["water_m3"] == pytest.approx(sum(daily_m3[:28]), abs=len(spans) * 1.0 / scale + 0.06)
    assert row["water_coverage"] == pytest.approx(28 / 31, abs=1e-4)


def _day(number):
    return f"{FIRST + timedelta(days=number):%Y-%m-%d}"
