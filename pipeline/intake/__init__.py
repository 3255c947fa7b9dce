"""Intake: from the field's files to typed rows, with every fault told."""

from pipeline.intake.connection import lock, spatial_connection
from pipeline.intake.faults import fault_words
from pipeline.intake.files import READERS, read_file
from pipeline.intake.sheets import ReadOptions, Sheet, Upload
from pipeline.intake.typed import type_sheet

__all__ = [
    "READERS",
    "ReadOptions",
    "Sheet",
    "Upload",
    "fault_words",
    "lock",
    "read_file",
    "spatial_connection",
    "type_sheet",
]
