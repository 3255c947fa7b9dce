"""What a sheet says, before it is drawn: letters, turns, what is short, where a card stands."""

from datetime import timedelta

import pytest

from pipeline.reports.layout import CARD_MM, TABLE_MM, band_of, clock_of, layout_of
from pipeline.reports.plan import HEIGHT_MM, LEAST_ROOM_MM, WIDTH_MM, plan_of
from pipeline.reports.wall_sheet import SheetBlock, days_of, lettered
from tests.unit.reports.sheets import MONDAY, run, sheet_of, square, week


def test_letters_follow_the_blocks_names_as_people_count():
    """Block 2 comes before block 10, and the 27th is AA."""
    assert [(b.block_id, b.letter) for b in lettered([("10", None), ("2", None), ("a", None)])] == [
        ("a", "A"), ("2", "B"), ("10", "C"),
    ]  # fmt: skip
    letters = [b.letter for b in lettered([(f"{k:02d}", None) for k in range(60)])]
    assert letters[25:28] == ["Z", "AA", "AB"]
    assert len(set(letters)) == 60


def test_turns_are_numbered_by_their_start_and_valves_that_open_together_share_a_number():
    """At 7:00 one block, at 8:00 two."""
    sheet = sheet_of([run("3", start="8:00"), run("1"), run("2", start="8:00")], ("1", "2", "3"))
    assert [(turn.number, turn.block, turn.start_min) for turn in sheet.days[0].turns] == [
        (1, 0, 420), (2, 1, 480), (2, 2, 480),
    ]  # fmt: skip


@pytest.mark.parametrize(("next_start", "end"), [("8:00", 480), ("8:05", 485), ("8:06", 480), ("7:50", 480)])
def test_a_turn_lasts_until_the_next_valve_opens_where_only_the_changeover_lies_between(next_start, end):
    """Seven to eight: five minutes are the changeover, in which the next valve opens first; six are a pause."""
    sheet = sheet_of([run("1"), run("2", start=next_start)], ("1", "2"))
    assert sheet.days[0].turns[0].end_min == end


def test_the_wet_rows_are_the_water_given_over_what_the_day_needs():
    """3 mm given and 1 mm short: three rows of four; two pulses of one block are summed."""
    whole, pulses = (
        sheet_of([run(depth_mm=3, short_mm=1)]),
        sheet_of([run(depth_mm=1), run(start="9:00", depth_mm=2, short_mm=1)]),
    )
    assert [turn.met for turn in whole.days[0].turns] == [0.75]
    assert [turn.met for turn in pulses.days[0].turns] == [0.75, 0.75]
    assert sheet_of([run(depth_mm=0)]).days[0].turns[0].met is None


def test_a_block_that_needs_water_and_gets_none_is_dry_on_that_day_and_short_in_the_week():
    """Block 2 goes without on Monday; block 3 has no need and no turn."""
    sheet = sheet_of([run("1"), run("2", start=None, short_mm=4), run("3", start=None)], ("1", "2", "3"))
    assert sheet.days[0].dry == (1,)
    assert sheet.short == ("B",)
    assert sheet.without_turn == ("B", "C")


@pytest.mark.parametrize(("short_mm", "short"), [(0, ()), (1, ()), (5, ()), (6, ("A",))])
def test_a_block_is_short_where_more_than_a_twentieth_of_its_week_lacks(short_mm, short):
    """95 mm are given on Monday; what lacks of the week stands on Tuesday."""
    sheet = sheet_of([run(depth_mm=95), run(day=MONDAY + timedelta(days=1), depth_mm=0, short_mm=short_mm)])
    assert sheet.short == short


def test_a_block_that_lacks_next_to_nothing_on_a_day_is_not_dry():
    """Half a millimetre is what is drawn."""
    assert sheet_of([run(start=None, short_mm=0.4)]).days[0].dry == ()
    assert sheet_of([run(start=None, short_mm=0.5)]).days[0].dry == (0,)


def test_a_run_of_another_week_is_not_on_the_sheet():
    """Seven days from the first, and no more."""
    sheet = sheet_of([run(day=MONDAY - timedelta(days=1)), run(day=MONDAY + timedelta(days=7))])
    assert [len(day.turns) for day in sheet.days] == [0] * 7


def test_a_run_of_a_block_that_the_site_lacks_is_no_sheet():
    """A schedule of other blocks than those on record would hang the wrong letter on a valve."""
    with pytest.raises(KeyError):
        days_of([run("9")], lettered([("1", None)]), MONDAY, 2)


@pytest.mark.parametrize(("start", "band"), [(0, "morning"), (659, "morning"), (660, "midday"), (839, "midday"), (840, "afternoon")])  # fmt: skip
def test_a_turn_stands_beside_the_sun_under_which_it_begins(start, band):
    """Midday from eleven, afternoon from two."""
    assert band_of(start) == band


@pytest.mark.parametrize("count", range(1, 13))
def test_cards_are_as_tall_as_the_page_allows(count):
    """All bands fill the table and no more; a letter stays large enough to read."""
    sheet = week(count)
    layout = layout_of(sheet.days)
    assert sum(band.height_mm for band in layout.bands) == pytest.approx(TABLE_MM, abs=0.05)
    assert CARD_MM[0] <= layout.card_mm <= CARD_MM[1]
    for band in layout.bands:
        cards = max(sum(band_of(t.start_min) == band.name for t in day.turns) for day in sheet.days)
        assert cards * layout.card_mm <= band.height_mm


def test_a_day_whose_turns_change_their_time_is_drawn_as_one_row():
    """Twelve in the morning on Monday, twelve in the afternoon on Tuesday: bands would need 24."""
    runs = [run(str(k), start=f"6:{k:02d}", minutes=1) for k in range(12)]
    runs += [run(str(k), MONDAY + timedelta(days=1), f"15:{k:02d}", 1) for k in range(12)]
    sheet = sheet_of(runs, [str(k) for k in range(12)])
    assert [band.name for band in layout_of(sheet.days).bands] == ["day"]


def test_a_day_with_more_turns_than_a_page_shows_has_no_layout():
    """Thirty in one day."""
    sheet = sheet_of([run(start=f"7:{k:02d}", minutes=1) for k in range(30)])
    assert layout_of(sheet.days) is None


def test_the_clock_bar_goes_from_six_to_six_and_further_where_a_run_does():
    """A run from 5:30 to 18:10 takes the bar to five and nineteen."""
    assert clock_of(sheet_of([run()]).days) == (360, 1080)
    assert clock_of(sheet_of([run(start="5:30", minutes=760)]).days) == (300, 1140)


def test_outlines_lie_on_paper_as_on_record_with_north_up():
    """B lies east of A, E south of it; nothing leaves the frame."""
    plan = plan_of(lettered([(str(k + 1), square(k)) for k in range(6)]))
    assert plan.mapped
    a, b, e = plan.blocks[0].at, plan.blocks[1].at, plan.blocks[4].at
    assert b[0] > a[0]
    assert b[1] == pytest.approx(a[1], abs=0.1)
    assert e[1] > a[1]
    corners = [corner for block in plan.blocks for corner in block.outline]
    assert all(0 <= x <= WIDTH_MM and 0 <= y <= HEIGHT_MM for x, y in corners)


@pytest.mark.parametrize(
    "other",
    [
        None,
        square(400_000),  # far off: the rest would shrink to dots
        ((33.8, -13.5), (33.81, -13.51), (33.81, -13.5), (33.8, -13.51)),  # crosses itself
        ((33.8, -13.5), (33.8, -13.5), (33.8, -13.5)),  # no area
    ],
)  # fmt: skip
def test_without_outlines_that_a_letter_fits_into_the_plan_is_plain(other):
    """One that lacks or is wrong makes all of them equal plots."""
    plan = plan_of((SheetBlock("1", "A", square(0)), SheetBlock("2", "B", other)))
    assert not plan.mapped
    assert all(block.room_mm > LEAST_ROOM_MM for block in plan.blocks)


@pytest.mark.parametrize("count", range(1, 25))
def test_plain_plots_fit_the_frame_and_their_letters(count):
    """Up to the most that a page takes."""
    plan = plan_of([SheetBlock(str(k), "A", None) for k in range(count)])
    assert len(plan.blocks) == count
    assert all(0 <= x <= WIDTH_MM and 0 <= y <= HEIGHT_MM for b in plan.blocks for x, y in b.outline)
    assert all(block.room_mm > LEAST_ROOM_MM for block in plan.blocks)


def test_blocks_that_lie_far_apart_are_drawn_larger_and_the_plan_knows_it():
    """Three small blocks, five times their own length apart: nearer to each other, none touches another."""
    apart = [tuple((x + 0.005 * k, y) for x, y in square(0)) for k in range(3)]
    plan = plan_of(lettered([(str(k), outline) for k, outline in enumerate(apart)]))
    close = plan_of(lettered([(str(k), square(k)) for k in range(3)]))
    assert plan.mapped
    assert plan.larger > 2
    assert close.larger == 1
    rights = [max(x for x, _ in block.outline) for block in plan.blocks]
    lefts = [min(x for x, _ in block.outline) for block in plan.blocks]
    assert all(right < left for right, left in zip(rights, lefts[1:], strict=False))
