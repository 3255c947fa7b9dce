"""What belongs to no site: districts, trunk roads, crews, crops, weather, forecasts, decisions."""

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from data_demo import places, registers
from data_demo.arrivals import delivery_of
from data_demo.climate import Climate, climate
from data_demo.paper import Paper, Row
from data_demo.streams import stream

AHEAD = 7  # days of a forecast


def write_programme(paper: Paper, seed: int, weather: Climate, sites: int) -> None:
    """Write what the office keeps for all sites."""
    first: date = weather.day[0].astype(date)
    last: date = weather.day[-1].astype(date)
    paper.keyhole(first, "districts.kml", registers.district_rows())
    paper.features(first, "roads_trunk.geojson", registers.trunk_rows(seed))
    paper.semicolon(first, "crops.csv", registers.crop_rows())
    title = "Kept by the two bases"
    paper.book(first, "office.xlsx", registers.crews() | registers.shelves(seed, first), title=title)
    paper.book(delivery_of(last), "office_again.xlsx", registers.shelves(seed, last) | {"crew_absences": registers.absences(last)}, title=title)  # fmt: skip
    paper.comma(delivery_of(last), "decisions.csv", registers.decision_rows(last, sites))
    _write_weather(paper, weather)
    _write_forecasts(paper, seed, weather)


def _write_weather(paper: Paper, weather: Climate) -> None:
    months: dict[date, list[Row]] = {}
    for number, station in enumerate(places.stations()):
        for row in _station_days(number, station, weather):
            months.setdefault(delivery_of(row["day"]), []).append(row)
    for day, rows in months.items():
        paper.comma(day, f"weather_{day:%Y_%m}.csv", rows)


def _station_days(number: int, station: tuple[str, float, float, float], weather: Climate) -> Iterator[Row]:
    """A station's days: cooler where it is higher; some lack a sensor, one has a thermometer and a rain gauge only."""
    station_id, latitude, longitude, elevation = station
    cooler = 6.5 * (elevation - 1100) / 1000
    for i, day in enumerate(weather.day.astype(object)):
        yield {
            "station_id": station_id, "latitude": latitude, "longitude": longitude, "elevation_m": elevation, "day": day,
            "tmin_c": round(float(weather.tmin_c[i] - cooler), 1), "tmax_c": round(float(weather.tmax_c[i] - cooler), 1),
            "rh_mean_pct": None if number == 3 else round(float(weather.rh_mean_pct[i]), 0),
            "wind_2m_ms": None if number in (1, 3) else round(float(weather.wind_2m_ms[i]), 1),
            "solar_mj_m2": None if number in (2, 3) else round(float(weather.solar_mj_m2[i]), 1),
            "rain_mm": round(float(weather.rain_mm[i] * (0.88 + 0.03 * number)), 1),
        }  # fmt: skip


def _write_forecasts(paper: Paper, seed: int, weather: Climate) -> None:
    """Forecasts of the last three months, issued on Mondays and on the last day of each month."""
    months: dict[date, list[Row]] = {}
    for row in _forecast_days(seed, weather):
        months.setdefault(delivery_of(row["issued_on"]), []).append(row)
    for day, rows in months.items():
        paper.comma(day, f"forecasts_{day:%Y_%m}.csv", rows)


def _forecast_days(seed: int, weather: Climate) -> Iterator[Row]:
    """What a model run would say: the days that came, the further ahead the less like them."""
    last = len(weather.day) - 1
    after = climate(seed, weather.day[-1] + 1 + np.arange(AHEAD), "after the last day")
    draw = stream(seed, "forecasts")
    for issued in range(max(last - 91, 0), last + 1):
        on: date = weather.day[issued].astype(date)
        if on.weekday() and (on + timedelta(days=1)).day > 1:
            continue
        for ahead in range(1, AHEAD + 1):
            source, i = (
                (weather, issued + ahead) if issued + ahead <= last else (after, issued + ahead - last - 1)
            )
            rain = float(source.rain_mm[i]) * float(draw.uniform(1 - 0.1 * ahead, 1 + 0.1 * ahead))
            tmax = float(source.tmax_c[i] + draw.normal(0, 0.2 * ahead))
            tmin = min(float(source.tmin_c[i] + draw.normal(0, 0.2 * ahead)), tmax - 2)
            yield {
                "station_id": "WS1", "issued_on": on, "day": on + timedelta(days=ahead),
                "tmin_c": round(tmin, 1), "tmax_c": round(tmax, 1), "rain_mm": round(rain, 1),
                "solar_mj_m2": round(float(np.clip(source.solar_mj_m2[i] + draw.normal(0, 0.5 * ahead), 5, 28)), 1),
            }  # fmt: skip
