"""A site with something in every section of its record, and a page that draws it alone."""

import re
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from html import unescape
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from pipeline.measures import run
from pipeline.store import Store
from tests.unit.dashboard.conftest import lay_programme, look_at, write_csv

HOSTILE = "<img src=x onerror=alert(1)> {0} [go](javascript:alert(1))"


def write_records(folder: Path) -> None:
    """Rows of N1 whose figures fit in the head; a hostile text wherever the field writes one."""
    folder.mkdir()
    write_csv(
        folder,
        "maintenance",
        f"""
        record_id|site_id|kind|reported_at|arrived_at|restored_at|water_stopped|status|component|cause|action|parts_used|cost|technician
        J1|N1|corrective|2026-09-20 08:00|||yes|waiting_part|pump|||||{HOSTILE}
        J2|N1|corrective|2026-09-01 06:00|2026-09-02 06:00|2026-09-03 18:00|yes|closed|pump|worn|exchanged|seal;bolt|1500.5|Thoko
        J3|N1|preventive|2026-08-20 09:00|||||filter|||||
        J4|N1|corrective|2026-09-29 06:00||2026-10-01 09:00|no|closed|pipe|{HOSTILE}||||
        J5|N1|inspection|2026-10-02 06:00||||open|array|||||
        J6|S1|corrective|2026-09-20 08:00|||yes|open|Southern pump||||7654321|
        """,
    )
    write_csv(
        folder,
        "contacts",
        f"""
        site_id|role|name|phone|language|consent_on
        N1|chair|{HOSTILE}|+265 000 00001|Chichewa|2026-08-01
        N1|operator|Thoko|javascript:alert(1)||
        N1|clerk|Atupele|0999 111 222 / 0888 333 444|Tumbuka|
        """,
    )
    write_csv(
        folder, "calls", f"site_id|called_at|answer|next_step\nN1|2026-09-02 23:30|{HOSTILE}|crew to look"
    )
    write_csv(
        folder,
        "alarms",
        "site_id|kind|raised_at|cleared_at\nN1|tamper|2026-09-02 05:00|\nN1|dry_run|2026-09-01 05:00|2026-09-01 06:00",
    )
    write_csv(folder, "bases", "base_id|name|latitude|longitude\nB1|Yard|-13.1|33.2")
    write_csv(folder, "crews", "crew_id|base_id\nC1|B1")
    write_csv(
        folder,
        "visit_outcomes",
        f"site_id|crew_id|arrived_at|left_at|cause_found|mended|next_step\nN1|C1|2026-09-03 07:00|2026-09-03 12:00|{HOSTILE}|partly|",
    )
    write_csv(
        folder,
        "surveys",
        f"""
        survey_id|site_id|surveyed_on|surveyor|static_water_level_m|catch_depths_mm|strainer_found|alarm_tested|pump_condition|security_condition|notes
        V1|N1|2026-09-10|Temwa|5.25|4;3.5|sand|no|2|5|{HOSTILE}
        V2|N1|2026-09-11|||||||||
        """,
    )
    write_csv(
        folder, "trainings", "site_id|held_on|topic|women|men|youth\nN1|2026-09-05|flushing lines|22|17|"
    )
    write_csv(
        folder,
        "components",
        f"""
        site_id|component|serial|installed_on|removed_on|supplier|warranty_until
        N1|pump|P2|2026-09-01||{HOSTILE}|2028-09-01
        N1|filter|F1|2024-09-01|||2026-09-29
        N1|pump|P1|2024-09-01|2026-09-01||2026-09-01
        """,
    )
    notes = [f"2026-09-{n:02} 10:00|N1|note {n}|Thoko|because {n}" for n in range(1, 28)]
    write_csv(folder, "decisions", "decided_at|about|what|who|why\n" + "\n".join([*notes, f"2026-09-28 10:00|N1|{HOSTILE}||{HOSTILE}"]))  # fmt: skip


@pytest.fixture(scope="session")
def records_store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The programme, and records of N1."""
    folder = tmp_path_factory.mktemp("records")
    store = lay_programme(folder)
    write_records(folder / "records")
    report = store.load([folder / "records"], arrived_at=datetime(2026, 10, 2, 12, tzinfo=UTC))
    assert (report.faults, report.unreadable) == ([], [])
    run.refresh(store)
    return store


@pytest.fixture
def recorded(records_store: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """The dashboard looks at the programme with records."""
    yield from look_at(records_store, monkeypatch)


@pytest.fixture
def desk(records_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """A copy of it that a test may write to."""
    yield from look_at(Store(Path(shutil.copytree(records_store.path, tmp_path / "own"))), monkeypatch)


def opened(site_id: str, scope: tuple[str, ...] | None = None, first: str = "2026-08-01") -> AppTest:
    """The record of a site as somebody sees it who may see some sites, or all."""
    test = AppTest.from_function(_page, args=(site_id, scope, first), default_timeout=120)
    test.run()
    assert [e.value for e in test.exception] == []
    return test


def _page(site_id: str, scope: tuple[str, ...] | None, first: str) -> None:
    from datetime import date  # noqa: PLC0415 - this function's text is a script of its own

    from dashboard import data  # noqa: PLC0415
    from dashboard.access import Viewer  # noqa: PLC0415
    from dashboard.records import record  # noqa: PLC0415

    record.draw(
        data.version(), Viewer("somebody", scope), site_id, (date.fromisoformat(first), date(2026, 9, 30))
    )


def pieces(test: AppTest) -> list[str]:
    """Every piece of HTML on the page."""
    return [element.proto.body for element in test.get("html")]


def texts(test: AppTest) -> list[str]:
    """The text of each piece."""
    return [read(piece) for piece in pieces(test)]


def read(html: str) -> str:
    """What a reader sees of HTML, on one line."""
    return " ".join(unescape(re.sub(r"<style>.*?</style>|<[^>]+>", " ", html, flags=re.DOTALL)).split())


def titles(test: AppTest) -> list[str]:
    """What stands on the sections' lids."""
    return [section.label for section in test.expander]


def rows(test: AppTest, title: str) -> list[list[str]]:
    """The rows of a section's tables, each cell as text."""
    section = next(e for e in test.expander if e.label.startswith(title))
    html = "".join(element.proto.body for element in section.get("html"))
    return [[read(c) for c in re.findall(r"<td.*?</td>", r, re.DOTALL)] for r in re.findall(r"<tr role.*?</tr>", html, re.DOTALL)]  # fmt: skip


def said(test: AppTest, title: str) -> str:
    """All that a section says."""
    section = next(e for e in test.expander if e.label.startswith(title))
    return " ".join(read(element.proto.body) for element in section.get("html"))
