"""What counts as a change between two days: every kind, both ways, and what nobody can say."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.config import Settings
from pipeline.errors import SunrillError
from pipeline.visits.change_columns import COLUMNS, SCHEMA, as_table
from pipeline.visits.change_rules import DIRECTIONS, WHYS
from pipeline.visits.changes import Day, changes, check_days, window

BEFORE, NOW = date(2026, 10, 24), date(2026, 10, 31)
OPPOSITE = {  # what a kind becomes where the two days are swapped; what isn't seen any more is no gain
    "stopped": {"restored", "unsaid"}, "restored": {"stopped"}, "silent": {"heard_again", "unsaid"}, "heard_again": {"silent"},
    "less_of_need": {"more_of_need"}, "more_of_need": {"less_of_need"}, "new_cause": {"cause_gone", "unsaid"}, "cause_gone": {"new_cause"},
    "other_cause": {"other_cause"}, "came": {"left"}, "left": {"came"}, "same": {"same"},
    "unsaid": {"unsaid", "stopped", "silent", "new_cause"},
}  # fmt: skip


def side(cause="none", supply=1.0, coverage=1.0, need=100.0, *, stops=False, silence=None, age=0, rank=1):
    """A site on one day: its row of the ranking, and its figures."""
    probabilities = {cause: 0.5} | ({} if silence is None else {"data_silent": silence})
    row = {
        "cause": cause, "cause_probability": 0.5, "stops": stops, "probabilities": probabilities, "data_age_days": age,
        "rank": rank, "value": 1.0, "evidence": f"It shows {cause}.",
    }  # fmt: skip
    figure = {"relative_irrigation_supply": supply, "supply_coverage": coverage, "need_m3": need}
    return row, figure


WELL, DRY, UNREAD = side(), side(supply=0.5), side(supply=None, coverage=0.1)
NEEDLESS = side(supply=None, need=0.0)
STOPPED, SILENT, LATE = side("pump_stopped", stops=True), side(silence=0.5), side(silence=0.25)
BLOCKED, WORN = side("intake_blocked"), side("pump_worn")
BLOCKED_UNREAD = side("intake_blocked", None, 0.1)


def compared(before, now, settings=None):
    """The rows of sites S0, S1 … given as pairs of sides; None: not in service."""
    days = [
        Day(
            on,
            [row | {"site_id": f"S{n}"} for n, (row, _) in found],
            [figure | {"site_id": f"S{n}"} for n, (_, figure) in found],
        )
        for on, sides in ((BEFORE, before), (NOW, now))
        for found in [[(n, s) for n, s in enumerate(sides) if s]]
    ]
    return changes(*days, settings or Settings())


def kind(before, now, settings=None):
    (row,) = compared([before], [now], settings)
    return row["kind"]


@pytest.mark.parametrize(
    ("before", "now", "there", "back"),
    [
        (WELL, STOPPED, "stopped", "restored"),
        (UNREAD, STOPPED, "stopped", "restored"),
        (SILENT, STOPPED, "stopped", "unsaid"),
        (LATE, STOPPED, "stopped", "unsaid"),
        (STOPPED, STOPPED, "same", "same"),
        (WELL, SILENT, "silent", "heard_again"),
        (LATE, SILENT, "silent", "unsaid"),
        (WELL, LATE, "same", "same"),
        (WELL, DRY, "less_of_need", "more_of_need"),
        (side(supply=1.5), side(supply=1.0), "same", "same"),
        (WELL, BLOCKED, "new_cause", "cause_gone"),
        (UNREAD, BLOCKED, "new_cause", "unsaid"),
        (WELL, BLOCKED_UNREAD, "new_cause", "cause_gone"),
        (BLOCKED, WORN, "other_cause", "other_cause"),
        (WELL, side("service_overdue"), "same", "same"),
        (None, WELL, "came", "left"),
        (WELL, UNREAD, "unsaid", "unsaid"),
        (WELL, WELL, "same", "same"),
        (NEEDLESS, NEEDLESS, "same", "same"),
        (NEEDLESS, BLOCKED, "new_cause", "cause_gone"),
    ],
)
def test_each_kind_there_and_back(before, now, there, back):
    """A change has its kind, and the two days swapped have the opposite one."""
    assert (kind(before, now), kind(now, before)) == (there, back)


def test_the_gravest_change_is_the_one_told():
    """A site that stopped also got less and shows a new sign: it stopped; a silent one that got less is silent."""
    assert kind(WELL, side("pump_stopped", 0.1, stops=True)) == "stopped"
    assert kind(WELL, side("intake_blocked", 0.1, silence=0.5)) == "silent"
    assert kind(WELL, side("intake_blocked", 0.1)) == "less_of_need"


@pytest.mark.parametrize(("now", "told"), [(0.75, "less_of_need"), (0.751, "same"), (1.0, "same")])
def test_a_quarter_of_the_need_is_a_change_and_less_is_none(now, told):
    """From 100 % to 75 % counts, to 75.1 % doesn't."""
    assert kind(WELL, side(supply=now)) == told


def test_a_share_of_which_too_little_is_known_is_not_compared():
    """70 % of the time is enough, 69 % isn't, and the programme may ask for less."""
    assert kind(WELL, side(supply=0.2, coverage=0.7)) == "less_of_need"
    assert kind(WELL, side(supply=0.2, coverage=0.69)) == "unsaid"
    assert kind(WELL, side(supply=0.2, coverage=0.69), Settings(judged_coverage=0.5)) == "less_of_need"


@pytest.mark.parametrize(("age", "told"), [(6, "restored"), (7, "unsaid"), (None, "unsaid")])
def test_a_stop_ends_only_where_something_was_read_since(age, told):
    """The days lie seven apart: a newest datum of the earlier day itself proves nothing."""
    assert kind(STOPPED, side(age=age)) == told


@pytest.mark.parametrize(
    ("before", "now", "why"),
    [
        (STOPPED, SILENT, "stop_unseen"),
        (STOPPED, side(age=9), "stop_unseen"),
        (SILENT, LATE, "late"),
        (WELL, side(supply=None, coverage=0.0, silence=0.25), "late"),
        (WELL, side(supply=None, need=None), "no_need_known"),
        (side(supply=None, need=None), WELL, "no_need_known"),
        (WELL, NEEDLESS, "no_need"),
        (NEEDLESS, WELL, "no_need"),
        (NEEDLESS, side(supply=None, coverage=0.1, need=0.0), "unread_now"),
        (WELL, UNREAD, "unread_now"),
        (BLOCKED, UNREAD, "unread_now"),
        (UNREAD, WELL, "unread_before"),
    ],
)
def test_what_cannot_be_said_has_its_reason(before, now, why):
    """Unknown is neither the same nor better: the row says what is missing."""
    (row,) = compared([before], [now])
    assert (row["direction"], row["unsaid_why"]) == ("unsaid", why)
    assert why in WHYS


def test_a_row_says_from_what_to_what():
    """Both days' cause, state and figures; rank, value and evidence of the later ranking."""
    (row,) = compared([side(supply=0.9)], [side("pump_stopped", None, 0.0, stops=True, age=3, rank=2)])
    assert (row["before_on"], row["now_on"]) == (BEFORE, NOW)
    assert (row["state_before"], row["state_now"]) == ("heard", "stopped")
    assert (row["cause_before"], row["cause_now"]) == ("none", "pump_stopped")
    assert (row["supply_before"], row["supply_now"]) == (0.9, None)
    assert (row["rank"], row["value"], row["data_age_days"]) == (2, 1.0, 3)
    assert row["evidence"] == "It shows pump_stopped."


def test_a_site_that_came_or_went_between_has_one_side():
    """The other side's cells are empty, not none or nought."""
    came, left = compared([None, WELL], [WELL, None])
    assert (came["site_id"], came["kind"], came["cause_before"], came["state_before"]) == (
        "S0",
        "came",
        None,
        None,
    )
    assert (left["site_id"], left["kind"], left["cause_now"], left["rank"], left["value"]) == (
        "S1", "left", None, None, None,
    )  # fmt: skip


def test_rows_stand_by_kind_then_as_the_later_ranking_has_them():
    """Worse before better before the rest; of two that stopped, the first in the ranking leads."""
    before = [WELL, STOPPED, WELL, WELL, UNREAD]
    now = [side("pump_stopped", stops=True, rank=3), side(rank=1), side("pump_stopped", stops=True, rank=2), side(rank=4), UNREAD]  # fmt: skip
    assert [(r["site_id"], r["kind"]) for r in compared(before, now)] == [
        ("S2", "stopped"), ("S0", "stopped"), ("S1", "restored"), ("S4", "unsaid"), ("S3", "same"),
    ]  # fmt: skip


SIDES = st.none() | st.builds(
    side,
    st.sampled_from(["none", "service_overdue", "intake_blocked", "pump_worn", "water_unused"]),
    st.none() | st.integers(0, 30).map(lambda tenths: tenths / 10),
    st.sampled_from([0.0, 0.5, 0.7, 1.0]),
    st.sampled_from([None, 0.0, 100.0]),
    stops=st.booleans(),
    silence=st.sampled_from([None, 0.25, 0.5]),
    age=st.none() | st.integers(0, 20),
)


@given(SIDES, SIDES)
def test_swapping_the_days_turns_worse_into_better(before, now):
    """Whatever the two days were: no change is for the worse both ways, and better is better of something worse."""
    if before is None and now is None:
        assert compared([before], [now]) == []
        return
    there, back = kind(before, now), kind(now, before)
    assert back in OPPOSITE[there]
    directions = {DIRECTIONS[there], DIRECTIONS[back]}
    if DIRECTIONS[there] == "better":
        assert DIRECTIONS[back] == "worse"
    if DIRECTIONS[there] == "worse":
        assert directions in ({"worse", "better"}, {"worse", "unsaid"})


@given(st.lists(st.tuples(SIDES, SIDES), max_size=6))
def test_every_site_in_service_on_either_day_has_one_row(pairs):
    """As many rows as sites, each of one kind of the list; the table keeps them all."""
    rows = compared([b for b, _ in pairs], [n for _, n in pairs])
    assert sorted(r["site_id"] for r in rows) == [f"S{n}" for n, p in enumerate(pairs) if any(p)]
    assert all(r["direction"] == DIRECTIONS[r["kind"]] for r in rows)
    assert all(bool(r["unsaid_why"]) == (r["kind"] == "unsaid") for r in rows)
    assert as_table(rows).num_rows == len(rows)


def test_columns_are_the_contracts():
    """Every row has the columns that the help of the command lists, and so does a table without rows."""
    (row,) = compared([WELL], [WELL])
    assert list(row) == SCHEMA.names == [c.name for c in COLUMNS] == as_table([]).column_names


def test_the_windows_are_the_seven_days_up_to_each_day():
    """The day itself is the last of them: a week apart, the windows share no day."""
    assert window(NOW) == (date(2026, 10, 25), NOW)
    assert window(BEFORE)[1] < window(NOW)[0]


@pytest.mark.parametrize("since", [NOW, NOW + timedelta(days=1)])
def test_the_earlier_day_comes_first(since):
    """The same day twice, or the wrong way round, is refused with the way to mend it."""
    with pytest.raises(SunrillError, match="Give the earlier day first"):
        check_days(since, NOW)
