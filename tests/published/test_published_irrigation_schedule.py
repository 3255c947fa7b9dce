"""When to irrigate and how much, against worked examples of irrigation scheduling."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.scheduling.inputs import BlockInput, Rules, SiteInput
from pipeline.scheduling.plan import plan
from pipeline.scheduling.soil import account

HOURS = tuple(200.0 if 6 <= hour < 18 else 0.0 for hour in range(24))  # more water than anybody wants


def site(block: BlockInput) -> SiteInput:
    """A site whose water sets no bound, for as many days as the block has needs."""
    days = tuple(date(2026, 2, 1) + timedelta(days=k) for k in range(len(block.need_mm)))
    return SiteInput("S", days, ((360, 1080),) * len(days), HOURS, (block,), rules=Rules(60, 1, 0))


def first_short_day(block: BlockInput) -> int:
    """The first day on which the crop would go short if no valve were opened; 1 is the first."""
    books = account(site(block), block)
    short = books.short_mm([0.0] * len(block.need_mm))
    return next(day for day, mm in enumerate(short, 1) if mm > books.minute_mm)


def test_tomatoes_on_loam_are_watered_every_eight_days() -> None:
    """40 mm net at a time; 718 mm in 150 days are 18 waterings, so one in eight days; at 60 % they take 67 mm."""
    # Brouwer, Prins, Heibloem (1989), FAO Irrigation Water Management Training Manual 4, ch. 3, the simple
    # calculation method: tomatoes from February to June (from memory)
    waterings = 718 / 40
    assert round(waterings) == 18
    net = 718 / 150
    tomatoes = BlockInput(
        "A", 30.0, (1.0,) * 12, (net / 0.6,) * 12, efficiency=0.6, start_depletion_mm=0.0, raw_mm=40.0, taw_mm=100.0
    )  # fmt: skip
    # eight whole days fit between two waterings: on the ninth 43 mm would be missing
    assert first_short_day(tomatoes) == 9
    due = replace(tomatoes, start_depletion_mm=40.0)
    assert account(site(due), due).room_mm[0] == pytest.approx(67, abs=0.4)


def test_beans_are_watered_before_they_dry_out_beyond_raw() -> None:
    """After 40 mm of day 1 no water is due for eight days: 27 mm are missing on the evening of day 9, of RAW 27."""
    # FAO-56, Example 38, p. 172 and 173: TAW 130 mm/m × 0.30 to 0.35 m, p 0.6; the rain of day 6 is taken off
    # the need that comes after it. What the roots' new layers bring is what the printed depletions have on top
    need = np.array([6.1, 4.0, 2.9, 2.5, 0.0, 1.4, 2.8, 2.2, 6.3])  # of days 2 to 10
    raw = 0.6 * 130 * 0.345
    beans = BlockInput(
        "A", 30.0, (1.0,) * 9, tuple(need.tolist()), start_depletion_mm=5.0, raw_mm=raw, taw_mm=raw / 0.6
    )  # fmt: skip
    depletion = 5.0 + need.cumsum()
    assert depletion[-2] == pytest.approx(27, abs=0.5)  # printed for day 9
    # so the watering of day 10, 27 mm, is the first that can't wait
    assert first_short_day(beans) == 9
    assert account(site(beans), beans).room_mm[0] == 5.0


def test_a_net_need_over_the_efficiency_is_what_goes_through_the_valve() -> None:
    """5 mm net at 60 % are 8.3 mm; 1 ha of it at 30 m³/h takes 167 minutes."""
    # FAO Irrigation Water Management Training Manual 4, ch. 3: gross = net × 100 / efficiency (from memory)
    block = BlockInput("A", 30.0, (1.0,) * 7, (5 / 0.6,) * 7, efficiency=0.6)
    made = plan(site(block))
    assert sum(turn.to_min - turn.from_min for turn in made.turns) == pytest.approx(7 * 166.7, abs=7)
    assert sum(turn.volume_m3 for turn in made.turns) == pytest.approx(7 * 83.3, abs=1)
