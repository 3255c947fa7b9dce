"""Invented districts, villages, bases, people and roads."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from data_demo.streams import stream

WEST, SOUTH, STEP = 33.30, -13.95, 0.48  # four districts tile a square
DISTRICTS = ("Lukwendo", "Mtepwa", "Chisunde", "Nyalonda")
CROSSINGS = tuple(i * STEP / 3 for i in range(7))  # of the roads, east of WEST and north of SOUTH
CORNERS = ((0, 1), (1, 1), (0, 0), (1, 0))
FIRST = "Kamo Chile Mtsi Nkhu Luwe Dambe Kape Mvu Chika Ndalo Msewe Lipwi Tewe Kundi Mtete Wazi Lisu Dzowe".split()
SECOND = "ndera mbezi paka tawa lira nguni kwota santhe bwela wala tsitsi mphepo kwawa ruka".split()
PEOPLE = "Tamanda Chikondi Lusungu Mphatso Wezi Thoko Atupele Yankho Chimwemwe Limbani Temwa Dalitso".split()
SURNAMES = "Kambwele Mvaluka Nyasonde Chipewa Mkwepu Lungwani Chidothe Sambanthe".split()


Road = tuple[str, str, list[tuple[float, float]]]  # class, open in rain, line


@dataclass(frozen=True)
class Base:
    """Where crews start."""

    base_id: str
    name: str
    latitude: float
    longitude: float


BASES = (Base("B1", "Lukwendo workshop", -13.42, 33.52), Base("B2", "Nyalonda depot", -13.75, 33.98))


def corner(district: int) -> tuple[float, float]:
    """Return the west and the south of a district."""
    east, north = CORNERS[district]
    return WEST + east * STEP, SOUTH + north * STEP


def outline(district: int) -> list[tuple[float, float]]:
    """Return a district's boundary, closed, counter-clockwise."""
    west, south = corner(district)
    return [
        (west, south),
        (west + STEP, south),
        (west + STEP, south + STEP),
        (west, south + STEP),
        (west, south),
    ]


def village(number: int) -> str:
    """Return a site's name; none comes twice."""
    name = FIRST[number % len(FIRST)] + SECOND[(number // len(FIRST)) % len(SECOND)]
    turn = number // (len(FIRST) * len(SECOND))
    return name if not turn else f"{name} {turn + 1}"


def person(number: int) -> str:
    """Return somebody's name."""
    return f"{PEOPLE[number % len(PEOPLE)]} {SURNAMES[(number * 5 + number // 12) % len(SURNAMES)]}"


def trunk_roads(seed: int) -> list[Road]:
    """Return a grid of roads, joined at its crossings."""
    draw = stream(seed, "roads")
    found: list[Road] = []
    for a, b in pairwise(CROSSINGS):
        for m in CROSSINGS:
            kind = "primary" if m == CROSSINGS[3] else "tertiary"
            rain = "yes" if kind == "primary" or draw.random() < 0.7 else "no"
            found.append((kind, rain, [(WEST + a, SOUTH + m), (WEST + b, SOUTH + m)]))
            found.append((kind, rain, [(WEST + m, SOUTH + a), (WEST + m, SOUTH + b)]))
    return found


def tracks(seed: int, points: list[tuple[float, float]], purpose: str) -> list[Road]:
    """Return a track from each point to its nearest crossing."""
    draw = stream(seed, purpose)
    found: list[Road] = []
    for longitude, latitude in points:
        near = (
            WEST + min(CROSSINGS, key=lambda m: abs(WEST + m - longitude)),
            SOUTH + min(CROSSINGS, key=lambda m: abs(SOUTH + m - latitude)),
        )
        bend = ((near[0] + longitude) / 2 + float(draw.normal(0, 0.004)), (near[1] + latitude) / 2)
        found.append(("track", "yes" if draw.random() < 0.5 else "no", [near, bend, (longitude, latitude)]))
    return found


def stations() -> list[tuple[str, float, float, float]]:
    """Return the weather stations: id, latitude, longitude, elevation [m]."""
    spots = [
        (-13.38, 33.48, 1090.0),
        (-13.36, 34.02, 1180.0),
        (-13.80, 33.50, 1120.0),
        (-13.82, 34.05, 1050.0),
        (-13.57, 33.78, 1240.0),
        (-13.60, 33.37, 1010.0),
        (-13.58, 34.18, 990.0),
        (-13.86, 33.76, 1075.0),
        (-13.12, 33.80, 1150.0),
    ]
    return [(f"WS{i + 1}", *spot) for i, spot in enumerate(spots)]


def scatter(seed: int, chunk: int, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return district number, longitude and latitude of a chunk's sites."""
    draw = stream(seed, "places", chunk)
    district = draw.integers(0, len(DISTRICTS), count)
    west = np.array([corner(d)[0] for d in range(4)])[district]
    south = np.array([corner(d)[1] for d in range(4)])[district]
    return (
        district,
        west + STEP * (0.06 + 0.88 * draw.random(count)),
        south + STEP * (0.06 + 0.88 * draw.random(count)),
    )
