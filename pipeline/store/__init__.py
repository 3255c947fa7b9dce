"""The store: versions published whole, the uploaded files and the ledger beside them."""

from pipeline.intake import ReadOptions
from pipeline.store import status
from pipeline.store.check import check
from pipeline.store.history import history
from pipeline.store.load import Progress, Step
from pipeline.store.reader import Reader
from pipeline.store.replay import SHA_LETTERS, rebuild, undo
from pipeline.store.report import FATES, Correction, LoadReport, RowFault, SheetReport
from pipeline.store.store import Store, open_store

__all__ = [
    "FATES",
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
    "check",
    "history",
    "open_store",
    "rebuild",
    "status",
    "undo",
]
