"""What a load did: a line for each file and sheet, and every fault with the way to mend it."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Any

from pipeline.errors import Fault
from pipeline.intake import fault_words
from pipeline.tables import TABLES

FATES = ("taken", "unchanged", "corrected", "held", "rejected")  # one for each row of a sheet


@dataclass
class SheetReport:
    """The five fates of one sheet; they sum to its rows."""

    file: str
    sheet: str
    table: str
    rows: int
    taken: int = 0
    unchanged: int = 0
    corrected: int = 0
    held: int = 0
    rejected: int = 0
    flaws: int = 0


@dataclass(frozen=True)
class RowFault:
    """One fault of a row, as the rejects file and the page show it."""

    file: str
    sheet: str
    table: str
    line: int | None
    column: str
    value: str | None
    rule: str
    fate: str

    def words(self) -> Fault:
        """Return the fault in the words of the person who sees it."""
        place = f"{self.file}, {self.sheet}" if self.sheet else self.file
        return fault_words(TABLES.get(self.table), place, self.line, self.column, self.value, self.rule)


@dataclass(frozen=True)
class Correction:
    """One cell of a corrected row, before and after; None: empty. Moments are on the row's own clock."""

    file: str
    sheet: str
    line: int | None
    table: str
    key: str
    column: str
    old: str | None
    new: str | None
    old_file: str
    old_sheet: str
    old_line: int | None


@dataclass
class LoadReport:
    """What a load did to the store; of a preview: what it would do.

    `met` is the number of the newest version whose rows it met (`Store.rows_version`).
    `corrections_untold` counts corrected rows beyond those of which `corrections` has the cells.
    """

    load_no: int = 0
    met: int = 0
    files: list[SheetReport] = field(default_factory=list)
    released: dict[str, int] = field(default_factory=dict)
    faults: list[RowFault] = field(default_factory=list)
    unreadable: list[Fault] = field(default_factory=list)
    notes: list[Fault] = field(
        default_factory=list
    )  # of files that came before and were not all taken, or were left out

    corrections: list[Correction] = field(default_factory=list)
    corrections_untold: int = 0

    def as_json(self) -> dict[str, Any]:
        """Return the report as `--report` writes it."""
        unreadable = [asdict(fault) for fault in self.unreadable]
        return {"files": [asdict(f) for f in self.files], "released": self.released, "unreadable": unreadable}

    def reject_rows(self) -> Iterator[dict[str, Any]]:
        """Yield the rows of the rejects file: rejected rows and flaws, with the rule and how to mend it."""
        for fault in self.faults:
            words = fault.words()
            yield {
                "file": fault.file,
                "sheet": fault.sheet,
                "line": fault.line,
                "column": fault.column,
                "value": fault.value,
                "fate": fault.fate,
                "rule": words.why,
                "how_to_mend": words.mend,
            }

    def correction_rows(self) -> Iterator[dict[str, Any]]:
        """Yield the corrected cells, before and after, as the corrections file has them."""
        for correction in self.corrections:
            yield asdict(correction)
