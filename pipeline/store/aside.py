"""A room beside the store for a preview: nothing of it ever lies in the store.

It goes with its block. What a killed preview left, the next one removes, as soon as it is old enough
not to be one that is just being made.
"""

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

PREFIX = "sunrill-preview-"
IN_USE = "in_use.lock"
NEW_S = 600  # within which a room gets its lock


@contextmanager
def room() -> Iterator[Path]:
    """Hold a folder of one's own outside the store, which others can't look into."""
    _sweep(Path(tempfile.gettempdir()))
    with tempfile.TemporaryDirectory(prefix=PREFIX) as name:
        folder = Path(name).resolve()
        with FileLock(folder / IN_USE):
            yield folder


def _sweep(folder: Path) -> None:
    """Remove the rooms of killed previews of this user."""
    for left in folder.glob(f"{PREFIX}*"):
        if _is_ours(left) and _is_left(left):
            shutil.rmtree(left, ignore_errors=True)  # what can't go now goes with the next preview


def _is_ours(left: Path) -> bool:
    """Whether a folder is our own and no link to another."""
    try:
        found = left.lstat()
    except FileNotFoundError:
        return False
    own = not hasattr(os, "getuid") or found.st_uid == os.getuid()
    return own and left.is_dir() and not left.is_symlink() and time.time() - found.st_mtime > NEW_S


def _is_left(left: Path) -> bool:
    lock = FileLock(left / IN_USE)
    try:
        lock.acquire(timeout=0)
    except (Timeout, OSError):
        return False
    lock.release()
    return True
