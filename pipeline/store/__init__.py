"""The store: versions published whole, the uploaded files and the ledger beside them."""

from pipeline.intake import ReadOptions
from pipeline.store import status
from pipeline.store.archive import is_sound
from pipeline.store.came import came, kept_faults
from pipeline.store.check import check
from pipeline.store.history import history
from pipeline.store.load import KEPT_FAULTS, Progress, Step
from pipeline.store.reader import Reader
from pipeline.store.replay import SHA_LETTERS, rebuild, undo
from pipeline.store.report import FATES, Correction, LoadReport, RowFault, SheetReport
from pipeline.store.store import Store, open_store

__all__ = [
    "FATES",
    "KEPT_FAULTS",
    "SHA_LETTERS",
    "Correction",
    "LoadReport",
    "Progress",
    "ReadOptions",
    "Reader",
    "RowFault",
    "SheetReport",
    "Step",
    "Store",
    "came",
    "check",
    "history",
    "is_sound",
    "kept_faults",
    "open_store",
    "rebuild",
    "status",
    "undo",
]
