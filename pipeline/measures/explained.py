"""Every figure explained: definition, formula, what it needs, its limits, its settings in force, its source.

The page, the command `explain` and the download all show what stands here.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from difflib import get_close_matches

from pipeline.config import Settings, setting
from pipeline.errors import UnknownName
from pipeline.measures.bases import BASES
from pipeline.measures.indicators import BY_NAME, TARGET_FIGURES
from pipeline.words import say

NO_UNIT = "–"
# what a step of a counter can be found to be, and a stretch of a log
VERDICTS = (
    "ordinary", "rollover", "clock_off", "reset", "impossible", "ten_times", "litres_as_m3", "transposed", "digit_missing",
    "misread", "outside_service", "stuck",
)  # fmt: skip
COUNTED = frozenset({"ordinary", "rollover", "clock_off"})
COVERAGES = frozenset(basis.rests_on for basis in BASES.values())
FIELDS = ("formula", "limits", "together", "sources", "needs", "settings")  # in the order of telling
LOG_VERDICTS = ("dead", "frozen", "clock_off", "silent")


@dataclass(frozen=True)
class InForce:
    """A setting as the programme has it, its default beside it."""

    name: str
    value: str
    default: str
    unit: str
    meaning: str

    @property
    def changed(self) -> bool:
        """Whether the programme set it."""
        return self.value != self.default

    @property
    def plain_unit(self) -> str:
        """The unit; of a bare ratio nothing."""
        return "" if self.unit == NO_UNIT else self.unit

    @property
    def with_unit(self) -> str:
        """The value with its unit."""
        return f"{self.value} {self.plain_unit}".rstrip()


@dataclass(frozen=True)
class Explanation:
    """All that there is to say of one figure.

    Attributes
    ----------
    name, label, unit
        Its column, what people call it, its unit with the programme's currency.
    definition, formula, limits, together
        Sentences: what it says, how it is made, what makes it empty or of low trust, how several
        sites and months are put together.
    needs
        Columns by table of the contract.
    settings
        Those that it depends on, as they are in force.
    sources
        Printed sources, each a sentence.
    rests_on
        The figure that is its coverage; empty: none.
    """

    name: str
    label: str
    unit: str
    definition: str
    formula: str
    needs: Mapping[str, tuple[str, ...]]
    limits: str
    together: str
    settings: tuple[InForce, ...]
    sources: tuple[str, ...]
    rests_on: str

    def as_row(self) -> dict[str, str]:
        """Return it as a record of texts."""
        plain = ("name", "label", "unit", "definition", "formula", "limits", "together")
        settings = "; ".join(f"{of.name} = {of.with_unit}" for of in self.settings)
        return {name: getattr(self, name) for name in plain} | {
            "sources": " ".join(self.sources),
            "needs": "; ".join(f"{table}: {', '.join(columns)}" for table, columns in self.needs.items()),
            "settings": settings or say("explained.no_settings"),
        }


def explain(name: str, settings: Settings) -> Explanation:
    """Return the explanation of a figure with the settings given.

    Raises
    ------
    UnknownName
        Where no figure has the name; it names those that are spelled nearly so.
    """
    if name not in BASES:
        near = ", ".join(get_close_matches(name, BASES, n=3))
        mend = say("explained.near_figures", names=near) if near else say("explained.no_figure_mend")
        raise UnknownName(say("explained.no_figure", name=name), mend=mend)
    of, basis, values = BY_NAME[name], BASES[name], settings.texts()
    shared = of in TARGET_FIGURES
    return Explanation(
        name=name,
        label=say(f"dashboard.figure_{name}"),
        unit=of.unit.replace("currency", settings.currency),
        definition=of.defined(settings),
        formula=say(f"explained.formula_{name}", **values),
        needs={table: tuple(columns.split()) for table, columns in basis.needs},
        limits=say(f"explained.limits_{name}", **values),
        together=say("explained.together_agreement" if shared else f"explained.together_{of.grouping}"),
        settings=tuple(in_force(settings, used) for used in basis.settings),
        sources=tuple(say(f"explained.source_{key}") for key in basis.sources),
        rests_on=basis.rests_on,
    )


def in_force(settings: Settings, name: str) -> InForce:
    """Return one setting as it is in force.

    Raises
    ------
    UnknownName
        Where no setting has the name.
    """
    of = setting(name)
    return InForce(
        name, settings.texts()[name], Settings().texts()[name], of.metadata["unit"], of.metadata["meaning"]
    )


def settings_in_force(settings: Settings) -> list[InForce]:
    """Return every setting of the programme, in their order."""
    return [in_force(settings, of.name) for of in fields(Settings)]


def settings_rows(settings: Settings) -> list[dict[str, str]]:
    """Return every setting as a record of texts."""
    return [asdict(found) for found in settings_in_force(settings)]
