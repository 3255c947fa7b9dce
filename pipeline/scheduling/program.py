"""The week as a mixed-integer program, solved by HiGHS.

For each block and day: the depth given x, what goes short s, what waits for a later day r, whether the
valve is opened y, the minutes beyond the usual length o, and beyond twice that length t. For each block:
what goes short in the week, in steps whose price grows, w, and how far it ends beyond RAW, e.
"""

from collections.abc import Iterable, Sequence
from math import ceil, inf
from typing import Any

import numpy as np
import numpy.typing as npt

from pipeline.scheduling.inputs import SiteInput
from pipeline.scheduling.intake import MM_M3_PER_HA, most_mm, pulses
from pipeline.scheduling.soil import Account
from pipeline.scheduling.water import day_m3, evening_before

Floats = npt.NDArray[np.float64]
Terms = Iterable[tuple[int, float]]

LAST_DAYS = 3  # after which no day of the week makes up for a bad one
STEPS = 8  # of the week's loss r²
DAY_STEPS = 3  # of a day's, which spreads a block's shortage over its days
DAY_WEIGHT = 0.1  # of the days' loss beside the week's
SPARE_WEIGHT = 0.02  # of a mm that brings a dry block back to RAW, beside one that it misses in the week
WEIGHT_LOW, WEIGHT_HIGH = 2.0 / 3.0, 1.5
RUN_COST, OVERTIME_COST = 2e-4, 2.2e-4  # of the loss of a whole week: a run; a usual length more
REL_GAP, MOST_NODES = 5e-3, 100  # no clock: the same on every machine
ALL_AT_ONCE_M3H = 1e6  # a valve that takes whatever there is


def weights(site: SiteInput, accounts: Sequence[Account]) -> Floats:
    """Return what a mm on a hectare is worth to each block, beside the mean of them all [-].

    Ky / season's need (unknown: as the others'), within `WEIGHT_LOW` and `WEIGHT_HIGH` of the mean by volume of need.
    """
    raw = np.array([b.yield_response / b.season_mm for b in site.blocks])
    raw = np.where(np.isfinite(raw), raw, np.nanmean(raw) if np.isfinite(raw).any() else 1.0)
    volume = np.array([np.mean(b.area_ha) * a.need_mm for b, a in zip(site.blocks, accounts, strict=True)])
    mean = float((raw * volume).sum() / volume.sum()) if volume.sum() > 0 else float(raw.mean())
    return np.asarray(np.clip(raw / mean if mean > 0 else np.ones_like(raw), WEIGHT_LOW, WEIGHT_HIGH))


class Program:
    """One site's program; it is asked again as the days' water turns out smaller."""

    def __init__(self, site: SiteInput, accounts: Sequence[Account]) -> None:
        self.site, self.accounts = site, accounts
        self.blocks, self.days = len(site.blocks), len(site.days)
        cells = self.blocks * self.days
        sizes = (cells,) * 6 + (cells * DAY_STEPS, self.blocks * STEPS, self.blocks)
        self.x, self.s, self.r, self.y, self.o, self.t, self.d, self.w, self.e, self.count = np.cumsum(
            (0, *sizes)
        ).tolist()
        self.rows: list[tuple[list[tuple[int, float]], float, float]] = []
        self._water()
        self._books()
        self._runs()
        self.fixed_rows = list(self.rows)
        self._may_open_all()

    def spread(self, blocks: Sequence[int]) -> None:
        """Let the last days of a week bring these blocks no more than half of what the week does."""
        last = self.days - LAST_DAYS
        for b in blocks:
            terms = [(self.at(self.x, b, day), 1.0 if day >= last else -1.0) for day in range(self.days)]
            self.fixed_rows.append((terms, -inf, 0.0))
        self._may_open_all()

    def _may_open_all(self) -> None:
        self.opened = np.ones(self.blocks * self.days)

    def depths_mm(self, most_m3: Sequence[float]) -> list[list[float]]:
        """Return what each block is to get on each day [mm], no day more than so much water [m³]."""
        self.rows = list(self.fixed_rows)
        for day, most in enumerate(most_m3):
            if most < inf:
                self._at_most(((self.at(self.x, b, day), self.mm_m3(b, day)) for b in range(self.blocks)), most)  # fmt: skip
        x = self._solved(MOST_NODES)
        self.opened = np.where(x[self.y : self.o] > 0.5, 1.0, 0.0)  # noqa: PLR2004 - with less water no valve is opened more often
        return [[float(mm) for mm in row] for row in x[self.x : self.s].reshape(self.blocks, self.days)]

    def _solved(self, most_nodes: int | None) -> Floats:
        """The variables at the optimum, or near it; giving nothing is always a way, so there is one."""
        whole = np.zeros(self.count)
        whole[self.y : self.o] = 1
        options: Any = {"mip_rel_gap": REL_GAP} | ({"node_limit": most_nodes} if most_nodes else {})
        from pipeline.scheduling.solver import least  # noqa: PLC0415 - every command would wait for it

        found = least(self._costs(), self.rows, self._upper(), whole, options)
        return self._solved(None) if found is None else found

    def at(self, first: int, block: int, day: int) -> int:
        """Place of a block's day among the variables."""
        return first + block * self.days + day

    def mm_m3(self, block: int, day: int) -> float:
        """Volume of a mm on a block [m³/mm]."""
        return MM_M3_PER_HA * self.site.blocks[block].area_ha[day]

    def _add(self, terms: Terms, low: float, high: float) -> None:
        self.rows.append((list(terms), low, high))

    def _at_most(self, terms: Terms, high: float) -> None:
        self._add(terms, -inf, high)

    def _water(self) -> None:
        """What a day can bring: without a tank each block takes a share of the day, else volume and time."""
        site, gap = self.site, self.site.rules.changeover_min
        first = next((day for day, window in enumerate(site.windows) if window), 0)
        window = site.windows[first]
        self.window_min = window[1] - window[0] if window else 1
        morning = evening_before(site)
        alone = {b.flow_m3h: day_m3(morning, first, b.flow_m3h) for b in site.blocks}
        self.alone_m3 = [max(alone[b.flow_m3h], 1e-6) for b in site.blocks]
        all_m3 = day_m3(morning, first, ALL_AT_ONCE_M3H)
        self.turns = [self._turns(b) for b in range(self.blocks)]
        for day in range(self.days):
            x = [(self.at(self.x, b, day), self.mm_m3(b, day)) for b in range(self.blocks)]
            y = [(self.at(self.y, b, day), float(gap * self.turns[b])) for b in range(self.blocks)]
            if not site.tank_m3:
                share = [(k, m3 / alone_m3) for (k, m3), alone_m3 in zip(x, self.alone_m3, strict=True)]
                share += [(k, minutes / self.window_min) for k, minutes in y]
                self._at_most(share, 1.0 + gap / self.window_min)
                continue
            flow = max(b.flow_m3h for b in site.blocks)
            open_min = [(k, m3 * 60.0 / b.flow_m3h) for (k, m3), b in zip(x, site.blocks, strict=True)]
            self._at_most([*open_min, *y], self.window_min + gap)
            lost = [(k, minutes * flow / 60.0) for k, minutes in y]
            self._at_most([*x, *lost], all_m3 + gap * flow / 60.0)

    def _turns(self, block: int) -> int:
        """Turns that a day's water is cut into where the soil takes it slowly."""
        of = self.site.blocks[block]
        day = max(range(self.days), key=lambda k: of.area_ha[k])
        most = pulses(of, day, self.site.rules).most_min
        minutes = self.accounts[block].need_mm / self.days * self.mm_m3(block, day) / of.flow_m3h * 60.0
        return 1 if most == inf else max(1, ceil(minutes / most))

    def _books(self) -> None:
        """Water on the books: what came to it, less what is given and lost, waits for the next day."""
        for b, of in enumerate(self.accounts):
            for day in range(self.days):
                terms = [(self.at(v, b, day), 1.0) for v in (self.r, self.x, self.s)]
                if day:
                    terms.append((self.at(self.r, b, day - 1), -1.0))
                self._add(terms, of.room_mm[day], of.room_mm[day])
            if of.wish_mm < inf:
                evening = self.at(self.r, b, self.days - 1)
                self._at_most([(evening, 1.0), (self.e + b, -1.0)], of.wish_mm)
            lost = [(self.at(self.s, b, day), 1.0) for day in range(self.days)]
            steps = [(self.w + b * STEPS + k, -1.0) for k in range(STEPS)]
            self._add([*lost, *steps], 0.0, 0.0)
            for day in range(self.days):
                of_day = [(self.d + (b * self.days + day) * DAY_STEPS + k, -1.0) for k in range(DAY_STEPS)]
                self._add([(self.at(self.s, b, day), 1.0), *of_day], 0.0, 0.0)

    def _runs(self) -> None:
        """A valve is closed, or open for the least run or more; beyond the usual length it costs."""
        usual = self.site.rules.usual_min
        for b, of in enumerate(self.accounts):
            flow = min(self.site.blocks[b].flow_m3h, self.alone_m3[b] / self.window_min * 60.0)
            for day in range(self.days):
                x, y = self.at(self.x, b, day), self.at(self.y, b, day)
                self._add([(x, 1.0), (y, -self._most_mm(b, day))], -inf, 0.0)
                self._add([(x, 1.0), (y, -of.least_mm)], 0.0, inf)
                minutes = self.mm_m3(b, day) / flow * 60.0
                self._at_most([(x, minutes), (y, -float(usual)), (self.at(self.o, b, day), -1.0)], 0.0)
                self._at_most([(x, minutes), (y, -2.0 * usual), (self.at(self.t, b, day), -1.0)], 0.0)

    def _most_mm(self, block: int, day: int) -> float:
        """Most that a day can give one block: nothing on a day without a window."""
        if self.site.windows[day] is None or self.mm_m3(block, day) <= 0:
            return 0.0
        water = self.alone_m3[block] / self.mm_m3(block, day)
        room = sum(self.accounts[block].room_mm)
        return min(water, room, most_mm(self.site.blocks[block], day, self.window_min, self.site.rules))

    def _upper(self) -> Floats:
        high = np.full(self.count, inf)
        waits = np.array([of.waits_mm for of in self.accounts])
        minute = np.array([[of.minute_mm] for of in self.accounts])  # left to the rounding
        high[self.r : self.y] = np.maximum(waits - minute, 0.0).ravel()
        high[self.y : self.o] = self.opened
        for b, of in enumerate(self.accounts):
            high[self.w + b * STEPS : self.w + (b + 1) * STEPS - 1] = of.need_mm / STEPS
            for day in range(self.days):
                first = self.d + (b * self.days + day) * DAY_STEPS
                high[first : first + DAY_STEPS - 1] = of.need_mm / self.days / DAY_STEPS
        return high

    def _costs(self) -> Floats:
        """The price of each variable, as a share of a week in which all goes short."""
        cost = np.zeros(self.count)
        area = np.array([np.mean(b.area_ha) for b in self.site.blocks])
        need = np.array([of.need_mm for of in self.accounts])
        worth = weights(self.site, self.accounts) * area / max(float((area * need).sum()), 1e-9)
        steps, day_steps = (2 * np.arange(n) + 1 for n in (STEPS, DAY_STEPS))
        cost[self.e : self.count] = SPARE_WEIGHT * worth
        cost[self.w : self.e] = np.outer(worth, steps / STEPS).ravel()
        per_day = np.repeat(worth, self.days)
        cost[self.d : self.w] = DAY_WEIGHT * np.outer(per_day, day_steps / DAY_STEPS).ravel()
        # a hair more on each later block: of equal plans always the same one
        cost[self.y : self.o] = RUN_COST * (1.0 + 1e-3 * np.arange(self.blocks * self.days) / (self.blocks * self.days))  # fmt: skip
        cost[self.o : self.d] = OVERTIME_COST / self.site.rules.usual_min
        return cost
