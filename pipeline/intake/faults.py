"""The words of a fault: terminal, rejects file and page show the same."""

from pipeline.errors import Fault
from pipeline.tables import Column, Table
from pipeline.words import say

# what is told of, and taken all the same
TAKEN_ANYWAY = frozenset(
    ["meter_not_in_place", "unknown_crop", "area_over_block", "outside_districts", "other_district"]
)


def fault_words(
    table: Table | None, file: str, line: int | None, column: str, value: str | None, rule: str
) -> Fault:
    """Return a fault with its place, its reason and the way to mend it.

    Parameters
    ----------
    table : Table or None
        The sheet's table, where it has one.
    file : str
        File and sheet as the user knows them.
    line : int or None
        Line of the file, or row of the sheet.
    column, value : str
        What stands there.
    rule : str
        Code of the rule that it breaks.
    """
    known = table.by_name.get(column) if table else None
    facts = {
        "column": column,
        "value": value or "",
        "table": table.name if table else "",
        "choices": ", ".join(known.choices) if known else "",
        "bounds": _bounds(known) if known else "",
        "shape": say(f"intake.{known.shapes[0].lower()}") if known and known.shapes else "",
        "start": known.finish_of if known else "",
        "plain": (value or "").replace(",", ""),
        "pointed": (value or "").replace(",", "."),
        "commaed": (value or "").replace(".", ","),
    }
    where = file
    if line is not None:
        where += ", " + say("intake.line", line=line)
    if column:
        where += ", " + say("intake.column", column=column)
    lost = value and rule not in TAKEN_ANYWAY
    what = say("intake.found", value=value) if lost else say(f"intake.{rule}_what", **facts)
    return Fault(what, where, say(f"intake.{rule}_why", **facts), say(f"intake.{rule}_mend", **facts))


def _bounds(column: Column) -> str:
    unit = f" {column.unit}" if column.unit else ""
    if column.high is None:
        return say("intake.at_least", low=f"{column.low:g}{unit}" if column.low is not None else "")
    return say("intake.between", low=f"{column.low:g}", high=f"{column.high:g}{unit}")
