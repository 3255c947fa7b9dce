"""Which reader reads which file."""

from collections.abc import Callable
from pathlib import PurePath
from types import MappingProxyType

from pipeline.errors import FileFault
from pipeline.intake.csv_reader import read_csv
from pipeline.intake.geo_reader import DRIVERS, read_geo
from pipeline.intake.parquet_reader import read_parquet
from pipeline.intake.sheets import ReadOptions, Sheet, Upload
from pipeline.intake.xlsx_reader import read_xlsx
from pipeline.words import say

Reader = Callable[[Upload, ReadOptions], list[Sheet]]

READERS: MappingProxyType[str, Reader] = MappingProxyType(
    {".csv": read_csv, ".txt": read_csv, ".xlsx": read_xlsx, ".parquet": read_parquet}
    | dict.fromkeys(DRIVERS, read_geo)
)


def read_file(upload: Upload, options: ReadOptions) -> list[Sheet]:
    """Return the sheets of one file.

    Parameters
    ----------
    upload : Upload
        Where the bytes lie, and the file's own name: its ending says what it is.
    options : ReadOptions
        What the user says about it.

    Raises
    ------
    FileFault
        Where the file can't be read at all.
    """
    ending = PurePath(upload.name).suffix.casefold()
    if ending not in READERS:
        raise FileFault(
            say("intake.unknown_ending", ending=ending or "–"),
            where=upload.name,
            mend=say("intake.endings_are", endings=", ".join(READERS)),
        )
    if upload.path.stat().st_size == 0:
        raise FileFault(say("intake.empty_file"), where=upload.name, mend=say("intake.empty_file_mend"))
    return READERS[ending](upload, options)
