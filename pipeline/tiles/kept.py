"""The background map of a store: a copy in its folder `basemap`, so that the stick can go back.

A new one gets a name of its own, and the one before goes: nobody has it open for longer than a tile takes.
"""

import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from pipeline.errors import StoreBusy, StoreError
from pipeline.store.files import CHUNK_BYTES, flush, flush_folder
from pipeline.tiles.faults import fault
from pipeline.tiles.tile_file import KINDS, TileFile, open_tiles
from pipeline.words import say

ROOM = "basemap"
COMING = ".coming"  # half a copy, until it is whole; the next one writes over what a kill left
MEGABYTE = 1_000_000


def kept(store: Path) -> Path | None:
    """Return the file that a store keeps; None: none."""
    return max(_files(store), key=_number, default=None)


def keep(source: Path, store: Path, watch: Callable[[int, int], None] = lambda _done, _of: None) -> TileFile:
    """Check a file and copy it into a store; it takes the place of the one before.

    Parameters
    ----------
    watch
        Told of the bytes copied so far and of all.

    Raises
    ------
    FileFault
        Where the file can't be shown, or can't be read to its end.
    StoreBusy
        Where another copy is under way.
    StoreError
        Where it could not be written, such as on a full disk.
    """
    found = open_tiles(source)
    with _alone(store) as room:
        before = _files(store)
        aside = room / COMING
        try:
            _copy(source, aside, watch)
            open_tiles(aside)
            target = room / f"{max(map(_number, before), default=0) + 1}{found.ending}"
            aside.rename(target)
        finally:
            aside.unlink(missing_ok=True)
        flush_folder(room)
        _drop(before)
    return open_tiles(target)


def remove(store: Path) -> bool:
    """Drop what a store keeps; return whether there was any.

    Raises
    ------
    StoreBusy
        Where a copy is under way.
    StoreError
        Where it could not be removed.
    """
    there = _files(store)
    if (store / ROOM).exists():
        with _alone(store) as room:
            _drop([*there, room / COMING])
    return bool(there)


def _files(store: Path) -> list[Path]:
    return [p for p in (store / ROOM).glob("[0-9]*") if p.stem.isdigit() and p.suffix in KINDS]


def _number(path: Path) -> int:
    return int(path.stem)


@contextmanager
def _alone(store: Path) -> Iterator[Path]:
    """The room, for one writer; what could not be written is told."""
    room = store / ROOM
    try:
        room.mkdir(parents=True, exist_ok=True)
        with FileLock(room / "write.lock", timeout=0):
            yield room
    except Timeout as error:
        raise StoreBusy(say("tiles.busy"), where=str(room), mend=say("tiles.busy_mend")) from error
    except OSError as error:
        raise StoreError(
            say("tiles.not_kept"), where=str(room), why=error.strerror or str(error), mend=say("tiles.not_kept_mend")
        ) from error  # fmt: skip


def _copy(source: Path, aside: Path, watch: Callable[[int, int], None]) -> None:
    """Copy a file chunk by chunk; on return it is on the disk."""
    size, done = source.stat().st_size, 0
    free = shutil.disk_usage(aside.parent).free
    if size > free:
        room = say("tiles.no_room_why", size=size // MEGABYTE, free=free // MEGABYTE)
        raise StoreError(
            say("tiles.not_kept"), where=str(aside.parent), why=room, mend=say("tiles.not_kept_mend")
        )
    with aside.open("wb") as copy:
        for chunk in _chunks(source):
            copy.write(chunk)
            done += len(chunk)
            watch(done, size)
    flush(aside)


def _chunks(source: Path) -> Iterator[bytes]:
    """A file's bytes; one that goes meanwhile, with the stick that it lies on, is told of."""
    try:
        with source.open("rb") as stream:
            while chunk := stream.read(CHUNK_BYTES):
                yield chunk
    except OSError as error:
        raise fault("gone", source) from error


def _drop(files: Iterable[Path]) -> None:
    for path in files:
        path.unlink(missing_ok=True)
