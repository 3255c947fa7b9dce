"""What can be wrong with a file of tiles, in the words of who brought it."""

from pathlib import Path

from pipeline.errors import FileFault
from pipeline.words import say


def fault(name: str, path: Path) -> FileFault:
    """Return the error that the catalogue tells of a file."""
    return FileFault(
        say(f"tiles.{name}"), where=str(path), why=say(f"tiles.{name}_why"), mend=say(f"tiles.{name}_mend")
    )
