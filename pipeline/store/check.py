"""Is everything still there? Block corruption shows only when a block is read, so all are."""

from typing import Any

import duckdb

from pipeline.errors import StoreDamaged
from pipeline.store import archive, ledger, parts
from pipeline.store.reader import LEDGER_VIEWS
from pipeline.store.replay import loads_that_the_ledger_lacks
from pipeline.store.store import Store
from pipeline.tables import TABLES
from pipeline.words import say


def check(store: Store) -> list[str]:
    """Return a sentence for each thing that is damaged or missing; none where all is well."""
    found = [say("store.archive_damaged", sha=sha) for sha in archive.damaged(store.archive)]
    entries = ledger.entries(store.ledger)
    shas = {f["sha"] for entry in entries if entry["kind"] == "load" for f in entry["files"]}
    found += [
        say("store.archive_missing", sha=sha) for sha in sorted(shas) if not (store.archive / sha).exists()
    ]
    try:
        current = store.manifest()
    except StoreDamaged as error:
        return [*found, str(error)]
    if current is None or ledger.newest(entries) > current.number:
        return [*found, str(store.nothing_here())] if entries else found
    missing = [file for file in sorted(current.files()) if not (store.path / file).exists()]
    found += [say("store.file_missing", file=file) for file in missing]
    if current.entry and all(e["number"] != current.number for e in entries):
        found.append(say("store.ledger_lacks", number=current.number))
    found += [
        say("store.file_damaged", file=part.file)
        for part in (*current.parts, *current.results)
        if part.file not in missing and not parts.is_sound(store.path / part.file)
    ]
    return found if missing else found + _of_the_tables(store, entries)


def _of_the_tables(store: Store, entries: list[dict[str, Any]]) -> list[str]:
    try:
        lacking = loads_that_the_ledger_lacks(store, entries)
        found = [say("store.ledger_lacks_loads", loads=", ".join(map(str, lacking)))] if lacking else []
        return found + _unreadable_tables(store)
    except (StoreDamaged, duckdb.Error) as error:
        return [say("store.base_damaged", why=str(error).partition("\n")[0])]


def _unreadable_tables(store: Store) -> list[str]:
    found = []
    with store.read() as reader:
        names = [n for table in TABLES for n in (table, f"{table}_past", f"store.{table}_held")]
        names += [*LEDGER_VIEWS, *sorted({p.table for p in reader.manifest.results_in_force})]
        for name in names:
            quoted = ".".join(f'"{part}"' for part in name.split("."))
            try:
                reader.connection.execute(f"SELECT count(*), sum(hash(t)) FROM {quoted} t").fetchall()
            except duckdb.Error as error:
                found.append(say("store.table_damaged", table=name, why=str(error).partition("\n")[0]))
    return found
