"""`sunrill schedule` on real files: what is written, what is said, and what stops it."""

import csv
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import main
from pipeline.errors import SunrillError
from pipeline.scheduling import Week, week_of, weeks, weeks_of
from pipeline.scheduling.table import SCHEMA
from pipeline.store import Store
from pipeline.visits.facts import leave_coming
from tests.unit.visits.conftest import Field

WEEK = date(2026, 10, 19)  # the weather ends on 31 October
CONTRACT = [
    "site_id",
    "day",
    "block_id",
    "start_at",
    "end_at",
    "run_min",
    "depth_mm",
    "volume_m3",
    "short_mm",
]


def _pumping(_day: date, hour: int) -> tuple[float, float, float]:
    return (10.0, 3.0, 50.0) if 8 < hour <= 16 else (0.0, 0.0, 50.0)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Sites that differ in one thing each."""
    field = Field()
    field.site("LOG")
    field.log("LOG", _pumping)
    field.site("SUN", pv_capacity_kwp=6)
    field.site("DARK")
    field.site("BARE", pv_capacity_kwp=6, crop=None)
    field.site("GONE", pv_capacity_kwp=6, decommissioned_on=date(2026, 10, 1))
    field.site("PAUSED", pv_capacity_kwp=6)
    field.add("pauses", site_id="PAUSED", from_on=WEEK + timedelta(days=2), to_on=WEEK + timedelta(days=3), reason="flood")  # fmt: skip
    field.site("LIMIT", pv_capacity_kwp=6)
    field.add("abstraction_limits", site_id="LIMIT", m3_per_day=20, permit_until=date(2026, 10, 20))
    field.site("PLOTS", pv_capacity_kwp=6, crop=None)
    for crop, ha in (("greens", 0.75), ("=1+1", 0.25)):
        field.add(
            "plantings", site_id="PLOTS", block_id="A", crop=crop, planted_on=date(2026, 7, 5), area_ha=ha
        )
    field.add(
        "crops", crop="=1+1", kc_ini=1, kc_mid=1, kc_end=1, ini_days=100, dev_days=100, mid_days=100, late_days=100
    )  # fmt: skip
    field.site("EAST", pv_capacity_kwp=6, timezone="Pacific/Auckland")
    field.site("WEST", pv_capacity_kwp=6, timezone="America/Los_Angeles")
    field.site("STILL", pv_capacity_kwp=6)
    field.add(
        "maintenance", record_id="J1", site_id="STILL", kind="corrective", reported_at="2026-10-12 09:00", water_stopped="yes"
    )  # fmt: skip
    return field.store(tmp_path_factory.mktemp("schedule"))


@pytest.fixture
def asked(store: Store) -> Callable[..., Week]:
    def ask(site_id: str, first: date = WEEK, **more: Any) -> Week:
        with store.read() as reader:
            return week_of(reader, site_id, first, **more)

    return ask


def _run(store: Store, *arguments: object, code: int = 0) -> Result:
    done = CliRunner().invoke(main, ["schedule", "--store", str(store.path), *map(str, arguments)])
    assert done.exit_code == code, (done.output, done.exception)
    return done


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_the_contract_stands_first(store: Store, tmp_path: Path) -> None:
    """Nine columns as agreed, then what else is known."""
    out = tmp_path / "week.csv"
    done = _run(store, "--site", "LOG", "--week", WEEK, "--out", out)
    found = _rows(out)
    assert list(found[0])[:9] == CONTRACT == SCHEMA.names[:9]
    assert {row["day"] for row in found} == {str(WEEK + timedelta(days=k)) for k in range(7)}
    assert all(row["start_at"].endswith("+02:00") for row in found)
    assert "hands off panels" in done.output
    assert "not for drinking" in done.output


def test_a_past_week_gets_its_measured_need(store: Store, asked: Callable[..., Week]) -> None:
    """The volumes are the need of block_days, at 10 m³/h, but for the rounding to minutes."""
    week = asked("LOG")
    with store.read() as reader:
        need = reader.rows("SELECT day, need_m3 FROM block_days WHERE site_id = 'LOG' ORDER BY day")
    by_day = {row["day"]: row["need_m3"] for row in need}
    wanted = sum(by_day[WEEK + timedelta(days=k)] for k in range(7))
    assert week.supply.known_from == "log"
    assert max(week.supply.hourly_m3h) == 10.0
    assert week.given_m3 == pytest.approx(wanted, abs=1)
    assert sum(run.run_min for run in week.runs) == pytest.approx(wanted / 10 * 60, abs=7)


def test_a_week_to_come_gets_the_need_that_visits_are_ranked_by(
    store: Store, asked: Callable[..., Week]
) -> None:
    """The same table of the days to come."""
    first = date(2026, 11, 2)
    week = asked("LOG", first)
    with store.read() as reader:
        leave_coming(reader, first - timedelta(days=1), 7, ["LOG"])
        coming = reader.rows("SELECT sum(need_m3) AS m3 FROM visit_coming WHERE site_id = 'LOG'")[0]["m3"]
    assert week.given_m3 == pytest.approx(coming, abs=1)
    assert any("nobody has measured" in sentence for sentence in week.remarks)


def test_one_site_s_need_to_come_is_that_of_all(store: Store) -> None:
    """Asked for alone or with the others."""
    query = "SELECT block_id, day, need_m3 FROM visit_coming_blocks WHERE site_id = 'LOG' ORDER BY ALL"
    with store.read() as reader:
        leave_coming(reader, WEEK, 7, ["LOG"])
        alone = reader.rows(query)
        leave_coming(reader, WEEK, 7)
        assert reader.rows(query) == alone
    assert len(alone) == 7


def test_without_a_log_it_is_reckoned_from_the_sun(asked: Callable[..., Week]) -> None:
    """And the sentence says so."""
    week = asked("SUN")
    assert week.supply.known_from == "sun"
    assert "no log" in week.supply.sentence
    assert week.given_m3 > 0


def test_what_nobody_knows_is_an_error_that_names_it(store: Store, tmp_path: Path) -> None:
    """No log, no array on record: exit 1, and nothing is written."""
    out = tmp_path / "week.csv"
    done = _run(store, "--site", "DARK", "--week", WEEK, "--out", out, code=1)
    assert "pv_capacity_kwp" in done.output
    assert not out.exists()


def test_a_site_of_whose_blocks_nobody_knows_the_need_gets_no_sheet(asked: Callable[..., Week]) -> None:
    """Unknown is not zero: a week without turns would say that none needs water."""
    with pytest.raises(SunrillError, match="Nobody knows the need of any block"):
        asked("BARE")


def test_a_site_out_of_service_gets_none(store: Store, tmp_path: Path) -> None:
    """The error has the day."""
    done = _run(store, "--site", "GONE", "--week", WEEK, "--out", tmp_path / "w.csv", code=1)
    assert "2026-10-01" in done.output


@pytest.mark.parametrize("site", ["EAST", "WEST"])
def test_a_time_zone_of_another_place_is_told(store: Store, tmp_path: Path, site: str) -> None:
    """By its clock the sun would rise in the evening, or on the day before."""
    done = _run(store, "--site", site, "--week", WEEK, "--out", tmp_path / "w.csv", code=1)
    assert "across midnight" in done.output
    assert "timezone" in done.output


def test_an_unknown_site_is_told_with_its_neighbours(store: Store, tmp_path: Path) -> None:
    """As every other command does."""
    _run(store, "--site", "LOGG", "--week", WEEK, "--out", tmp_path / "w.csv", code=1)


def test_nobody_opens_a_valve_in_a_pause(asked: Callable[..., Week]) -> None:
    """Wednesday and Thursday."""
    week = asked("PAUSED")
    assert {(run.day - WEEK).days for run in week.runs} == {0, 1, 4, 5, 6}
    assert any("flood" in sentence for sentence in week.remarks)


def test_the_permit_holds(asked: Callable[..., Week]) -> None:
    """20 m³ a day of more than 50 that are needed; its end is told."""
    week = asked("LIMIT")
    for k in range(7):
        assert sum(run.volume_m3 for run in week.runs if run.day == WEEK + timedelta(days=k)) <= 20.001
    assert week.short_mm("A") > 10
    told = " ".join(week.remarks)
    assert "goes short" in told
    assert "2026-10-20" in told


def test_a_site_that_stands_still_gets_its_week_with_a_word(asked: Callable[..., Week]) -> None:
    """For when it runs again."""
    week = asked("STILL")
    assert week.given_m3 > 0
    assert "2026-10-12" in week.remarks[0]


def test_plots_share_a_run_by_area_and_need(store: Store, tmp_path: Path) -> None:
    """Three quarters and one; a crop's name is no formula."""
    out = tmp_path / "week.csv"
    _run(store, "--site", "PLOTS", "--week", WEEK, "--out", out)
    row = _rows(out)[0]
    parts = row["plots"].lstrip("'").split(";")
    minutes = [int(part.split(": ")[1].removesuffix(" min")) for part in parts]
    assert sum(minutes) == int(row["run_min"])
    assert max(minutes) == pytest.approx(0.75 * sum(minutes), abs=1)
    assert not row["plots"].startswith("=")


def test_a_lasting_sheet_repeats_its_seven_days(asked: Callable[..., Week]) -> None:
    """Until the end of the month, or of the crop's stage."""
    week = asked("SUN", standing="month")
    assert week.repeats_until == date(2026, 10, 31)
    assert len(set(week.blocks[0].need_mm)) == 1
    assert any("2026-10-31" in sentence for sentence in week.remarks)
    stage = asked("SUN", standing="stage")  # greens of 5 July: the second hundred days begin on 13 October
    assert stage.repeats_until == WEEK + timedelta(days=61)


def test_a_stage_s_sheet_ends_with_the_stage(asked: Callable[..., Week]) -> None:
    """Asked on 5 October, the first hundred days end on the 12th."""
    assert asked("SUN", date(2026, 10, 5), standing="stage").repeats_until == date(2026, 10, 12)


def test_many_at_once_are_the_same_as_each_alone(store: Store, asked: Callable[..., Week]) -> None:
    """And what can't be planned is an error in its place."""
    with store.read() as reader:
        found = weeks_of(reader, ["SUN", "DARK", "LOG", "NOWHERE"], WEEK)
    assert found["SUN"] == asked("SUN")
    assert found["LOG"] == asked("LOG")
    assert isinstance(found["DARK"], SunrillError)
    assert isinstance(found["NOWHERE"], SunrillError)


def test_a_week_that_fails_its_check_is_not_written(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """The command says what is wrong, and that it isn't the user's mistake."""
    monkeypatch.setattr(weeks, "faults", lambda _site, _runs: ["Block A is open in the night."])
    out = tmp_path / "week.csv"
    done = _run(store, "--site", "SUN", "--week", WEEK, "--out", out, code=1)
    assert "open in the night" in done.output
    assert not out.exists()


@pytest.mark.parametrize("ending", ["xlsx", "parquet"])
def test_other_endings_hold_the_same_rows(store: Store, tmp_path: Path, ending: str) -> None:
    """Whatever the file."""
    out = tmp_path / f"week.{ending}"
    _run(store, "--site", "SUN", "--week", WEEK, "--out", out)
    assert out.stat().st_size > 0
