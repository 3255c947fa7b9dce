"""Sprays and laterals: how evenly the cans filled, whether throws overlap, and which blocks need work.

Every row needs its own site only. Days are local, shares are 0–1, None is unknown.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from pipeline.agronomy.application import (
    application_rate_mm_h,
    rate_beyond_intake_mm_h,
    spacing_wetted_share,
)
from pipeline.agronomy.soils import soils
from pipeline.config import Settings
from pipeline.measures.figures import Readable
from pipeline.measures.results import create_empty_missing
from pipeline.measures.spray_cans import known, lay_surveys, surveys, with_cans
from pipeline.measures.spray_columns import SCHEMA
from pipeline.measures.spray_findings import (
    FULL_POWER,
    Design,
    Finding,
    block_findings,
    cans_findings,
    gauge_findings,
    in_order,
)
from pipeline.measures.statements import prepare_sums, run_statement

Row = dict[str, Any]
Rows = list[Row]

WITHOUT_LATERALS = ("furrow", "basin", "hose")
FLOW_DAYS = 90  # back from the day, in which a block's own meter and the log tell its flow
FULL_SUN_WM2 = 700.0  # on the array, where the pump's power isn't known; common practice, no source
M2_PER_HA = 10_000.0
NAMES = tuple(SCHEMA.names)  # the schema makes its list anew each time


def last_known_day(reader: Readable) -> date | None:
    """Return the last day of which a figure or a survey is known; None: nothing is."""
    create_empty_missing(reader.connection)
    query = "SELECT greatest((SELECT max(day) FROM site_days), (SELECT max(surveyed_on) FROM surveys))"
    row = reader.connection.execute(query).fetchone()
    return row[0] if row else None


def block_sprays(reader: Readable, to_day: date, *, sites: Sequence[str] | None = None) -> Rows:
    """Return a row for each block of the sites in service: spacing, throw, overlap, flow, rate and what it needs.

    Parameters
    ----------
    reader
        A store's, or any connection with the contract views and result tables.
    to_day
        Nothing of a later day counts.
    sites
        Only these; all if left out.

    Returns
    -------
    list of dict
        The columns of `SCHEMA`. `needs` (`Need`, apart by ;) rests on the block's own records, `site_needs` on the
        site's survey: somewhere at the site. `flow_rests_on` is one of `RESTS_ON`; with `at_least` the flow may
        have been higher. `standing` is one of `STANDINGS`: `site_even` where nothing speaks against a block, and the
        site's cans were even, on whichever block they stood. `unjudged_why` is one of `UNJUDGED`.
    """
    lay_surveys(reader, to_day, sites)
    settings, connection = reader.settings, reader.connection
    parameters = settings.as_parameters() | {
        "to_day": to_day,
        "sites": None if sites is None else list(sites),
        "spray_flow_days": FLOW_DAYS,
        "full_power_share": FULL_POWER,
        "full_sun_wm2": FULL_SUN_WM2,
    }
    prepare_sums(connection)
    create_empty_missing(connection)
    run_statement(connection, "spray_flows", parameters)
    run_statement(connection, "spray_blocks", parameters)
    cans = {row["site_id"]: row for row in with_cans(reader, "nth_cans = 1")}
    gauges = {row["site_id"]: row for row in surveys(reader, "nth_gauge = 1")}
    since = to_day - timedelta(days=settings.spray_evidence_days)
    made: Rows = []
    for site_id, blocks in _by_site(connection.execute("FROM spray_blocks").to_arrow_table().to_pylist()):
        found = _Site(blocks, cans.get(site_id), gauges.get(site_id), since, settings)
        made += [found.row(block) for block in blocks]
    return made


def has_laterals(block: Row) -> bool:
    """Tell whether a block may have laterals: its method is none of those without, or isn't known."""
    return block["irrigation_method"] not in WITHOUT_LATERALS


class _Site:
    """What is known of a site's laterals on a day, for the rows of its blocks."""

    def __init__(
        self, blocks: Rows, cans: Row | None, gauge: Row | None, since: date, settings: Settings
    ) -> None:
        lateral = [block for block in blocks if has_laterals(block)]
        self.settings = settings
        self.only = len(lateral) == 1
        self.last_cans = cans
        self.cans = cans if cans and cans["surveyed_on"] >= since else None
        self.gauge = gauge if gauge and gauge["surveyed_on"] >= since else None
        self.alike = len({block["wetted_diameter_m"] for block in lateral}) == 1
        self.flow_is_its = len(blocks) == 1
        self.findings = self._findings(_design(lateral, blocks)) if lateral else []

    def _findings(self, design: Design) -> list[Finding]:
        """What the surveys show, each need once."""
        found: list[Finding] = []
        if self.cans:
            found += cans_findings(self.cans, design, self.settings)
        if self.gauge:
            found += gauge_findings(self.gauge, design, self.settings)
        once = {finding.need: finding for finding in reversed(found)}
        return in_order(list(once.values()))

    def row(self, block: Row) -> Row:
        row = dict.fromkeys(NAMES) | {n: v for n, v in block.items() if n in NAMES}
        row |= {"needs": "", "evidence": "", "site_needs": "", "site_evidence": "", "unjudged_why": ""}
        if not has_laterals(block):
            return row | {"standing": "no_laterals", "throw_rests_on": "none", "flow_rests_on": "none"}
        row |= self._throw(block)
        row |= _flow(block, self.gauge if self.flow_is_its else None)
        row |= _rate(row)
        own = list(block_findings(row, self.settings))
        own, site = (in_order([*own, *self.findings]), []) if self.only else (in_order(own), self.findings)
        row |= _told("", own) | _told("site_", site) | self._cans()
        return row | {"standing": self._standing(row)}

    def _throw(self, block: Row) -> Row:
        """The throw that the overlap rests on: as the survey measured it, else as the block was made.

        Of blocks that are made for different throws nobody knows which one the surveyor measured.
        """
        measured = self.gauge["mean_spray_diameter_m"] if self.gauge else None
        of_it = measured is not None and self.alike
        throw = measured if of_it else block["wetted_diameter_m"]
        spacing = block["lateral_spacing_m"]
        share = None if throw is None or not spacing else float(spacing_wetted_share(throw / 2, spacing))
        return {
            "mean_spray_diameter_m": measured,
            "mean_spray_diameter_on": self.gauge["surveyed_on"]
            if self.gauge and measured is not None
            else None,
            "throw_m": throw,
            "throw_rests_on": "none" if throw is None else "survey" if of_it else "design",
            "overlap_share": share,
            "dry_strip_m": None if share is None else max(spacing - throw, 0.0),
        }

    def _cans(self) -> Row:
        told = self.cans or {}
        names = ("cans", "mean_depth_mm", "christiansen", "low_quarter", "low_half")
        return {name: told.get(name) for name in names} | {
            "cans_on": self.last_cans["surveyed_on"] if self.last_cans else None,
            "job_since_on": (self.cans or self.gauge or {}).get("job_since_on"),
            "unjudged_why": self._unjudged_why(),
        }

    def _unjudged_why(self) -> str:
        if self.last_cans is None:
            return "never"
        if self.cans is None:
            return "old"
        return str(self.cans["christiansen_reason"])

    def _standing(self, row: Row) -> str:
        if row["needs"]:
            return "needs"
        if row["site_needs"]:
            return "site_needs"
        if self.cans and not self._unjudged_why():
            return "sound" if self.only else "site_even"
        share = row["flow_share"]
        if share is not None and share >= self.settings.design_flow_least and row["flow_rests_on"] != "none":
            return "sound"
        return "unjudged"


def _design(lateral: Rows, blocks: Rows) -> Design:
    """The throw that the laterals were made for, and the flow of whichever block was open."""
    throws = [b["wetted_diameter_m"] for b in lateral if b["wetted_diameter_m"]]
    spacings = [b["lateral_spacing_m"] for b in lateral if b["lateral_spacing_m"]]
    flows = [b["design_flow_m3h"] for b in blocks if b["design_flow_m3h"]]
    whole = len(flows) == len(blocks)  # one without a design may have been the open one
    least, most = (min(flows), max(flows)) if whole else (None, None)
    return Design(min(throws or spacings, default=None), least, most)


def _flow(block: Row, survey: Row | None) -> Row:
    """The flow while the valve was open, and what it rests on; of a site with one block the survey's, too."""
    if block["own_flow_m3h"] is not None:
        flow, rests_on, on = block["own_flow_m3h"], "meter_and_log", block["own_flow_on"]
    elif survey and survey["measured_flow_m3h"] is not None:
        flow, rests_on, on = survey["measured_flow_m3h"], "survey", survey["surveyed_on"]
    elif block["at_least_m3h"] is not None:
        flow, rests_on, on = block["at_least_m3h"], "at_least", block["at_least_on"]
    else:
        flow, rests_on, on = None, "none", None
    design = block["design_flow_m3h"]
    share = None if flow is None or not design else flow / design
    return {"flow_m3h": flow, "flow_share": share, "flow_rests_on": rests_on, "flow_on": on}


def _rate(row: Row) -> Row:
    """The rate on the block's area, at the flow that is known and else by design, against the soil's intake."""
    flow = row["flow_m3h"] if row["flow_rests_on"] in ("meter_and_log", "survey") else row["design_flow_m3h"]
    area_m2 = (row["area_ha"] or 0.0) * M2_PER_HA
    rate = None if flow is None else known(application_rate_mm_h(flow, area_m2, 1.0))
    soil = soils().get(row["soil"] or "")
    least, most = (soil.basic_intake_min_mm_h, soil.basic_intake_max_mm_h) if soil else (None, None)
    beyond = [
        None if rate is None or intake is None else float(rate_beyond_intake_mm_h(rate, intake))
        for intake in (most, least)
    ]
    return {
        "application_rate_mm_h": rate,
        "intake_least_mm_h": least,
        "intake_most_mm_h": most,
        "beyond_intake_least_mm_h": beyond[0],
        "beyond_intake_most_mm_h": beyond[1],
    }


def _told(whose: str, findings: Sequence[Finding]) -> Row:
    days = [finding.on for finding in findings if finding.on]
    return {
        f"{whose}needs": ";".join(dict.fromkeys(finding.need.value for finding in findings)),
        f"{whose}evidence": " ".join(finding.evidence for finding in findings),
        f"{whose}evidence_on": max(days, default=None),
    }


def _by_site(blocks: Iterable[Row]) -> Iterable[tuple[str, Rows]]:
    found: dict[str, Rows] = {}
    for block in blocks:
        found.setdefault(block["site_id"], []).append(block)
    return found.items()
