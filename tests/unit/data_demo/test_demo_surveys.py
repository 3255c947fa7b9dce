"""What a survey says fits what is wrong at the site, and physics."""

from typing import Any

import numpy as np
import pytest

from data_demo.chunks import Chunk, simulate_chunk
from data_demo.climate import weather_of
from data_demo.simulate import KINDS, STOPS
from data_demo.survey_sheets import surveys

Survey = tuple[int, int, dict[str, Any]]  # position of the site, of the day, row


@pytest.fixture(scope="module")
def chunk() -> Chunk:
    return simulate_chunk(1, 0, 0, 60, weather_of(1, 549), paper_only=False)


@pytest.fixture(scope="module")
def found(chunk: Chunk) -> list[Survey]:
    rows = surveys(1, 0, chunk.sites, chunk.outcome, chunk.first_day)
    return [(int(row["site_id"][1:]) - 1, day, row) for day, row in rows]


def test_a_stopped_pump_shows_neither_flow_nor_pressure(chunk: Chunk, found: list[Survey]) -> None:
    """A gauge on a standing pump would read the column of water alone: it is left empty."""
    stopped = np.asarray((chunk.outcome.severity[:, :, STOPS] >= 1).any(2))
    standing = [row for site, day, row in found if stopped[site, day]]
    assert len(standing) >= 5
    columns = ("measured_flow_m3h", "measured_input_kw", "measured_pressure_kpa", "catch_depths_mm")
    for row in standing:
        assert all(row[c] is None for c in (*columns, "pumping_water_level_m", "mean_spray_diameter_m"))
        assert row["pump_condition"] == 1


def test_lift_and_pressure_stay_within_the_head(chunk: Chunk, found: list[Survey]) -> None:
    """ρ·g = 9.80665 kPa a metre: water level and gauge together are no more than the total head."""
    for site, day, row in found:
        faults = chunk.outcome.severity[site, day]
        if row["measured_pressure_kpa"] is None or faults.any():
            continue
        head = row["pumping_water_level_m"] + row["measured_pressure_kpa"] / 9.80665
        assert head < chunk.sites.head_m[site] * 1.05


def test_a_fault_shows_in_what_the_survey_measures(chunk: Chunk, found: list[Survey]) -> None:
    """Blocks opened together lower the pressure, blocked laterals raise it, a worn pump gives less."""

    def mean_ratio(kind: str, column: str, usual: np.ndarray[Any, np.dtype[np.float64]]) -> float:
        position = KINDS.index(kind)
        ratios = [
            row[column] / usual[site]
            for site, day, row in found
            if row[column] is not None
            and chunk.outcome.severity[site, day, position] > 0.2
            and (np.delete(chunk.outcome.severity[site, day], position) < 0.1).all()
        ]
        assert len(ratios) >= 2, kind
        return float(np.mean(ratios))

    pressure = chunk.sites.head_m / 3 * 9.80665
    assert mean_ratio("blocks_doubled", "measured_pressure_kpa", pressure) < 0.7
    assert mean_ratio("laterals_blocked", "measured_pressure_kpa", pressure) > 1.1
    assert mean_ratio("intake_blocked", "measured_flow_m3h", chunk.sites.flow_m3h) < 0.85
    assert mean_ratio("array_loss", "measured_input_kw", chunk.sites.power_kw) < 0.6
