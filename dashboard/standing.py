"""How a site stands: the one sorting that sentence, filter and map share."""

from typing import Any

from pipeline.config import Settings

HALF = 0.5  # of the need
STANDINGS = ("under_half", "between", "enough", "unjudged")


def standing(figure: dict[str, Any], settings: Settings) -> str:
    """Return one of `STANDINGS`.

    Parameters
    ----------
    figure
        relative_irrigation_supply and supply_coverage of a site.
    settings
        judged_coverage and served_supply of the programme.
    """
    supply = figure["relative_irrigation_supply"]
    if supply is None or (figure["supply_coverage"] or 0) < settings.judged_coverage:
        return "unjudged"
    if supply < HALF:
        return "under_half"
    return "enough" if supply >= settings.served_supply else "between"
