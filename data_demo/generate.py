"""Put it all together: deliveries as they would arrive, and what truly happened beside them."""

import csv
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path

import numpy as np
import pyarrow as pa
from pyarrow import parquet

from data_demo import diary, mistakes, places, registers
from data_demo.climate import Climate, climate
from data_demo.instruments import STEPS, Counter, counters, log_of_day
from data_demo.paper import Paper, Row
from data_demo.simulate import KINDS, Outcome, draw_chance, first_state, run_on
from data_demo.sites import Floats, Planting, Sites, block_kc, gross_need_m3, make_plantings, make_sites
from data_demo.streams import stream

LAST_DAY = date(2026, 10, 31)
AT_ONCE = 250  # sites in memory
UTC_OFFSET = np.timedelta64(120, "m")  # of Africa/Blantyre, all year
TRUE_DAYS = pa.schema(
    [("site_id", pa.string()), ("day", pa.date32())]
    + [(name, pa.float64()) for name in ("water_m3", "energy_kwh", "up_h", "down_h", "need_m3")]
    + [("cause", pa.string())]
)
Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Chunk:
    """Some sites and all that happened there."""

    number: int
    sites: Sites
    plantings: list[Planting]
    need_m3: Floats
    outcome: Outcome
    meters: list[Counter]
    jobs: list[tuple[int, Row]]


def nobody_watches(_done: int, _of: int) -> None:
    """Show nothing."""


def simulate_chunk(
    seed: int, number: int, first: int, count: int, weather: Climate, *, paper_only: bool
) -> Chunk:
    """Run a chunk of sites through all days."""
    days = len(weather.day)
    start = weather.day[0].astype(date)
    sites = make_sites(seed, number, first, count, days, paper_only=paper_only)
    plantings = make_plantings(seed, number, sites, days)
    need = gross_need_m3(sites, block_kc(sites, plantings, days), weather)
    state, outcome, events = run_on(
        sites, weather, need, draw_chance(seed, number, count, days), first_state(sites), days
    )
    events += diary.open_jobs(state)
    meters = counters(seed, number, sites, outcome)
    jobs = list(diary.jobs(seed, number, sites, events, outcome, start))
    return Chunk(number, sites, plantings, need, outcome, meters, jobs)


def generate(
    out: Path,
    *,
    sites: int = 60,
    days: int = 549,
    seed: int = 1,
    paper_only: bool = False,
    progress: Progress = nobody_watches,
) -> Path:
    """Write the demo programme into a folder and return it.

    Parameters
    ----------
    out : Path
        Folder for `deliveries` and `truth`.
    sites, days : int
        How many; the last day is fixed.
    seed : int
        The same seed writes the same bytes.
    paper_only : bool
        What most offices have: no logs, no outlines of blocks, few block meters.
    progress : callable
        Told how many sites are done, of how many.
    """
    first_day = LAST_DAY - timedelta(days=days - 1)
    weather = climate(seed, np.arange(np.datetime64(first_day), np.datetime64(LAST_DAY) + 1))
    paper = Paper(out)
    instruments: list[Row] = []
    causes: list[Row] = []
    folder = out / "truth"
    folder.mkdir(parents=True, exist_ok=True)
    with parquet.ParquetWriter(folder / "site_days.parquet", TRUE_DAYS) as true_days:
        for number, first in enumerate(range(0, sites, AT_ONCE)):
            chunk = simulate_chunk(
                seed, number, first, min(AT_ONCE, sites - first), weather, paper_only=paper_only
            )
            _write_chunk(paper, seed, chunk, weather, paper_only=paper_only)
            true_days.write_table(_true_days(chunk, weather))
            instruments += _instruments(chunk)
            causes += _causes(chunk, first_day)
            progress(min(first + AT_ONCE, sites), sites)
    _write_programme(paper, weather, first_day)
    for name, rows in (("instruments", instruments), ("causes", causes), ("mistakes", paper.mistakes)):
        _write_csv(folder / f"{name}.csv", rows)
    return out


def _write_csv(path: Path, rows: list[Row]) -> None:
    with path.open("w", newline="", encoding="utf-8") as stream_:
        writer = csv.DictWriter(stream_, list(rows[0]) if rows else ["nothing"])
        writer.writeheader()
        writer.writerows(rows)


def _true_days(chunk: Chunk, weather: Climate) -> pa.Table:
    count, days = chunk.outcome.water_m3.shape
    names = np.array([*KINDS, ""])
    return pa.table(
        {
            "site_id": np.repeat([chunk.sites.site_id(i) for i in range(count)], days),
            "day": pa.array(np.tile(weather.day, count)),
            "water_m3": chunk.outcome.water_m3.ravel(),
            "energy_kwh": chunk.outcome.energy_kwh.ravel(),
            "up_h": chunk.outcome.up_h.ravel(),
            "down_h": chunk.outcome.down_h.ravel(),
            "need_m3": chunk.need_m3.ravel(),
            "cause": names[chunk.outcome.cause.ravel()],
        },
        schema=TRUE_DAYS,
    )


def _instruments(chunk: Chunk) -> list[Row]:
    s = chunk.sites
    return [
        {
            "site_id": s.site_id(i),
            "water": "none" if not s.metered[i] else "daily_remote" if s.remote[i] else "weekly_manual",
            "energy": "yes" if s.energy_metered[i] else "no",
            "telemetry": "yes" if s.telemetry[i] else "no",
            "block_meters": "yes" if s.block_metered[i] else "no",
        }
        for i in range(s.count)
    ]


def _causes(chunk: Chunk, first_day: date) -> list[Row]:
    """Each stretch of a fault at a site."""
    found = []
    active = chunk.outcome.severity > 0
    edges = np.diff(np.pad(active, ((0, 0), (1, 1), (0, 0))).astype(int), axis=1)
    for site in range(chunk.sites.count):
        for kind, name in enumerate(KINDS):
            begins, ends = (
                np.flatnonzero(edges[site, :, kind] == 1),
                np.flatnonzero(edges[site, :, kind] == -1),
            )
            for a, b in zip(begins, ends, strict=True):
                until = first_day + timedelta(days=int(b) - 1) if b < active.shape[1] else ""
                found.append(
                    {
                        "site_id": chunk.sites.site_id(site),
                        "cause": name,
                        "since_day": first_day + timedelta(days=int(a)),
                        "until_day": until,
                    }
                )
    return found


def delivery_of(day: date) -> date:
    """Return the day on which what was written on a day arrives: the fifth of the next month."""
    return (day.replace(day=1) + timedelta(days=32)).replace(day=5)


def _write_programme(paper: Paper, weather: Climate, first_day: date) -> None:
    """What belongs to no site: districts, crews, weather, forecasts, decisions."""
    set_up = first_day
    paper.features(set_up, "districts.geojson", registers.district_rows())
    paper.book(set_up, "office.xlsx", dict(registers.crews()), title="Kept by the two bases")
    rows: dict[date, list[Row]] = {}
    for station, (sid, latitude, longitude, elevation) in enumerate(places.stations()):
        cooler = 6.5 * (elevation - 1100) / 1000
        for i, day in enumerate(weather.day.astype(object)):
            wet = weather.rain_mm[i] * (0.9 + 0.05 * station)
            row: Row = {"station_id": sid, "latitude": latitude, "longitude": longitude, "elevation_m": elevation, "day": day,
                        "tmin_c": round(float(weather.tmin_c[i] - cooler), 1), "tmax_c": round(float(weather.tmax_c[i] - cooler), 1),
                        "rh_mean_pct": None if station == 3 else round(float(weather.rh_mean_pct[i]), 0),
                        "wind_2m_ms": None if station in (1, 3) else round(float(weather.wind_2m_ms[i]), 1),
                        "solar_mj_m2": None if station in (2, 3) else round(float(weather.solar_mj_m2[i]), 1),
                        "rain_mm": round(float(wet), 1)}  # fmt: skip
            rows.setdefault(delivery_of(day), []).append(row)
    for day, found in rows.items():
        paper.comma(day, f"weather_{day:%Y_%m}.csv", found)
    last = weather.day[-1].astype(date)
    paper.comma(
        delivery_of(last), "forecasts.csv",
        [{"station_id": "WS1", "issued_on": last, "day": last + timedelta(days=k), "tmin_c": 18.0, "tmax_c": 30.0, "rain_mm": 0.0, "solar_mj_m2": 23.0} for k in range(1, 8)],
    )  # fmt: skip
    paper.comma(
        delivery_of(last), "decisions.csv",
        [{"decided_at": datetime.combine(last, time(9)), "about": "S00001", "what": "note", "who": places.person(3), "why": "committee meets on Friday"}],
    )  # fmt: skip


def _write_chunk(paper: Paper, seed: int, chunk: Chunk, weather: Climate, *, paper_only: bool) -> None:
    first_day = weather.day[0].astype(date)
    tag = "" if chunk.sites.first == 0 and chunk.sites.count < AT_ONCE else f"_{chunk.number:03d}"
    _write_set_up(paper, seed, chunk, first_day, tag, paper_only=paper_only)
    _write_diary(paper, seed, chunk, first_day, tag)
    _write_readings(paper, seed, chunk, first_day, tag)
    if chunk.sites.telemetry.any():
        _write_logs(paper, seed, chunk, weather, tag)


def _write_set_up(
    paper: Paper, seed: int, chunk: Chunk, first_day: date, tag: str, *, paper_only: bool
) -> None:
    s = chunk.sites
    kept = diary.people(seed, chunk.number, s, first_day)
    meters = list(registers.meter_rows(chunk.meters, s, first_day))
    late = [m for i, m in enumerate(meters) if i % 23 == 11]
    early = [m for m in meters if m not in late]
    paper.book(first_day, f"sites{tag}.xlsx", {"sites": list(registers.site_rows(seed, chunk.number, s, first_day)), "site_aliases": kept.pop("site_aliases")}, title="List of sites, kept at the main office")  # fmt: skip
    blocks = list(registers.block_rows(seed, chunk.number, s, shapes=not paper_only))
    if paper_only:
        paper.comma(first_day, f"blocks{tag}.csv", blocks)
    else:
        paper.features(first_day, f"blocks{tag}.geojson", blocks)
    paper.semicolon(first_day, f"meters{tag}.csv", early)
    second = delivery_of(delivery_of(first_day))
    if late:
        paper.comma(second, f"meters{tag}_late.csv", late)
        unknown = [("unknown_meter_at_first", str(m["meter_id"])) for m in late]
        paper.note_all(second, f"meters{tag}_late.csv", unknown)
    paper.book(first_day, f"people{tag}.xlsx", dict(kept))
    paper.book(first_day, f"funding{tag}.xlsx", {k: v for k, v in registers.agreements(s, first_day).items() if chunk.number == 0 or k == "agreement_sites"})  # fmt: skip
    paper.features(first_day, f"roads{tag}.geojson", registers.road_rows(seed, s))


def _write_diary(paper: Paper, seed: int, chunk: Chunk, first_day: date, tag: str) -> None:
    s, days = chunk.sites, chunk.outcome.water_m3.shape[1]
    tables: dict[str, Iterable[tuple[int, Row]]] = {
        "maintenance": chunk.jobs,
        "visit_outcomes": diary.visit_outcomes(chunk.jobs),
        "surveys": diary.surveys(seed, chunk.number, s, chunk.outcome, first_day),
        "alarms": diary.alarms(s, chunk.outcome, first_day),
        "trainings": diary.trainings(seed, chunk.number, s, days, first_day),
        "calls": diary.calls(seed, chunk.number, s, chunk.outcome, first_day),
        "harvests": diary.harvests(seed, chunk.number, s, chunk.plantings, chunk.outcome, first_day),
        "plantings": registers.planting_rows(s, chunk.plantings, first_day, days),
    }
    books: dict[date, dict[str, list[Row]]] = {}
    for name, dated in tables.items():
        for position, row in sorted(dated, key=lambda item: item[0]):
            if position < days:
                day = delivery_of(first_day + timedelta(days=max(position, 0)))
                books.setdefault(day, {}).setdefault(name, []).append(row)
    for day, sheets in sorted(books.items()):
        for name in ("plantings", "harvests"):
            if name in sheets:
                paper.semicolon(day, f"{name}_{day:%Y_%m}{tag}.csv", _last_of_key(sheets.pop(name)))
        if "maintenance" in sheets:
            sheets["maintenance"] = _last_of_key(sheets["maintenance"])
        for name in ("calls", "trainings", "surveys"):
            named = _names_for_ids(sheets.get(name, []), s)
            paper.note_all(day, f"field_book_{day:%Y_%m}{tag}.xlsx", named, table=name)
        if sheets:
            paper.book(
                day, f"field_book_{day:%Y_%m}{tag}.xlsx", dict(sheets), title="Field book of the month"
            )


def _names_for_ids(rows: list[Row], sites: Sites) -> list[mistakes.Mistake]:
    """People write a site's name, or its name on the old list, where an id is meant."""
    made: list[mistakes.Mistake] = []
    for i, row in enumerate(rows):
        site_id = row["site_id"]
        number = int(row["site_id"][1:]) - 1
        if i % 9 == 4:
            row["site_id"] = f" {places.village(number).upper()} "
        elif i % 13 == 6:
            row["site_id"] = f"{places.village(number)[:5].upper()}/{number - sites.first + 1}"
        if row["site_id"] != site_id:
            made.append(("name_for_id", site_id))
        if str(row.get("notes") or "").startswith(("<", "=")):
            made.append(("formula_or_script", site_id))
    return made


def _last_of_key(rows: list[Row]) -> list[Row]:
    """The last state of each row in a month's sheet: people keep one line a job and a planting."""
    keyed = {tuple(str(v) for v in list(row.values())[: 1 if "record_id" in row else 4]): row for row in rows}
    return list(keyed.values())


def _write_readings(paper: Paper, seed: int, chunk: Chunk, first_day: date, tag: str) -> None:
    """Readings by district and month: by hand once a week, by modem every evening."""
    draw = stream(seed, "readings", chunk.number)
    sheets: dict[tuple[date, str, bool], list[Row]] = {}
    days = chunk.outcome.water_m3.shape[1]
    whole_m3 = {c.meter_id for c in chunk.meters if c.quantity == "water" and c.unit == "m3"}
    for c in chunk.meters:
        begin = max(c.installed, int(chunk.sites.commissioned[c.site]), 0)
        end = c.removed if c.removed >= 0 else days - 1
        weekday = int(draw.integers(0, 7))
        district = places.DISTRICTS[chunk.sites.district[c.site]]
        for day in range(begin, end + 1):
            moment = first_day + timedelta(days=day)
            if not c.daily and (day - begin) % 7 != weekday and day not in (begin, end):
                continue
            if not c.daily and draw.random() < 0.06:
                continue  # nobody came that week
            hour = time(18) if c.daily else time(7 + int(draw.integers(0, 2)), int(draw.integers(0, 4)) * 15)
            row = {
                "meter_id": c.meter_id,
                "read_at": datetime.combine(moment, hour),  # local time at the site
                "value": c.shown(day if c.daily else day - 1),
                "origin": "remote" if c.daily else "manual",
                "reader": "" if c.daily else places.person(c.site),
            }
            sheets.setdefault((delivery_of(moment), district, c.daily), []).append(row)
    for (arrived, district, daily), rows in sorted(sheets.items(), key=lambda item: item[0]):
        name = f"meter_readings_{district.lower()}_{arrived:%Y_%m}{'_modem' if daily else ''}{tag}"
        if daily:
            paper.comma(arrived, f"{name}.csv", rows)
        else:
            _write_by_hand(paper, draw, arrived, name, rows, whole_m3)


def _write_by_hand(
    paper: Paper, draw: np.random.Generator, day: date, name: str, rows: list[Row], whole_m3: set[str]
) -> None:
    """A month's sheet as somebody typed it, with the mistakes of typing."""
    chance, later = draw.random(), delivery_of(day)
    fate = mistakes.fate_of(chance, is_last=day >= delivery_of(LAST_DAY))
    made: list[mistakes.Mistake] = []
    if fate.tenfold:
        rows, made = mistakes.red_decimals(rows, whole_m3)
    rows, slips = mistakes.mistyped(draw, rows, whole_m3)
    if fate.late:
        paper.comma(later, f"{name}_late.csv", rows)
        paper.note_all(later, f"{name}_late.csv", [*made, *slips, ("late", name)])
        return
    if fate.corrected or fate.day_first:
        paper.comma(later, f"{name}_corrected.csv", rows)
        paper.note_all(later, f"{name}_corrected.csv", [*made, *slips])
    if fate.corrected:
        made.append(("corrected_later", str(rows[-1]["meter_id"])))
        rows = mistakes.wrong_last_value(rows)
    if fate.day_first:
        made.append(("day_first", name))
        rows = mistakes.dates_day_first(rows)
    paper.note_all(day, _write_sheet(paper, day, name, rows, chance), [*made, *slips])


def _write_sheet(paper: Paper, day: date, name: str, rows: list[Row], chance: float) -> str:
    """Write a sheet in the office's own format and return the file's name."""
    if chance < 0.55:
        title = "Meter book of the district" if chance < 0.25 else ""
        paper.comma(day, f"{name}.csv", rows, mark=chance < 0.3, title=title)
    elif chance < 0.8:
        paper.semicolon(day, f"{name}.csv", rows)
    else:
        paper.book(day, f"{name}.xlsx", {"meter_readings": rows}, title="Meter book")
        return f"{name}.xlsx"
    return f"{name}.csv"


def _write_logs(paper: Paper, seed: int, chunk: Chunk, weather: Climate, tag: str) -> None:
    """The controllers' logs: a file a month, CSV in some and Parquet in others."""
    members = np.flatnonzero(chunk.sites.telemetry)
    silent = chunk.outcome.severity[:, :, KINDS.index("data_silent")] > 0
    months = weather.day.astype("datetime64[M]")
    off = members[len(members) // 2] if len(members) > 4 else -1  # one clock is three hours behind
    for month in np.unique(months):
        zoned = int(str(month)[-2:]) % 3 == 1  # these months' logs say their zone, the others don't
        parts = [
            _log_day(seed, chunk, weather, members, silent, int(off), int(day), zoned=zoned)
            for day in np.flatnonzero(months == month)
        ]
        table = pa.concat_tables(parts)
        last = weather.day[months == month][-1].astype(date)
        day = delivery_of(last)
        path = paper.folder(day) / f"telemetry_{month}{tag}"
        if int(str(month)[-2:]) % 3 == 0 and not tag:
            from pyarrow import csv as arrow_csv  # noqa: PLC0415 - only here

            path = path.with_suffix(".csv")
            arrow_csv.write_csv(table, path)
        else:
            path = path.with_suffix(".parquet")
            parquet.write_table(table, path)
        if off >= 0:
            paper.note_all(day, path.name, [("clock_three_hours_off", chunk.sites.site_id(int(off)))])


def _log_day(
    seed: int, chunk: Chunk, weather: Climate, members: np.ndarray, silent: np.ndarray, off: int, day: int, *, zoned: bool
) -> pa.Table:  # fmt: skip
    log = log_of_day(seed, chunk.number, chunk.sites, weather, chunk.outcome, members, day)
    marks = np.datetime64(weather.day[day], "m") + 15 * (np.arange(STEPS) + 1)
    at = np.broadcast_to(marks, (len(members), STEPS)).copy()
    at[members == off] -= np.timedelta64(180, "m")
    keep = np.broadcast_to(
        (~silent[members, day] & (chunk.sites.commissioned[members] <= day))[:, None], at.shape
    ).ravel()
    ids = np.repeat([chunk.sites.site_id(int(i)) for i in members], STEPS)
    moments = at.ravel()[keep]
    if zoned:
        utc = (moments - UTC_OFFSET).astype("datetime64[s]")
        logged_at = pa.array(utc, pa.timestamp("s", "Africa/Blantyre"))
    else:
        logged_at = pa.array(np.char.replace(np.datetime_as_string(moments, unit="m"), "T", " "))
    columns = {"site_id": pa.array(ids[keep]), "logged_at": logged_at}
    return pa.table(
        columns | {name: pa.array(values.ravel()[keep], from_pandas=True) for name, values in log.items()}
    )
