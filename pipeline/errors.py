"""What goes wrong, in the words of the person who sees it.

SunrillError                what, where, why, mend: shown as it is
├── FigureError             an input that no figure can be made of
├── FileFault               a file that can't be read at all
├── StoreError              the store can't be opened, written or trusted
│   ├── StoreChanged        it is no longer what somebody looked at before they decided
│   ├── StoreBusy           somebody else is writing at this moment
│   └── StoreDamaged        a file of it is missing or no longer what it was: rebuild
└── UnknownName             a table, site, setting or file that isn't there
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong, with the way out.

    Every field is a plain sentence or a place; terminal, rejects file and page show the same words.
    """

    what: str
    where: str = ""
    why: str = ""
    mend: str = ""

    def sentences(self) -> str:
        """Return the fault as it is printed: a line each for what, why and mend."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        parts = [head]
        if self.why:
            parts.append(f"Why: {self.why}")
        if self.mend:
            parts.append(f"Mend: {self.mend}")
        return "\n".join(parts)

    def in_a_line(self) -> str:
        """Return what, why and mend one after the other, for where the place stands beside them."""
        return " ".join(filter(None, (self.what, self.why, self.mend)))


class SunrillError(Exception):
    """An error that a user can act on.

    Parameters
    ----------
    what : str
        What went wrong.
    where : str
        File, line, column, site or setting.
    why : str
        The rule or the cause.
    mend : str
        What to do about it.
    """

    def __init__(self, what: str, *, where: str = "", why: str = "", mend: str = "") -> None:
        self.fault = Fault(what, where, why, mend)
        super().__init__(self.fault.sentences())


class FigureError(SunrillError, ValueError):
    """An input that no figure can be made of, such as a negative volume."""


class FileFault(SunrillError):
    """A file that can't be read at all."""


class StoreError(SunrillError):
    """The store can't be opened, written or trusted."""


class StoreBusy(StoreError):
    """Somebody else is writing to the store at this moment."""


class StoreChanged(StoreError):
    """The store's rows are no longer those that a preview met."""


class StoreDamaged(StoreError):
    """A file of the store is missing or no longer what it was; archive and ledger can make it anew."""


class UnknownName(SunrillError, LookupError):
    """A table, site, setting or file that isn't there."""
