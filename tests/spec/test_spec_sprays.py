"""Sprays and laterals: cans, overlap, flow and what a block needs, on small tables."""

from datetime import date

import pytest

from pipeline.config import Settings
from pipeline.measures.spray_cans import catch_can_surveys
from pipeline.measures.spray_columns import SCHEMA, STANDINGS, UNJUDGED, as_table
from pipeline.measures.spray_findings import NEEDS
from pipeline.measures.sprays import block_sprays, last_known_day
from tests.spec.conftest import Measure

TODAY = date(2026, 10, 31)
SITES = "site_id|name|latitude|longitude|commissioned_on|timezone|pump_rated_flow_m3h|pump_rated_power_kw"
SITE = f"{SITES}\nA|a|-13.5|33.8|2025-01-01|UTC|10|2"
BLOCK = "site_id|block_id|area_ha|irrigation_method|design_flow_m3h|lateral_spacing_m|wetted_diameter_m|soil"
ONE = f"{BLOCK}\nA|1|0.1|spray_tube|10|3|3|loam"
TWO = f"{ONE}\nA|2|0.1|spray_tube|10|3|3|loam"
SURVEY = "survey_id|site_id|surveyed_on|measured_flow_m3h|measured_input_kw|measured_pressure_kpa|mean_spray_diameter_m|laterals_condition|catch_depths_mm"
BEFORE = f"{SURVEY}\nV1|A|2026-01-01|10|2|100|3|4|\nV2|A|2026-03-01|10|2|100|3|4|"
EVEN = [10.0] * 12
UNEVEN = [5.0] * 6 + [15.0] * 6  # mean 10, deviation 5: Christiansen 0.5, low quarter 0.5
DRY_ENDS = [1.0] * 2 + [10.0] * 10


def rows(measure: Measure, *, blocks: str = TWO, surveys: str = SURVEY, cans=None, settings=None, **more: str):  # fmt: skip
    """The rows of the blocks; the cans are those of the last survey."""
    measured = measure(settings, sites=SITE, blocks=blocks, surveys=surveys, **more)
    if cans is not None:
        last = surveys.splitlines()[-1].split("|")[0]
        measured.connection.execute(
            "UPDATE surveys SET catch_depths_mm = ? WHERE survey_id = ?", [cans, last]
        )
    return block_sprays(measured, TODAY)


def last_survey(text: str) -> str:
    return f"{BEFORE}\n{text}"


def test_even_cans_speak_against_no_block_and_for_none(measure: Measure) -> None:
    """Of two blocks nobody knows on which the cans stood: the site's were even, that is all."""
    found = rows(measure, surveys=last_survey("V3|A|2026-10-01|10|2|100|3|4|"), cans=EVEN)
    assert [row["standing"] for row in found] == ["site_even", "site_even"]
    assert (found[0]["cans"], found[0]["mean_depth_mm"]) == (12, 10)
    assert (found[0]["christiansen"], found[0]["low_quarter"], found[0]["low_half"]) == (1, 1, 1)


def test_uneven_cans_are_somewhere_at_a_site_of_two_blocks(measure: Measure) -> None:
    """The block isn't named; at a site of one block it is."""
    surveys = last_survey("V3|A|2026-10-01|10|2|100|3|4|")
    found = rows(measure, surveys=surveys, cans=UNEVEN)
    assert [(row["needs"], row["site_needs"], row["standing"]) for row in found] == [("", "straighten", "site_needs")] * 2  # fmt: skip
    assert found[0]["site_evidence_on"] == date(2026, 10, 1)
    assert "12 cans on 2026-10-01" in found[0]["site_evidence"]
    assert "0.50" in found[0]["site_evidence"]
    (alone,) = rows(measure, blocks=ONE, surveys=surveys, cans=UNEVEN)
    assert (alone["needs"], alone["site_needs"], alone["standing"]) == ("straighten", "", "needs")


@pytest.mark.parametrize(
    ("survey", "cans", "need"),
    [
        ("10|2|100|3|4|", DRY_ENDS, "flush"),  # Christiansen 0.65, two cans nearly dry
        ("10|2|100|2.4|4|", UNEVEN, "flush"),  # small throws, pressure kept: blocked holes
        ("10|2|60|3|4|", UNEVEN, "end_cap"),  # low pressure: water gets lost, or two blocks were open
        ("10|2|60|2.4|4|", EVEN, "end_cap"),
        ("10|2|60|3|4|", EVEN, "end_cap"),  # full flow at low pressure
        ("10|2|100|2.4|4|", EVEN, "flush"),
        ("10|2||2.4|4|", EVEN, "pressure"),  # nobody can tell blocked from lost
        ("7|2|115||4|", EVEN, "flush"),  # held back: the pressure rose
        ("7|2|115|3|4|", EVEN, "water_first"),  # but the sprays reach as far as ever
        ("7|2|100|2.4|4|", EVEN, "flush"),
        ("7|2|100|3|4|", EVEN, "water_first"),  # less comes from the pump
        ("7|2||3|4|", EVEN, "water_first"),
        ("7|2|||4|", EVEN, "pressure"),
        ("7|2|60|2.4|4|", EVEN, "water_first"),  # an open end would take more, not less
        ("7|2|60|2.4|4|", UNEVEN, "water_first"),
        ("7|1.5|100|3|4|", EVEN, ""),  # 0.75 of the power: the sun may have been low
        ("7||100|3|4|", EVEN, ""),  # power unknown
        ("10|2|100|3|2|", EVEN, "flush"),  # the surveyor's eye
    ],
)
def test_what_a_survey_shows(measure: Measure, survey: str, cans: list[float], need: str) -> None:
    """Blocked holes make throws small and keep the pressure; an open end makes them small and lowers it."""
    found = rows(measure, surveys=last_survey(f"V3|A|2026-10-01|{survey}"), cans=cans)
    assert [row["site_needs"] for row in found] == [need, need]


def test_a_pressure_is_compared_with_two_surveys_before(measure: Measure) -> None:
    """With one survey before, nobody knows what is usual."""
    one = f"{SURVEY}\nV1|A|2026-03-01|10|2|100|3|4|\nV3|A|2026-10-01|10|2|60|2.4|4|"
    assert rows(measure, surveys=one)[0]["site_needs"] == "pressure"


@pytest.mark.parametrize(
    ("cans", "why"),
    [
        ([10.0, 10.0, 5.0], "too_few_cans"),
        ([0.0] * 12, "all_dry"),
        ([None, None], "never"),
        ([10.0, None, 10.0, 10.0, 10.0], ""),
        ([10.0] * 200, ""),
    ],
)
def test_cans_that_tell_nothing_say_why(measure: Measure, cans: list[float], why: str) -> None:
    """Fewer than four, all dry, none read; a spilt can is left out, and two hundred are well."""
    found = rows(measure, surveys=f"{SURVEY}\nV1|A|2026-10-01||||||", cans=cans)
    assert found[0]["unjudged_why"] == why
    assert found[0]["standing"] == ("unjudged" if why else "site_even")


def test_a_low_quarter_takes_twelve_cans(measure: Measure) -> None:
    """Of four cans only Christiansen's coefficient is known, and it judges alone."""
    found = rows(measure, surveys=f"{SURVEY}\nV1|A|2026-10-01||||||", cans=[2.0, 2.0, 10.0, 10.0])
    assert found[0]["christiansen"] == pytest.approx(1 - 4 / 6)
    assert (found[0]["low_quarter"], found[0]["low_half"]) == (None, None)
    assert found[0]["site_needs"] == "straighten"
    assert "low quarter" not in found[0]["site_evidence"]


def test_old_cans_are_told_and_not_counted(measure: Measure) -> None:
    """After a year they speak no more, and their day stays."""
    found = rows(measure, surveys=f"{SURVEY}\nV1|A|2025-10-30||||||", cans=UNEVEN)
    assert (found[0]["unjudged_why"], found[0]["cans_on"], found[0]["cans"]) == ("old", date(2025, 10, 30), None)  # fmt: skip
    assert found[0]["standing"] == "unjudged"
    on_the_edge = rows(measure, surveys=f"{SURVEY}\nV1|A|2025-10-31||||||", cans=UNEVEN)
    assert on_the_edge[0]["site_needs"] == "straighten"


def test_a_later_survey_does_not_exist_yet(measure: Measure) -> None:
    """What is found in November is not known at the end of October."""
    assert (
        rows(measure, surveys=f"{SURVEY}\nV1|A|2026-11-01||||||", cans=UNEVEN)[0]["unjudged_why"] == "never"
    )


def test_a_job_since_the_survey_is_told(measure: Measure) -> None:
    """The verdict stands, with the day of the job that ended after it."""
    jobs = "record_id|site_id|kind|reported_at|restored_at\nJ|A|corrective|2026-10-10 08:00|2026-10-12 08:00"
    found = rows(measure, surveys=f"{SURVEY}\nV1|A|2026-10-01||||||", cans=UNEVEN, maintenance=jobs)
    assert (found[0]["site_needs"], found[0]["job_since_on"]) == ("straighten", date(2026, 10, 12))


def test_thresholds_are_settings(measure: Measure) -> None:
    """A programme that takes less for even finds nothing uneven here."""
    settings = Settings(even_christiansen=0.4, even_low_quarter=0.4)
    found = rows(measure, surveys=f"{SURVEY}\nV1|A|2026-10-01||||||", cans=UNEVEN, settings=settings)
    assert found[0]["site_needs"] == ""


def test_throws_overlap_or_leave_a_dry_strip(measure: Measure) -> None:
    """3 m apart: 3 m of throw wet it all; of 2.4 m, 0.6 m stay dry. By design the block is named."""
    blocks = f"{BLOCK}\nA|1|0.1|spray_tube|10|3|3|\nA|2|0.1|spray_tube|10|3|2.4|\nA|3|0.1|spray_tube|10||3|\nA|4|0.1|spray_tube|10|0|3|"
    first, second, third, fourth = rows(measure, blocks=blocks)
    assert (first["overlap_share"], first["dry_strip_m"], first["needs"]) == (1, 0, "")
    assert (second["overlap_share"], second["needs"]) == (pytest.approx(0.8), "nozzles")
    assert second["dry_strip_m"] == pytest.approx(0.6)
    assert "60 cm stays dry" in second["evidence"]
    assert second["evidence_on"] is None
    for unknown in (third, fourth):
        assert (unknown["overlap_share"], unknown["dry_strip_m"], unknown["throw_rests_on"]) == (None, None, "design")  # fmt: skip


def test_a_measured_throw_goes_before_the_designed_one(measure: Measure) -> None:
    """The overlap rests on the survey, with its day, as long as it counts; sprays that wet nothing are 0."""
    found = rows(measure, surveys=f"{SURVEY}\nV1|A|2026-10-01||||2.7||")
    assert found[0]["overlap_share"] == pytest.approx(0.9)
    assert (found[0]["throw_rests_on"], found[0]["mean_spray_diameter_on"]) == ("survey", date(2026, 10, 1))
    assert rows(measure, surveys=f"{SURVEY}\nV1|A|2026-10-01||||0||")[0]["overlap_share"] == 0
    unlike = f"{ONE}\nA|2|0.1|spray_tube|10|3|2.4|"
    found = rows(measure, blocks=unlike, surveys=f"{SURVEY}\nV1|A|2026-10-01||||2.7||")
    assert [row["overlap_share"] for row in found] == [1, pytest.approx(0.8)]
    assert {row["throw_rests_on"] for row in found} == {"design"}


def test_rate_against_the_soils_intake(measure: Measure) -> None:
    """10 m³/h on 0.1 ha are 10 mm/h: a clay takes in 1 to 5, a loam 10 to 20; of no area nothing is known."""
    blocks = f"{BLOCK}\nA|1|0.1|sprinkler|10|||clay\nA|2|0.1|sprinkler|10|||loam\nA|3|0|sprinkler|10|||clay\nA|4|0.1|sprinkler|10|||"
    clay, loam, none, no_soil = rows(measure, blocks=blocks)
    assert clay["application_rate_mm_h"] == pytest.approx(10)
    assert (clay["beyond_intake_least_mm_h"], clay["beyond_intake_most_mm_h"]) == (5, 9)
    assert clay["needs"] == "slower"
    assert (loam["beyond_intake_least_mm_h"], loam["needs"]) == (0, "")
    assert (none["application_rate_mm_h"], none["needs"]) == (None, "")
    assert (no_soil["application_rate_mm_h"], no_soil["intake_most_mm_h"]) == (pytest.approx(10), None)


def metered(block_m3: list[int], flow_m3h: float, input_kw: float = 2.0) -> dict[str, str]:
    """Block 1's meter read each morning; the log has five hours of pumping a day."""
    readings = [f"M|2026-10-{20 + n:02d} 06:00|{sum(block_m3[:n])}" for n in range(len(block_m3) + 1)]
    log = [
        f"A|2026-10-{20 + n:02d} {8 + quarter // 4:02d}:{15 * (quarter % 4):02d}|{flow_m3h if quarter < 20 else 0}|{input_kw if quarter < 20 else 0}|800"
        for n in range(len(block_m3) + 1)  # a log that ends is silent from there on
        for quarter in range(36)
    ]
    return {
        "meters": "meter_id|site_id|quantity|block_id|digits\nM|A|water|1|6",
        "meter_readings": "meter_id|read_at|value\n" + "\n".join(readings),
        "telemetry": "site_id|logged_at|flow_m3h|input_kw|irradiance_wm2\n" + "\n".join(log),
    }


@pytest.mark.parametrize(
    ("flow_m3h", "need"), [(10.0, ""), (8.0, ""), (7.0, "flush"), (13.0, "end_cap"), (12.0, "")]
)
def test_a_block_that_ran_alone_is_judged_by_its_meter_and_the_log(
    measure: Measure, flow_m3h: float, need: str
) -> None:
    """Five hours at the flow are on both: it was open alone. 10 m³/h is its design."""
    whole = round(5 * flow_m3h)
    first, second = rows(measure, **metered([whole, whole], flow_m3h))
    assert first["flow_m3h"] == pytest.approx(flow_m3h, rel=0.01)
    assert (first["flow_rests_on"], first["flow_on"]) == ("meter_and_log", date(2026, 10, 22))
    assert first["needs"] == need
    assert first["standing"] == ("needs" if need else "sound")
    assert (second["flow_rests_on"], second["standing"]) == ("none", "unjudged")


def test_a_block_that_shared_the_day_has_a_flow_of_at_least(measure: Measure) -> None:
    """Half of the water went elsewhere, nobody knows when: 5 m³/h at least, which accuses nobody."""
    first, _ = rows(measure, **metered([25, 25], 10.0))
    assert (first["flow_m3h"], first["flow_rests_on"]) == (pytest.approx(5), "at_least")
    assert (first["needs"], first["standing"]) == ("", "unjudged")


def test_a_cloudy_day_accuses_no_block(measure: Measure) -> None:
    """Alone, and at half the power: the low flow may be the sun's."""
    first, _ = rows(measure, **metered([25, 25], 5.0, input_kw=1.0))
    assert (first["flow_rests_on"], first["needs"]) == ("at_least", "")


def test_of_two_days_alike_the_last_is_told(measure: Measure) -> None:
    """25 m³ on the first day and on the second, in five hours of pumping; or in two hours between readings."""
    assert rows(measure, **metered([25, 25], 10.0))[0]["flow_on"] == date(2026, 10, 22)
    pairs = "\n".join(f"M|2026-10-{20 + n // 2} {8 + n % 2 * 2:02d}:00|{100 + n * 20}" for n in range(4))
    found = rows(measure, meters="meter_id|site_id|quantity|block_id|digits\nM|A|water|1|6", meter_readings=f"meter_id|read_at|value\n{pairs}")  # fmt: skip
    assert (found[0]["flow_rests_on"], found[0]["flow_on"]) == ("at_least", date(2026, 10, 21))


def test_two_readings_on_a_day_give_a_flow_without_a_log(measure: Measure) -> None:
    """20 m³ between 8 and 10: at least 10 m³/h, as designed."""
    readings = "meter_id|read_at|value\nM|2026-10-20 08:00|100\nM|2026-10-20 10:00|120"
    found = rows(measure, meters="meter_id|site_id|quantity|block_id|digits\nM|A|water|1|6", meter_readings=readings)  # fmt: skip
    assert (found[0]["flow_m3h"], found[0]["flow_rests_on"], found[0]["standing"]) == (pytest.approx(10), "at_least", "sound")  # fmt: skip


def test_a_surveys_flow_is_the_blocks_where_there_is_but_one(measure: Measure) -> None:
    """Of two blocks, a furrow among them, nobody knows which was open."""
    survey = f"{SURVEY}\nV1|A|2026-10-01|9|2||||"
    (alone,) = rows(measure, blocks=ONE, surveys=survey)
    assert (alone["flow_share"], alone["flow_rests_on"]) == (pytest.approx(0.9), "survey")
    mixed = rows(measure, blocks=f"{ONE}\nA|2|0.1|furrow|10|||", surveys=survey)
    assert mixed[0]["flow_rests_on"] == "none"


def test_blocks_without_laterals_are_told_as_such(measure: Measure) -> None:
    """A furrow needs no end cap; a block whose method nobody told may have laterals."""
    found = rows(measure, blocks=f"{BLOCK}\nA|1|0.1|furrow|10|||\nA|2|0.1||10|||")
    assert [row["standing"] for row in found] == ["no_laterals", "unjudged"]


def test_a_site_out_of_service_has_no_rows(measure: Measure) -> None:
    """Given back before the day, or not built yet."""
    sites = f"{SITES}|decommissioned_on\nA|a|-13|33|2025-01-01|UTC|10|2|2026-06-01\nB|b|-13|33|2027-01-01|UTC|10|2|"
    measured = measure(sites=sites, blocks=f"{BLOCK}\nA|1|1|drip||||\nB|1|1|drip||||")
    assert block_sprays(measured, TODAY) == []


def test_a_site_alone_has_the_rows_that_it_has_among_others(measure: Measure) -> None:
    """Whoever is asked for beside it."""
    measured = measure(
        sites=f"{SITE}\nB|b|-13|33|2025-01-01|UTC|10|2", blocks=f"{TWO}\nB|1|1|drip||||", surveys=BEFORE
    )
    assert block_sprays(measured, TODAY, sites=["A"]) == [r for r in block_sprays(measured, TODAY) if r["site_id"] == "A"]  # fmt: skip


def test_surveys_with_cans_come_newest_first_with_their_ranks(measure: Measure) -> None:
    """The cans as read and ranked, and the means of the low quarter and the low half."""
    measured = measure(sites=SITE, blocks=ONE, surveys=BEFORE)
    measured.connection.execute(
        "UPDATE surveys SET catch_depths_mm = ? WHERE survey_id = 'V1'", [UNEVEN[::-1]]
    )
    measured.connection.execute("UPDATE surveys SET catch_depths_mm = [1, 2] WHERE survey_id = 'V2'")
    newest, first = catch_can_surveys(measured, TODAY)
    assert (newest["survey_id"], newest["christiansen_reason"]) == ("V2", "too_few_cans")
    assert (first["depths_mm"], first["ranked_mm"]) == (UNEVEN[::-1], UNEVEN)
    assert (first["low_quarter_mm"], first["low_half_mm"]) == (5, 5)
    assert first["low_cans"] == [6, 7, 8]
    assert [r["survey_id"] for r in catch_can_surveys(measured, TODAY, newest=True)] == ["V2"]


def test_rows_are_a_table_of_the_columns(measure: Measure) -> None:
    """Every key is a column, in the values that the columns name."""
    found = rows(measure, surveys=BEFORE)
    assert [list(row) for row in found] == [SCHEMA.names] * 2
    assert as_table(found).schema == SCHEMA
    assert as_table([]).num_rows == 0
    for row in found:
        assert row["standing"] in STANDINGS
        assert row["unjudged_why"] in ("", *UNJUDGED)
        assert set(filter(None, row["needs"].split(";"))) <= set(NEEDS)


def test_the_last_day_is_that_of_a_figure_or_a_survey(measure: Measure) -> None:
    """Whichever is later; None where there is neither."""
    assert last_known_day(measure(sites=SITES)) is None
    assert last_known_day(measure(sites=SITE, surveys=BEFORE)) == date(2026, 3, 1)
