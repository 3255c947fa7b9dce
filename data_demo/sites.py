"""The sites of a chunk: pumps, arrays, blocks, what grows there and what is measured."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from data_demo.arrivals import LAST_DAY
from data_demo.climate import Climate
from data_demo.places import scatter
from data_demo.streams import stream
from pipeline.agronomy.crop_coefficient import crop_coefficient
from pipeline.agronomy.crops import Crop, built_in_crops, crop_name

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

CROPS = ("maize", "tomato", "onion", "cabbage", "beans", "potato", "pepper", "groundnut", "leaf mustard")
OWN_CROPS = {  # the programme's own, as its agronomist put them down (invented)
    "leaf mustard": Crop(
        crop="leaf mustard", region="", planting="", is_default=True, kc_ini=0.6, kc_mid=1.0, kc_end=0.95,
        ini_days=15, dev_days=20, mid_days=25, late_days=10, root_depth_min_m=0.3, root_depth_max_m=0.5,
        depletion_fraction=0.3, height_m=0.4, yield_response=1.0,
    )
}  # fmt: skip
TWO_CROPS = 0.2  # chance that two families' crops share a block
METHODS = ("spray_tube", "drip", "hose", "furrow")
EFFICIENCY = {"spray_tube": 0.75, "drip": 0.9, "hose": 0.75, "furrow": 0.6}
MOST_BLOCKS = 6
WH_PER_M3_M = 2.724069  # ρ·g/3600
FLOOD = date(2026, 2, 5)
PAUSE_NEVER, CLOSED_NEVER = -100, 10**6


def site_id(number: int) -> str:
    """Return the id of the programme's site of a number; the first is 0."""
    return f"S{number + 1:05d}"


@dataclass(frozen=True)
class Planting:
    """One crop on one block; days are positions in the programme's time."""

    site: int
    block: int
    crop: str
    start: int
    end: int
    cleared: bool
    share: float  # of the block's area


@dataclass(frozen=True)
class Sites:
    """A chunk of sites, one a position."""

    first: int
    district: Ints
    longitude: Floats
    latitude: Floats
    elevation_m: Floats
    commissioned: Ints  # day's position, negative before the first
    closed: Ints  # position of the first day out of service; CLOSED_NEVER where there is none
    flow_m3h: Floats
    power_kw: Floats
    head_m: Floats
    pv_kwp: Floats
    tank_m3: Floats  # 0: none
    blocks: Ints
    block_ha: Floats  # (sites, MOST_BLOCKS)
    method: Ints
    efficiency: Floats  # share of the blocks' water that the crops get
    efficiency_measured: npt.NDArray[np.bool_]  # else the method's own is taken
    zeal: Floats  # how far the farmers follow the need
    telemetry: npt.NDArray[np.bool_]
    remote: npt.NDArray[np.bool_]
    metered: npt.NDArray[np.bool_]
    energy_metered: npt.NDArray[np.bool_]
    block_metered: npt.NDArray[np.bool_]
    paused_from: Ints  # first day's position of a flood or a dispute; PAUSE_NEVER where there is none
    paused_to: Ints  # its last day

    @property
    def count(self) -> int:
        """How many."""
        return len(self.district)

    def in_service(self, day: int) -> npt.NDArray[np.bool_]:
        """Return which sites are in service on a day."""
        return (self.commissioned <= day) & (day < self.closed)

    def site_id(self, position: int) -> str:
        """Return a site's id."""
        return site_id(self.first + position)


def make_sites(seed: int, chunk: int, first: int, count: int, days: int, *, paper_only: bool) -> Sites:
    """Return the sites of a chunk."""
    draw = stream(seed, "sites", chunk)
    district, longitude, latitude = scatter(seed, chunk, count)
    power = draw.choice([2.2, 3.0, 4.0, 5.5, 7.5], count, p=[0.2, 0.4, 0.2, 0.12, 0.08])
    head = draw.uniform(12, 48, count).round(0)
    lift = draw.uniform(0.33, 0.48, count)
    flow = power * lift * 1000 / (WH_PER_M3_M * head)
    blocks = draw.integers(3, MOST_BLOCKS + 1, count)
    daily = flow * 4.8  # what a day of sun gives
    area = daily / draw.uniform(48, 75, count)  # a hectare takes about 60 m³ a day in the dry season
    shares = draw.uniform(0.7, 1.3, (count, MOST_BLOCKS)) * (np.arange(MOST_BLOCKS) < blocks[:, None])
    kinds = draw.random(count)
    flooded, quarrel = draw.random(count) < 0.06, draw.integers(0, 30, count) == 0
    flood = days - 1 - (LAST_DAY - FLOOD).days
    pause = np.where(flooded & (flood >= 0), flood, np.where(quarrel, days // 2, PAUSE_NEVER))
    # a few old sites are given up three quarters of the way; a short programme keeps them all
    given_up = (draw.random(count) < 0.03) & (days >= 200)
    closed = np.where(given_up, days * 3 // 4, CLOSED_NEVER)
    logs = (kinds < 1 / 3) & (not paper_only)
    remote = (kinds > 0.78) & (not paper_only)
    method = draw.choice(len(METHODS), count, p=[0.5, 0.2, 0.2, 0.1])
    measured = draw.random(count) < 0.15
    usual = np.array([EFFICIENCY[METHODS[m]] for m in method])
    efficiency = np.where(measured, (usual * draw.uniform(0.85, 1.05, count)).round(2), usual)
    return Sites(
        first, district, longitude, latitude, draw.uniform(950, 1300, count).round(0),
        np.where(draw.random(count) < 0.15, draw.integers(20, max(21, days // 3), count), -draw.integers(60, 1200, count)),
        closed,
        flow.round(1), power, head, (power * draw.uniform(1.2, 1.6, count)).round(2),
        np.where(draw.random(count) < 0.4, draw.choice([5.0, 10.0, 20.0], count), 0.0),
        blocks, (area[:, None] * shares / shares.sum(1, keepdims=True)).round(2),
        method, efficiency, measured, draw.uniform(0.75, 1.1, count),
        logs, remote, draw.random(count) < 0.94, draw.random(count) < (0.4 if paper_only else 0.75),
        draw.random(count) < (0.03 if paper_only else 0.12), pause, np.where(pause == flood, pause + 11, pause + 5),
    )  # fmt: skip


def make_plantings(seed: int, chunk: int, sites: Sites, days: int) -> list[Planting]:
    """Return what each block grows: two or three crops a year, fallow for a while at some."""
    draw = stream(seed, "plantings", chunk)
    seasons = [_season(crop) for crop in CROPS]
    found = [
        planting
        for site in range(sites.count)
        for block in range(int(sites.blocks[site]))
        for planting in _rotation(draw, seasons, site, block, int(sites.commissioned[site]), days)
    ]
    return [
        _until_closed(p, int(sites.closed[p.site]))
        for p in found
        if p.end >= 0 and p.start < sites.closed[p.site]
    ]


def _until_closed(planting: Planting, closed: int) -> Planting:
    """What stands when a site is closed is cleared on that day."""
    return replace(planting, end=closed - 1, cleared=True) if planting.end >= closed else planting


def _rotation(
    draw: np.random.Generator, seasons: list[int], site: int, block: int, commissioned: int, days: int
) -> Iterator[Planting]:
    """One planting after the other; now and then two crops at once, on 60 and 40 % of the block."""
    day = int(draw.integers(-70, 15))
    while day < days:
        start = max(day, commissioned)
        if draw.random() < 0.18:
            crops, lengths, shares = ["fallow"], [int(draw.integers(40, 90))], [1.0]
        else:
            count = 2 if draw.random() < TWO_CROPS else 1
            which = draw.choice(len(CROPS), count, replace=False)
            crops, lengths = [CROPS[i] for i in which], [seasons[i] for i in which]
            shares = [1.0] if count == 1 else [0.6, 0.4]
        for crop, length, share in zip(crops, lengths, shares, strict=True):
            cleared = bool(draw.random() < 0.8)
            yield Planting(site, block, crop, start, start + length - 1, cleared, share)
        day = start + max(lengths) + int(draw.integers(4, 26))


def crop_values(crop: str) -> Crop:
    """Return a crop's values: the programme's own, or the built-in ones."""
    return OWN_CROPS.get(crop) or built_in_crops()[crop_name(crop) or crop]


def _season(crop: str) -> int:
    values = crop_values(crop)
    return int(values.ini_days + values.dev_days + values.mid_days + values.late_days)


def block_kc(sites: Sites, plantings: list[Planting], days: int) -> Floats:
    """Return the crop coefficient of each site, block and day, over the whole block; 0 where nothing grows."""
    kc = np.zeros((sites.count, MOST_BLOCKS, days))
    for p in plantings:
        if p.crop == "fallow":
            continue
        values = crop_values(p.crop)
        since = np.arange(max(p.start, 0), min(p.end + 1, days))
        curve = crop_coefficient(
            since - p.start + 1, values.kc_ini, values.kc_mid, values.kc_end,
            values.ini_days, values.dev_days, values.mid_days, values.late_days,
        )  # fmt: skip
        kc[p.site, p.block, since] += p.share * np.nan_to_num(curve)
    return kc


def gross_need_m3(sites: Sites, kc: Floats, weather: Climate) -> Floats:
    """Return what each site's crops ask of the source, a day: a store of 25 mm fed by 80 % of the rain."""
    store = np.zeros(kc.shape[:2])
    need = np.zeros((sites.count, kc.shape[2]))
    for day in range(kc.shape[2]):
        rain = 0.8 * weather.rain_mm[day] if weather.rain_mm[day] >= 2 else 0.0
        store = np.minimum(store + rain, 25.0)
        crop = kc[:, :, day] * weather.et0_mm[day]
        drawn = np.minimum(store, crop)
        store -= drawn
        need[:, day] = ((crop - drawn) * sites.block_ha * 10).sum(1) / sites.efficiency
    return need
