"""The ledger: a line for whatever changed the store, flushed to the disk, never rewritten."""

import json
import os
from pathlib import Path
from typing import Any

from pipeline.errors import StoreError
from pipeline.store.files import as_json
from pipeline.words import say


def append(path: Path, entry: dict[str, Any]) -> None:
    """Add a line; on return it is on the disk."""
    path.parent.mkdir(parents=True, exist_ok=True)
    torn = path.exists() and path.read_bytes()[-1:] not in (b"\n", b"")
    with path.open("ab") as stream:
        if torn:  # a kill left half a line: it stays, on a line of its own
            stream.write(b"\n")
        stream.write(as_json(entry))
        stream.flush()
        os.fsync(stream.fileno())


def entries(path: Path) -> list[dict[str, Any]]:
    """Return the ledger's whole lines in their order; half a line of a kill is passed over."""
    if not path.exists():
        return []
    found = []
    lines = path.read_text(encoding="utf-8").splitlines()
    for number, line in enumerate(lines, 1):
        try:
            found.append(json.loads(line))
        except json.JSONDecodeError as error:
            if number == len(lines) or not line.endswith("}"):
                continue
            raise StoreError(
                say("store.ledger_broken"),
                where=f"{path}, {number}",
                why=str(error),
                mend=say("store.ledger_broken_mend"),
            ) from error
    return found


def reconcile(path: Path, made_by: dict[str, Any]) -> None:
    """Write the newest version's own entry where a kill came between the version and its line."""
    if made_by and all(entry.get("number") != made_by.get("number") for entry in entries(path)):
        append(path, made_by)
