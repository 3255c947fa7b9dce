"""Rebuild and undo: the store made anew from the archive and the ledger alone."""

from collections.abc import Callable
from typing import Any

import duckdb

from pipeline.errors import StoreDamaged, UnknownName
from pipeline.store import archive, ledger
from pipeline.store.load import nobody_watches
from pipeline.store.manifest import Manifest, newest_number, recent
from pipeline.store.session import Session, begin
from pipeline.store.store import VERSIONS_KEPT, Store, person, replay_load
from pipeline.words import say

SHA_LETTERS = 8  # that tell a file
Watch = Callable[[int, int], None]
Brought = tuple[int, str, str]  # number of the load's version, the file's SHA-256, its name


def nobody(_done: int, _of: int) -> None:
    """Show nothing."""


def rebuild(store: Store, *, watch: Watch = nobody) -> int:
    """Make the store anew; return the number of loads that were replayed.

    Each load counts with its own day as today, so that the same rows are taken as were then.

    Raises
    ------
    StoreDamaged
        Where a file of the archive is missing or damaged, or the ledger lacks loads that the store still has.
    StoreError
        Where nothing was ever loaded.
    """
    if not store.ledger.exists() and not newest_number(store.versions):
        raise store.nothing_here()
    with store.writing(anew=True) as number:
        _refuse_to_lose_loads(store, ledger.entries(store.ledger))
        return _replay(store, number, {"kind": "rebuild"}, watch)


def undo(store: Store, file: str, why: str, *, watch: Watch = nobody) -> int:
    """Take a file's loads back: figures are as if it had never come; the file and the reason stay on record.

    What was loaded since is loaded once more, all of it where no version from before the file is left.

    Parameters
    ----------
    file : str
        The file's name, or its SHA-256 (or how that begins, eight letters at least).

    Returns
    -------
    int
        How many times it had been loaded.

    Raises
    ------
    UnknownName
        Where no load in force brought such a file, or files of other bytes came under one name.
    """
    with store.writing() as number:
        entries = ledger.entries(store.ledger)
        gone = undone(entries)
        matching = {
            (entry["number"], f["sha"], f["name"])
            for entry in entries
            if entry["kind"] == "load"
            for f in entry["files"]
            if f["name"] == file or (len(file) >= SHA_LETTERS and f["sha"].startswith(file))
        } - gone
        if not matching:
            raise UnknownName(say("store.no_such_load"), where=file, mend=say("store.no_such_load_mend"))
        _refuse_several(file, matching, entries)
        record = {
            "kind": "undo",
            "file": file,
            "why": why,
            "who": person(),
            "gone": sorted(map(list, matching)),
        }
        _replay(store, number, record, watch)
        return len(matching)


def _refuse_several(file: str, matching: set[Brought], entries: list[dict[str, Any]]) -> None:
    """A name that each month's file bears would take all of them back."""
    if len({sha for _, sha, _ in matching}) == 1:
        return
    came = {entry["number"]: entry["arrived_at"][:10] for entry in entries if entry["kind"] == "load"}
    told = [f"{sha[:SHA_LETTERS]} ({came[number]})" for number, sha, _ in sorted(matching)]
    raise UnknownName(
        say("store.several_loads", count=len(told)),
        where=file,
        mend=say("store.several_loads_mend", shas=", ".join(told)),
    )


def undone(entries: list[dict[str, Any]]) -> set[Brought]:
    """Return the files of loads that were taken back."""
    return {(n, sha, name) for entry in entries if entry["kind"] == "undo" for n, sha, name in entry["gone"]}


def _refuse_to_lose_loads(store: Store, entries: list[dict[str, Any]]) -> None:
    """A ledger that was cut knows fewer loads than the version in force: replaying it would lose them."""
    try:
        lacking = loads_that_the_ledger_lacks(store, entries)
    except (StoreDamaged, duckdb.Error):
        return  # what can't be read can't be compared either
    if lacking:
        raise StoreDamaged(
            say("store.ledger_lacks_loads", loads=", ".join(map(str, lacking))),
            where=str(store.ledger),
            mend=say("store.ledger_lacks_loads_mend"),
        )


def loads_that_the_ledger_lacks(store: Store, entries: list[dict[str, Any]]) -> list[int]:
    """Return the numbers of loads that the version in force has and the ledger has not."""
    if store.manifest() is None:
        return []
    with store.read() as reader:
        rows = reader.connection.execute("SELECT load_no FROM loads ORDER BY load_no").fetchall()
    known = {entry["load_no"] for entry in entries if entry["kind"] == "load"}
    return [load_no for (load_no,) in rows if load_no not in known]


def _refuse_without_the_files(store: Store, entries: list[dict[str, Any]], gone: set[Brought]) -> None:
    needed = {
        f["sha"]: f["name"]
        for entry in entries
        if entry["kind"] == "load"
        for f in entry["files"]
        if (entry["number"], f["sha"], f["name"]) not in gone
    }
    missing = [name for sha, name in needed.items() if not archive.is_sound(store.archive, sha)]
    if missing:
        raise StoreDamaged(
            say("store.files_missing", names=", ".join(missing)),
            where=str(store.archive),
            mend=say("store.files_missing_mend"),
        )


def _replay(store: Store, number: int, record: dict[str, Any], watch: Watch) -> int:
    entries = ledger.entries(store.ledger)
    gone = undone([*entries, record])
    before = _before(store, entries, record)
    later = [entry for entry in entries if before is None or entry["number"] > before.number]
    _refuse_without_the_files(store, later, gone)
    session = begin(store.path, before)
    loads = 0
    try:
        for done, entry in enumerate(later):
            watch(done, len(later))
            loads += _again(store, session, entry, gone)
        if before is None or session.settings != before.settings:
            session.connection.execute("INSERT OR IGNORE INTO dirty SELECT site_id FROM sites")
        session.finish()
    except BaseException:
        session.drop()
        raise
    store.publish(session, number, record)
    return loads


def _before(store: Store, entries: list[dict[str, Any]], record: dict[str, Any]) -> Manifest | None:
    """The newest version that is there from before a file came that is taken back; None: all is done again.

    What was done up to it needn't be done once more, unless something was taken back since: that may lie
    before it.
    """
    came = min((n for n, _, _ in record.get("gone", ())), default=0)
    for found in recent(store.versions, VERSIONS_KEPT):
        since = {entry["kind"] for entry in entries if entry["number"] > found.number}
        whole = all((store.path / file).exists() for file in found.files())
        if found.number < came and whole and since <= {"load", "setting", "results"}:
            return found
    return None


def _again(store: Store, session: Session, entry: dict[str, Any], gone: set[Brought]) -> int:
    """Do one entry once more; return whether it was a load."""
    if entry["kind"] == "setting":
        session.settings = session.settings.changed(entry["name"], entry["value"])
    if entry["kind"] != "load":
        return 0
    kept = [f for f in entry["files"] if (entry["number"], f["sha"], f["name"]) not in gone]
    replay_load(store, session, entry | {"files": kept}, nobody_watches)
    return 1
