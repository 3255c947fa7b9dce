"""A walk over every number of a page: each is taken off by what a command or the pipeline tells, and none is left."""

import csv
import io
import re
from collections.abc import Iterator
from datetime import date
from html import unescape
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner
from streamlit.testing.v1 import AppTest

from dashboard import data
from dashboard.access import Viewer
from dashboard.charts.season import crop_label, stage_label
from dashboard.crop_water.answer import stress
from dashboard.harvest.answer import cost_sentences, harvest_answer, irrigation_sentence, known_sentence
from dashboard.harvest.words import half_year, known, mass, masses, money, of_plantings, per_m3
from dashboard.numbers import figure, number, share, unit
from dashboard.plain import plain_page
from pipeline.cli import main
from pipeline.config import Settings
from pipeline.measures.indicators import BY_NAME, INDICATORS
from pipeline.measures.planting_groups import planting_groups
from pipeline.measures.planting_water import planting_water
from pipeline.measures.seasons import planting_stages, site_weeks
from pipeline.measures.spray_cans import catch_can_surveys
from pipeline.store import Store, came
from pipeline.visits.calls_first import calls_first
from pipeline.visits.open_jobs import open_jobs
from pipeline.visits.ranking import judged
from pipeline.words import say, say_n
from tests.unit.dashboard.conftest import FIRST, LAST, look_at, opened
from tests.unit.dashboard.harvest_programme import lay_harvests
from tests.unit.dashboard.sprays_programme import lay_sprays
from tests.unit.dashboard.week_programme import WEEK, lay_happened

Row = dict[str, Any]
PERIOD = {"from": str(FIRST), "to": str(LAST)}
DAYS = f"{FIRST} to {LAST}"
SETTINGS = Settings(currency="MWK")
ZONE = ZoneInfo("Africa/Blantyre")
NUMBERED = re.compile(r"\S*\d\S*")


@pytest.fixture(scope="module")
def happened(programme: Store, tmp_path_factory: pytest.TempPathFactory) -> Store:
    return lay_happened(programme, tmp_path_factory.mktemp("walk"))


@pytest.fixture
def walked(happened: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    yield from look_at(happened, monkeypatch)


class Walk:
    """A page's text, from which what is explained is taken off."""

    def __init__(self, text: str) -> None:
        self.rest = squeezed(text)

    def take(self, *told: str) -> None:
        """Take a piece off, once; it must stand there as it is told, and not as a part of a longer number."""
        for piece in told:
            found = re.search(rf"(?<![\d.,]){re.escape(squeezed(piece))}(?![\d.,]\d|\d)", self.rest)
            assert found, f"{piece!r} isn't in {self.rest!r}"
            self.rest = f"{self.rest[: found.start()]} | {self.rest[found.end() :]}"

    def every(self, piece: str) -> None:
        """Take off a text that is no figure wherever it stands, such as a name or a day that was asked for."""
        self.rest = self.rest.replace(squeezed(piece), " | ")

    @property
    def left(self) -> list[str]:
        return NUMBERED.findall(self.rest)


def squeezed(text: str) -> str:
    return " ".join(text.split())


def read(html: str) -> str:
    """What a reader sees of HTML."""
    bare = re.sub(r"<(style|script|svg|select|title)\b.*?</\1>", " ", html, flags=re.DOTALL)
    return unescape(re.sub(r"<[^>]+>", " ", bare))


def walk(test: AppTest) -> Walk:
    return Walk(" ".join(read(element.proto.body) for element in test.get("html")))


def written(store: Store, tmp_path: Path, *command: str) -> list[Row]:
    """What a command writes, its numbers as numbers."""
    out = tmp_path / "out.csv"
    done = CliRunner().invoke(main, [*command, "--store", str(store.path), "--out", str(out)])
    assert done.exit_code == 0, done.output
    rows = csv.DictReader(io.StringIO(out.read_text(encoding="utf-8")))
    return [{name: _cell(text) for name, text in row.items()} for row in rows]


def _cell(text: str) -> float | str | None:
    try:
        return float(text) if text else None
    except ValueError:
        return text


def indicators(store: Store, tmp_path: Path, *more: str) -> list[Row]:
    return written(store, tmp_path, "indicators", "--from", str(FIRST), "--to", str(LAST), *more)


def by_site(rows: list[Row]) -> dict[str, Row]:
    return {row["site_id"]: row for row in rows}


def told(name: str, row: Row) -> str:
    """A figure with its unit, as a page says it."""
    value = row[name]
    return f"{figure(value, BY_NAME[name])} {'' if value is None else unit(BY_NAME[name], 'MWK')}"


def take_answer(page: Walk, figures: list[Row], ranking: list[Row]) -> None:
    """The sentence on top: how many sites there are, how many fared how, and why the driest did."""
    causes = by_site(ranking)
    low = [f for f in figures if f["relative_irrigation_supply"] < 0.5]
    between = [f for f in figures if 0.5 <= f["relative_irrigation_supply"] < SETTINGS.served_supply]
    assert all(f["supply_coverage"] >= SETTINGS.judged_coverage for f in figures)
    assert len(low) + len(between) == len(figures)
    assert all(causes[f["site_id"]]["cause"] == "water_unused" for f in low)
    page.take(f"All {len(figures)} sites can be judged:")
    page.take("one got less than half of its need (it works" if len(low) == 1 else f"{len(low)} got less than half of their need ({len(low)} work")  # fmt: skip
    page.take("one got between half and 80 %" if len(between) == 1 else f"{len(between)} got between half and 80 %")  # fmt: skip


def take_together(page: Walk, row: Row) -> None:
    """The figures of the sites in view as one, each with what it rests on."""
    rests = {"water_m3": "water_coverage", "water_m3_per_ha": "water_coverage", "need_m3": "supply_coverage", "relative_irrigation_supply": "supply_coverage"}  # fmt: skip
    for name in ("water_m3", "water_m3_per_ha", "relative_irrigation_supply"):
        page.take(f"{say(f'dashboard.figure_{name}')} {told(name, row)} {share(row[rests[name]])} known")
    page.take(f"{say('dashboard.figure_need_m3')} {told('need_m3', row)} 100 % known")
    page.take(f"{say('dashboard.figure_energy_kwh_per_m3')} unknown")
    page.take(f"{say('dashboard.figure_uptime')} {told('uptime', row)} between {share(row['uptime_low'])} and {share(row['uptime_high'])}")  # fmt: skip
    page.take(f"{say('dashboard.figure_om_cost_per_ha')} {told('om_cost_per_ha', row)}")


def takes(visit: Row) -> str:
    """How long a visit takes, and until when."""
    return f"Hours on site: {visit['duration_h']} · Due by: {visit['due_by']}"


def take_calls(page: Walk, calls: list[Row]) -> None:
    """Whom to telephone: the numbers, the last call, and why."""
    page.take(f"Telephone these first ({len(calls)})")
    for call in calls:
        page.take(f"{call['site_id']} · {DISTRICTS.get(call['site_id'], 'North')}", call["evidence"])
        page.take(*(c["phone"] for c in call["contacts"] if re.search(r"\d{3}", c["phone"] or "")))
        if call["called_on"]:
            page.take(f"Last called on {call['called_on']}, {call['called_days_ago']} days before")


def take_districts(page: Walk, rows: list[Row], figures: list[Row]) -> None:
    """Each district's figures as the command groups them, and how its sites stand."""
    page.take(f"Districts beside one another, {DAYS}")
    for row in rows:
        here = [f for f in figures if DISTRICTS[f["site_id"]] == row["district"]]
        low = sum(f["relative_irrigation_supply"] < 0.5 for f in here)
        known = f"{share(row['water_coverage'])} known"
        page.take(
            f"{row['district']} {len(here)} of {len(here)} {low} {share(row['relative_irrigation_supply'])} {share(row['supply_coverage'])} known "
            f"{figure(row['water_m3_per_ha'], BY_NAME['water_m3_per_ha'])} {known} unknown {share(row['uptime'])} "
            f"between {share(row['uptime_low'])} and {share(row['uptime_high'])}"
        )


def take_frame(page: Walk, ranking: list[Row]) -> None:
    """Headings and legend: the period, and the most that a visit averts of those in view."""
    page.take(f"Water over need, {DAYS}", f"What a visit is worth, as of {LAST}")
    page.take(f"a visit averts {number(max(r['value'] or 0 for r in ranking), 1)} ha·d, the most in view")
    page.every("over 120 %")  # what the signs of the legend are examples of
    page.every("40 % of the time known")


def test_the_plain_page(programme: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sentence, figures together, and each row of the ranking with its site's supply."""
    for store in look_at(programme, monkeypatch):
        page = Walk(read(plain_page(data.version(), Viewer("everybody"), PERIOD)))
        ranking = written(store, tmp_path, "visits", "--as-of", str(LAST))
        figures = by_site(indicators(store, tmp_path))
        take_answer(page, list(figures.values()), ranking)
        take_together(page, indicators(store, tmp_path, "--group", "programme")[0])
        take_frame(page, ranking)
        for visit in ranking:
            site = figures[visit["site_id"]]
            page.take(
                f"{visit['rank']:.0f} {NAMES[visit['site_id']]} {DISTRICTS[visit['site_id']]} "
                f"{number(visit['value'], 1)} {share(site['relative_irrigation_supply'])} {share(site['supply_coverage'])} known "
                f"{visit['data_age_days']:.0f} {say('dashboard.cause_' + visit['cause'])} {visit['evidence']}"
            )
            page.take(takes(visit))
        with store.read() as reader:
            take_calls(page, calls_first(reader, judged(reader, LAST), LAST))
        assert page.left == [], page.rest


NAMES = {"N1": "Kwacha", "N2": "Mitengo", "S1": "Chigwa"}
DISTRICTS = {"N1": "North", "N2": "North", "S1": "South"}


def test_the_portfolio_of_an_agreement(
    programme: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sites in view as one by the agreement's shares, and its promises beside their figures."""
    for store in look_at(programme, monkeypatch):
        page = walk(opened("portfolio", agreement="AGN", **PERIOD))
        ranking = [
            v for v in written(store, tmp_path, "visits", "--as-of", str(LAST)) if v["site_id"] != "S1"
        ]
        figures = [f for f in indicators(store, tmp_path) if f["site_id"] != "S1"]
        group = next(
            r for r in indicators(store, tmp_path, "--group", "agreement") if r["agreement_id"] == "AGN"
        )
        take_answer(page, figures, ranking)
        page.take("2 of 3 sites shown")
        take_together(page, group)
        page.take(
            f"0 m³ 3,000 m³ 2026-12-31 {told('water_m3', group)} yes: {share(group['water_coverage'])} known"
        )
        page.take(f"Due on From {DAYS}", f"averts in {SETTINGS.horizon_days} days")
        take_districts(page, indicators(store, tmp_path, "--group", "district"), indicators(store, tmp_path))
        take_frame(page, ranking)
        assert page.left == [], page.rest


def test_this_week(walked: Store, tmp_path: Path) -> None:
    """Changes are the command's, jobs and calls the pipeline's; the sentence counts them."""
    page = walk(opened("week", **WEEK))
    since, to = WEEK["since"], WEEK["to"]
    changes = written(walked, tmp_path, "changes", "--since", since, "--to", to)
    with walked.read() as reader:
        jobs = open_jobs(reader, LAST, None)
        calls = calls_first(reader, judged(reader, LAST), LAST)
    worse = [c for c in changes if c["direction"] == "worse"]
    assert [c["direction"] for c in changes if c["direction"] in ("better", "otherwise", "unsaid")] == []
    assert len(worse) == 1
    long = sum(job["age_days"] > 14 for job in jobs)
    page.take(f"Since {date.fromisoformat(since).day} September: one site got worse", f"{len(jobs)} jobs are open, {long} of them")  # fmt: skip
    for change in worse:
        page.take(f"→ {share(change['supply_before'])} → {share(change['supply_now'])} {NAMES[change['site_id']]} {change['site_id']} ·")  # fmt: skip
        page.take(change["evidence"])
    page.take(f"in the 7 days up to {since}, then in those up to {to}", "changed by 25 % or more; above 100 % counts as 100 %")  # fmt: skip
    take_calls(page, calls)
    page.every("=1")  # of what would run
    page.take(f"Open jobs ({len(jobs)})", "Job J-N1: Waits")
    page.take(f"Open jobs on {to}")
    for job in jobs:
        age = "Reported on that very day" if job["age_days"] == 0 else f"Open for {job['age_days']} days"
        page.take(f"{job['site_id']} ·", age, f"Job {job['record_id']}, reported on {job['reported_on']}")
    assert page.left == [], page.rest


def test_a_sites_page(walked: Store, tmp_path: Path) -> None:
    """Its sentence and causes, what each chart rests on, every folded table, its record, and its figures."""
    page = walk(opened("site", site="N1", **PERIOD))
    row = by_site(indicators(walked, tmp_path))["N1"]
    visit = by_site(written(walked, tmp_path, "visits", "--as-of", str(LAST)))["N1"]
    _take_cause(page, row, visit)
    _take_grounds(page, row)
    with walked.read() as reader:
        weeks = site_weeks(reader, FIRST, LAST, sites=["N1"]).to_pylist()
        stages = planting_stages(reader, FIRST, LAST, sites=["N1"])
    for week in weeks:
        names = ("water_m3", "water_coverage", "need_m3", "need_coverage", "relative_irrigation_supply")
        cells = [share(week[n]) if n == "need_coverage" else figure(week[n], BY_NAME[n]) for n in names]
        page.take(f"{week['week_from']} to {week['week_to']} {' '.join(cells)}")
    for month in (m for m in indicators(walked, tmp_path, "--by", "month") if m["site_id"] == "N1"):
        cells = [share(month[n]) for n in ("uptime", "uptime_low", "uptime_high", "uptime_unknown")]
        page.take(f"{month['from_day']} to {month['to_day']} {' '.join(cells)}")
    for stage in stages:
        page.take(f"{crop_label(stage)} {stage_label(stage)} {stage['from_day']} to {stage['to_day']}")
    _take_record(page, walked, tmp_path)
    page.take(f"From {DAYS} Figure")
    for of in INDICATORS:
        page.take(f"{say(f'dashboard.figure_{of.name}')} {told(of.name, row)} {of.defined(SETTINGS)}")
    page.take(f"Each day as a file, {DAYS}")
    page.every(DAYS)  # beside each chart's heading
    assert page.left == [], page.rest


def _take_cause(page: Walk, row: Row, visit: Row) -> None:
    page.take("Kwacha N1 · North", "open well of N1")
    page.take(f"{share(row['relative_irrigation_supply'])} of the crops' need was pumped; this is known for {share(row['supply_coverage'])} of the time")  # fmt: skip
    page.take(f"up to {figure(row['weather_distance_km'], BY_NAME['weather_distance_km'])} km away")
    page.take(f"({share(visit['cause_probability'])}). {visit['evidence']} Seen since {visit['since_day']}.")
    page.take(f"avert {number(visit['value'], 1)} hectare-days of unmet need in the next {SETTINGS.horizon_days} days: rank {visit['rank']:.0f}.")  # fmt: skip
    page.take(takes(visit))


def _take_grounds(page: Walk, row: Row) -> None:
    page.take(f"Water is known for {share(row['water_coverage'])} of the time, water and need together for {share(row['supply_coverage'])}.")  # fmt: skip
    page.take(f"Drawn over the {figure(row['area_ha'], BY_NAME['area_ha'])} ha", "10 m³/ha is 1 mm")
    page.take(f"Energy is known for {share(row['energy_coverage'])} of the time, water for {share(row['water_coverage'])}.")  # fmt: skip
    page.take(f"Uptime is {share(row['uptime'])} of the known service time. Nothing is known of {share(row['uptime_unknown'])}")  # fmt: skip
    page.take(f"between {share(row['uptime_low'])} and {share(row['uptime_high'])}.", "0 with an outline")


def _take_record(page: Walk, store: Store, tmp_path: Path) -> None:
    """The open job, and the newest 25 of the meter's intervals as `sunrill evidence` writes them."""
    with store.read() as reader:
        (job,) = open_jobs(reader, LAST, ["N1"])
    page.take(f"{job['reported_on']} 08:00 J-N1 {job['age_days']} days", f"{job['reported_on']} 08:00 J-N1")
    page.take("WN1 water at the source, m³ 6 digits")
    intervals = written(store, tmp_path, "evidence", "N1", "--from", str(FIRST), "--to", str(LAST))
    for row in sorted(intervals, key=lambda i: str(i["from_at"]), reverse=True)[:25]:
        assert row["from_file"] == row["to_file"]
        amount, start, end = (f"{row[name]:,.0f}" for name in ("amount", "from_value", "to_value"))
        lines = f"lines {row['from_line']:.0f} and {row['to_line']:.0f}"
        page.take(f"{row['from_at'][:16]} {row['to_at'][:16]} {row['meter_id']} {amount} m³ counted as read {start} to {end} {row['from_file']}, {lines}")  # fmt: skip
    page.take(say_n("site_records.more", len(intervals) - 25, shown=25))
    page.every("=1")


def test_the_water_of_a_sites_crops(walked: Store) -> None:
    """Sentence and table are those of `planting_water`, each week is the pipeline's; the rest are sources by number."""
    page = walk(opened("crop_water", site="N1", **PERIOD))
    with walked.read() as reader:
        (row,) = planting_water(reader, FIRST, LAST, sites=["N1"]).to_pylist()
        weeks = planting_groups(reader, FIRST, LAST, sites=["N1"]).weeks.to_pylist()
    page.take("Kwacha N1 · North", f"The one planting that stood from {DAYS} surely lacked water (maize in block B, {stress(row)} days).")  # fmt: skip
    page.take("calculated from meters, weather and crops by FAO-56, chapter 8")
    for week in weeks:
        page.take(f"{week['week_from']} to {week['week_to']} maize {' '.join(_week(week))}")
    known = share(row["irrigation_days"] / row["days"])
    page.take(f"maize Block B {DAYS} planted {row['planted_on']} surely", f"Irrigation {row['irrigation_mm']:.0f} mm ({row['irrigation_days']} days known)")  # fmt: skip
    page.take(
        f"Rain 0 mm ({row['rain_days']} days known) {row['etc_mm']:.0f} mm {stress(row)} of {row['days']} days"
    )
    page.take(f"at least {row['percolation_least_mm']:.0f} mm at least {row['percolation_least_m3']:.0f} m³")
    page.take(f"{share(row['yield_loss_least'])} to {share(row['yield_loss_most'])} Irrigation known on {known} of the days")  # fmt: skip
    page.take(f"Stages: FAO-56 Table 11, {row['stages_of']}")
    page.take(f"Every day of the pictures as a file, {DAYS}", f"up to {share(SETTINGS.start_depletion_share)} of the water")  # fmt: skip
    page.take(
        "FAO-56, chapter 8, equations 84 to 88", "FAO-56, table 19", "FAO-56, equation 90, after FAO-33"
    )
    page.every(DAYS)  # beside each picture's heading
    assert page.left == [], page.rest


def _week(week: Row) -> list[str]:
    """The cells of a week, with how many of its days are known where not all are."""
    cells = []
    for name in ("rain", "irrigation"):
        known, days = week[f"{name}_days"], week["days"]
        sum_mm = week[f"{name}_mm"]
        cells.append("unknown" if sum_mm is None else f"{number(sum_mm, 1)} mm")
        cells += [f"({known} of {days} days known)"] if known < days else []
    least, most = (number(week[f"depletion_{which}_mm"], 1) for which in ("wettest", "driest"))
    cells.append(f"{least} mm" if least == most else f"{least} to {most} mm")
    return [*cells, f"{number(week['raw_mm'], 1)} mm", f"{number(week['taw_mm'], 1)} mm", stress(week)]


def test_what_is_found(walked: Store) -> None:
    """The sentence counts what the groups count; a group counts what it lists, and the rows tell of the record."""
    test = opened("find", find="kwacha")
    page = walk(test)
    page.take("One match for “kwacha” is", "(1) Kwacha N1 · North")
    assert page.left == [], page.rest
    html = "".join(element.proto.body for element in opened("find", find="n").get("html"))
    counts = [int(n) for n in re.findall(r'<span class="quiet">\((\d+)\)', html)]
    listed = [part.count("<li ") for part in html.split("<h2>")[1:]]
    more = [int(n) for n in re.findall(r"(\d+) more\. Type", html)]
    assert sum(counts) == int(re.findall(r"(\d+) matches", html)[0]) == sum(listed) + sum(more)
    assert all(one >= of for one, of in zip(counts, listed, strict=True))
    with walked.read() as reader:
        meters = reader.rows("SELECT count(*) AS n FROM meters WHERE meter_id ILIKE '%n%' ")[0]["n"]
    assert f'Meters <span class="quiet">({meters})' in html


def test_the_data_page(walked: Store) -> None:
    """Every count of the list is the ledger's, and each district's freshness is what `sunrill status` prints."""
    test = opened("files")
    page = walk(test)
    with walked.read() as reader:
        files = came(walked, reader)
    newest = max(f["arrived_at"] for f in files).astimezone()
    page.take(f"{len(files)} files have been loaded, the last on {newest:%Y-%m-%d}.")
    for file in files[:10]:
        counts = " ".join(f"{file[name]:,}" for name in ("rows", "taken", "unchanged", "corrected", "held", "rejected", "flaws"))  # fmt: skip
        page.take(f"{file['file']} {file['file'].removesuffix('.csv')} {file['arrived_at'].astimezone(ZONE):%Y-%m-%d %H:%M} {file['who']} {counts}")  # fmt: skip
    page.take(f"{len(files) - 10} older files")
    status = CliRunner().invoke(main, ["status", "--store", str(walked.path)]).output
    for line in status.splitlines()[-4:]:
        district, *cells = line.split()
        if district in ("North", "South"):
            page.take(" ".join((district, *("none yet" if c == "–" else c for c in cells))))
    assert page.left == [], page.rest


def test_the_sprays_of_a_site(programme: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sentence's counts, what shows a need, the drawn survey and each row of the table are the command's."""
    sprayed = lay_sprays(programme, tmp_path / "sprays")
    for store in look_at(sprayed, monkeypatch):
        page = walk(opened("sprays", site="N1"))
        rows = written(store, tmp_path, "sprays", "--as-of", str(LAST))
        with store.read() as reader:
            (survey, _) = catch_can_surveys(reader, LAST, sites=["N1"])
    named = [row for row in rows if row["needs"]]
    page.take(f"{len(named)} blocks need work on their laterals, by their own records: 1 flushing, 1 other", "straightening at 1")  # fmt: skip
    seen = {row["site_id"] for row in rows if row["cans"]}
    page.take(f"Of 4 sites, {len(seen)} have cans read in the {SETTINGS.spray_evidence_days} days to {LAST}; {4 - len(seen)} can't be judged by cans: 1 never had any read, 1 has no")  # fmt: skip
    for row in named:
        page.take(row["evidence"])
    page.take(next(row["site_evidence"] for row in rows if row["site_needs"]))
    page.take(f"{survey['cans']} cans were read on {survey['surveyed_on']}. On which of its 2 blocks")
    for n, depth in enumerate(survey["depths_mm"]):
        page.take(f"Can {n + 1}: {number(depth, 1)} mm")
    page.take(f"mean of the low quarter {number(survey['low_quarter_mm'], 1)} mm", f"mean {number(survey['mean_depth_mm'], 1)} mm", f"{number(survey['mean_depth_mm'], 1)} mm")  # fmt: skip
    page.take(f"{survey['christiansen']:.2f} even from {SETTINGS.even_christiansen:g}", f"{survey['low_quarter']:.2f} even from {SETTINGS.even_low_quarter:g}", f"{survey['low_half']:.2f}")  # fmt: skip
    for row in (r for r in rows if r["overlap_share"]):
        page.take(f"throws wet {share(row['overlap_share'])} of the {number(row['lateral_spacing_m'], 2)} m between laterals, by sprays of {number(row['throw_m'], 2)} m by design")  # fmt: skip
    for row in (r for r in rows if r["standing"] != "no_laterals"):
        _take_block(page, row)
    page.take(f"The {sum(r['standing'] != 'no_laterals' for r in rows)} blocks with laterals")
    page.every("onerror=window.ran=1")
    for site in ("N1", "N2", "N3"):
        page.every(f"{site} · North")
    page.every("open well of N1")
    assert page.left == [], page.rest


def _take_block(page: Walk, row: Row) -> None:
    """A row of the table: overlap, flow, rate and the site's cans, each with what it rests on."""
    if row["overlap_share"] is not None:
        page.take(f"{share(row['overlap_share'])} {number(row['throw_m'], 2)} m of throw by design, {number(row['lateral_spacing_m'], 2)} m apart")  # fmt: skip
    if row["design_flow_m3h"] is not None:
        page.take(f"of {number(row['design_flow_m3h'], 1)} m³/h by design")
    if row["application_rate_mm_h"] is not None:
        page.take(f"{number(row['application_rate_mm_h'], 1)} mm/h")
    if row["intake_most_mm_h"] is not None:
        page.take(f"the soil takes in {number(row['intake_least_mm_h'], 0)} to {number(row['intake_most_mm_h'], 0)} mm/h")  # fmt: skip
    if row["christiansen"] is not None:
        page.take(f"CU {row['christiansen']:.2f}, low quarter {row['low_quarter']:.2f} {row['cans']:.0f} cans at the site on {row['cans_on']}")  # fmt: skip


def test_the_harvest(programme: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its sentences, each row of its tables and the picture's numbers are the command's, by whatever it groups."""
    for store in look_at(lay_harvests(programme, tmp_path / "laid"), monkeypatch):
        page = walk(opened("harvest", **PERIOD))
        period = ("--from", str(FIRST), "--to", str(LAST))
        rows = {by: written(store, tmp_path, "harvest", *period, "--by", by) for by in ("planting", "crop", "site", "half_year")}  # fmt: skip
        plantings = rows["planting"]
        page.take(
            harvest_answer(plantings, (FIRST, LAST)),
            irrigation_sentence(plantings),
            known_sentence(plantings),
        )
        page.take(cost_sentences(plantings, "MWK"))
        for row in plantings:
            page.take(planting_line(row))
        for group in rows["crop"]:
            page.take(group_line(group))
        for by in ("site", "half_year"):
            for group in rows[by]:
                name = half_year(group["half_year"]) if by == "half_year" else f"{NAMES[group['site_id']]} {group['site_id']} · {DISTRICTS[group['site_id']]}"  # fmt: skip
                page.take(f"{name} {group_line(group)}")
        take_picture(page, plantings)
        page.take(f"{len(plantings)} rows of harvests", "yield response of FAO-33", "÷ (1 − loss)")
        page.every("=1")  # of what would run
        assert page.left == [], page.rest


def take_picture(page: Walk, plantings: list[Row]) -> None:
    """The crops of the picture, one planting each, and where their ranges stand in the table of crops."""
    for row in plantings:
        value = row["et_productivity_kg_m3"]
        ends = row["published_least_kg_m3"], row["published_most_kg_m3"]
        if value is not None:
            printed = f"{ends[0]:g} to {ends[1]:g} kg/m³" if ends[0] else "no range is published"
            page.take(f"{row['crop']} 1 {' '.join([per_m3(value)] * 3)} {printed}")
        if ends[0]:
            page.take(f"{row['crop']} {ends[0]:g} to {ends[1]:g} kg/m³, {row['product']} ({row['published_in']}, from memory")  # fmt: skip


def planting_line(row: Row) -> str:
    """A planting as its table has it."""
    days = f"planted {row['planted_on']} last harvest" if row["planted_on"] else "harvested"
    least, most = row["published_least_kg_m3"], row["published_most_kg_m3"]
    water = "unknown" if row["water_m3"] is None else f"{number(row['water_m3'], 1)} m³"
    why = {
        None: "",
        "few_readings": "too few readings",
        "no_planting": "no planting on record before the harvest",
    }
    stand = f"{row['compared']} {least:g} to {most:g} kg/m³" if row["compared"] else {
        "no_range": "no published range", "no_need": "too little known of the crop's need", "no_planting": why["no_planting"]
    }[str(row["uncompared_why"])]  # fmt: skip
    parts = [
        f"{row['crop']}, block {row['block_id']} {days} {row['last_harvest_on']}",
        f"{NAMES[str(row['site_id'])]} {row['site_id']} · {DISTRICTS[str(row['site_id'])]}",
        f"{mass(row['harvest_kg'])} {known(row)} {per_ha(row)} {water}",
        ""
        if row["water_coverage"] is None
        else f"{share(row['water_coverage'])} known the site's, shared by area",
        f"{per_m3(row['water_productivity_kg_m3'])} {why[row['unrated_why']]}",
        f"{per_m3(row['et_productivity_kg_m3'])} {stand}",
        lost(row),
    ]
    return " ".join(parts)


def group_line(row: Row) -> str:
    """A group as its table has it, after its name."""
    counts = {
        name: int(row[f"{name}_plantings"]) for name in ("rated", "et", "below", "within", "above", "costed")
    }
    stand = ", ".join(f"{counts[name]} {name}" for name in ("below", "within", "above") if counts[name])
    value = "" if row["harvest_value"] is None else money(row["harvest_value"], row["harvest_value"], "MWK")
    priced = f"{share(row['priced_share'])} of it priced" if value and row["priced_share"] < 1 else ""
    parts = [
        f"{row['plantings']:.0f} {mass(row['harvest_kg'])} {known(row)} {value} {priced} {per_ha(row)}",
        f"{per_m3(row['water_productivity_kg_m3'])} {of_plantings(counts['rated'])}",
        f"{per_m3(row['et_productivity_kg_m3'])} {of_plantings(counts['et'])} {stand or 'not compared'}",
        f"{lost(row)} {of_plantings(counts['costed'])}",
    ]
    return " ".join(parts)


def per_ha(row: Row) -> str:
    value = row["harvest_kg_per_ha"]
    return "unknown" if value is None else f"{number(value, 0)} kg/ha"


def lost(row: Row) -> str:
    if row["lost_kg_most"] is None:
        return "unknown"
    value = (
        ""
        if row["lost_value_most"] is None
        else money(row["lost_value_least"], row["lost_value_most"], "MWK")
    )
    return f"{masses(row['lost_kg_least'], row['lost_kg_most'])} {value}"
