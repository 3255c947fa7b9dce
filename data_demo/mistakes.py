"""The mistakes of a hand that types a month's sheet of readings, and of the office that sends it."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from data_demo.paper import Row

Mistake = tuple[str, str]  # kind, key of the row or name of the meter
# by a sheet's own chance; no two bands meet, so that one sheet has one fate
LATE, CORRECTED, TENFOLD = (0.0, 0.12), (0.12, 0.20), (0.22, 0.25)
COPIED, DAY_FIRST = (0.50, 0.56), (0.76, 0.80)


@dataclass(frozen=True)
class Fate:
    """What becomes of a whole sheet."""

    tenfold: bool  # the register's red decimals were typed as whole digits
    late: bool  # it came a month later
    corrected: bool  # one value is wrong here, and right in a copy that came a month later
    copied: bool  # the same file came once more a month later, under another name
    day_first: bool  # its dates are written 31/03/2026; it came again, mended, a month later


def fate_of(chance: float, *, is_last: bool) -> Fate:
    """Return a sheet's fate; nothing comes after the last delivery."""
    return Fate(
        tenfold=_within(chance, TENFOLD),
        late=_within(chance, LATE) and not is_last,
        corrected=_within(chance, CORRECTED) and not is_last,
        copied=_within(chance, COPIED) and not is_last,
        day_first=_within(chance, DAY_FIRST) and not is_last,
    )


def _within(chance: float, band: tuple[float, float]) -> bool:
    return band[0] <= chance < band[1]


def red_decimals(rows: list[Row], whole_m3: set[str]) -> tuple[list[Row], list[Mistake]]:
    """Return a sheet on which every counter of whole m³ is ten times too much."""
    meters = sorted({row["meter_id"] for row in rows} & whole_m3)
    typed = [row | {"value": row["value"] * 10 + 3} if row["meter_id"] in meters else row for row in rows]
    return typed, [("red_decimals", meter) for meter in meters]


def mistyped(
    draw: np.random.Generator, rows: list[Row], whole_m3: set[str]
) -> tuple[list[Row], list[Mistake]]:
    """Return the rows as they were typed, and what is wrong with them."""
    typed: list[Row] = []
    made: list[Mistake] = []
    for row in rows:
        kind, wrong = _typed(draw.random(), row, whole_m3)
        typed += [wrong, wrong] if kind == "typed_twice" else [wrong]
        if kind:
            made.append((kind, f"{row['meter_id']} {row['read_at']:%Y-%m-%d %H:%M}"))
    return typed, made


def _typed(chance: float, row: Row, whole_m3: set[str]) -> tuple[str, Row]:
    value = row["value"]
    digits = str(value)
    if chance < 0.006 and value > 1000 and digits[1] != digits[2]:
        return "transposed", row | {"value": int(digits[0] + digits[2] + digits[1] + digits[3:])}
    if 0.006 <= chance < 0.010 and value > 1000:
        return "missing_digit", row | {"value": int(digits[:2] + digits[3:])}
    if 0.010 <= chance < 0.013 and value >= 1000:
        return "thousands_mark", row | {"value": f"{value:,}"}
    if 0.013 <= chance < 0.015:
        return "unknown_meter", row | {"meter_id": "W99999"}
    if 0.015 <= chance < 0.018 and row["meter_id"] in whole_m3:
        return "litres_as_m3", row | {"value": value * 1000}
    if 0.018 <= chance < 0.021:
        return "typed_twice", row
    return "", row


def wrong_last_value(rows: list[Row]) -> list[Row]:
    """Return the sheet with seven too many in its last row."""
    last = rows[-1]
    return [*rows[:-1], last | {"value": int(str(last["value"]).replace(",", "")) + 7}]


def dates_day_first(rows: list[Row]) -> list[Row]:
    """Return the sheet with its dates in the other order."""
    return [row | {"read_at": _day_first(row["read_at"])} for row in rows]


def _day_first(moment: datetime) -> str:
    return moment.strftime("%d/%m/%Y %H:%M")
