"""Whom to telephone before anybody drives: what is found there a person at the site can tell.

A site is called where the most likely cause, or one just as likely, is one of `ASKED`; a silent
site only where a job was reported or ended there within `RECENT_JOB_DAYS` (our own choice: somebody
has just been there, and may have left a cable off). Where the water surely stopped a crew goes anyway.
"""

from collections.abc import Sequence
from datetime import date
from typing import Any

from pipeline.store import Reader

Row = dict[str, Any]

ASKED = ("water_unused", "meter_stuck", "blocks_doubled", "data_silent")
RECENT_JOB_DAYS = 60

RECENT_JOBS = """
    SELECT DISTINCT site_id FROM maintenance
    WHERE list_contains($sites::VARCHAR[], site_id)
      AND coalesce(restored_day, reported_day) BETWEEN $as_of::DATE - $days::INTEGER AND $as_of::DATE"""
CONTACTS = """
    SELECT site_id, role, name, phone, language, consent_on IS NOT NULL AND consent_on <= $as_of::DATE AS agreed
    FROM contacts WHERE list_contains($sites::VARCHAR[], site_id)
    ORDER BY site_id, coalesce(trim(phone), '') = '', role, name"""
LAST_CALLS = """
    SELECT site_id, called_day AS called_on, $as_of::DATE - called_day AS called_days_ago, answer, next_step
    FROM calls WHERE list_contains($sites::VARCHAR[], site_id) AND called_day <= $as_of::DATE
    QUALIFY row_number() OVER (PARTITION BY site_id ORDER BY called_at DESC) = 1"""
NEVER_CALLED = {"called_on": None, "called_days_ago": None, "answer": None, "next_step": None}


def calls_first(reader: Reader, ranking: Sequence[Row], as_of: date) -> list[Row]:
    """Return the sites to telephone, in the order of the ranking.

    Parameters
    ----------
    reader
        Its tables end on the day, as `ranking.judged` leaves them.
    ranking
        The rows of `ranking.judged` on the day: of these sites and no others.
    as_of
        The day.

    Returns
    -------
    list of dict
        site_id, rank, value [ha·d], ask: the cause that is asked about, evidence; contacts: role, name, phone,
        language and whether the person agreed to be on file, who has a number first; called_on,
        called_days_ago [d], answer and next_step of the last call, None where there was none.
    """
    recent = {row["site_id"] for row in _rows(reader, RECENT_JOBS, ranking, as_of, days=RECENT_JOB_DAYS)}
    wanted = [(row, cause) for row in ranking if (cause := asked_about(row, recent=row["site_id"] in recent))]
    rows = [row for row, _ in wanted]
    last = {row.pop("site_id"): row for row in _rows(reader, LAST_CALLS, rows, as_of)}
    contacts: dict[str, list[Row]] = {}
    for row in _rows(reader, CONTACTS, rows, as_of):
        contacts.setdefault(row.pop("site_id"), []).append(row)
    return [
        {name: row[name] for name in ("site_id", "rank", "value", "evidence")}
        | {"ask": cause, "contacts": contacts.get(row["site_id"], [])}
        | last.get(row["site_id"], NEVER_CALLED)
        for row, cause in wanted
    ]


def asked_about(row: Row, *, recent: bool) -> str | None:
    """Return the cause that a call to a site is about; None: no call saves a drive.

    Parameters
    ----------
    row
        Of `ranking.judged`.
    recent
        Whether there was a job within `RECENT_JOB_DAYS`.
    """
    if row["stops"]:
        return None
    most = row["cause_probability"]
    likely = [cause for cause, probability in row["probabilities"].items() if probability == most]
    return next((c for c in likely if c in ASKED and (recent or c != "data_silent")), None)


def _rows(reader: Reader, query: str, ranking: Sequence[Row], as_of: date, **more: object) -> list[Row]:
    sites = [row["site_id"] for row in ranking]
    parameters = {"sites": sites, **more} | ({"as_of": as_of} if "$as_of" in query else {})
    return list(reader.connection.execute(query, parameters).to_arrow_table().to_pylist())
