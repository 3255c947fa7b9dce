"""The same rows give the same figures, bit for bit, in whatever order they lie and on however many threads."""

import random
import re
from importlib.resources import files

import pytest

from pipeline.measures import run
from pipeline.measures.results import RESULTS, create_empty

SITES = "site_id | district | commissioned_on | pump_rated_flow_m3h\n" + "\n".join(
    f"S{n} | North | 2026-03-01 | 10.{n}" for n in range(4)
)
BLOCKS = "site_id | block_id | area_ha\n" + "\n".join(
    f"S{n} | B{b} | 0.{n + 1}{b + 3}" for n in range(4) for b in range(3)
)
PLANTINGS = "site_id | block_id | crop | planted_on | area_ha\n" + "\n".join(
    f"S{n} | B{b} | {crop} | 2026-03-01 | 0.{n + 1}1{b}"
    for n in range(4)
    for b in range(3)
    for crop in ("maize", "beans", "onion", "tomato")
)
WEATHER = "station_id | latitude | day | tmin_c | rain_mm\n" + "\n".join(
    f"W{s} | 0.{s} | 2026-03-{d:02d} | 15.{s} | {d % 7}.{s}" for s in range(1, 4) for d in range(1, 32)
)
METERS = "meter_id | site_id\n" + "\n".join(f"M{n} | S{n}" for n in range(4))
READINGS = "meter_id | read_at | value\n" + "\n".join(
    f"M{n} | 2026-03-{d:02d} 07:1{n} | {d * 37.1 + n}" for n in range(3) for d in range(1, 15, 3)
)
JOBS = "record_id | site_id | reported_at | water_stopped | cost\n" + "\n".join(
    f"J{n}{k} | S{n} | 2026-03-20 08:00 | yes | {k}0.{n}" for n in range(4) for k in range(1, 4)
)
TELEMETRY = "site_id | logged_at | flow_m3h | input_kw | irradiance_wm2 | tank_level_pct\n" + "\n".join(
    f"S{n} | 2026-03-{d:02d} {h:02d}:{q:02d} | {(h - 6) * 0.37 + n} | {(h - 6) * 0.11 + 0.7} | {h * 31.7} | {q}"
    for n in range(4)
    for d in (16, 17, 18)
    for h in range(7, 17)
    for q in (0, 15, 30, 45)
)


def test_the_order_of_rows_and_the_number_of_threads_change_no_bit(measure):
    """Shuffled tables, one thread or four: every result table and every figure is the same."""
    found = measure(
        sites=SITES, blocks=BLOCKS, plantings=PLANTINGS, weather=WEATHER, meters=METERS,
        meter_readings=READINGS, maintenance=JOBS, telemetry=TELEMETRY,
    )  # fmt: skip
    first = _everything(found)
    shuffler = random.Random(7)  # noqa: S311 - an order, no secret
    for threads in (1, 4):
        found.connection.execute(f"SET threads = {threads}")
        for name in ("plantings", "blocks", "weather", "meter_readings", "maintenance", "telemetry"):
            rows = found.connection.execute(f'FROM "{name}"').to_arrow_table()
            order = list(range(rows.num_rows))
            shuffler.shuffle(order)
            found.connection.register("shuffled", rows.take(order))
            found.connection.execute(f'CREATE OR REPLACE TABLE "{name}" AS FROM shuffled')
            found.connection.unregister("shuffled")
        for name in RESULTS:
            create_empty(found.connection, name)
        run.compute(found.connection, found.settings)
        assert _everything(found) == first


@pytest.mark.parametrize("n", range(4))
def test_a_site_alone_gives_the_same_bits_as_among_others(measure, n):
    """Only S0's rows are there, or only S1's …; the weather is everybody's."""
    tables = {
        "sites": SITES, "blocks": BLOCKS, "plantings": PLANTINGS, "meters": METERS,
        "meter_readings": READINGS, "maintenance": JOBS, "telemetry": TELEMETRY,
    }  # fmt: skip
    among, alone = measure(**tables, weather=WEATHER), measure(**_only(tables, n), weather=WEATHER)
    for name in RESULTS:
        query = f"FROM temp.\"{name}\" WHERE site_id = 'S{n}' ORDER BY ALL"
        assert alone.rows(query) == among.rows(query), name


def _only(tables, n):
    """The rows that name the site or its meter."""
    names = {f"S{n}", f"M{n}"}
    return {
        name: "\n".join(
            line
            for number, line in enumerate(text.splitlines())
            if number == 0 or names & {cell.strip() for cell in line.split("|")}
        )
        for name, text in tables.items()
    }


def _everything(found):
    tables = {name: found.rows(f'FROM temp."{name}" ORDER BY ALL') for name in RESULTS}
    groups = ("site", "district", "programme")
    return tables | {group: found.figures("2026-03-01", "2026-03-31", group=group) for group in groups}


ORDER_PROOF = re.compile(
    r"(?<![a-z_])sum\((exact\(|[^\n]*::INTEGER\)|date_diff\(|rows\)|women|men|households|coalesce\(women|greatest\(0, epoch)"
)
STATEMENTS = {
    path.name: path
    for room in ("pipeline.measures", "pipeline.visits", "pipeline.scheduling")
    for path in files(room).iterdir()
    if path.name.endswith(".sql")
}


@pytest.mark.parametrize("name", sorted(STATEMENTS))
def test_no_statement_adds_doubles_as_they_come(name):
    """A sum is exact_sum, or of whole numbers; a mean is a sum over a count."""
    text = re.sub(r"--[^\n]*", "", STATEMENTS[name].read_text(encoding="utf-8"))
    sums = re.findall(r"(?<![a-z_])(?:sum|avg|mean|stddev|fsum|kahan_sum)\([^\n]*", text)
    assert [found for found in sums if not ORDER_PROOF.match(found)] == []


def test_no_statement_asks_for_a_window_over_all_rows():
    """DuckDB 1.5.5 now and then fails at one (its issue 25713), and the database with it, for every later question."""
    texts = {path: path.read_text(encoding="utf-8") for room in (files("pipeline"), files("dashboard"))
             for path in room.rglob("*") if path.suffix in {".py", ".sql"}}  # fmt: skip
    assert len(texts) > 100
    assert [
        path
        for path, text in texts.items()
        if re.search(r"\bover\s*\(\s*(\)|rows|range)", text, re.IGNORECASE)
    ] == []
