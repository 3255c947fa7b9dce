"""What holds the water: the soil under each block, and the roots of each crop."""

from collections.abc import Sequence
from dataclasses import dataclass

import duckdb
import pyarrow as pa

from pipeline.agronomy.crops import FALLOW, Crop, plain_name
from pipeline.agronomy.soil_water import LEAST_ROOT_DEPTH_M
from pipeline.agronomy.soils import soils
from pipeline.config import Settings
from pipeline.measures.arrow import leave_table
from pipeline.measures.crop_rows import Own, printed_row
from pipeline.measures.statements import run_statement

# what stood in the ground before its year on record began brings its roots along
ROOTED = frozenset({"banana_second_year", "cassava_year_2", "citrus", "grape_table", "sugarcane_ratoon"})
OWN = ("root_depth_m", "depletion_fraction", "yield_response", "ini_days", "dev_days")


@dataclass(frozen=True)
class Roots:
    """What the balance of the root zone asks of a crop.

    Attributes
    ----------
    root_least_m, root_greatest_m
        On the day of planting, and from mid-season on. [m]
    depletion_fraction
        p at 5 mm/d. [-]
    yield_response
        Seasonal Ky; None: nobody has printed one. [-]
    ini_days, dev_days
        The stages in which the roots grow. [d]
    """

    root_least_m: float
    root_greatest_m: float
    depletion_fraction: float
    yield_response: float | None
    ini_days: float
    dev_days: float


def roots(crop: str, own: Own, crop_row: str = "") -> Roots | None:
    """Return the roots of a crop as written, the programme's own values before the built-in.

    Parameters
    ----------
    crop
        As somebody wrote it.
    own
        The programme's crops by their plain names, each with `OWN`. What such a row leaves empty the
        built-in crop of that name tells.
    crop_row
        Of the printed table, as crop_rows has it.

    Returns
    -------
    Roots
        None where depth or depletion fraction is unknown, and for fallow.
    """
    told, listed = own.get(plain_name(crop)), printed_row(crop, crop_row)
    if plain_name(crop) == FALLOW or (told is None and listed is None):
        return None
    depth_m, fraction, response, ini, dev = _filled(told, listed)
    if not depth_m or fraction is None or ini is None or dev is None:
        return None
    least_m = depth_m if listed and listed.crop in ROOTED else min(LEAST_ROOT_DEPTH_M, depth_m)
    return Roots(least_m, depth_m, fraction, response, ini, dev)


def yield_response(crop: str, own: Own, crop_row: str = "") -> float | None:
    """Return the seasonal Ky of a crop as written, whether or not its roots are known; None: unknown. As for `roots`."""
    return _filled(own.get(plain_name(crop)), printed_row(crop, crop_row))[OWN.index("yield_response")]


def own_ground(connection: duckdb.DuckDBPyConnection) -> Own:
    """Return the programme's crops by their plain names, each with `OWN`."""
    rows = connection.execute(f"SELECT crop, {', '.join(OWN)} FROM crops ORDER BY crop").fetchall()  # noqa: S608  our own names
    return {plain_name(crop): values for crop, *values in rows}


def _filled(told: Sequence[float | None] | None, listed: Crop | None) -> list[float | None]:
    """The values of `OWN`: the programme's, else the built-in crop's."""
    ours: list[float | None] = list(told) if told else [None for _ in OWN]
    if listed is None:
        return ours
    printed = (
        listed.root_depth_min_m,
        listed.depletion_fraction,
        listed.yield_response,
        float(listed.ini_days),
        float(listed.dev_days),
    )
    return [own if own is not None else built_in for own, built_in in zip(ours, printed, strict=True)]


def leave_roots(connection: duckdb.DuckDBPyConnection) -> None:
    """Leave crop_roots: the values of `Roots` of each crop as written and row of its values.

    None for a crop that is unknown. Reads planting_spans and crops.
    """
    own = own_ground(connection)
    query = "SELECT DISTINCT crop, crop_row FROM planting_spans ORDER BY ALL"
    written = connection.execute(query).fetchall()
    found = {(crop, crop_row): roots(crop, own, crop_row) for crop, crop_row in written}
    told = pa.table(
        {
            **{
                name: pa.array([key[place] for key, values in found.items() if values], pa.string())
                for place, name in enumerate(("crop", "crop_row"))
            },
            **{
                name: pa.array([getattr(values, name) for values in found.values() if values], pa.float64())
                for name in Roots.__dataclass_fields__
            },
        }
    )
    leave_table(connection, "crop_roots", told)


def leave_ground(connection: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Leave block_ground: the soil of each block, what it holds, and how its water is applied."""
    held = pa.table(
        {
            "soil": pa.array(list(soils()), pa.string()),
            "available_water_mm_m": pa.array([s.available_water_mm_m for s in soils().values()]),
        }
    )
    connection.register("soil_classes", held)
    run_statement(connection, "block_ground", settings.as_parameters())
    connection.unregister("soil_classes")
