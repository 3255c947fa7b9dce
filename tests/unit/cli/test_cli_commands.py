"""Every other command as a new user tries it: help, names, an empty store."""

import csv
import os
import socket
import subprocess
import sys

import click
import pytest

from pipeline.cli import main
from pipeline.measures.indicators import BY_NAME
from pipeline.words import _catalogue
from tests.browser.conftest import wait_until_healthy

READING = {
    "indicators": ("--from", "2026-01-01", "--to", "2026-01-31", "--out", "x.csv"),
    "visits": ("--as-of", "2026-01-01", "--out", "x.csv"),
    "schedule": ("--site", "S1", "--week", "2026-01-05", "--out", "x.csv"),
    "evidence": ("S1",),
    "history": ("sites", "S1"),
    "undo": ("x.csv", "--why", "y"),
    "status": (),
    "check": (),
    "explain": ("uptime",),
}


def _commands():
    return sorted(main.commands.items())


@pytest.mark.parametrize(("name", "command"), _commands())
def test_every_command_and_option_has_help(sunrill, name, command):
    """Each has a sentence, and `--help` shows it."""
    assert command.help
    for option in command.params:
        assert not isinstance(option, click.Option) or option.help, option.name
    assert command.help.split(".")[0] in " ".join(sunrill(name, "--help").stdout.split())


def test_every_command_on_a_store_takes_its_folder():
    """`--store DIR` is the same everywhere."""
    for name, command in _commands():
        assert name == "templates" or "--store" in {o for p in command.params for o in p.opts}, name


def test_help_stands_in_the_catalogue():
    """No help text is written beside the code; columns stand with their meaning."""
    words = {str(text) for room in ("cli", "wall_sheets") for text in _catalogue("en", room).values()}
    for _, command in _commands():
        assert command.help.partition("\n\n\b\n")[0] in words
        for option in command.params:
            assert not isinstance(option, click.Option) or option.help in words | {
                "Show this message and exit."
            }


@pytest.mark.parametrize("command", READING)
def test_an_empty_store_has_a_clear_word(sunrill, tmp_path, command):
    """Nothing loaded: a sentence with the way out, exit 1, and no folder made."""
    done = sunrill(command, *READING[command], "--store", tmp_path / "none", code=1)
    assert "nothing has been loaded" in done.stderr
    assert "Mend:" in done.stderr
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize(
    ("written", "near"), [("S01", "S1"), ("Mwera Garden", "S1 (Mwera Gardens)"), ("MWE/2", "S1 (MWE/1)")]
)
def test_an_unknown_site_gets_near_names(sunrill, store, written, near):
    """A slip of the hand is met with what is there."""
    done = sunrill("evidence", written, "--store", store, code=1)
    assert f"there is no site {written}" in done.stderr
    assert near in done.stderr


def test_a_site_unlike_any_other_gets_the_way_out(sunrill, store):
    """Where nothing is near, the sentence says where to look."""
    assert "`sunrill indicators` every id" in sunrill("evidence", "qqqqqq", "--store", store, code=1).stderr


@pytest.mark.parametrize("written", ["S1", "MWE/1", "mwera  gardens"])
def test_a_site_is_found_by_id_alias_or_name(sunrill, store, written):
    """The same intervals for each."""
    done = sunrill("evidence", written, "--store", store)
    assert done.stdout.count("W1") == 7
    assert "2026-10-24 07:00+00:00 → 2026-10-31 07:00+00:00" in done.stdout
    assert "100.0 m³  ordinary" in done.stdout
    assert "meter_readings.csv" in done.stdout


def test_a_port_that_is_taken_is_told_before_anything_starts(sunrill, store):
    """A second dashboard beside a first: the way out is another port."""
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        done = sunrill("dashboard", "--no-browser", "--port", port, "--store", store, code=1)
    assert f"port {port} of this machine already" in done.stderr
    assert "--port 8502" in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="another system ends a process by force")
@pytest.mark.parametrize("said", [[], ["--no-browser"]])
def test_the_dashboard_comes_up_unasked_and_ends_with_its_command(store, tmp_path, said):
    """On a machine where it never ran nobody has to answer a question first; afterwards nothing goes on listening."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    command = [
        sys.executable,
        "-m",
        "pipeline.cli",
        "dashboard",
        *said,
        "--port",
        str(port),
        "--store",
        store,
    ]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        env=os.environ | {"HOME": str(tmp_path), "BROWSER": "true"},
    ) as process:  # fmt: skip
        wait_until_healthy(process, f"http://127.0.0.1:{port}")
        process.terminate()
        assert process.wait(timeout=20) == 0
    with socket.socket() as caller:
        assert caller.connect_ex(("127.0.0.1", port)) != 0


@pytest.mark.parametrize("option", [("--sites", "0"), ("--days", "-3"), ("--port", "99999")])
def test_a_demo_of_no_size_or_at_no_port_is_refused(sunrill, tmp_path, option):
    """In words, before a file is written."""
    done = sunrill("demo", "--no-dashboard", "--store", tmp_path / "d", *option, code=2)
    assert f"Invalid value for '{option[0]}'" in done.stderr
    assert not (tmp_path / "d").exists()


def test_evidence_of_a_time_without_readings_says_so(sunrill, store):
    """Silence would look like a fault."""
    done = sunrill("evidence", "S1", "--from", "2026-02-01", "--to", "2026-02-28", "--store", store)
    assert "S1 has no meter interval from 2026-02-01 to 2026-02-28" in done.stdout


def test_evidence_goes_into_a_table_too(sunrill, store, tmp_path):
    """With the site on every line, so that several can be put together."""
    path = tmp_path / "evidence.csv"
    sunrill("evidence", "MWE/1", "--store", store, "--out", path)
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert {row["site_id"] for row in rows} == {"S1"}
    assert len(rows) == 7


def test_history_names_file_and_value(sunrill, store):
    """Where a site's row came from; a key that never was is told."""
    done = sunrill("history", "sites", "S1", "--store", store)
    assert "Mwera Gardens" in done.stdout
    assert "sites.csv" in done.stdout
    assert "No such row" in sunrill("history", "sites", "S77", "--store", store).stdout
    assert "there is no table named" in sunrill("history", "site", "S1", "--store", store, code=1).stderr


def test_settings_are_listed_and_refused_with_a_reason(sunrill, store, tmp_path):
    """Each with unit and meaning; an unknown name, a wrong value and a wrong zone are told."""
    listed = sunrill("settings", "--store", store).stdout
    assert "horizon_days = 14 d" in listed
    mine = tmp_path / "mine"
    sunrill("settings", "currency", "ZMW", "--store", mine)
    assert "currency = ZMW" in sunrill("settings", "currency", "--store", mine).stdout
    for name, value in (
        ("horizon", "3"),
        ("horizon_days", "many"),
        ("horizon_days", "900"),
        ("flow_margin", "nan"),
        ("station_alone_km", "inf"),
        ("timezone", "Mars"),
        ("timezone", "localtime"),
    ):
        assert "Mend: " in sunrill("settings", name, value, "--store", mine, code=1).stderr
    assert "no setting named 'horizon'" in sunrill("settings", "horizon", "--store", mine, code=1).stderr


def test_a_clock_set_too_late_is_told_of(sunrill, files, tmp_path):
    """Before the first reading it is nobody's matter; after it, those in the store keep their clock."""
    mine = tmp_path / "mine"
    assert not sunrill("settings", "timezone", "Africa/Lusaka", "--store", mine).stderr
    sunrill("load", files, "--store", mine)
    told = sunrill("settings", "timezone", "Africa/Blantyre", "--store", mine).stderr
    assert "on the clock of Africa/Lusaka" in told
    assert not sunrill("settings", "currency", "ZMW", "--store", mine).stderr


def test_undo_of_a_file_that_never_came_is_told(sunrill, store):
    """The way out is the list of files."""
    assert (
        "status --files"
        in sunrill("undo", "never.csv", "--why", "typed wrong", "--store", store, code=1).stderr
    )


def test_check_and_status_of_a_sound_store(sunrill, store):
    """One sentence; tables with their days, districts with their newest reading."""
    assert "sound" in sunrill("check", "--store", store).stdout
    told = sunrill("status", "--store", store).stdout
    assert "meter_readings" in told
    assert "2026-10-31" in told
    assert "Kati" in told


def test_templates_are_written_to_a_new_folder(sunrill, tmp_path):
    """One sheet a table, ready for the field."""
    done = sunrill("templates", "--out", tmp_path / "deep" / "sheets")
    assert "Wrote" in done.stderr
    assert (tmp_path / "deep" / "sheets" / "sites.xlsx").exists()


@pytest.mark.parametrize(
    ("start", "end", "told"),
    [
        ("2026-09-20", "2026-10-20", False),
        ("2027-09-01", "2027-09-30", True),
        ("2026-10-01", "2026-12-31", True),
        ("2025-10-01", "2026-10-20", True),
    ],
)
def test_a_period_that_goes_past_what_is_known_is_told(sunrill, store, tmp_path, start, end, told):
    """A year typed wrong would else give a table of nothing without a word."""
    done = sunrill("indicators", "--from", start, "--to", end, "--store", store, "--out", tmp_path / "f.csv")
    assert ("The days on record go from 2026-" in done.stderr) is told


def test_figures_before_the_first_load_say_that_nothing_is_known(sunrill, tmp_path):
    """An empty table has a reason."""
    mine = tmp_path / "mine"
    sunrill("settings", "currency", "ZMW", "--store", mine)
    period = ("--from", "2026-09-01", "--to", "2026-09-30")
    done = sunrill("indicators", *period, "--store", mine, "--out", tmp_path / "f.csv")
    assert "No day is known yet" in done.stderr


@pytest.mark.parametrize(
    ("day", "count", "known"), [("1999-01-01", "0 rows", "--known"), ("2030-01-01", "3 rows", "--known")]
)
def test_as_of_before_and_after_all_data(sunrill, store, tmp_path, day, count, known):
    """Long before there is nothing to rank; long after, the last that was known still stands."""
    done = sunrill("visits", "--as-of", day, known, "--store", store, "--out", tmp_path / "v.csv")
    assert f"Wrote {count}" in done.stderr
    assert ("No site was in service" in done.stderr) is (count == "0 rows")


def test_a_figure_is_explained_with_the_settings_in_force(sunrill, files, tmp_path):
    """Formula, source and settings; a changed setting shows in definition and list; a slip gets near names."""
    mine = tmp_path / "mine"
    sunrill("load", files, "--store", mine)
    assert "one above 45 days" in sunrill("explain", "longest_interval_days", "--store", mine).stdout
    sunrill("settings", "longest_month_interval_days", "30", "--store", mine)
    told = sunrill("explain", "longest_interval_days", "--store", mine).stdout
    assert "one above 30 days feeds no month" in told
    assert "longest_month_interval_days = 30 d" in told
    assert "Formula: " in told
    assert "Source: Common practice, no source." in told
    assert "meter_readings: read_at, value" in told
    assert "Perhaps uptime" in sunrill("explain", "uptme", "--store", mine, code=1).stderr


def test_explain_without_a_figure_lists_them_all(sunrill, store):
    """A line a figure: its name and what it is called."""
    told = sunrill("explain", "--store", store).stdout
    assert set(BY_NAME) <= set(told.split())
    assert "Water over need" in told


def test_a_command_brings_no_library_that_it_may_not_need() -> None:
    """Help comes at once: what reads map files, lays out books and solves programs is brought when it is used."""
    slow = "{'geopandas', 'pandas', 'pyogrio', 'scipy', 'streamlit', 'xlsxwriter'}"
    script = f"import sys, pipeline.cli; print(sorted({slow} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
