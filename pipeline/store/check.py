"""Is everything still there? Block corruption shows only when a block is read, so all are."""

import duckdb

from pipeline.store import archive, ledger
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
    current = store.manifest()
    if current is None:
        return found
    missing = [file for file in sorted(current.files()) if not (store.path / file).exists()]
    found += [say("store.file_missing", file=file) for file in missing]
    if current.entry and all(e.get("number") != current.number for e in entries):
        found.append(say("store.ledger_lacks", number=current.number))
    return found if missing else found + _unreadable_tables(store)


def _unreadable_tables(store: Store) -> list[str]:
    found = []
    with store.read() as reader:
        names = [n for table in TABLES for n in (table, f"{table}_past")] + sorted(
            {p.table for p in reader.manifest.results}
        )
        for name in names:
            try:
                reader.connection.execute(f'SELECT count(*), sum(hash(t)) FROM "{name}" t').fetchall()
            except duckdb.Error as error:
                found.append(say("store.table_damaged", table=name, why=str(error).partition("\n")[0]))
    return found
