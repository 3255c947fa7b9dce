"""The blocks of a week: their need by day, why one gets no turn, whose plots share its runs."""

from collections.abc import Sequence
from datetime import date
from itertools import groupby
from math import isfinite, nan

import numpy as np

from pipeline.agronomy.crop_coefficient import crop_coefficient
from pipeline.agronomy.soils import soils
from pipeline.measures.ground import yield_response
from pipeline.scheduling.asked import Asked, Row, season_values
from pipeline.scheduling.inputs import BlockInput
from pipeline.scheduling.intake import MM_M3_PER_HA
from pipeline.scheduling.week import Plot, WeekBlock
from pipeline.words import say

STANDS_ON_THE_GROUND = frozenset({"furrow", "basin"})  # there water is meant to pond
SOIL_KNOWN_SHARE = 0.25  # of RAW: where wettest and driest lie further apart, the soil's state is unknown


def week_blocks(asked: Asked, days: Sequence[date]) -> tuple[WeekBlock, ...]:
    """Return each block of a site with its need, or with why it is unknown."""
    needs = {name: list(rows) for name, rows in groupby(asked.needs, lambda row: str(row["block_id"]))}
    return tuple(_week_block(asked, block, needs.get(block["block_id"], []), days) for block in asked.blocks)


def _week_block(asked: Asked, block: Row, rows: Sequence[Row], days: Sequence[date]) -> WeekBlock:
    by_day = {row["day"]: row for row in rows}
    need = tuple(_gross_mm(by_day.get(day)) for day in days)
    areas = [row["planted_ha"] for row in rows if row["planted_ha"]]
    flow = block["design_flow_m3h"]
    return WeekBlock(
        block_id=block["block_id"],
        planted_ha=float(np.mean(areas)) if areas else nan,
        flow_m3h=nan if flow is None else float(flow),
        need_mm=need,
        unknown=_unknown(block, rows, need),
        plots=_plots(asked, block["block_id"]),
    )


def _gross_mm(row: Row | None) -> float:
    """Need of a day over the planted area; 0 on fallow, NaN where nobody knows."""
    if row is None or not row["known"]:
        return nan
    if row["fallow"] or row["planted_ha"] == 0:
        return 0.0
    if row["need_m3"] is None or not row["planted_ha"]:
        return nan
    return float(row["need_m3"] / (MM_M3_PER_HA * row["planted_ha"]))


def _unknown(block: Row, rows: Sequence[Row], need: Sequence[float]) -> str:
    """Why a block gets no turn; empty where it can have one."""
    name = block["block_id"]
    if not any(row["known"] for row in rows):
        return say("scheduling.no_crop", block=name)
    if all(row["fallow"] for row in rows if row["known"]):
        return ""
    if not any(isfinite(mm) for mm in need):
        key = "no_weather" if all(row["net_need_mm"] is None for row in rows) else "no_efficiency"
        return say(f"scheduling.{key}", block=name)
    if not block["design_flow_m3h"]:
        return say("scheduling.no_flow", block=name)
    return ""


def _plots(asked: Asked, block_id: str) -> tuple[Plot, ...]:
    """The plantings of a block that all carry an area, each with its share of a run by area × Kc."""
    rows = [row for row in asked.plantings if row["block_id"] == block_id]
    if len(rows) < 2 or any(not row["told_ha"] or not row["kc"] for row in rows):  # noqa: PLR2004 - one has no share
        return ()
    weight = [row["planted_ha"] * row["kc"] for row in rows]
    total = sum(weight)
    return tuple(
        Plot(row["crop"], row["planted_on"], row["told_ha"], part / total) for row, part in zip(rows, weight, strict=True)
    ) if total > 0 else ()  # fmt: skip


def block_inputs(
    asked: Asked, blocks: Sequence[WeekBlock], days: Sequence[date], *, lasting: bool = False
) -> tuple[BlockInput, ...]:
    """Return what is planned with: the blocks whose need is known and above 0 on some day.

    A lasting sheet is planned with the mean area on every day, and without the soil's state.
    """
    by_name = {row["block_id"]: row for row in asked.blocks}
    soil = {row["block_id"]: row for row in asked.soil} if not lasting else {}
    return tuple(
        _block_input(asked, of, by_name[of.block_id], soil.get(of.block_id), days, lasting=lasting)
        for of in blocks
        if not of.unknown and any(mm > 0 for mm in of.need_mm)
    )


def _block_input(
    asked: Asked, of: WeekBlock, block: Row, soil: Row | None, days: Sequence[date], *, lasting: bool
) -> BlockInput:
    by_day = {row["day"]: row["planted_ha"] or 0.0 for row in asked.needs if row["block_id"] == of.block_id}
    areas = [of.planted_ha if lasting else by_day.get(day, 0.0) for day in days]
    known = [isfinite(mm) and ha > 0 for ha, mm in zip(areas, of.need_mm, strict=True)]
    start, raw, taw = _soil_state(soil)
    response, season_mm = _season(asked, of.block_id)
    return BlockInput(
        block_id=of.block_id,
        flow_m3h=of.flow_m3h,
        area_ha=tuple(float(ha) if k else 0.0 for ha, k in zip(areas, known, strict=True)),
        need_mm=tuple(mm if k else 0.0 for mm, k in zip(of.need_mm, known, strict=True)),
        efficiency=block["efficiency"],
        intake_mm_h=_intake_mm_h(block),
        yield_response=response,
        season_mm=season_mm,
        start_depletion_mm=start,
        raw_mm=raw,
        taw_mm=taw,
    )


def _intake_mm_h(block: Row) -> float:
    """What the soil takes in, the middle of its range; no bound where the water is meant to stand."""
    if block["irrigation_method"] in STANDS_ON_THE_GROUND:
        return np.inf
    soil = soils()[block["soil"]]
    return (soil.basic_intake_min_mm_h + soil.basic_intake_max_mm_h) / 2.0


def _soil_state(soil: Row | None) -> tuple[float, float, float]:
    """Depletion as wet as it can be, so that nothing runs below the roots; NaN where the bounds lie apart."""
    if soil is None or soil["wettest_mm"] is None or not soil["raw_mm"]:
        return nan, nan, nan
    known = soil["driest_mm"] - soil["wettest_mm"] <= SOIL_KNOWN_SHARE * soil["raw_mm"]
    return (soil["wettest_mm"], soil["raw_mm"], soil["taw_mm"]) if known else (nan, nan, nan)


def _season(asked: Asked, block_id: str) -> tuple[float, float]:
    """Ky, an unknown one as 1, and the need of the crop's whole season, means over the block's plantings by area."""
    rows = [row for row in asked.plantings if row["block_id"] == block_id]
    weights = np.array([row["planted_ha"] or 0.0 for row in rows])
    if not rows or weights.sum() <= 0:
        return 1.0, nan
    et0 = _et0_mm(asked, block_id)
    known = [yield_response(row["crop"], asked.ground, row["crop_row"] or "") for row in rows]
    response = [1.0 if ky is None else ky for ky in known]
    season = [_season_kc(asked, row) * et0 for row in rows]
    return float(np.average(response, weights=weights)), float(np.average(season, weights=weights))


def _season_kc(asked: Asked, planting: Row) -> float:
    """Sum of Kc over the days of a season [d]; NaN for a crop that nobody knows."""
    values = season_values(asked, planting["crop"], planting["crop_row"] or "")
    if values is None or any(value is None for value in values[:7]):
        return nan
    numbers = [float(value) for value in values[:7] if value is not None]
    days = int(sum(numbers[3:]))
    return float(crop_coefficient(np.arange(1, days + 1), *numbers).sum()) if days else nan


def _et0_mm(asked: Asked, block_id: str) -> float:
    days = [r["etc_mm"] / r["kc"] for r in asked.needs if r["block_id"] == block_id and r["kc"] and r["etc_mm"] is not None]  # fmt: skip
    return float(np.mean(days)) if days else nan
