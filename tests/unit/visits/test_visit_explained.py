"""What the page says of the rules is what the rules do."""

import ast
import inspect
import re
import textwrap
from collections.abc import Iterator
from importlib.resources import files
from itertools import chain

import pytest

from pipeline.config import Settings
from pipeline.visits import causes, explained
from pipeline.visits.causes import averted_share
from pipeline.visits.ranking import WORK
from pipeline.visits.scene import Finding
from pipeline.words import _catalogue

FUNCTIONS = {rule.__name__: rule for rule in causes.RULES} | {
    "overdue_service": causes.rules_field.overdue_service,
    "no_sign": causes._none,  # noqa: SLF001 - what stands where no rule finds anything
}


def numbers(node: ast.AST) -> Iterator[float]:
    """The numbers that a value may be: of a choice both, of its condition none."""
    if isinstance(node, ast.IfExp):
        yield from chain(numbers(node.body), numbers(node.orelse))
    elif isinstance(node, ast.Constant) and isinstance(node.value, float):
        yield node.value


def found(name: str) -> tuple[set[float], set[float], set[str]]:
    """Probabilities, shares and causes that a rule's code has."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(FUNCTIONS[name])))
    held = {
        target.id: node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Assign)
        for target in node.targets
        if isinstance(target, ast.Name)
    }
    probabilities: set[float] = set()
    shares: set[float] = set()
    named: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Finding":
            given = [held.get(a.id, a) if isinstance(a, ast.Name) else a for a in node.args]
            if isinstance(given[1], ast.Constant) and given[1].value is None:
                continue  # nobody can say
            probabilities |= set(numbers(given[1]))
            shares |= set(numbers(given[4]))
        if isinstance(node, ast.Constant) and node.value in WORK:
            named.add(node.value)
    return probabilities, shares, named


def test_every_rule_is_told() -> None:
    """The rules that look for causes, the overdue service, and what stands where none is found."""
    assert {rule.name for rule in explained.RULES} == set(FUNCTIONS)


@pytest.mark.parametrize("rule", explained.RULES, ids=lambda rule: rule.name)
def test_a_rule_is_told_with_its_own_numbers(rule: explained.Rule) -> None:
    """Probabilities and shares of the list are those of the code; so are the causes."""
    probabilities, shares, named = found(rule.name)
    assert set(rule.probabilities) == probabilities
    assert set(rule.mends) == shares
    assert named <= set(rule.causes)
    assert set(rule.causes) <= set(WORK)


def test_every_cause_is_told() -> None:
    """No visit has a cause that the page doesn't explain."""
    assert {cause for rule in explained.RULES for cause in rule.causes} == set(WORK)


def test_thresholds_are_those_in_force() -> None:
    """A programme that looks 7 days ahead and serves every 100 reads so."""
    told = " ".join(explained.value(Settings(horizon_days=7, service_interval_days=100)))
    assert "in the next 7 days" in told
    assert "100 days after their last service" in told
    late = " ".join(t.looks_for for t in explained.rules(Settings(service_overdue_days=99)))
    assert "more than 99 days ago" in late
    assert "{" not in told + late


def numerals(text: str) -> set[float]:
    return {float(n) for n in re.findall(r"(?<![\w.])\d+(?:\.\d+)?", text)}


@pytest.mark.parametrize("rule", explained.RULES, ids=lambda rule: rule.name)
def test_a_rules_sentence_has_no_number_that_its_code_lacks(rule: explained.Rule) -> None:
    """What a sentence writes as a number stands in the rule's module or the facts' statements; a survey's age in the rule."""
    sentence = str(_catalogue("en", "explained")[f"explained.rule_{rule.name}"])
    module = inspect.getsource(inspect.getmodule(FUNCTIONS[rule.name]) or causes)
    facts = "".join(path.read_text(encoding="utf-8") for path in files("pipeline.visits").iterdir() if path.name.endswith(".sql"))  # fmt: skip
    written = numerals(re.sub(r"\{\w+\}", "", sentence)) - {5.0}  # of the grades, 1 to 5
    assert written <= numerals(module + facts)
    own = numerals(inspect.getsource(FUNCTIONS[rule.name]))
    assert {float(n) for n in re.findall(r"[Ss]urvey of the last (\d+) days", sentence)} <= own


def test_shares_of_causes_come_together_as_the_page_says() -> None:
    """1 − (1 − 0.5 × 0.8) × (1 − 0.4 × 0.5) = 0.52; at a stand-still the stop's own."""
    blocked, worn = (Finding("a", 0.5, None, "", 0.8), Finding("b", 0.4, None, "", 0.5))
    assert averted_share([blocked, worn]) == pytest.approx(0.52)
    assert averted_share([Finding("c", 0.7, None, "", 1.0, stops=True), worn]) == 1.0
