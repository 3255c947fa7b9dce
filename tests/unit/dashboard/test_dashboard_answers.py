"""The sentence on top of the portfolio, in every situation that a programme may be in."""

from datetime import date
from typing import Any

import pytest

from dashboard.answers import supply_answer
from pipeline.config import Settings

AS_OF = date(2026, 3, 31)


def site(supply: float | None, coverage: float = 1.0, need: float | None = 100.0, cause: str = "none", age: int | None = 1) -> dict[str, Any]:  # fmt: skip
    return {
        "relative_irrigation_supply": supply,
        "supply_coverage": coverage,
        "need_m3": need,
        "cause": cause,
        "data_age_days": age,
    }


DRY, SHORT, WELL = site(0.3), site(0.6), site(1.0)
UNREAD, CROPLESS, FALLOW = site(None, 0.1), site(None, 0.0, None), site(None, 0.0, 0.0)
SILENT = site(None, 0.0, age=28)
BROKEN, UNUSED = site(0.2, cause="pump_stopped"), site(0.2, cause="water_unused")


def answer(*sites: dict[str, Any], settings: Settings | None = None) -> str:
    rows = [found | {"site_id": f"S{n}"} for n, found in enumerate(sites)]
    return supply_answer(rows, rows, AS_OF, settings or Settings())


@pytest.mark.parametrize(
    ("sites", "sentence"),
    [
        ([], "There is no site to show."),
        ([WELL], "The one site can be judged: it got 80 % or more of its need."),
        ([SHORT], "The one site can be judged: it got between half and 80 % of its need."),
        ([DRY], "The one site can be judged: it got less than half of its need (no sign says why)."),
        ([BROKEN], "The one site can be judged: it got less than half of its need (it shows signs of a fault)."),
        ([UNUSED], "The one site can be judged: it got less than half of its need (it works but was little used)."),
        ([UNREAD], "The one site can't be judged: too few water readings."),
        ([SILENT], "The one site can't be judged: no readings since 2026-03-03."),
        ([CROPLESS], "The one site can't be judged: no crops or no weather on record."),
        ([FALLOW], "The one site can't be judged: no crop needed water."),
        ([WELL, WELL], "All 2 sites can be judged: 2 got 80 % or more."),
        ([WELL, SHORT], "All 2 sites can be judged: one got between half and 80 %, one got 80 % or more."),
        ([UNREAD, UNREAD], "None of the 2 sites can be judged: too few water readings."),
        (
            [WELL, UNREAD],
            "Of 2 sites, one can be judged: it got 80 % or more of its need. One can't be judged: too few water readings.",
        ),
        (
            [BROKEN, BROKEN, UNUSED, DRY, WELL, UNREAD, CROPLESS, FALLOW],
            ("Of 8 sites, 5 can be judged: 4 got less than half of their need (2 show signs of a fault, one works but "
            "was little used, one unclear), one got 80 % or more. 3 can't be judged: too few water readings (1), "
            "no crops or no weather on record (1), no crop needed water (1)."),
        ),
        (
            [WELL, SILENT, SILENT | {"data_age_days": 40}],
            "Of 3 sites, one can be judged: it got 80 % or more of its need. 2 can't be judged: no readings since 2026-03-03.",
        ),
    ],
)  # fmt: skip
def test_the_sentence_says_what_is_so(sites: list[dict[str, Any]], sentence: str) -> None:
    """None, one and many read as a person would say it, and what no site is, is left out."""
    assert answer(*sites) == sentence


def test_a_site_given_up_lacks_no_crops() -> None:
    """Who is in no ranking isn't in service: that is the reason, not what is missing from the record."""
    rows = [WELL | {"site_id": "S0"}, CROPLESS | {"site_id": "S1"}, CROPLESS | {"site_id": "S2"}]
    told = supply_answer(rows, rows[:2], AS_OF, Settings())
    assert told.endswith("2 can't be judged: no crops or no weather on record (1), not in service (1).")


def test_one_silent_site_among_read_ones_is_no_silence_since() -> None:
    """The day is named only where all who lack readings have been silent for two weeks."""
    assert answer(SILENT, UNREAD).endswith("too few water readings.")
    assert answer(SILENT, SILENT | {"data_age_days": None}).endswith("too few water readings.")


def test_what_was_not_seen_never_counts_as_well() -> None:
    """A site at full supply of which a tenth of the time is known can't be judged."""
    assert answer(site(1.5, 0.1)).startswith("The one site can't be judged")


def test_the_edges_belong_to_the_better_side() -> None:
    """Half of the need isn't less than half; 80 % is 80 % or more; 70 % of the time known can be judged."""
    assert "between half" in answer(site(0.5))
    assert "80 % or more" in answer(site(0.8))
    assert "can be judged" in answer(site(0.8, 0.7))


def test_the_programmes_own_bounds_are_kept() -> None:
    """Where the programme says 90 % and half of the time, the sentence does."""
    own = Settings().changed("served_supply", "0.9").changed("judged_coverage", "0.5")
    assert answer(site(0.85, 0.55), settings=own) == (
        "The one site can be judged: it got between half and 90 % of its need."
    )


def test_a_site_out_of_service_has_no_cause() -> None:
    """Figures without a row in the ranking: unclear, not a fault."""
    figures = [DRY | {"site_id": "S1"}]
    assert "(no sign says why)" in supply_answer(figures, [], AS_OF, Settings())
