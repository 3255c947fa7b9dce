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

MOST_COLUMNS = 300  # no sheet for the field is as wide; thousands would take minutes

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
            mend=say(f"intake.{_way_out(ending)}", endings=", ".join(READERS)),
        )
    if upload.path.stat().st_size == 0:
        raise FileFault(say("intake.empty_file"), where=upload.name, mend=say("intake.empty_file_mend"))
    sheets = READERS[ending](upload, options)
    for sheet in sheets:
        _refuse_widths(sheet)
    return sheets


def _way_out(ending: str) -> str:
    if ending in {".zip", ".7z", ".rar", ".gz", ".tar", ".tgz"}:
        return "unpack"
    if ending in {".xls", ".xlsm", ".xlsb", ".ods", ".numbers"}:
        return "other_workbook"
    return "endings_are"


def _refuse_widths(sheet: Sheet) -> None:
    width = sheet.cells.num_columns
    if width > MOST_COLUMNS:
        raise FileFault(
            say("intake.too_wide", columns=width),
            where=f"{sheet.file}, {sheet.sheet}" if sheet.sheet else sheet.file,
            why=say("intake.too_wide_why", most=MOST_COLUMNS),
            mend=say("intake.too_wide_mend"),
        )
