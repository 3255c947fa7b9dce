"""Meter intervals: what each counter counted between two readings, with a verdict and its reason."""

from dataclasses import dataclass, replace
from typing import Any

import duckdb
import numpy as np
import numpy.typing as npt
import pyarrow as pa

from pipeline.agronomy.arrays import Floats
from pipeline.config import Settings
from pipeline.measures.reading_clock import reading_clock
from pipeline.measures.registers import Judged, Register, all_ordinary, judge
from pipeline.measures.results import create_empty
from pipeline.measures.statements import run_statement
from pipeline.measures.sunlight import SiteSun
from pipeline.words import say, say_n

UNITS = {"l": 0.001, "MWh": 1000.0}  # in m³ and kWh
SILENT_TIMES, SILENT_DAYS, FEW_INTERVALS = 5.0, 3.0, 5  # of the usual interval; at least; from so many
ORDINARY_SHARE = 0.05  # of a meter's rates that must come near one before it is ordinary; two at least


@dataclass(frozen=True)
class Meter:
    """A meter and the pump that it sits on."""

    meter_id: str
    site_id: str
    quantity: str
    block_id: str | None
    digits: int | None
    unit: float
    rated: float | None  # m³/h or kW; None: unknown
    carries: str = "pump"

    @property
    def modulus(self) -> float | None:
        """The first number that the register can't show."""
        return None if self.digits is None else 10.0**self.digits * self.unit


def leave_meter_intervals(
    connection: duckdb.DuckDBPyConnection, settings: Settings, suns: dict[str, SiteSun]
) -> None:
    """Leave the table meter_intervals; stuck counters are told once logs and energy are known."""
    create_empty(connection, "meter_intervals")
    for columns in _by_meter(connection, settings, suns):
        connection.register("_intervals", columns)
        connection.execute("INSERT INTO meter_intervals BY NAME SELECT * FROM _intervals")
        connection.unregister("_intervals")


def _by_meter(
    connection: duckdb.DuckDBPyConnection, settings: Settings, suns: dict[str, SiteSun]
) -> list[pa.Table]:
    run_statement(connection, "readings_in_service", {})
    meters = [
        Meter(meter_id, site_id, quantity, block_id, digits, UNITS.get(unit, 1.0), rated, carries)
        for meter_id, site_id, quantity, block_id, digits, unit, rated, carries in connection.execute(
            _METERS
        ).fetchall()
    ]

    rows = connection.execute(
        "SELECT meter_id, epoch(read_at) AS at_s, value, outside FROM readings_in_service ORDER BY meter_id, read_at"
    ).fetchnumpy()
    ids, starts = np.unique(np.asarray(rows["meter_id"], dtype=object).astype(str), return_index=True)
    ends = dict(zip(ids, [*starts, len(rows["at_s"])][1:], strict=True))  # none of none where nobody read
    begins = dict(zip(ids, starts, strict=True))
    made = []
    for meter in meters:
        if meter.meter_id not in begins:
            continue
        part = slice(int(begins[meter.meter_id]), int(ends[meter.meter_id]))
        outside = np.asarray(rows["outside"][part], dtype=bool)
        at_s = np.asarray(rows["at_s"][part], dtype=float)
        value = np.asarray(rows["value"][part], dtype=float) * meter.unit
        made.append(_intervals(meter, at_s, value, outside, settings, suns[meter.site_id]))
    return made


_METERS = """
    SELECT meter_id, m.site_id, quantity, block_id, digits, unit,
           CASE WHEN quantity = 'water' THEN pump_rated_flow_m3h
                WHEN coalesce(carries, 'pump') = 'pump' THEN pump_rated_power_kw
                WHEN carries = 'array' THEN pv_capacity_kwp END AS rated,
           coalesce(carries, 'pump') AS carries
    FROM meters m JOIN sites s ON s.site_id = m.site_id ORDER BY meter_id"""


def _intervals(
    meter: Meter, at_s: Any, value: Any, outside: Any, settings: Settings, sun: SiteSun
) -> pa.Table:
    inside = np.flatnonzero(~outside)
    register, shift_h = _register(meter, at_s[inside], value[inside], settings, sun)
    if len(inside) > 1 and all_ordinary(register):
        steps = [Judged(i, i + 1, float(a), "ordinary") for i, a in enumerate(np.diff(register.value))]
    else:
        steps = judge(register)
    if shift_h:
        steps = _by_clock(steps, register, sun.hours_until(register.at_s))
    table = _table(meter, register, steps, shift_h)
    if outside.any():
        table = pa.concat_tables([table, _outside(meter, at_s[outside], value[outside])])
    return table


def _register(meter: Meter, at_s: Any, value: Any, settings: Settings, sun: SiteSun) -> tuple[Register, int]:
    """The register with the hours in which it could count, and how far its clock is ahead [h]."""
    resolution = meter.unit if meter.unit >= 1 else 1.0
    if meter.carries == "pump_and_other":  # lights and radios run by night too
        run_h, shift_h = at_s / 3600, 0
        limit = _limit_per_h(meter, value, run_h, settings)
    else:
        limit = _limit_per_h(meter, value, sun.hours_until(at_s), settings)
        clock = reading_clock(at_s, value, sun.hours_until, limit, resolution)
        run_h, shift_h = clock.run_h, clock.shift_h
    register = Register(
        at_s,
        value,
        run_h,
        limit,
        meter.modulus,
        resolution=resolution,
        neighbour_margin=settings.neighbour_rate_margin,
        unit=meter.unit,
    )
    return register, shift_h


def _by_clock(steps: list[Judged], register: Register, as_written_h: Any) -> list[Judged]:
    """Mark the steps that count only because the clock was seen to be off."""

    def needs_it(step: Judged) -> bool:
        most = register.limit_per_h * (as_written_h[step.end] - as_written_h[step.start])
        return step.verdict == "ordinary" and step.amount > most + register.resolution

    return [replace(step, verdict="clock_off") if needs_it(step) else step for step in steps]


def _limit_per_h(meter: Meter, value: Any, run_h: Any, settings: Settings) -> float:
    """The most that the meter can count in an hour of daylight.

    Without a rated flow: its own highest ordinary rate, and a margin. A rate is ordinary if others of
    the meter come near it, within the same margin; where none does, the highest counts.
    """
    if meter.rated:
        return settings.flow_margin * meter.rated
    hours, steps = np.diff(run_h), np.diff(value)
    usable = (hours > 0) & (steps > 0)
    if not usable.any():
        return float("inf")
    rates = np.sort(steps[usable] / hours[usable])[::-1]
    near = len(rates) - np.searchsorted(rates[::-1], rates / settings.own_rate_margin)
    ordinary = rates[near >= max(2, int(np.ceil(ORDINARY_SHARE * len(rates))))]
    return settings.own_rate_margin * float(ordinary[0] if len(ordinary) else rates[0])


def _table(meter: Meter, register: Register, steps: list[Judged], shift_h: int = 0) -> pa.Table:
    start = np.array([s.start for s in steps], dtype=np.int64)
    end = np.array([s.end for s in steps], dtype=np.int64)
    amount = [None if np.isnan(s.amount) else s.amount for s in steps]
    count = len(steps)
    days = (register.at_s[end] - register.at_s[start]) / 86_400.0
    silent = _silent(days)
    return pa.table(
        {
            "site_id": pa.array([meter.site_id] * count, pa.string()),
            "meter_id": pa.array([meter.meter_id] * count, pa.string()),
            "quantity": pa.array([meter.quantity] * count, pa.string()),
            "block_id": pa.array([meter.block_id] * count, pa.string()),
            "from_at": pa.array(register.at_s[start].astype("datetime64[s]")),
            "to_at": pa.array(register.at_s[end].astype("datetime64[s]")),
            "from_value": pa.array(register.value[start]),
            "to_value": pa.array(register.value[end]),
            "amount": pa.array(amount, pa.float64()),
            "valid": pa.array([a is not None for a in amount], pa.bool_()),
            "verdict": pa.array([s.verdict for s in steps], pa.string()),
            "reason": pa.array(
                [
                    told or (_of_silence(days, k) if silent[k] else None)
                    for k, told in enumerate(_reason(meter, register, s, shift_h) for s in steps)
                ],
                pa.string(),
            ),
            "days": pa.array(days),
        }
    )


def _silent(days: Floats) -> npt.NDArray[np.bool_]:
    """Which intervals are far longer than the meter's usual ones: its modem or its reader was silent."""
    if len(days) < FEW_INTERVALS:
        return np.zeros(len(days), dtype=bool)
    return np.asarray(days >= max(SILENT_TIMES * float(np.median(days)), SILENT_DAYS))


def _of_silence(days: Floats, k: int) -> str:
    return say("measures.silent", days=f"{days[k]:,.0f}", usual=f"{np.median(days):,.1f}")


def _reason(meter: Meter, register: Register, step: Judged, shift_h: int) -> str | None:
    """A sentence with the figures; an ordinary step needs none."""
    if step.verdict == "ordinary":
        return say_n("measures.spans", step.skipped) if step.skipped else None
    hours = register.run_h[step.end] - register.run_h[step.start]
    most = 0.0 if np.isinf(register.limit_per_h) else register.limit_per_h * hours  # no limit is never told
    return say(
        f"measures.verdict_{step.verdict}",
        start=f"{register.value[step.start] / meter.unit:,.0f}",
        end=f"{register.value[step.end] / meter.unit:,.0f}",
        amount=f"{step.amount:,.0f}",
        most=f"{most:,.0f}",
        hours=f"{hours:,.0f}",
        unit="m³" if meter.quantity == "water" else "kWh",
        shift=abs(shift_h),
        side=say("measures.ahead" if shift_h > 0 else "measures.behind"),
    )


def _outside(meter: Meter, at_s: Any, value: Any) -> pa.Table:
    register = Register(at_s, value, np.zeros(len(at_s)), float("inf"))
    steps = [Judged(i, i, float("nan"), "outside_service") for i in range(len(at_s))]
    return _table(meter, register, steps)
