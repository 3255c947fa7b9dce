"""The sites of a chunk: pumps, arrays, blocks, what grows there and what is measured."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from data_demo.climate import Climate
from data_demo.places import scatter
from data_demo.streams import stream
from pipeline.agronomy.crop_coefficient import crop_coefficient
from pipeline.agronomy.crops import built_in_crops, crop_name

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

CROPS = ("maize", "tomato", "onion", "cabbage", "beans", "potato", "pepper", "groundnut")
METHODS = ("spray_tube", "drip", "hose", "furrow")
EFFICIENCY = {"spray_tube": 0.75, "drip": 0.9, "hose": 0.75, "furrow": 0.6}
MOST_BLOCKS = 6
WH_PER_M3_M = 2.724069  # ρ·g/3600


@dataclass(frozen=True)
class Planting:
    """One crop on one block; days are positions in the programme's time."""

    site: int
    block: int
    crop: str
    start: int
    end: int
    cleared: bool


@dataclass(frozen=True)
class Sites:
    """A chunk of sites, one a position."""

    first: int
    district: Ints
    longitude: Floats
    latitude: Floats
    elevation_m: Floats
    commissioned: Ints  # day's position, negative before the first
    flow_m3h: Floats
    power_kw: Floats
    head_m: Floats
    pv_kwp: Floats
    tank_m3: Floats  # 0: none
    blocks: Ints
    block_ha: Floats  # (sites, MOST_BLOCKS)
    method: Ints
    lift_share: Floats  # wire to water
    zeal: Floats  # how far the farmers follow the need
    telemetry: npt.NDArray[np.bool_]
    remote: npt.NDArray[np.bool_]
    metered: npt.NDArray[np.bool_]
    energy_metered: npt.NDArray[np.bool_]
    block_metered: npt.NDArray[np.bool_]

    @property
    def count(self) -> int:
        """How many."""
        return len(self.district)

    def site_id(self, position: int) -> str:
        """Return a site's id."""
        return f"S{self.first + position + 1:05d}"


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
    logs = (kinds < 1 / 3) & (not paper_only)
    remote = (kinds > 0.78) & (not paper_only)
    return Sites(
        first, district, longitude, latitude, draw.uniform(950, 1300, count).round(0),
        np.where(draw.random(count) < 0.15, draw.integers(20, max(21, days // 3), count), -draw.integers(60, 1200, count)),
        flow.round(1), power, head, (power * draw.uniform(1.2, 1.6, count)).round(2),
        np.where(draw.random(count) < 0.4, draw.choice([5.0, 10.0, 20.0], count), 0.0),
        blocks, (area[:, None] * shares / shares.sum(1, keepdims=True)).round(2),
        draw.choice(len(METHODS), count, p=[0.5, 0.2, 0.2, 0.1]), lift, draw.uniform(0.75, 1.1, count),
        logs, remote, draw.random(count) < 0.94, draw.random(count) < (0.4 if paper_only else 0.75),
        draw.random(count) < (0.03 if paper_only else 0.12),
    )  # fmt: skip


def make_plantings(seed: int, chunk: int, sites: Sites, days: int) -> list[Planting]:
    """Return what each block grows: two or three crops a year, fallow in the rains at some."""
    draw = stream(seed, "plantings", chunk)
    seasons = {crop: _season(crop) for crop in CROPS}
    found = []
    for site in range(sites.count):
        for block in range(int(sites.blocks[site])):
            day = int(draw.integers(-70, 15))
            while day < days:
                crop = CROPS[int(draw.integers(0, len(CROPS)))]
                length = seasons[crop]
                start = max(day, int(sites.commissioned[site]))
                fallow = draw.random() < 0.18
                kind = "fallow" if fallow else crop
                length = int(draw.integers(40, 90)) if fallow else length
                found.append(
                    Planting(site, block, kind, start, start + length - 1, bool(draw.random() < 0.8))
                )
                day = start + length + int(draw.integers(4, 26))
    return [p for p in found if p.end >= 0]


def _season(crop: str) -> int:
    values = built_in_crops()[crop_name(crop) or crop]
    return int(values.ini_days + values.dev_days + values.mid_days + values.late_days)


def block_kc(sites: Sites, plantings: list[Planting], days: int) -> Floats:
    """Return the crop coefficient of each site, block and day; 0 where nothing grows."""
    kc = np.zeros((sites.count, MOST_BLOCKS, days))
    for p in plantings:
        if p.crop == "fallow":
            continue
        values = built_in_crops()[crop_name(p.crop) or p.crop]
        since = np.arange(max(p.start, 0), min(p.end + 1, days))
        curve = crop_coefficient(
            since - p.start + 1, values.kc_ini, values.kc_mid, values.kc_end,
            values.ini_days, values.dev_days, values.mid_days, values.late_days,
        )  # fmt: skip
        kc[p.site, p.block, since] = np.nan_to_num(curve)
    return kc


def gross_need_m3(sites: Sites, kc: Floats, weather: Climate) -> Floats:
    """Return what each site's crops ask of the source, a day: a store of 25 mm fed by 80 % of the rain."""
    efficiency = np.array([EFFICIENCY[METHODS[m]] for m in sites.method])
    store = np.zeros(kc.shape[:2])
    need = np.zeros((sites.count, kc.shape[2]))
    for day in range(kc.shape[2]):
        rain = 0.8 * weather.rain_mm[day] if weather.rain_mm[day] >= 2 else 0.0
        store = np.minimum(store + rain, 25.0)
        crop = kc[:, :, day] * weather.et0_mm[day]
        drawn = np.minimum(store, crop)
        store -= drawn
        need[:, day] = ((crop - drawn) * sites.block_ha * 10).sum(1) / efficiency
    return need
