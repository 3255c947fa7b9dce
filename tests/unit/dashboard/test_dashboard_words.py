"""Every string that a page shows comes from the catalogue, or from the programme's data."""

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from babel.messages.pofile import read_po
from streamlit.testing.v1 import AppTest

import pipeline.words
from dashboard import site_panel
from dashboard.downloads import KINDS
from dashboard.standing import STANDINGS
from dashboard.visit_list import EXTRAS, HEADS
from pipeline.measures.indicators import BY_NAME, INDICATORS
from pipeline.store import Store
from pipeline.tables import TABLES
from pipeline.visits.calls_first import ASKED
from pipeline.visits.change_rules import DIRECTIONS, WHYS
from pipeline.visits.ranking import WORK
from pipeline.words import say, say_n

DASHBOARD = Path(__file__).parents[3] / "dashboard"
CODE = "\n".join(path.read_text() for path in sorted(DASHBOARD.rglob("*.py")))
ROOMS = (  # catalogues that pages speak from
    "dashboard",
    "week_page",
)
FAMILIES: dict[str, list[str]] = {  # keys whose last part comes from a list
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
    "dashboard.loaded_": ["file", "table", "on", "who", "rows"],
    "dashboard.head_": [*HEADS, *EXTRAS],
    "dashboard.promise_": ["figure", "baseline", "target", "due"],
    "dashboard.it_": ["under_half", "between", "enough"],
    "dashboard.one_": ["faulty", "unused", "unclear"],
    "week_page.kind_": [kind for kind in DIRECTIONS if kind not in ("unsaid", "same")],
    "week_page.it_": [kind for kind, direction in DIRECTIONS.items() if direction == "worse"],
    "week_page.n_": [kind for kind, direction in DIRECTIONS.items() if direction == "worse"],
    "week_page.group_": ["worse", "better", "otherwise"],
    "week_page.why_": list(WHYS),
    "week_page.ask_": list(ASKED),
    "week_page.waits_": list(TABLES["maintenance"].by_name["status"].choices),
    "week_page.water_": ["yes", "no", "unknown"],
    "dashboard.": [
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
    ],
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
def marked(shown: Store, monkeypatch: pytest.MonkeyPatch) -> Store:
    """Every sentence of the catalogue stands between two marks."""
    plain = pipeline.words._message  # noqa: SLF001 - the one door of all sentences

    def message(key: str, language: str) -> str | tuple[str, ...]:
        found = plain(key, language)
        return f"⟦{found}⟧" if isinstance(found, str) else tuple(f"⟦{form}⟧" for form in found)

    monkeypatch.setattr(pipeline.words, "_message", message)
    return shown


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
    ],
)
def test_a_page_shows_the_catalogues_words_and_the_programmes_data(
    marked: Store, page: str, address: dict[str, str]
) -> None:
    """With every sentence marked, what is left unmarked is a name, an id, a figure, a unit or a definition."""
    test = AppTest.from_file(str(DASHBOARD / "views" / f"{page}.py"), default_timeout=120)
    for name, value in address.items():
        test.query_params[name] = value
    test.run()
    assert [e.value for e in test.exception] == []
    with marked.read() as reader:
        data = reader.connection.execute(
            "SELECT site_id || ' ' || name || ' ' || district FROM sites UNION ALL SELECT note FROM hazards "
            "UNION ALL SELECT file || ' ' || table_name FROM sources UNION ALL SELECT who FROM loads "
            "UNION ALL SELECT agreement_id || ' ' || title FROM agreements"
        ).fetchall()
    known = " ".join(
        [*(row[0] for row in data), *(f"{f.unit} {f.definition}" for f in INDICATORS), *TABLES, "MWK"]
    )
    texts = [text for text in visible(test) if text]
    assert sum("⟦" in text for text in texts) > 10
    left = {
        word
        for text in texts
        if not text.startswith("data:")
        for word in re.findall(r"[^\W\d_]{2,}", outside(text))
    }
    assert {word for word in left if word not in known} == set()


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
