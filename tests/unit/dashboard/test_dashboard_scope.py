"""Scope: who may see one district sees nothing of another, whatever is asked."""

import importlib
import inspect
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import streamlit as st

import dashboard
from dashboard import data
from dashboard.access import Viewer
from dashboard.crop_water import data as crop_water_data
from dashboard.data import ReadOptions
from dashboard.files import data as files_data
from dashboard.find import data as find_data
from dashboard.harvest import data as harvest_data
from dashboard.records import data as records_data
from dashboard.site import data as site_data
from dashboard.sprays import data as sprays_data
from dashboard.week import data as week_data
from pipeline.errors import SunrillError
from pipeline.store import Store, leases
from tests.unit.dashboard.conftest import FIRST, LAST, NORTH, forget

EVERYBODY = Viewer("everybody")
NORTHERNER = Viewer("northerner", NORTH)
NOBODY = Viewer("nobody", ())
SOUTHERN = (
    "S1",
    "Chigwa",
    "South",
    "south_lane",
    "Southern yard",
    "open well of S1",
    "Southern promise",
    "Southern fund",
    "76543",
)


def southern_file(version: int) -> tuple[str, str]:
    """The digest and the name of a file that speaks of the south."""
    return next(
        (r["sha"], r["file"]) for r in files_data.files(version, EVERYBODY) if r["file"] == "hazards.csv"
    )


ROOT = Path(dashboard.__file__).parent
MODULES = {  # of questions, by the name that this test calls them
    "_".join(path.relative_to(ROOT).with_suffix("").parts): ".".join(
        ("dashboard", *path.relative_to(ROOT).with_suffix("").parts)
    )
    for path in sorted(ROOT.rglob("data.py"))
}
EVERYBODYS = {"data.settings", "data.reading"}  # the programme's settings; a version, of which the rest asks
QUESTIONS: dict[str, Callable[[int, Viewer], Any]] = {
    "data.known_days": data.known_days,
    "data.waiting": data.waiting,
    "data.waiting_names": lambda version, who: data.waiting_names(version, who, 9),
    "data.sites": data.sites,
    "data.indicators": lambda version, who: data.indicators(version, who, FIRST, LAST),
    "data.visits": lambda version, who: data.visits(version, who, LAST),
    "data.together": lambda version, who: data.together(version, who, FIRST, LAST, ("N1", "S1"), None),
    "data.by_district": lambda version, who: data.by_district(version, who, FIRST, LAST),
    "data.agreements": data.agreements,
    "data.promises": lambda version, who: data.promises(version, who, "AGS", FIRST, LAST),
    "data.base_map": data.base_map,
    "data.hazards": lambda version, who: data.hazards(version, who, "S1"),
    "data.waits": data.waits,
    "records_data.site": lambda version, who: records_data.site(version, who, "S1"),
    "records_data.on_record": lambda version, who: records_data.on_record(version, who, "S1", LAST),
    "records_data.intervals": lambda version, who: records_data.intervals(version, who, "S1", FIRST, LAST),
    "records_data.readings_on": lambda version, who: records_data.readings_on(version, who, "WS1", str(LAST)),
    "records_data.reading_at": lambda version, who: records_data.reading_at(
        version, who, "WS1", f"{LAST} 07:00"
    ),
    "data.on_day": lambda version, who: data.on_day(version, who, LAST),
    "week_data.changed": lambda version, who: week_data.changed(version, who, FIRST, LAST),
    "harvest_data.harvests": lambda version, who: harvest_data.harvests(
        version, who, FIRST, LAST, ("N1", "N2", "S1")
    ),
    "find_data.find": lambda version, who: [
        find_data.find(version, who, text) for text in ("Chig", "S1", "Sout", "AG", "hazards.csv", "a", "1")
    ],
    "find_data.spelled": lambda version, who: find_data.spelled(version, who, "Chigaw Soutj promisf"),
    "sprays_data.blocks": lambda version, who: sprays_data.blocks(version, who, LAST),
    "sprays_data.surveys": lambda version, who: sprays_data.surveys(version, who, "S1", LAST),
    "files_data.files": files_data.files,
    "files_data.faults": lambda version, who: files_data.faults(version, who, *southern_file(version)),
    "files_data.freshness": files_data.freshness,
    "files_data.is_kept": lambda version, who: files_data.is_kept(version, who, southern_file(version)[0]),
    "site_data.measured": lambda version, who: site_data.measured(version, who, "S1", FIRST, LAST),
    "site_data.known_days": lambda version, who: site_data.known_days(version, who, "S1"),
    "site_data.blocks": lambda version, who: site_data.blocks(version, who, "S1"),
    "crop_water_data.watered": lambda version, who: crop_water_data.watered(version, who, "S1", FIRST, LAST),
    "crop_water_data.stood": lambda version, who: crop_water_data.stood(version, who, "S1"),
    "site_data.days": lambda version, who: site_data.days(version, who, "S1", FIRST, LAST),
}


def asked(question: str, who: Viewer) -> str:
    return json.dumps(QUESTIONS[question](data.version(), who), default=str, ensure_ascii=False)


@pytest.mark.usefixtures("shown")
def test_every_question_to_the_store_is_held_to_a_scope_here() -> None:
    """Whatever a module of questions answers about a version takes a viewer, and stands in this test's list."""
    answers = {
        f"{module}.{name}": found
        for module, path in MODULES.items()
        for name, found in vars(importlib.import_module(path)).items()
        if callable(found)
        and not name.startswith("_")
        and getattr(found, "__module__", "") == path
        and next(iter(inspect.signature(found).parameters), "") == "version"
    }
    assert set(answers) - EVERYBODYS == set(QUESTIONS)
    for name in QUESTIONS:
        assert "viewer" in inspect.signature(answers[name]).parameters


@pytest.mark.usefixtures("shown")
@pytest.mark.parametrize("question", QUESTIONS)
def test_a_viewer_of_the_north_sees_nothing_of_the_south(question: str) -> None:
    """No id, name, district, road, base or hazard of the south comes back."""
    answer = asked(question, NORTHERNER)
    assert [word for word in SOUTHERN if word in answer] == []


@pytest.mark.usefixtures("shown")
@pytest.mark.parametrize(
    ("question", "word"),
    [
        ("data.sites", "Chigwa"),
        ("data.indicators", "S1"),
        ("data.visits", "S1"),
        ("data.base_map", "South"),
        ("data.base_map", "south_lane"),
        ("data.base_map", "Southern yard"),
        ("data.hazards", "open well of S1"),
        ("data.agreements", "Southern promise"),
        ("data.promises", "76543"),
        ("files_data.files", "hazards.csv"),
        ("find_data.find", "Southern promise"),
        ("find_data.spelled", "chigwa"),
        ("data.on_day", "S1"),
        ("week_data.changed", "S1"),
        ("site_data.measured", "S1"),
        ("site_data.known_days", "2026-08-01"),
        ("site_data.blocks", "furrow"),
        ("sprays_data.blocks", "S1"),
        ("site_data.days", "S1"),
        ("crop_water_data.watered", "S1"),
        ("crop_water_data.stood", "2026-08-01"),
    ],
)
def test_who_sees_everything_sees_the_south(question: str, word: str) -> None:
    """The words that the test above looks for are there to be found."""
    assert word in asked(question, EVERYBODY)


@pytest.mark.usefixtures("shown")
@pytest.mark.parametrize(
    "question",
    ["data.sites", "data.indicators", "data.visits", "data.hazards", "data.agreements", "files_data.files"],
)
def test_an_empty_scope_is_no_scope_of_all(question: str) -> None:
    """A viewer without any site gets nothing, not everything."""
    assert asked(question, NOBODY) == "[]"


@pytest.mark.usefixtures("shown")
def test_a_rank_says_nothing_of_others() -> None:
    """The two sites of the north are ranked 1 and 2 among themselves."""
    ranking = data.visits(data.version(), NORTHERNER, LAST)
    assert [(r["rank"], r["site_id"]) for r in ranking] == [(1, "N2"), (2, "N1")]


@pytest.mark.usefixtures("shown")
def test_a_sites_figures_are_the_same_in_any_scope() -> None:
    """What the northerner reads of N1 is what everybody reads of it."""
    whole = {r["site_id"]: r for r in data.indicators(data.version(), EVERYBODY, FIRST, LAST)}
    for row in data.indicators(data.version(), NORTHERNER, FIRST, LAST):
        assert row == whole[row["site_id"]]


@pytest.mark.usefixtures("shown")
def test_only_who_sees_every_site_takes_files_in_or_back() -> None:
    """A file may speak of any site: within a scope none is loaded, taken back or computed."""
    with pytest.raises(SunrillError, match="only who sees every site"):
        data.load(NORTHERNER, [("sites.csv", b"site_id\n")], ReadOptions())
    with pytest.raises(SunrillError, match="only who sees every site"):
        data.take_back(NORTHERNER, "sites.csv", "a reason", lambda _done, _of: None)
    with pytest.raises(SunrillError, match="only who sees every site"):
        data.compute(NORTHERNER)


def test_answers_of_one_version_stay_with_it(shown: Store) -> None:
    """After a setting's change the new version has an answer of its own; the old one keeps its own."""
    before = data.version()
    assert data.settings(before).currency == "MWK"
    shown.change_setting("currency", "EUR")
    assert data.settings(data.version()).currency == "EUR"
    assert data.settings(before).currency == "MWK"
    assert data.waiting(before, EVERYBODY) == 0
    assert data.waiting(data.version(), EVERYBODY) == 3
    shown.change_setting("currency", "MWK")
    assert data.compute(EVERYBODY) == 3


def test_what_small_questions_share_is_held_against_the_sweep(shown: Store) -> None:
    """The dashboard's version stays readable however many come after it, and is let go with the cache."""
    forget()  # what the tests before still hold
    before = data.version()
    data.sites(before, EVERYBODY)
    lease = next((shown.path / "readers").glob(f"{before}-*"))
    assert leases.numbers(shown.path / "readers") == {before}
    st.cache_resource.clear()
    assert not lease.exists()
