"""The store: one writer, many readers, every version published whole."""

import getpass
import os
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import duckdb
import pyarrow as pa
from filelock import FileLock, Timeout

from pipeline.errors import Fault, FileFault, StoreBusy, StoreChanged, StoreDamaged, StoreError, UnknownName
from pipeline.intake import READERS, ReadOptions, Upload
from pipeline.store import archive, aside, leases, ledger, manifest, results
from pipeline.store.load import Arrival, Progress, load_into, nobody_watches
from pipeline.store.manifest import Manifest
from pipeline.store.reader import Reader, open_reader
from pipeline.store.report import LoadReport
from pipeline.store.session import Session, begin
from pipeline.words import say, say_n

PATIENCE_S = 60  # that a writer waits for another
VERSIONS_KEPT = 5  # that readers may still open
NAMES_TOLD = 10  # of the files that a folder's load leaves out
HALF_COPY_S = 86_400  # no file takes a day to be copied into the archive


def person() -> str:
    """Return who is at the keyboard, for the ledger."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a user id without a name
        return str(os.getuid()) if hasattr(os, "getuid") else "?"


class Store:
    """A folder with everything that a programme has loaded and what was computed from it."""

    def __init__(self, path: Path, *, patience_s: float = PATIENCE_S) -> None:
        self.path = path
        self.patience_s = patience_s

    @property
    def archive(self) -> Path:
        """Where the uploaded files themselves are kept."""
        return self.path / "archive"

    @property
    def ledger(self) -> Path:
        """The file of what was done."""
        return self.path / "ledger.jsonl"

    @property
    def versions(self) -> Path:
        """Where the versions are described."""
        return self.path / "versions"

    def manifest(self, number: int | None = None) -> Manifest | None:
        """Return the version in force, or one of the newest; None where nothing was ever loaded."""
        return manifest.current(self.versions) if number is None else manifest.numbered(self.versions, number)

    @contextmanager
    def read(
        self, *, number: int | None = None, slice_no: int | None = None, sites: Sequence[str] = ()
    ) -> Iterator[Reader]:
        """Hold a version for as long as the block lasts.

        Parameters
        ----------
        number : int, optional
            One of the newest versions, for a reader that asks several times; empty: the one in force.

        Raises
        ------
        StoreDamaged
            Where a file of the version is missing or can't be read.
        StoreError
            Where nothing was ever loaded, or that version is gone.
        """
        found = self.manifest(number)
        if found is None:
            raise self.nothing_here()
        with leases.held(self.path / "readers", found.number):
            try:
                reader = open_reader(self.path, found, slice_no=slice_no, sites=sites)
            except duckdb.Error as error:
                raise self._unreadable(error) from error
            try:
                with self.told_of_damage():
                    yield reader
            finally:
                reader.connection.close()

    @contextmanager
    def told_of_damage(self) -> Iterator[None]:
        """Tell in plain words of a file of the store that went, or broke, while a version was held.

        Raises
        ------
        StoreDamaged
            Where the database's error names a file of the store.
        """
        try:
            yield
        except duckdb.Error as error:
            if f"{self.path}{os.sep}" not in str(error):
                raise
            raise self._unreadable(error) from error

    def _unreadable(self, error: duckdb.Error) -> StoreDamaged:
        return StoreDamaged(
            say("store.unreadable"),
            where=str(self.path),
            why=str(error).partition("\n")[0],
            mend=say("store.rebuild_mend"),
        )

    def nothing_here(self) -> StoreError:
        """Return the error of a folder without a version: never loaded, or its versions are gone."""
        if self.ledger.exists():
            return self._behind()
        return StoreError(say("store.empty"), where=str(self.path), mend=say("store.empty_mend"))

    def _behind(self) -> StoreDamaged:
        return StoreDamaged(
            say("store.behind_ledger"),
            where=str(self.path),
            why=say("store.behind_ledger_why"),
            mend=say("store.rebuild_mend"),
        )

    @contextmanager
    def writing(self, *, anew: bool = False) -> Iterator[int]:
        """Be the only writer for as long as the block lasts; gives the number of the version to write.

        Parameters
        ----------
        anew : bool
            The version is made from archive and ledger alone: those in place may be damaged.

        Raises
        ------
        StoreBusy
            Where another one is writing and doesn't end.
        StoreDamaged
            Where the ledger knows versions that are gone.
        StoreError
            Where something could not be written, such as on a full disk.
        """
        with told_of_the_disk(self.path):
            self.path.mkdir(parents=True, exist_ok=True)
            lock = FileLock(self.path / "write.lock")
            try:
                lock.acquire(timeout=self.patience_s)
            except Timeout as error:
                raise StoreBusy(
                    say("store.busy"), where=str(self.path), mend=say("store.busy_mend")
                ) from error
            try:
                yield self._next_number(anew=anew)
            finally:
                lock.release()

    def _next_number(self, *, anew: bool) -> int:
        """Compare the version in force with the ledger, and put right what a kill left between the two."""
        try:
            found = self.manifest()
        except StoreDamaged:
            if not anew:
                raise
            found = None
        entries = ledger.entries(self.ledger)
        known = ledger.newest(entries)
        newest = found.number if found else 0
        if known > newest and not anew:
            raise self._behind()
        if found is not None and known <= newest:
            ledger.reconcile(self.ledger, found.entry, entries)
        return 1 + max(known, manifest.newest_number(self.versions))

    def load(
        self,
        paths: Iterable[Path],
        options: ReadOptions | None = None,
        *,
        restore: bool = False,
        arrived_at: datetime | None = None,
        met: int | None = None,
        progress: Progress = nobody_watches,
    ) -> LoadReport:
        """Take files and folders in.

        Parameters
        ----------
        paths : iterable of Path
            Files count in this order; those of a folder by name.
        options : ReadOptions
            What the user says about them.
        restore : bool
            Take rows that equal an earlier version than the one in force.
        arrived_at : datetime, optional
            When they came, with its zone; empty: now. Nothing may have happened later than the day after.
        met : int, optional
            The version whose rows a preview met: nothing is taken where others have come since.
        progress : callable
            Told of each step.

        Raises
        ------
        StoreBusy
            Where another writer doesn't end.
        StoreChanged
            Where the rows are no longer those of `met`.
        UnknownName
            Where a path isn't there.
        """
        options = options or ReadOptions()
        asked = list(paths)
        self._refuse_change(met)  # before anything is kept
        with told_of_the_disk(self.path):
            files, closed = self._keep(_files(asked, self.path))
        entry = _entry(files, options, arrived_at, restore=restore)
        with self.writing() as number:
            self._refuse_change(met)
            report = self._load(number, entry, progress)
        report.unreadable += closed
        report.notes += _left_out(asked, self.path)
        return report

    def preview(
        self,
        paths: Iterable[Path],
        options: ReadOptions | None = None,
        *,
        restore: bool = False,
        arrived_at: datetime | None = None,
        progress: Progress = nobody_watches,
    ) -> LoadReport:
        """Return what `load` would report of files and folders, and leave the store as it is.

        It is the same load, done in a room beside the store that is gone when it ends. It needs no
        turn among the writers: what it says holds as long as `rows_version` is the report's `met`.
        Parameters are those of `load`.

        Raises
        ------
        StoreDamaged
            Where the ledger knows versions that are gone.
        StoreError
            Where the room could not be written to.
        UnknownName
            Where a path isn't there.
        """
        asked = list(paths)
        with aside.room() as folder, told_of_the_disk(folder, "store.no_room"):
            beside = Store(folder)
            files, closed = beside._keep(_files(asked, self.path))
            entry = _entry(files, options or ReadOptions(), arrived_at, restore=restore)
            report = self._preview(beside, entry, progress)
        report.unreadable += closed
        report.notes += _left_out(asked, self.path)
        return report

    def _preview(self, beside: "Store", entry: dict[str, Any], progress: Progress) -> LoadReport:
        """Do a load's work on a copy of the version in force, which is held meanwhile."""
        entries = ledger.entries(self.ledger)  # first: a version is there before its line
        before = self.manifest()
        if ledger.newest(entries) > (before.number if before else 0):
            raise self._behind()
        with leases.held(self.path / "readers", before.number) if before else nullcontext():
            session = begin(beside.path, before, kept_in=self.path.resolve())
            try:
                report = replay_load(beside, session, entry, progress)
            finally:
                session.drop()
        report.met = _rows_version(before, entries)
        return report

    def rows_version(self) -> int:
        """Return the number of the newest version that changed rows or settings; 0 without any.

        One that only holds newly computed results doesn't count: a load would do the same after it.
        """
        entries = ledger.entries(self.ledger)
        return _rows_version(self.manifest(), entries)

    def _refuse_change(self, met: int | None) -> None:
        if met is not None and met != self.rows_version():
            raise StoreChanged(say("store.changed"), where=str(self.path), mend=say("store.changed_mend"))

    def _keep(self, files: Iterable[Path]) -> tuple[list[dict[str, str]], list[Fault]]:
        """Archive files; those that can't be opened are told of."""
        kept, closed = [], []
        for path in files:
            try:
                kept.append({"sha": archive.keep(self.archive, path), "name": _name(path)})
            except FileFault as error:
                closed.append(error.fault)
        return kept, closed

    def _load(self, number: int, entry: dict[str, Any], progress: Progress) -> LoadReport:
        before = self.manifest()
        met = _rows_version(before, ledger.entries(self.ledger))
        session = begin(self.path, before)
        try:
            report = replay_load(self, session, entry, progress)
            session.finish()
        except BaseException:
            session.drop()
            raise
        entry["load_no"] = session.load_no
        entry["report"] = report.as_json()
        report.met = met
        self.publish(session, number, entry)
        return report

    def publish(self, session: Session, number: int, entry: dict[str, Any]) -> None:
        """Make a finished session the version in force, write the ledger and sweep what nobody needs."""
        entry |= {
            "number": number,
            "written_at": datetime.now(UTC).isoformat(),
            "who": entry.get("who", person()),
        }
        made = Manifest(
            number, session.base, tuple(session.parts), tuple(session.results), session.settings, entry
        )
        manifest.publish(self.versions, made)
        ledger.append(self.ledger, entry)
        self._sweep()

    def change_setting(self, name: str, text: str) -> None:
        """Set one of the programme's settings; every figure is computed anew with it.

        Raises
        ------
        UnknownName
            Where there is no such setting.
        SunrillError
            Where the text is no value of it.
        """
        with self.writing() as number:
            before = self.manifest()
            if name == "slice_sites" and before is not None and before.parts:
                raise StoreError(
                    say("store.slices_are_set"), where=name, mend=say("store.slices_are_set_mend")
                )
            session = begin(self.path, before)
            try:
                session.settings = session.settings.changed(name, text)
                session.connection.execute("INSERT OR IGNORE INTO dirty SELECT site_id FROM sites")
                session.finish()
            except BaseException:
                session.drop()
                raise
            self.publish(session, number, {"kind": "setting", "name": name, "value": text})

    def dirty_slices(self) -> dict[int, list[str]]:
        """Return the sites whose results are not those of their rows, by slice."""
        found = self.manifest()
        if found is None:
            return {}
        with self.read() as reader:
            rows = reader.connection.execute(
                """SELECT (site_no - 1) // ? AS slice_no, site_id FROM dirty JOIN site_numbers USING (site_id)
                   ORDER BY ALL""",
                [found.settings.slice_sites],
            ).fetchall()
        slices: dict[int, list[str]] = {}
        for slice_no, site_id in rows:
            slices.setdefault(slice_no, []).append(site_id)
        return slices

    def put_results(self, made: Iterable[tuple[int, list[str], Mapping[str, pa.Table]]]) -> None:
        """Publish the results of sites, slice by slice, as one version.

        Parameters
        ----------
        made : iterable of (slice, its recomputed sites, table by name)
            Taken one at a time, so that only one slice is in memory.
        """
        with self.writing() as number:
            before = self.manifest()
            session = begin(self.path, before)
            try:
                for slice_no, sites, tables in made:
                    results.put(session, slice_no, sites, tables)
                session.finish()
            except BaseException:
                session.drop()
                raise
            self.publish(session, number, {"kind": "results"})

    def _sweep(self) -> None:
        """Remove files that only versions need which nobody reads and no reader may still open."""
        newest = manifest.recent(self.versions, VERSIONS_KEPT)
        read = leases.numbers(self.path / "readers")
        older = [n for n in read if n < newest[-1].number and (self.versions / f"{n}.json").exists()]
        kept = newest + [manifest.numbered(self.versions, n) for n in older]
        needed = set().union(*(m.files() for m in kept))
        for room in ("base", "parts", "results", "scratch"):
            for path in (self.path / room).rglob("*"):
                if path.is_file() and path.relative_to(self.path).as_posix() not in needed:
                    _remove(path)
        self._sweep_halves()
        for path in self.versions.glob("*.json"):
            if path.stem.isdigit() and int(path.stem) < newest[-1].number and int(path.stem) not in read:
                _remove(path)

    def _sweep_halves(self) -> None:
        """Remove half written files of killed loads; another process may be archiving at this moment."""
        for path in self.versions.glob(".*"):
            _remove(path)
        for path in self.archive.glob(".*"):
            if _age_s(path) > HALF_COPY_S:
                _remove(path)


@contextmanager
def told_of_the_disk(folder: Path, sentence: str = "store.not_written") -> Iterator[None]:
    """Tell in plain words of what could not be written; nothing that was in the store is lost."""
    try:
        yield
    except (OSError, duckdb.IOException, duckdb.FatalException) as error:
        raise StoreError(
            say(sentence),
            where=str(folder),
            why=str(error).partition("\n")[0],
            mend=say(f"{sentence}_mend"),
        ) from error


def _name(path: Path) -> str:
    """A file's name as text: bytes that are no letters, as some systems allow, are shown as such."""
    return path.name.encode(errors="surrogateescape").decode(errors="replace")


def _age_s(path: Path) -> float:
    """Seconds since a file was written; 0 for one that has just gone."""
    try:
        return time.time() - path.stat().st_mtime
    except FileNotFoundError:
        return 0.0


def _remove(path: Path) -> None:
    try:
        path.unlink()
    except (PermissionError, FileNotFoundError):
        return  # gone already, or open in a reader on a system that minds: the next sweep takes it


def _rows_version(found: Manifest | None, entries: list[dict[str, Any]]) -> int:
    """The newest version with other rows or settings than the one before it; a ledger may lack its last line."""
    if found is None:
        return 0
    known = [*entries, found.entry] if found.entry else entries
    return max((e["number"] for e in known if e["kind"] != "results"), default=0)


def _entry(
    files: list[dict[str, str]], options: ReadOptions, arrived_at: datetime | None, *, restore: bool
) -> dict[str, Any]:
    """What the ledger says of a load before it is done."""
    moment = arrived_at or datetime.now(UTC)
    return {
        "kind": "load",
        "arrived_at": moment.astimezone(UTC).isoformat(),
        "files": files,
        "options": options.as_record(),
        "restore": restore,
    }


def replay_load(
    store: Store, session: Session, entry: dict[str, Any], progress: Progress = nobody_watches
) -> LoadReport:
    """Do what a ledger's entry of a load says, in a session."""
    connection = session.connection
    moment = datetime.fromisoformat(entry["arrived_at"])
    (number,) = connection.execute("SELECT coalesce(max(load_no), 0) + 1 FROM loads").fetchone() or (1,)
    session.load_no = entry.get("load_no", number)
    session.arrived_at = moment
    session.today = moment.astimezone(ZoneInfo(session.settings.timezone)).date()
    connection.execute(
        "INSERT INTO loads VALUES (?, ?, ?)",
        [session.load_no, moment.astimezone(UTC).replace(tzinfo=None), entry.get("who", person())],
    )
    arrivals = [Arrival(Upload(store.archive / f["sha"], f["name"]), f["sha"]) for f in entry["files"]]
    options = ReadOptions(**entry["options"])
    return load_into(session, arrivals, options, restore=entry["restore"], progress=progress)


def _files(paths: Iterable[Path], own: Path) -> Iterator[Path]:
    """Every file of the paths; of a folder, those that a reader takes, by name, without the store's own."""
    for path in paths:
        if path.is_dir():
            yield from (p for p in _in_folder(path, own) if _is_readable(p))
        elif path.exists():
            yield path
        else:
            raise UnknownName(say("store.no_such_path"), where=str(path), mend=say("store.no_such_path_mend"))


def _in_folder(folder: Path, own: Path) -> list[Path]:
    """A folder's files by name.

    Without hidden ones, those that a spreadsheet keeps while a book is open, and those of a store that
    lies in the folder.
    """
    found = (p for p in folder.rglob("*") if p.is_file() and not p.name.startswith((".", "~$")))
    if not own.resolve().is_relative_to(folder.resolve()):
        return sorted(found)
    return sorted(p for p in found if not p.resolve().is_relative_to(own.resolve()))


def _is_readable(path: Path) -> bool:
    return path.suffix.casefold() in READERS


def _left_out(paths: Iterable[Path], own: Path) -> list[Fault]:
    """A note for each folder with files that no reader takes."""
    found = []
    for folder in (path for path in paths if path.is_dir()):
        names = [_name(p) for p in _in_folder(folder, own) if not _is_readable(p)]
        if names:
            more = f" … (+{len(names) - NAMES_TOLD})" if len(names) > NAMES_TOLD else ""
            found.append(
                Fault(
                    say_n("store.left_out", len(names), names=", ".join(names[:NAMES_TOLD]) + more),
                    where=str(folder),
                    why=say("store.left_out_why", endings=", ".join(READERS)),
                    mend=say("store.left_out_mend"),
                )
            )
    return found


def open_store(path: Path, *, create: bool = False) -> Store:
    """Return the store of a folder.

    Raises
    ------
    StoreError
        Where the folder is no store and none was to be made.
    """
    store = Store(path)
    if not create and store.manifest() is None:
        raise store.nothing_here()
    return store
