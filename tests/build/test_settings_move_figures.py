"""A setting moves the figures that say they depend on it, and no other: measured on the demo's files."""

from dataclasses import dataclass, fields, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from duckdb import DuckDBPyConnection

from data_demo import generate
from pipeline.config import Settings
from pipeline.measures import run
from pipeline.measures.bases import BASES
from pipeline.measures.figures import indicators
from pipeline.measures.indicators import INDICATORS
from pipeline.store import Store, open_store

FROM, TO = date(2026, 8, 1), date(2026, 10, 31)
FAR_OFF = {  # as far from the default as a programme may set it
    "flow_margin": 1.0, "own_rate_margin": 1.0, "neighbour_rate_margin": 1.0, "stuck_log_units": 0.0, "stuck_energy_share": 0.0,
    "longest_month_interval_days": 3.0, "flow_threshold_share": 0.7, "input_threshold_share": 0.7, "start_irradiance_wm2": 900.0,
    "start_irradiance_percentile": 0.9, "start_irradiance_min_intervals": 10**6, "longest_up_interval_h": 0.0,
    "service_after_sunrise_h": 3.0, "service_before_sunset_h": 3.0, "tank_full_pct": 30.0, "long_down_run_h": 8.0,
    "clock_off_h": 0.5, "dead_log_wm2": 900.0, "night_input_share": 0.0, "outage_least_h": 40.0, "kc_in_climate": True,
    "effective_rain_share": 0.1, "effective_rain_least_mm": 20.0, "effective_rain_store_mm": 1.0, "station_alone_km": 100.0,
    "station_farthest_km": 5.0, "station_low_trust_km": 1.0, "survey_level_days": 0, "served_supply": 0.1, "judged_coverage": 1.0,
    "kc_ini_by_wetting": True, "wetting_interval_days": 20.0, "wetting_depth_mm": 90.0, "crop_rows": "by_planting",
    "need_by_root_zone": True, "default_soil": "clay", "dual_crop_coefficient": True, "start_depletion_share": 0.0, "known_day_cover": 0.5,
    "spray_evidence_days": 1, "even_christiansen": 1.0, "even_low_quarter": 1.0, "design_flow_least": 1.0,
    "service_overdue_days": 1, "service_interval_days": 1, "horizon_days": 1,
    "run_usual_min": 600, "run_least_min": 120, "changeover_min": 30, "delivery_quantile": 0.05,
}  # fmt: skip
NOT_FIGURES = {"timezone", "currency", "slice_sites"}  # a clock, a name, the store's own
SURELY = {  # what this small programme must show
    "longest_month_interval_days": "served_ha", "longest_up_interval_h": "uptime_unknown", "service_after_sunrise_h": "uptime_low",
    "outage_least_h": "outages", "kc_in_climate": "need_m3", "effective_rain_share": "effective_rain_mm",
    "need_by_root_zone": "net_need_mm",
    "station_farthest_km": "cropping_coverage", "served_supply": "served_ha", "judged_coverage": "unjudged_ha",
}  # fmt: skip
SAMPLE = ("longest_up_interval_h", "effective_rain_share", "served_supply")  # tried in every run


@dataclass
class Asked:
    """A connection with results, and the settings that made them."""

    connection: DuckDBPyConnection
    settings: Settings


def figures_with(store: Store, settings: Settings) -> list[dict[str, Any]]:
    with store.read() as reader:
        run.compute(reader.connection, settings)
        asked = Asked(reader.connection, settings)
        months = indicators(asked, FROM, TO, by_month=True).to_pylist()
        return [*months, *indicators(asked, FROM, TO).to_pylist()]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The demo's files of eight sites and 120 days, loaded."""
    folder = tmp_path_factory.mktemp("moves")
    made: Path = generate(folder / "files", sites=8, days=120)
    store = open_store(folder / "store", create=True)
    store.change_setting("timezone", "Africa/Blantyre")
    for delivery in sorted((made / "deliveries").iterdir()):
        moment = datetime.combine(date.fromisoformat(delivery.name), datetime.min.time(), UTC)
        store.load([delivery], arrived_at=moment)
    return store


@pytest.fixture(scope="module")
def before(demo: Store) -> list[dict[str, Any]]:
    with demo.read() as reader:
        settings = reader.settings
    return figures_with(demo, settings)


def test_every_setting_is_tried() -> None:
    """None is left out but those that are no number of a figure."""
    assert set(FAR_OFF) | NOT_FIGURES == {of.name for of in fields(Settings)}


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[] if name in SAMPLE else [pytest.mark.long]) for name in FAR_OFF]
)
def test_a_setting_moves_no_figure_that_does_not_list_it(
    demo: Store, before: list[dict[str, Any]], name: str
) -> None:
    """With one setting far off its default, whatever figure is another one has it in its explanation."""
    with demo.read() as reader:
        settings = reader.settings
    after = figures_with(demo, replace(settings, **{name: FAR_OFF[name]}))
    moved = {
        of.name
        for was, now in zip(before, after, strict=True)
        for of in INDICATORS
        if was[of.name] != now[of.name]
    }
    assert {figure for figure in moved if name not in BASES[figure].settings} == set()
    assert name not in SURELY or SURELY[name] in moved
