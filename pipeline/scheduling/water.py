"""The water at a site, minute by minute: pump, tank, open valve."""

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate
from math import inf

from pipeline.scheduling.inputs import DAY_MIN, SiteInput

EPSILON_M3 = 1e-6


class Pump:
    """What a pump delivers in each minute of a day.

    Attributes
    ----------
    minute_m3
        By minute from midnight. [m³]
    until_m3
        Sum from midnight to each minute. [m³]
    """

    def __init__(self, site: SiteInput) -> None:
        self.site = site
        self.minute_m3, self.until_m3 = _minutes(site.hourly_m3h)


@lru_cache(maxsize=64)
def _minutes(hourly_m3h: tuple[float, ...]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    minute_m3 = tuple(hourly_m3h[minute // 60] / 60.0 for minute in range(DAY_MIN))
    return minute_m3, (0.0, *accumulate(minute_m3))


@dataclass
class Water:
    """Tank and pump, led through the week.

    The tank is taken as empty when the last window before the week closed, and filled from there on as
    on any other evening and morning. A full tank stops the pump, and so does what may be pumped in a
    day. Without a tank the pump feeds the open valve directly.
    """

    pump: Pump
    level_m3: float = 0.0
    pumped_m3: float = 0.0  # since midnight
    at_min: int = 0  # from the midnight before the first day

    def copy(self) -> "Water":
        """Return the same state, to try something out."""
        return replace(self)

    def wait_until(self, minute: int) -> None:
        """Let the tank fill with all valves closed, up to a minute from the first midnight."""
        tank_m3, limit_m3 = self.pump.site.tank_m3, self.pump.site.limit_m3_per_day
        while self.at_min < minute:
            midnight = self.at_min // DAY_MIN * DAY_MIN
            until = min(minute, midnight + DAY_MIN)
            comes = self.pump.until_m3[until - midnight] - self.pump.until_m3[self.at_min - midnight]
            inflow = max(min(comes, tank_m3 - self.level_m3, limit_m3 - self.pumped_m3), 0.0)
            self.level_m3 += inflow
            self.pumped_m3 = 0.0 if until == midnight + DAY_MIN else self.pumped_m3 + inflow
            self.at_min = until

    def open(self, flow_m3h: float, minutes: int, most_m3: float = inf, least_m3h: float = 0.0) -> tuple[int, float]:  # fmt: skip
        """Keep a valve open, within one day.

        Parameters
        ----------
        flow_m3h
            Through the valve while there is water enough. [m³/h]
        minutes
            Longest.
        most_m3
            It closes before it gives more. [m³]
        least_m3h
            It closes when less comes. [m³/h]

        Returns
        -------
        minutes, volume
            How long it was open [min], and what ran through it [m³].
        """
        if not self.pump.site.tank_m3 and self.pump.site.limit_m3_per_day == inf:
            return self._open_to_pump(flow_m3h / 60.0, minutes, most_m3, least_m3h / 60.0)
        site, comes = self.pump.site, self.pump.minute_m3
        tank_m3, limit_m3, drawn, weak = (
            site.tank_m3,
            site.limit_m3_per_day,
            flow_m3h / 60.0,
            least_m3h / 60.0,
        )
        level, pumped, clock, total, done = self.level_m3, self.pumped_m3, self.at_min % DAY_MIN, 0.0, 0
        while done < minutes:
            inflow = max(min(comes[clock], tank_m3 - level + drawn, limit_m3 - pumped), 0.0)
            out = min(drawn, level + inflow)
            if out < weak - EPSILON_M3 or total + out > most_m3 + EPSILON_M3:
                break
            level = max(level + inflow - out, 0.0)
            pumped += inflow
            total += out
            clock += 1
            done += 1
        self.level_m3, self.pumped_m3, self.at_min = level, pumped, self.at_min + done
        return done, total

    def _open_to_pump(self, drawn: float, minutes: int, most_m3: float, weak: float) -> tuple[int, float]:
        """The same where only the pump counts: an hour at a time, as its flow is even."""
        clock, total, done = self.at_min % DAY_MIN, 0.0, 0
        while done < minutes:
            out = min(drawn, self.pump.minute_m3[clock])
            if out < weak - EPSILON_M3:
                break
            span = min(minutes - done, 60 - clock % 60)
            fits = (
                span
                if out <= 0
                else min(span, int((most_m3 - total + EPSILON_M3) / out))
                if most_m3 < inf
                else span
            )
            total += fits * out
            clock, done = clock + fits, done + fits
            if fits < span:
                break
        self.at_min += done
        return done, total


def evening_before(site: SiteInput) -> Water:
    """Return the water at the first midnight, the tank filled since the last window closed."""
    closes = max((window[1] for window in site.windows if window), default=DAY_MIN)
    water = Water(Pump(site), at_min=closes - DAY_MIN)
    water.wait_until(0)
    return water


def day_m3(water: Water, day: int, flow_m3h: float) -> float:
    """Return what one valve would get if it were open through all of a day's window [m³]."""
    window = water.pump.site.windows[day]
    if window is None:
        return 0.0
    trial = water.copy()
    trial.wait_until(day * DAY_MIN + window[0])
    return trial.open(flow_m3h, window[1] - window[0])[1]
