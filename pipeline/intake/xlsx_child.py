"""Read one workbook in a process of its own: a crafted file may abort it or fill its memory.

Run as `python xlsx_child.py BOOK OUT`; writes one Arrow file a sheet to OUT.
"""

import json
import sys
from pathlib import Path

import fastexcel
import pyarrow as pa

MEMORY_BYTES = 3 * 2**30
SECONDS = 300


def limit_this_process() -> None:
    """Bound memory and processor time, where the operating system can."""
    try:
        import resource  # noqa: PLC0415 - not on every operating system
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def read_book(book: Path, out: Path) -> None:
    """Write every sheet of the book into the folder `out`, with a list of their names."""
    reader = fastexcel.read_excel(book)
    for i, name in enumerate(reader.sheet_names):
        cells = _cells(reader, i)
        with pa.OSFile(str(out / f"{i}.arrow"), "wb") as sink, pa.ipc.new_file(sink, cells.schema) as writer:
            writer.write_table(cells)
        (out / f"{i}.json").write_text(json.dumps(name))


def _cells(reader: fastexcel.ExcelReader, index: int) -> pa.Table:
    """Every cell as text; a date cell comes as its ISO text whatever day the book counts from."""
    batch = reader.load_sheet(index, header_row=None, dtypes="string").to_arrow()
    return pa.table({f"c{i}": column.cast(pa.string()) for i, column in enumerate(batch.columns)})


if __name__ == "__main__":
    limit_this_process()
    read_book(Path(sys.argv[1]), Path(sys.argv[2]))
