"""Every string that a page shows comes from the catalogue, or from the programme's data."""

import json
import re
from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from babel.messages.pofile import read_po
from streamlit.testing.v1 import AppTest

import pipeline.words
from dashboard.charts.productivity import PER
from dashboard.charts.productivity import signs as harvest_signs
from dashboard.crop_water import tables as crop_water
from dashboard.crop_water.sections import GLANCE_SIGNS
from dashboard.crop_water.week import COLUMNS as RUN_COLUMNS
from dashboard.downloads import KINDS
from dashboard.figures.blocks import SECTIONS as PARTS
from dashboard.files.tables import CHANGE_COLUMNS
from dashboard.find.data import TEXTS
from dashboard.find.lists import SECTIONS as FOUND_IN
from dashboard.harvest.tables import GROUP_HEADS, PLANTING_HEADS
from dashboard.harvest.tables import ORDERS as HARVEST_ORDERS
from dashboard.records import cells as records_cells
from dashboard.records import sections as records_sections
from dashboard.site import panel as site_panel
from dashboard.sprays.lists import COLUMNS as SPRAY_COLUMNS
from dashboard.sprays.lists import ORDERS as SPRAY_ORDERS
from dashboard.sprays.pattern import LEAST
from dashboard.standing import STANDINGS
from dashboard.visit_list import EXTRAS, HEADS
from pipeline.agronomy.soils import soils
from pipeline.agronomy.uniformity import Unevaluated
from pipeline.config import Settings
from pipeline.measures.defended import LACKS
from pipeline.measures.defended import VERDICTS as DEFENCES
from pipeline.measures.explained import LOG_VERDICTS, VERDICTS, settings_in_force
from pipeline.measures.harvest_columns import COMPARED, HOW_KNOWN, UNCOMPARED, UNCOSTED, UNRATED
from pipeline.measures.indicators import BY_NAME, INDICATORS
from pipeline.measures.planting_water import VERDICTS as LACKED
from pipeline.measures.planting_water import WITHOUT
from pipeline.measures.seasons import STAGES as SEASON_STAGES
from pipeline.measures.spray_columns import RESTS_ON, UNJUDGED
from pipeline.measures.spray_findings import NEEDS
from pipeline.measures.spray_findings import WORK as WORK_ON_LATERALS
from pipeline.store import FATES, Store
from pipeline.tables import TABLES
from pipeline.visits.calls_first import ASKED
from pipeline.visits.change_rules import DIRECTIONS, WHYS
from pipeline.visits.ranking import WORK
from pipeline.words import say, say_n
from tests.unit.dashboard.conftest import forget, look_at
from tests.unit.dashboard.harvest_programme import lay_harvests

DASHBOARD = Path(__file__).parents[3] / "dashboard"
CODE = "\n".join(path.read_text() for path in sorted(DASHBOARD.rglob("*.py")))
ROOMS = (  # catalogues that pages speak from
    "dashboard",
    "site_records",
    "week_page",
    "figures_page",
    "files_page",
    "site_page",
    "find_page",
    "crop_water_page",
    "sprays_page",
    "harvest_page",
)
FAMILIES: dict[str, list[str]] = {  # keys whose last part comes from a list
    "figures_page.part_": list(PARTS),
    "figures_page.rule_": ["causes", "looks_for", "probability", "ends"],
    "figures_page.verdict_": ["name", "says", "counts"],
    "figures_page.counts_": ["yes", "no", "amounts"],
    "figures_page.fate_": list(FATES),
    "figures_page.setting_": ["name", "value", "default", "unit", "meaning"],
    "dashboard.figure_": list(BY_NAME),
    "dashboard.cause_": list(WORK),
    "dashboard.hazard_": list(TABLES["hazards"].by_name["hazard"].choices),
    "dashboard.group_": list(site_panel.GROUPS),
    "dashboard.stands_": list(STANDINGS),
    "dashboard.kind_": [*TABLES["maintenance"].by_name["kind"].choices, "training"],
    "dashboard.skill_": sorted(
        {skill for work in WORK.values() for skill in work.skills.split(";") if skill}
    ),
    "dashboard.download_": list(KINDS),
    "dashboard.fate_": [
        "rows",
        "taken",
        "unchanged",
        "corrected",
        "held",
        "rejected",
        "flaw",
        "flaws",
        "note",
    ],
    "dashboard.n_": ["taken", "unchanged", "corrected", "held", "rejected"],
    "dashboard.reject_": ["file", "line", "column", "value", "fate", "rule", "how_to_mend"],
    "dashboard.loaded_": ["file", "on", "who"],
    "files_page.would_": list(FATES),
    "files_page.change_": list(CHANGE_COLUMNS),
    "files_page.fresh_": ["district", "sites", "newest_reading", "newest_log", "newest_survey"],
    "dashboard.head_": [*HEADS, *EXTRAS],
    "dashboard.promise_": ["figure", "baseline", "target", "due"],
    "dashboard.defended_": list(DEFENCES),
    "dashboard.lacks_": list(LACKS),
    "site_page.stage_": [*SEASON_STAGES, "unknown"],
    "site_page.legend_": ["up", "down", "unknown"],
    "site_page.": ["water_title", "energy_title", "season_title", "blocks_title"],
    "dashboard.it_": ["under_half", "between", "enough"],
    "dashboard.one_": ["faulty", "unused", "unclear"],
    "site_records.title_": (SECTIONS := [s.name for s in records_sections.sections("MWK", date.max)]),
    "site_records.empty_": SECTIONS,
    "site_records.head_": [h for s in records_sections.sections("MWK", date.max) for h in s.heads],
    "site_records.": ["arrived_at", "restored_at", "none_before", "none_after", "in_place", "removed"],
    "site_records.reading_": ["before", "after"],
    "site_records.standing_": [*TABLES["maintenance"].by_name["status"].choices, "unsaid"],
    "site_records.water_": ["yes", "no", "unsaid"],
    "site_records.mended_": [*TABLES["visit_outcomes"].by_name["mended"].choices, "unsaid"],
    "site_records.alarm_": list(TABLES["alarms"].by_name["kind"].choices),
    "site_records.measured_": list(records_cells.MEASURED),
    "site_records.part_": [name.removesuffix("_condition") for name in records_cells.CONDITIONS],
    "site_records.condition_": ["1", "2", "3", "4", "5"],
    "site_records.strainer_": list(TABLES["surveys"].by_name["strainer_found"].choices),
    "site_records.alarm_tried_": list(TABLES["surveys"].by_name["alarm_tested"].choices),
    "site_records.carries_": list(TABLES["meters"].by_name["carries"].choices),
    "site_records.counts_": list(TABLES["meters"].by_name["quantity"].choices),
    "site_records.verdict_": list(records_cells.VERDICTS),
    "site_records.fate_": list(FATES),
    "week_page.kind_": [kind for kind in DIRECTIONS if kind not in ("unsaid", "same")],
    "week_page.it_": [kind for kind, direction in DIRECTIONS.items() if direction == "worse"],
    "week_page.n_": [kind for kind, direction in DIRECTIONS.items() if direction == "worse"],
    "week_page.group_": ["worse", "better", "otherwise"],
    "week_page.why_": list(WHYS),
    "week_page.ask_": list(ASKED),
    "week_page.waits_": list(TABLES["maintenance"].by_name["status"].choices),
    "week_page.water_": ["yes", "no", "unknown"],
    "find_page.kind_": list(TEXTS),
    "find_page.is_": list(FOUND_IN),
    "find_page.times_": ["technician", "surveyor", "writer", "crew"],
    "crop_water_page.head_": [*crop_water.HEADS, *crop_water.WEEK_HEADS],
    "crop_water_page.order_": list(crop_water.ORDERS),
    "crop_water_page.state_": list(GLANCE_SIGNS),
    "crop_water_page.legend_": [
        "course",
        "band",
        "ready_water",
        "all_water",
        "stress",
        "stress_possible",
        "dashed",
    ],
    "crop_water_page.ground_": ["balance", "courses", "start", "soil", "yield", "not_known"],
    "measures.soil_": sorted({*soils(), *TABLES["blocks"].by_name["soil"].choices}),
    "crop_water_page.soil_is_": ["told", "default"],
    "crop_water_page.verdict_": list(LACKED),
    **{f"crop_water_page.{n}_": ["lacked", "perhaps", "spared"] for n in ("it", "n", "all")},
    "crop_water_page.reason_": list(WITHOUT),
    "crop_water_page.run_": list(RUN_COLUMNS),
    "crop_water_page.mend_": list(WITHOUT),
    "crop_water_page.": ["mm", "m3", "no_response", "no_need"],
    "dashboard.": [
        *("district", "agreement", "site", "language"),  # the fields of `choices.choose`
        "under_half",
        "between",
        "enough",
        "faulty",
        "unused",
        "unclear",
        "from",
        "to",
        "district",
        "agreement",
        "standing",
        "site",
        "file",
        "harvest_order",
        "survey",
        "order",
    ],
    "sprays_page.n_": [need.value for need in WORK_ON_LATERALS],
    "sprays_page.at_": [need.value for need in WORK_ON_LATERALS],
    "sprays_page.sites_": ["water_first", "pressure"],
    "sprays_page.why_": list(UNJUDGED),
    "sprays_page.need_": list(NEEDS),
    "sprays_page.stands_": ["site_even", "sound"],
    "sprays_page.unjudged_": [*UNJUDGED, "cans"],
    "sprays_page.no_": ["spacing", "throw"],
    "sprays_page.overlap_": ["survey", "design"],
    "sprays_page.cover_": ["survey", "design"],
    "sprays_page.rests_on_": [name for name in RESTS_ON if name != "none"],
    "sprays_page.head_": list(SPRAY_COLUMNS),
    "sprays_page.order_": list(SPRAY_ORDERS),
    "sprays_page.line_": ["mean", "low_quarter"],
    "sprays_page.lacks_": [why.value for why in Unevaluated],
    "sprays_page.": [*LEAST, "block_title", "somewhere_title", "site_title"],
    "harvest_page.all_": [*HOW_KNOWN, "unsaid"],
    "harvest_page.known_": [*HOW_KNOWN, "unsaid"],
    "harvest_page.stands_": list(COMPARED),
    "harvest_page.n_": list(COMPARED),
    "harvest_page.is_": list(COMPARED),
    "harvest_page.uncompared_": list(UNCOMPARED[1:]),
    "harvest_page.unrated_": list(UNRATED[1:]),
    "harvest_page.uncosted_": list(UNCOSTED[1:]),
    "harvest_page.why_": [*UNCOMPARED, *UNRATED, *UNCOSTED],
    "harvest_page.axis_": list(PER),
    "harvest_page.nothing_per_": list(PER),
    "harvest_page.says_per_": list(PER),
    "harvest_page.legend_": list(harvest_signs()),
    "harvest_page.order_": list(HARVEST_ORDERS),
    "harvest_page.head_": [
        *GROUP_HEADS,
        *PLANTING_HEADS,
        "crop",
        "half_year",
        "site",
        "least",
        "middle",
        "most",
        "published",
    ],
    "harvest_page.source_": ["memory", "quoted"],
    "harvest_page.product_": ["fresh", "dry"],
}


class _Text(HTMLParser):
    """What a reader sees of HTML."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.hidden = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.hidden = tag in ("style", "script")
        self.seen += [v for k, v in attrs if k in ("title", "alt", "aria-label", "placeholder") and v]

    def handle_endtag(self, _tag: str) -> None:
        self.hidden = False

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.seen.append(data)


def visible(test: AppTest) -> Iterator[str]:
    """Every text of a page's elements, those of its own components too."""
    for node in test.main:
        proto = getattr(node, "proto", None)
        if proto is None:
            continue
        if node.type == "html":
            reader = _Text()
            reader.feed(proto.body)
            yield from reader.seen
        for name in ("label", "placeholder", "help", "options", "text"):
            found = getattr(proto, name, "")
            yield from [found] if isinstance(found, str) else list(found)
        if node.type == "bidi_component":
            yield from strings(json.loads(proto.json or proto.mixed.json))


def strings(nested: Any) -> Iterator[str]:
    if isinstance(nested, str):
        yield nested
    elif isinstance(nested, dict | list):
        for inner in nested.values() if isinstance(nested, dict) else nested:
            yield from strings(inner)


@pytest.fixture
def marked(shown: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """Every sentence of the catalogue stands between two marks."""
    mark(monkeypatch)
    yield shown
    forget()


def mark(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = pipeline.words._message  # noqa: SLF001 - the one door of all sentences

    def message(key: str, language: str) -> str | tuple[str, ...]:
        found = plain(key, language)
        return f"⟦{found}⟧" if isinstance(found, str) else tuple(f"⟦{form}⟧" for form in found)

    monkeypatch.setattr(pipeline.words, "_message", message)
    forget()  # what was kept with sentences that have none


def outside(text: str) -> str:
    """What of a text stands between no marks."""
    while "⟦" in text:
        shorter = re.sub(r"⟦[^⟦⟧]*⟧", "", text)
        if shorter == text:
            break
        text = shorter
    return text


@pytest.mark.parametrize(
    ("page", "address"),
    [
        ("portfolio", {"site": "N2"}),
        ("portfolio", {}),
        ("week", {}),
        ("files", {}),
        ("figures", {"figure": "served_ha"}),
        ("site", {"site": "N2"}),
        ("crop_water", {"site": "N2"}),
        ("site", {"site": "NOBODY"}),
        ("site", {}),
        ("find", {"find": "n"}),
        ("sprays", {}),
    ],
)
def test_a_page_shows_the_catalogues_words_and_the_programmes_data(
    marked: Store, page: str, address: dict[str, str]
) -> None:
    """With every sentence marked, what is left unmarked is a name, an id, a figure, a unit or a definition."""
    hold_to_the_catalogue(marked, page, address)


def test_the_harvest_shows_them_too(
    programme: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a programme that has harvests."""
    for store in look_at(lay_harvests(programme, tmp_path), monkeypatch):
        mark(monkeypatch)
        hold_to_the_catalogue(store, "harvest", {})


def hold_to_the_catalogue(marked: Store, page: str, address: dict[str, str]) -> None:
    test = AppTest.from_file(str(DASHBOARD / "views" / f"{page}.py"), default_timeout=120)
    for name, value in address.items():
        test.query_params[name] = value
    test.run()
    assert [e.value for e in test.exception] == []
    with marked.read() as reader:
        data = reader.connection.execute(
            "SELECT site_id || ' ' || name || ' ' || district FROM sites UNION ALL SELECT note FROM hazards "
            "UNION ALL SELECT file || ' ' || table_name FROM sources UNION ALL SELECT who FROM loads "
            "UNION ALL SELECT meter_id FROM meters UNION ALL SELECT agreement_id || ' ' || title FROM agreements UNION ALL SELECT crop FROM plantings UNION ALL SELECT crop FROM harvests"
        ).fetchall()
    known = " ".join(
        [*(row[0] for row in data), *(f"{f.unit} {f.definition}" for f in INDICATORS), *TABLES, "MWK"]
    )
    known += " ".join((*explain_names(), "yes no"))
    texts = [text for text in visible(test) if text]
    assert sum("⟦" in text for text in texts) >= 10
    left = {
        word
        for text in texts
        if not text.startswith("data:")
        for word in re.findall(r"[^\W\d_]{2,}", outside(text))
    }
    assert {word for word in left if word not in known} == set()


def explain_names() -> Iterator[str]:
    """What the page of figures takes from the contract: names of columns, settings, figures, verdicts."""
    for table in TABLES.values():
        yield from table.by_name
    for of in settings_in_force(Settings(timezone="Africa/Blantyre")):
        yield f" {of.name} {of.value} {of.default} {of.unit} {of.meaning}"
    for figure in BY_NAME.values():
        yield f" {figure.name} {figure.unit} {figure.definition}"
    yield from (*VERDICTS, *LOG_VERDICTS)


KEY = rf"[\"']((?:{'|'.join(ROOMS)})\.\w+[a-z])[\"']"


def test_every_key_of_the_code_has_its_english() -> None:
    """A key that the catalogue lacks would stop a page."""
    for key in set(re.findall(KEY, CODE)) | {
        f"{family}{n}" for family, names in FAMILIES.items() for n in names
    }:
        assert pipeline.words._message(key, "en")  # noqa: SLF001 - whether it is there


@pytest.mark.parametrize("room", ROOMS)
def test_no_word_lies_idle(room: str) -> None:
    """What no page says isn't kept for translators to translate."""
    used = set(re.findall(KEY, CODE)) | {f"{f}{n}" for f, names in FAMILIES.items() for n in names}
    source = files(pipeline.words).joinpath("en", f"{room}.po")
    with source.open("rb") as stream:
        keys = [m.id if isinstance(m.id, str) else m.id[0] for m in read_po(stream, locale="en") if m.id]
    assert {key for key in keys if not key.startswith(f"{room}.")} == set()
    assert set(keys) - used == set()
    assert len(keys) == len(set(keys))


def test_counted_sentences_have_both_numbers() -> None:
    """What is said by number has a form for one and another for many; nothing else has two."""
    counted = set(re.findall(rf"say_n\(\s*{KEY}", CODE))
    assert counted
    for key in counted:
        assert isinstance(pipeline.words._message(key, "en"), tuple), key  # noqa: SLF001
    for key in set(re.findall(rf"\bsay\(\s*{KEY}", CODE)):
        assert isinstance(pipeline.words._message(key, "en"), str), key  # noqa: SLF001


def test_braces_in_a_value_are_no_placeholders() -> None:
    """A site named {0} or {name} is said as it is written."""
    assert say("dashboard.site_option", name="{site}", site="{0}") == "{site} ({0})"
    assert "{n}" in say_n("dashboard.released", 2, table="{n}")


@pytest.mark.parametrize(
    ("fault", "control"), [("no_table", "table"), ("point_in_comma_file", "decimal_point"), ("date_order", "day_first")]
)  # fmt: skip
def test_a_way_to_mend_names_the_pages_control_too(fault: str, control: str) -> None:
    """Who drops files on the page types no option: the label stands there as the page writes it."""
    assert f'"{say(f"dashboard.{control}")}"' in say(f"intake.{fault}_mend", commaed="12,5")
