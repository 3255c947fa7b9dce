"""The README's tables of figures, made from the result files.

`python -m tests.benchmarks.tables` puts them into the README; a test holds the README to them.
"""

import json
import re
from pathlib import Path
from typing import Any

from tests.benchmarks.check_tables import checks_table, seasons_table
from tests.benchmarks.record import RESULTS

README = Path(__file__).parents[2] / "README.md"
KINDS = {
    "weekly_manual": "read by hand each week",
    "daily_remote": "read daily by modem",
    "none": "none at the pump: block meters",
    "none with log": "log alone",
    "weekly_manual with log": "read by hand, and a log",
    "daily_remote with log": "read by modem, and a log",
}


def result(name: str) -> dict[str, Any]:
    """Return a result file's figures."""
    found: dict[str, Any] = json.loads((RESULTS / f"{name}.json").read_text())
    return found


def made(name: str) -> str:
    """Say where, when and on what a figure was measured."""
    found = result(name)
    at = found["machine"]
    return (
        f"[{name}.json](tests/benchmarks/results/{name}.json), {found['date']}, commit {found['commit']}: "
        f"{at['processor']}, {at['cores']} cores, {at['memory_gib']:.0f} GiB"
    )


def percent(share: float | None) -> str:
    """Return a share as per cent; a dash where it is unknown."""
    return "–" if share is None else f"{100 * share:.1f} %"


def truth_table() -> str:
    """Return the errors by kind of instrument, the programme on paper first."""
    lines = [
        "| Programme, meter | Months compared | Water: median, worst | Energy: median, worst | Crop need: median, worst | Uptime: median, worst |",
        "|---|---:|---:|---:|---:|---:|",
    ]
    for key, programme in (("paper_only", "on paper"), ("with_logs", "with logs")):
        for kind in result("truth")[key]:
            pairs = " | ".join(
                f"{percent(kind[f'{what}_median_error'])}, {percent(kind[f'{what}_worst_error'])}"
                for what in ("water", "energy", "need", "uptime")
            )
            lines.append(f"| {programme}, {KINDS[kind['instrument']]} | {kind['compared']} | {pairs} |")
    return "\n".join([*lines, "", made("truth")])


def speed_table() -> str:
    """Return what the benchmarks measured beside what they aim at."""
    found, memory = result("speed"), result("memory")
    soil, weeks, sheets = result("soil_water"), result("weeks"), result("sheets")
    load, measures, growth, days = (found[k] for k in ("load", "measures", "growth", "days_load"))
    millions = f"{memory['telemetry_rows'] / 1e6:.0f}"
    rows = [
        ("`sunrill demo`, from nothing to every figure", f"{found['demo_s']:.0f} s", "60 s"),
        ("Load of a clean log", f"{load['rows_per_s']:,} rows/s; {load['over_bare_read']} × a bare read of the file", "–"),
        ("Measures of the demo over a scan of its rows", f"{measures['measures_over_scan']} ×", "8 ×"),
        (f"Measures of {millions} million log rows over a scan of them", f"{memory['measures_over_scan']} ×", "8 ×"),
        ("Measures of the demo over three figures by hand-written SQL", f"{measures['measures_over_three_by_hand']} ×", "2 ×"),
        ("Asking the store for all figures over the same SQL", f"{measures['asking_for_all_figures_over_three_by_hand']} ×", "2 ×"),
        ("Time of 2,000 sites over that of 500, by size", f"{growth['ratio_to_size']} ×", "1 ×"),
        ("A day's file into a store of 4 and of 16 times the size", f"{days['x4_over_x1']} ×, {days['x16_over_x1']} ×", "1.2 ×"),
        (f"Memory of the measures over {millions} million log rows", f"{memory['peak_gb']} GB", "1 GB"),
        (f"Water under {soil['sites'] * 4:,} blocks, a year of days, over a scan of the rows that come of it", f"{soil['balance_over_scan']} ×", "–"),
        ("A site's share of that among all over one's among the first tenth", f"{soil['a_site_of_all_over_a_site_of_the_first_tenth']} ×", "1 ×"),
        (f"Plan of a site's week, of {weeks['sites']:,} generated ones: median, worst", f"{weeks['plan_median_cpu_s']} s, {weeks['plan_worst_cpu_s']} s", "–"),
        (f"Weeks of them that the checker refused, or in which a bad day starves a block ({weeks['bad_days_tried']:,} tried)",
         f"{len(weeks['faults_of_the_checker'])}, {len(weeks['starved_by_a_bad_day'])}", "0"),
        ("A hundred wall sheets as PDF, planned already", f"{sheets['one_by_one_s']} s", "–"),
        (
            f"`sunrill wall-sheets` for {sheets['command']['sites']} sites: {sheets['command']['sheets']} weeks planned and drawn",
            f"{sheets['command']['s']} s",
            "30 s",
        ),
    ]  # fmt: skip
    lines = ["| What | Measured | Aim, at most |", "|---|---:|---:|"]
    return "\n".join(
        [
            *lines,
            *(f"| {' | '.join(row)} |" for row in rows),
            "",
            *map(made, ("speed", "memory", "soil_water", "weeks", "sheets")),
        ]
    )


def pages_table() -> str:
    """Return how soon the portfolio shows what it is opened for, and what it weighs."""
    found = result("pages")
    slow = found["slow_link"]
    lines = [
        "| Sites | First view, nobody has asked yet | Later view: sentence, map and list | Another district | Its bytes | `plain` |",
        "|---:|---:|---:|---:|---:|---:|",
    ]
    for name in (key for key in found if key.startswith("sites_")):
        size = found[name]
        lines.append(
            f"| {int(name.removeprefix('sites_')):,} | {size['first_view_s']} s | {size['later_view_s']} s, {size['later_over_empty']} × "
            f"| {size['filter_s']} s, {size['filter_over_empty']} × | {size['later_kb']:,} kB | {size['plain_s']} s, {size['plain_kb']} kB |"
        )
    told = (
        f"× is over an empty page of the same framework, served and opened alike in the same run ({found['empty_s']} s, "
        f"{found['empty_kb']:,} kB); the aim is 2 × for the view and 1.2 × for another choice. Over a link of 256 kbit/s with 400 ms, "
        f"`plain` takes {slow['plain_s']} s and {slow['plain_kb']} kB (aim: 15 s, 400 kB); the page with scripts takes "
        f"{slow['cold_s']} s the first time and {slow['warm_s']} s once the browser keeps the framework's scripts."
    )
    return "\n".join([*lines, "", told, "", made("pages")])


def checks() -> str:
    """Return the lists of what others print, with when they were made."""
    return f"{checks_table(result('checks'))}\n\n{made('checks')}"


def seasons() -> str:
    """Return whole seasons beside two libraries', with when they were made."""
    return f"{seasons_table(result('season_checks'))}\n\n{made('season_checks')}"


TABLES = {
    "truth": truth_table,
    "speed": speed_table,
    "pages": pages_table,
    "checks": checks,
    "seasons": seasons,
}


def filled(text: str) -> str:
    """Return the README's text with its tables made anew."""
    for name, table in TABLES.items():
        block = re.compile(rf"(<!-- {name}: .*? -->\n).*?(<!-- end -->)", re.DOTALL)
        text = block.sub(lambda m, table=table: f"{m[1]}\n{table()}\n\n{m[2]}", text)
    return text


if __name__ == "__main__":
    README.write_text(filled(README.read_text(encoding="utf-8")), encoding="utf-8")
