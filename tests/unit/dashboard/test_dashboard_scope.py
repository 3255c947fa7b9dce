"""Scope: who may see one district sees nothing of another, whatever is asked."""

import inspect
import json
from collections.abc import Callable
from typing import Any

import pytest
import streamlit as st

from dashboard import data
from dashboard.access import Viewer
from dashboard.data import ReadOptions
from pipeline.errors import SunrillError
from pipeline.store import Store, leases
from tests.unit.dashboard.conftest import FIRST, LAST, NORTH

EVERYBODY = Viewer("everybody")
NORTHERNER = Viewer("northerner", NORTH)
NOBODY = Viewer("nobody", ())
SOUTHERN = ("S1", "Chigwa", "South", "south_lane", "Southern yard", "open well of S1")

QUESTIONS: dict[str, Callable[[int, Viewer], Any]] = {
    "known_days": data.known_days,
    "waiting": data.waiting,
    "sites": data.sites,
    "indicators": lambda version, who: data.indicators(version, who, FIRST, LAST),
    "visits": lambda version, who: data.visits(version, who, LAST),
    "base_map": data.base_map,
    "hazards": lambda version, who: data.hazards(version, who, "S1"),
    "loaded_files": data.loaded_files,
    "waits": data.waits,
}


def asked(question: str, who: Viewer) -> str:
    return json.dumps(QUESTIONS[question](data.version(), who), default=str, ensure_ascii=False)


@pytest.mark.usefixtures("shown")
def test_every_question_to_the_store_is_held_to_a_scope_here() -> None:
    """Whatever data.py answers about a version takes a viewer, and stands in this test's list."""
    answers = {
        name
        for name, found in vars(data).items()
        if callable(found)
        and not name.startswith("_")
        and getattr(found, "__module__", "") == data.__name__
        and next(iter(inspect.signature(found).parameters), "") == "version"
    }
    assert answers - {"settings"} == set(QUESTIONS)  # the programme's settings are everybody's
    for name in QUESTIONS:
        assert "viewer" in inspect.signature(getattr(data, name)).parameters


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
        ("sites", "Chigwa"),
        ("indicators", "S1"),
        ("visits", "S1"),
        ("base_map", "South"),
        ("base_map", "south_lane"),
        ("base_map", "Southern yard"),
        ("hazards", "open well of S1"),
        ("loaded_files", "hazards.csv"),
    ],
)
def test_who_sees_everything_sees_the_south(question: str, word: str) -> None:
    """The words that the test above looks for are there to be found."""
    assert word in asked(question, EVERYBODY)


@pytest.mark.usefixtures("shown")
@pytest.mark.parametrize("question", ["sites", "indicators", "visits", "hazards", "loaded_files"])
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
    before = data.version()
    data.sites(before, EVERYBODY)
    lease = next((shown.path / "readers").glob(f"{before}-*"))
    assert leases.numbers(shown.path / "readers") == {before}
    st.cache_resource.clear()
    assert not lease.exists()
