"""Every figure is explained from one place, with the settings in force."""

import re
import string
from dataclasses import fields
from pathlib import Path

import pytest

import pipeline
from pipeline.config import Settings
from pipeline.errors import UnknownName
from pipeline.measures.bases import BASES, SOURCES
from pipeline.measures.explained import (
    COUNTED,
    COVERAGES,
    FIELDS,
    LOG_VERDICTS,
    NO_UNIT,
    VERDICTS,
    explain,
    in_force,
    settings_in_force,
)
from pipeline.measures.indicators import BY_NAME, INDICATORS, Grouping
from pipeline.tables import TABLES
from pipeline.visits.explained import RULES
from pipeline.words import _catalogue

PIPELINE = Path(pipeline.__file__).parent
# the clock of all figures; how the store is cut; the balance of the root zone
ELSEWHERE = {"timezone", "slice_sites", "start_depletion_share", "known_day_cover", "dual_crop_coefficient"}
ELSEWHERE |= {
    "spray_evidence_days",
    "even_christiansen",
    "even_low_quarter",
    "design_flow_least",
}  # no figure
NEUTRAL = {
    0.0,
    1.0,
    10.0,
    24.0,
    100.0,
    1000.0,
}  # none, one, mm to m³/ha, hours of a day, percent, water's density
VALUE_STEPS = ("formula", "shortage", "share", "need", "unknown", "rank")


def other(settings: Settings, name: str) -> Settings:
    """The settings with one at another value."""
    value = getattr(settings, name)
    if isinstance(value, bool):
        return settings.changed(name, "yes")
    if isinstance(value, str):
        return settings.changed(
            name,
            {
                "currency": "EUR",
                "timezone": "Africa/Blantyre",
                "default_soil": "clay",
                "crop_rows": "by_planting",
            }[name],
        )
    text = str(int(value) + 1) if isinstance(value, int) else f"{value / 2 if value <= 1 else value + 0.25}"
    return settings.changed(name, text)


def places(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def written(key: str) -> str:
    found = _catalogue("en", "explained")[key]
    assert isinstance(found, str)
    return found


def test_every_figure_has_a_basis_and_nothing_else_has() -> None:
    """The list of figures is the only one."""
    assert set(BASES) == set(BY_NAME)


@pytest.mark.parametrize("name", BY_NAME)
def test_every_figure_is_explained_in_full(name: str) -> None:
    """Label, definition, formula, limits, way of putting together, and a source or the word that there is none."""
    told = explain(name, Settings())
    for field in ("label", "definition", "formula", "limits", "together"):
        assert len(getattr(told, field)) > 4, field
        assert "{" not in getattr(told, field)
    assert told.sources
    assert all(re.search(r"\(\d{4}\)|common practice, no source", s, re.IGNORECASE) for s in told.sources[:1])
    assert not told.rests_on or told.rests_on in {of.name for of in INDICATORS}


@pytest.mark.parametrize("name", BY_NAME)
def test_what_a_figure_needs_stands_in_the_contract(name: str) -> None:
    """Every table and column of an explanation can be looked up and sent."""
    needs = explain(name, Settings()).needs
    assert needs
    for table, columns in needs.items():
        assert columns
        assert set(columns) <= set(TABLES[table].by_name), table


@pytest.mark.parametrize("name", BY_NAME)
def test_a_sentence_names_no_setting_that_its_figure_does_not_list(name: str) -> None:
    """Definition, formula and limits take the values of the settings that stand beside them."""
    texts = (
        BY_NAME[name].definition,
        written(f"explained.formula_{name}"),
        written(f"explained.limits_{name}"),
    )
    assert set().union(*map(places, texts)) <= set(BASES[name].settings)


@pytest.mark.parametrize("name", [n for n in BY_NAME if BASES[n].settings])
def test_a_changed_setting_shows_its_new_value(name: str) -> None:
    """Each setting of a figure is there with the value in force; changed, the explanation has the other one."""
    for used in BASES[name].settings:
        changed = other(Settings(), used)
        before, after = explain(name, Settings()), explain(name, changed)
        shown = {of.name: of for of in after.settings}[used]
        assert (shown.value, shown.default) == (changed.texts()[used], Settings().texts()[used])
        assert shown.changed
        assert not {of.name: of for of in before.settings}[used].changed
        for field, text in (("definition", BY_NAME[name].definition), ("formula", written(f"explained.formula_{name}")),
                            ("limits", written(f"explained.limits_{name}"))):  # fmt: skip
            assert (getattr(before, field) != getattr(after, field)) is (used in places(text)), (field, used)


@pytest.mark.parametrize("name", BY_NAME)
def test_a_number_of_a_sentence_stands_in_the_code(name: str) -> None:
    """A bound that is no setting (98 %, 80 %, an efficiency) is that of the statements, as it is or in percent."""
    folder = PIPELINE / "measures"
    code = "\n".join(
        p.read_text(encoding="utf-8")
        for p in (*folder.glob("*.sql"), *folder.glob("*weather.py"), PIPELINE / "agronomy" / "soil_water.py")
    )
    known = {float(n) for n in re.findall(r"\d+(?:\.\d+)?", code)}
    for text in (written(f"explained.formula_{name}"), written(f"explained.limits_{name}")):
        for number in map(
            float, re.findall(r"(?<![\w²³{])\d+(?:\.\d+)?", re.sub(r"\{\w+\}|m³|distance²", "", text))
        ):
            assert number in known | NEUTRAL or number / 100 in known, number


def test_definitions_say_the_value_in_force() -> None:
    """45 days is the default; a programme that set 30 reads 30."""
    name = "longest_interval_days"
    assert "one above 45 days" in explain(name, Settings()).definition
    assert "one above 30 days" in explain(name, Settings(longest_month_interval_days=30.0)).definition
    assert explain("om_cost_per_m3", Settings(currency="{0}")).unit == "{0}/m³"


def test_no_code_shows_a_definition_without_the_settings() -> None:
    """`definition` of an indicator has places; what people see comes from `defined`."""
    root = PIPELINE.parent
    found = [
        path.name
        for path in [*root.glob("dashboard/**/*.py"), *root.glob("pipeline/**/*.py")]
        if re.search(r"BY_NAME\[[^\]]*\]\.definition|figure\.definition", path.read_text(encoding="utf-8"))
    ]
    assert found == []
    assert "of.defined(settings)" in (root / "dashboard" / "site" / "panel.py").read_text(encoding="utf-8")


def test_every_setting_that_a_measure_reads_belongs_to_a_figure() -> None:
    """What the statements and modules of the measures take is listed by some figure's basis."""
    folder = PIPELINE / "measures"
    statements = "\n".join(path.read_text(encoding="utf-8") for path in folder.glob("*.sql"))
    code = "\n".join(path.read_text(encoding="utf-8") for path in folder.glob("*.py"))
    read = {
        of.name
        for of in fields(Settings)
        if re.search(rf"\${of.name}\b", statements) or re.search(rf"settings\.{of.name}\b", code)
    }
    listed = {name for basis in BASES.values() for name in basis.settings}
    assert len(read) > 20
    assert read - listed - ELSEWHERE == set()


def test_every_setting_has_its_line() -> None:
    """All of them, with unit and meaning; a bare ratio shows no unit."""
    shown = settings_in_force(Settings())
    assert [of.name for of in shown] == [of.name for of in fields(Settings)]
    assert all(of.meaning for of in shown)
    assert in_force(Settings(), "served_supply").with_unit == "0.8"
    assert in_force(Settings(), "station_low_trust_km").with_unit == "20 km"
    assert any(of.unit == NO_UNIT for of in shown)


def test_verdicts_are_those_that_the_measures_give() -> None:
    """Each verdict of the catalogue of reasons, the ordinary one and the stuck one; the log's as well."""
    reasons = _catalogue("en", "measures")
    given = {key.removeprefix("measures.verdict_") for key in reasons if key.startswith("measures.verdict_")}
    assert set(VERDICTS) == given | {"ordinary", "stuck"}
    assert {key.removeprefix("measures.log_") for key in reasons if key.startswith("measures.log_")} - {
        "silent_since"
    } == set(LOG_VERDICTS)
    assert set(VERDICTS) > COUNTED


def test_an_unknown_name_gets_near_ones() -> None:
    """A slip of the hand is met with what is there, anything else with the way to the list."""
    with pytest.raises(UnknownName, match="uptime"):
        explain("uptme", Settings())
    with pytest.raises(UnknownName, match="sunrill explain"):
        explain("<b>", Settings())


def test_no_sentence_of_explanations_lies_idle() -> None:
    """The catalogue has what the lists ask for, and no more."""
    asked = {f"{part}_{name}" for part in ("formula", "limits") for name in BY_NAME}
    asked |= {f"together_{grouping}" for grouping in Grouping} | {"together_agreement"}
    asked |= {f"source_{key}" for key in SOURCES} | {f"field_{field}" for field in FIELDS}
    asked |= {f"verdict_{v}" for v in VERDICTS} | {f"log_{v}" for v in LOG_VERDICTS}
    asked |= {f"rule_{rule.name}" for rule in RULES} | {f"value_{step}" for step in VALUE_STEPS}
    asked |= {"no_figure", "no_figure_mend", "near_figures", "no_settings", "default_is"}
    assert set(_catalogue("en", "explained")) == {f"explained.{key}" for key in asked}


def test_coverages_rest_on_nothing() -> None:
    """What says how much of a figure is known doesn't point on to a further figure."""
    assert {name for name in COVERAGES if name and BASES[name].rests_on} == set()
