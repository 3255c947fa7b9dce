"""Which versions are being read: a reader locks a file of its own, and the sweep leaves its version alone.

The system lets go of a lock when its process ends, so a killed reader holds nothing.
"""

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout


@contextmanager
def held(folder: Path, number: int) -> Iterator[None]:
    """Hold a version against the sweep for as long as the block lasts."""
    lease = folder / f"{number}-{uuid.uuid4().hex}"
    lock = FileLock(lease, thread_local=False)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock.acquire()
    except OSError:  # a full disk or a copy that can't be written: reading needs no lease
        yield
        return
    try:
        yield
    finally:
        lock.release()
        lease.unlink(missing_ok=True)


def numbers(folder: Path) -> set[int]:
    """Return the versions that are held, and remove what killed readers left."""
    found = set()
    for lease in folder.glob("*-*"):
        lock = FileLock(lease)
        try:
            lock.acquire(timeout=0)
        except Timeout:
            found.add(int(lease.name.partition("-")[0]))
            continue
        lock.release()
        lease.unlink(missing_ok=True)
    return found
