"""Files that must not get lost: written aside, flushed to the disk, then given a name of their own.

Nothing is ever renamed over or changed in place: a reader may have it open.
"""

import hashlib
import json
import os
import uuid
from pathlib import Path
from typing import Any

CHUNK_BYTES = 1 << 20


def sha256_of(path: Path) -> str:
    """Return the hexadecimal SHA-256 of a file's bytes."""
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while chunk := stream.read(CHUNK_BYTES):
            digest.update(chunk)
    return digest.hexdigest()


def flush(path: Path) -> None:
    """Have the operating system write a file, and the name of it, to the disk."""
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())
    flush_folder(path.parent)


def write_new(path: Path, content: bytes) -> None:
    """Write a file under a name that nothing has yet, whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_name(f".{path.name}.{uuid.uuid4().hex}")
    try:
        aside.write_bytes(content)
        flush(aside)
        aside.rename(path)
    finally:
        aside.unlink(missing_ok=True)
    flush_folder(path.parent)


def flush_folder(folder: Path) -> None:
    """Have the names in a folder written to the disk, where the system knows how."""
    if os.name != "posix":  # elsewhere a folder can't be opened
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def as_json(record: Any) -> bytes:
    """Return a record as one line of JSON."""
    return (json.dumps(record, ensure_ascii=False, sort_keys=True, default=str) + "\n").encode()
