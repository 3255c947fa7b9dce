"""The uploaded files themselves: kept first, by their SHA-256, read-only."""

import os
import shutil
import stat
import uuid
from pathlib import Path

from pipeline.errors import FileFault
from pipeline.store.files import flush, flush_folder, sha256_of
from pipeline.words import say


def keep(folder: Path, source: Path) -> str:
    """Copy a file into the archive and return its SHA-256; a file that is there already stays if it is sound.

    Raises
    ------
    FileFault
        Where the file can't be opened.
    """
    folder.mkdir(parents=True, exist_ok=True)
    aside = folder / f".{uuid.uuid4().hex}"
    try:
        _copy(source, aside)  # the copy is what counts: the original may change meanwhile
        sha = sha256_of(aside)
        kept = folder / sha
        if not is_sound(folder, sha):
            _drop(kept)
            flush(aside)
            aside.chmod(stat.S_IRUSR | stat.S_IRGRP | stat.S_IROTH)
            os.rename(aside, kept)  # noqa: PTH104 - the name is new: nothing is replaced
            flush_folder(folder)
    finally:
        aside.unlink(missing_ok=True)
    return sha


def is_sound(folder: Path, sha: str) -> bool:
    """Whether a file is there, with the bytes that its name tells of."""
    return (folder / sha).exists() and sha256_of(folder / sha) == sha


def _drop(damaged_file: Path) -> None:
    if damaged_file.exists():
        damaged_file.chmod(stat.S_IRUSR | stat.S_IWUSR)
        damaged_file.unlink()


def _copy(source: Path, aside: Path) -> None:
    try:
        stream = source.open("rb")
    except OSError as error:
        raise FileFault(
            say("store.file_closed"),
            where=source.name,
            why=error.strerror or "",
            mend=say("store.file_closed_mend"),
        ) from error
    with stream, aside.open("xb") as copy:
        shutil.copyfileobj(stream, copy)


def damaged(folder: Path) -> list[str]:
    """Return the digests of archived files whose bytes are no longer what they were."""
    return [p.name for p in sorted(folder.glob("[0-9a-f]*")) if sha256_of(p) != p.name]
