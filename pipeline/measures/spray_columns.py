"""The table of sprays and laterals, a row a block: its columns, with what each means."""

from collections.abc import Iterable
from typing import Any

import pyarrow as pa

from pipeline.columns import Column, schema_of
from pipeline.measures.spray_findings import NEEDS

STANDINGS = ("needs", "site_needs", "unjudged", "site_even", "sound", "no_laterals")
UNJUDGED = ("never", "old", "too_few_cans", "all_dry")  # why a site's cans tell nothing
RESTS_ON = ("meter_and_log", "survey", "at_least", "none")

_TEXT, _NUMBER, _DAY, _WHOLE = pa.string(), pa.float64(), pa.date32(), pa.int64()
COLUMNS = (
    Column("site_id", _TEXT, "", "the site"),
    Column("block_id", _TEXT, "", "the block, in the site"),
    Column("irrigation_method", _TEXT, "", "as on record; furrow, basin and hose have no laterals"),
    Column("area_ha", _NUMBER, "ha", "irrigated area"),
    Column("soil", _TEXT, "", "texture class"),
    Column("standing", _TEXT, "", ", ".join(STANDINGS) + "; site_even: nothing speaks against the block, and the site's cans were even, on whichever block they stood"),
    Column("needs", _TEXT, "", "by the block's own records, apart by ;: " + ", ".join(NEEDS)),
    Column("evidence", _TEXT, "", "what shows it"),
    Column("evidence_on", _DAY, "", "its newest day; empty: it rests on the design alone"),
    Column("site_needs", _TEXT, "", "by the site's survey: of some block there, nobody knows which"),
    Column("site_evidence", _TEXT, "", "what shows it"),
    Column("site_evidence_on", _DAY, "", "its newest day"),
    Column("job_since_on", _DAY, "", "a job ended at the site on this day, after the survey"),
    Column("lateral_spacing_m", _NUMBER, "m", "between laterals"),
    Column("wetted_diameter_m", _NUMBER, "m", "of a spray, by design"),
    Column("mean_spray_diameter_m", _NUMBER, "m", "as the site's newest survey measured it"),
    Column("mean_spray_diameter_on", _DAY, "", "the day of that survey"),
    Column("throw_m", _NUMBER, "m", "across, that the overlap is reckoned with: as measured where all blocks of the site are made alike, else by design"),
    Column("throw_rests_on", _TEXT, "", "survey, design or none"),
    Column("overlap_share", _NUMBER, "–", "of the distance between two laterals that their throws wet, at most 1"),
    Column("dry_strip_m", _NUMBER, "m", "that stays dry between them"),
    Column("design_flow_m3h", _NUMBER, "m³/h", "of the open valve"),
    Column("flow_m3h", _NUMBER, "m³/h", "while the valve was open"),
    Column("flow_share", _NUMBER, "–", "of the design flow"),
    Column("flow_rests_on", _TEXT, "", ", ".join(RESTS_ON) + "; at_least: nobody knows when the valve was open, and the flow may be higher"),
    Column("flow_on", _DAY, "", "its newest day"),
    Column("application_rate_mm_h", _NUMBER, "mm/h", "over the block's area, at the known flow, else by design"),
    Column("intake_least_mm_h", _NUMBER, "mm/h", "that a wet soil of the class takes in at least"),
    Column("intake_most_mm_h", _NUMBER, "mm/h", "and at most"),
    Column("beyond_intake_least_mm_h", _NUMBER, "mm/h", "of the rate that ponds or runs off for certain"),
    Column("beyond_intake_most_mm_h", _NUMBER, "mm/h", "and at most"),
    Column("cans_on", _DAY, "", "the day of the site's newest survey with cans"),
    Column("cans", _WHOLE, "", "read then; empty: too long ago to count"),
    Column("mean_depth_mm", _NUMBER, "mm", "in them"),
    Column("christiansen", _NUMBER, "–", "uniformity after Christiansen"),
    Column("low_quarter", _NUMBER, "–", "distribution uniformity of the low quarter"),
    Column("low_half", _NUMBER, "–", "the same of the low half"),
    Column("unjudged_why", _TEXT, "", "why the cans tell nothing: " + ", ".join(UNJUDGED)),
)  # fmt: skip


SCHEMA = schema_of(COLUMNS)


def as_table(rows: Iterable[dict[str, Any]]) -> pa.Table:
    """Return rows as a table of `SCHEMA`, also where there are none."""
    return pa.Table.from_pylist(list(rows), schema=SCHEMA)
