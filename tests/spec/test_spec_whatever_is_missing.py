"""Whatever a programme leaves out, its figures come, and hold together."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

EMPTY = st.just("")
CELLS = {
    "sites": {
        "pump_rated_flow_m3h": EMPTY | st.integers(0, 30),
        "pump_rated_power_kw": EMPTY | st.integers(0, 9),
        "total_dynamic_head_m": EMPTY | st.integers(0, 90),
        "elevation_m": EMPTY | st.integers(0, 2000),
        "commissioned_on": EMPTY | st.sampled_from(["2026-02-10", "2026-03-10", "2026-05-01"]),
        "decommissioned_on": EMPTY | st.sampled_from(["2026-03-20", "2026-06-01"]),
        "timezone": st.sampled_from(["UTC", "Africa/Blantyre", "America/Santiago"]),
    },
    "blocks": {"irrigation_method": EMPTY | st.sampled_from(["drip", "hose"]), "area_ha": st.integers(0, 3)},
    "plantings": {
        "block_id": st.sampled_from(["B1", "B2"]),
        "crop": st.sampled_from(["maize", "fallow", "moonflower"]),
        "planted_on": st.sampled_from(["2026-01-10", "2026-03-05"]),
        "cleared_on": EMPTY | st.just("2026-03-25"),
        "area_ha": EMPTY | st.integers(0, 4),
    },
    "meters": {
        "quantity": st.sampled_from(["water", "energy"]),
        "block_id": EMPTY | st.just("B1"),
        "digits": EMPTY | st.integers(3, 6),
        "unit": EMPTY,
        "carries": EMPTY | st.sampled_from(["pump", "pump_and_other", "array"]),
        "installed_on": EMPTY | st.just("2026-03-04"),
        "removed_on": EMPTY | st.just("2026-03-22"),
    },
    "telemetry": {
        "flow_m3h": EMPTY | st.integers(0, 20),
        "input_kw": EMPTY | st.integers(0, 6),
        "irradiance_wm2": EMPTY | st.integers(0, 1100),
        "tank_level_pct": EMPTY | st.integers(0, 100),
    },
    "maintenance": {
        "reported_at": st.sampled_from(["2026-03-02 09:00", "2026-03-30 23:50"]),
        "restored_at": EMPTY | st.sampled_from(["2026-03-31 00:00", "2026-04-09 12:00"]),
        "water_stopped": EMPTY | st.sampled_from(["yes", "no"]),
        "cost": EMPTY | st.integers(0, 500),
    },
    "weather": {"rain_mm": EMPTY | st.integers(0, 60), "elevation_m": EMPTY | st.integers(0, 2000)},
    "pauses": {"to_on": EMPTY | st.just("2026-03-13")},
}
KEYS = {
    "sites": ("site_id", ["S1", "S2"]),
    "blocks": ("site_id | block_id", ["S1 | B1", "S1 | B2", "S2 | B1"]),
    "plantings": ("site_id", ["S1", "S2"]),
    "meters": ("meter_id | site_id", ["W1 | S1", "W2 | S1", "W3 | S2"]),
    "telemetry": (
        "site_id | logged_at",
        [f"S1 | 2026-03-{d:02d} {h:02d}:{q}" for d in (9, 10, 12) for h in range(24) for q in ("00", "30")],
    ),
    "maintenance": ("record_id | site_id", ["J1 | S1", "J2 | S1", "J3 | S2"]),
    "weather": ("station_id | day", [f"W1 | 2026-03-{d:02d}" for d in range(1, 29)]),
    "pauses": ("site_id | from_on | reason", ["S1 | 2026-03-11 | flood"]),
}
SHARES = ("water_coverage", "energy_coverage", "supply_coverage", "cropping_coverage", "uptime_unknown")
SUMS = ("water_m3", "energy_kwh", "need_m3", "om_cost", "outages", "water_to_blocks_m3")


@st.composite
def programmes(draw):
    """Tables of which any may be missing, with cells of which any may be empty."""
    given_tables = {}
    for name, (key, rows) in KEYS.items():
        if name not in {"sites", "blocks", "meters"} and draw(st.booleans()):
            continue
        cells = CELLS[name]
        steady = {column: draw(choice) for column, choice in cells.items()}
        lines = [
            " | ".join(
                [
                    row,
                    *(str(draw(cells[c]) if name != "telemetry" or n % 7 == 0 else steady[c]) for c in cells),
                ]
            )
            for n, row in enumerate(rows)
        ]
        given_tables[name] = "\n".join([" | ".join([key, *cells]), *lines])
    values = draw(st.lists(st.integers(0, 99_999), min_size=18, max_size=18))
    readings = [
        f"W{n % 3 + 1} | 2026-03-{n + 1:02d} {n % 24:02d}:00 | {value}" for n, value in enumerate(values)
    ]
    given_tables["meter_readings"] = "\n".join(
        ["meter_id | read_at | value", *readings[: draw(st.integers(0, 18))]]
    )
    return given_tables


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(programmes())
def test_figures_hold_together_whatever_is_missing(measure, tables):
    """Shares lie between 0 and 1, uptime within its bounds, and months sum to their period."""
    found = measure(**tables)
    months = found.figures("2026-03-01", "2026-04-12", by_month=True)
    for row in found.figures("2026-03-01", "2026-04-12") + months:
        for name in SHARES:
            assert row[name] is None or 0 <= row[name] <= 1.0001, (name, row[name])
        if row["uptime"] is not None:
            assert row["uptime_low"] - 1e-4 <= row["uptime"] <= row["uptime_high"] + 1e-4
        assert (row["water_m3"] is None) == (row["water_coverage"] in {0, None})
    for whole in found.figures("2026-03-01", "2026-04-12"):
        own = [row for row in months if row["site_id"] == whole["site_id"]]
        for name in SUMS:
            parts = [row[name] for row in own if row[name] is not None]
            assert (sum(parts) if parts else None) == pytest.approx(whole[name], abs=0.2), name
