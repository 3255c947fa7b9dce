"""A promised figure is defended by what is known of it; where it isn't, what would help is named."""

import pytest

from pipeline.config import Settings
from pipeline.measures.bases import BASES
from pipeline.measures.defended import COMPLEMENT, LACKS, VERDICTS, ground, lacking

SETTINGS = Settings(judged_coverage=0.7)
FOUND = {
    "relative_irrigation_supply": 0.8, "supply_coverage": 0.7, "water_m3": 100.0, "water_coverage": 0.6,
    "uptime": 0.9, "uptime_low": 0.5, "uptime_high": 0.95, COMPLEMENT: 0.4, "trainings_held": 3.0,
    "energy_kwh": None, "energy_coverage": 0.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "target", "verdict", "known"),
    [
        ("relative_irrigation_supply", 0.8, "known", 0.7),
        ("water_m3", 90.0, "little", 0.6),
        ("uptime", 0.95, "open", 0.6),  # the unknown time decides
        ("uptime", 0.5, "bounded", 0.6),  # reached, even if it was down all the unknown time
        ("uptime", 0.96, "bounded", 0.6),  # missed, even if it was up
        ("trainings_held", 5.0, "counted", None),
        ("energy_kwh", 1.0, "unknown", 0.0),
        ("smiles", 1.0, "unmeasured", None),
    ],
)
def test_a_promise_is_judged_by_what_is_known(
    name: str, target: float, verdict: str, known: float | None
) -> None:
    """70 % are enough; uptime is open while its target lies between its bounds."""
    found = ground(name, target, FOUND, SETTINGS)
    assert found.verdict == verdict in VERDICTS
    assert found.known == pytest.approx(known)


def site(site_id: str, water: float | None, crops: float | None, unknown: float | None) -> dict[str, object]:
    """A site with its coverages."""
    return {"site_id": site_id, "water_coverage": water, "cropping_coverage": crops, COMPLEMENT: unknown}


def test_the_sites_that_lack_something_come_least_known_first() -> None:
    """A site without a service day lacks nothing; one with 70 % neither."""
    sites = [site("A", 0.5, 0.9, 0.3), site("B", 0.1, 0.2, 0.9), site("C", None, None, None)]
    assert lacking("relative_irrigation_supply", sites, SETTINGS) == {"water": ["B", "A"], "crops": ["B"]}
    assert lacking("uptime", sites, SETTINGS) == {"states": ["B"]}
    assert lacking("trainings_held", sites, SETTINGS) == {}


def test_whatever_a_figure_rests_on_something_can_bring_it() -> None:
    """No promise is left without a word of what would help."""
    held_up = {name for names in LACKS.values() for name in names}
    assert {basis.rests_on for basis in BASES.values()} - {""} == held_up
