"""What came: each file of each load, with the fates of its rows as they were on the day it came.

The ledger knows every load, those that were taken back too; the version in force knows which sheets
still count. A file that came a second time byte for byte has a line of its own.
"""

from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from pipeline.errors import Fault
from pipeline.store import ledger
from pipeline.store.reader import Reader
from pipeline.store.replay import undone
from pipeline.store.report import FATES, RowFault
from pipeline.store.store import Store

COUNTS = ("rows", *FATES, "flaws")
Rows = list[dict[str, Any]]


def came(store: Store, reader: Reader) -> Rows:
    """Return the files that came up to a version, the newest first.

    Returns
    -------
    list of dict
        `number` of the load's version, `sha`, `file`, `arrived_at` (UTC), `who`, `sheets` (each with
        its table and counts), the sums of the counts, `unreadable` (sentences, empty: it was read),
        `taken_back` (why; None: it counts) and `same_bytes` (other names of its bytes that count).
    """
    newest = reader.manifest.number
    entries = [e for e in ledger.entries(store.ledger) if e["number"] <= newest]
    gone = undone(entries)
    reasons = {tuple(lost): e["why"] for e in entries if e["kind"] == "undo" for lost in e["gone"]}
    loads = [e for e in entries if e["kind"] == "load"]
    found = [file | {"who": e["who"]} for e in loads for file in _files_of(e)]
    names: dict[str, set[str]] = defaultdict(set)
    for row in found:
        key = (row["number"], row["sha"], row["file"])
        row["taken_back"] = reasons.get(key) if key in gone else None
        if key not in gone:
            names[row["sha"]].add(row["file"])
    for row in found:
        row["same_bytes"] = sorted(names[row["sha"]] - {row["file"]})
    return found[::-1]


def _files_of(entry: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The files of one load; two of one name in different folders share their lines out by turns."""
    lines = defaultdict(list)
    for line in entry["report"]["files"]:
        lines[line["file"]].append(line)
    times: dict[str, int] = defaultdict(int)
    for file in entry["files"]:
        times[file["name"]] += 1
    seen: dict[str, int] = defaultdict(int)
    for file in entry["files"]:
        name = file["name"]
        sheets = lines[name][seen[name] :: times[name]]
        seen[name] += 1
        told = [Fault(**f).sentences() for f in entry["report"]["unreadable"] if _is_of(f["where"], name)]
        yield {
            "number": entry["number"],
            "sha": file["sha"],
            "file": name,
            "arrived_at": datetime.fromisoformat(entry["arrived_at"]),
            "sheets": sheets,
            **{count: sum(line[count] for line in sheets) for count in COUNTS},
            "unreadable": "" if sheets else "\n".join(told),
        }


def _is_of(where: str, name: str) -> bool:
    return where == name or where.startswith(f"{name}, ")


def kept_faults(reader: Reader, sha: str, file: str) -> list[RowFault]:
    """Return what is kept of a file's rejected rows, flaws and notes, sheet by sheet."""
    rows = reader.connection.execute(
        """SELECT DISTINCT s.file, s.sheet, s.table_name, k.line, k."column", k.value, k.rule, k.fate
           FROM kept_faults k JOIN sources s USING (source_id) WHERE s.sha = ? AND s.file = ?
           ORDER BY s.sheet, k.line NULLS FIRST, k."column" """,
        [sha, file],
    ).fetchall()
    return [RowFault(*row) for row in rows]
