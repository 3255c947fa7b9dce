"""The ledger: a line for whatever changed the store, flushed to the disk, never rewritten."""

import json
import os
from pathlib import Path
from typing import Any

from pipeline.errors import StoreError
from pipeline.store.files import as_json
from pipeline.words import say

TORN = b"#torn"  # ends half a line that a kill left; it stays, and is passed over


def append(path: Path, entry: dict[str, Any]) -> None:
    """Add a line; on return it is on the disk."""
    path.parent.mkdir(parents=True, exist_ok=True)
    tail = path.read_bytes().rpartition(b"\n")[2] if path.exists() else b""
    with path.open("ab") as stream:
        if tail:
            stream.write(b"\n" if _whole(tail) else TORN + b"\n")
        stream.write(as_json(entry))
        stream.flush()
        os.fsync(stream.fileno())


def _whole(line: bytes) -> bool:
    """Whether a line lacks at most its end mark."""
    try:
        json.loads(line)
    except ValueError:  # half a letter, too
        return False
    return True


def entries(path: Path) -> list[dict[str, Any]]:
    """Return the ledger's whole lines in their order; half a line of a kill is passed over.

    Raises
    ------
    StoreError
        Where another line can't be read.
    """
    if not path.exists():
        return []
    *lines, tail = path.read_bytes().split(b"\n")  # not splitlines: a file's name may hold U+2028
    if _whole(tail):
        lines.append(tail)
    return [_entry(path, n, line) for n, line in enumerate(lines, 1) if not line.endswith(TORN)]


def _entry(path: Path, number: int, line: bytes) -> dict[str, Any]:
    try:
        entry: dict[str, Any] = json.loads(line)
    except ValueError as error:
        raise StoreError(
            say("store.ledger_broken"),
            where=f"{path}, {number}",
            why=str(error),
            mend=say("store.ledger_broken_mend"),
        ) from error
    return entry


def newest(found: list[dict[str, Any]]) -> int:
    """Return the highest number of a version that the ledger's entries know; 0 without any."""
    return max((entry["number"] for entry in found), default=0)


def reconcile(path: Path, made_by: dict[str, Any], found: list[dict[str, Any]]) -> None:
    """Write the newest version's own entry where a kill came between the version and its line."""
    if made_by and all(entry["number"] != made_by["number"] for entry in found):
        append(path, made_by)
