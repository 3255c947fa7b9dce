"""The plan of a site's blocks on paper: the outlines on record, or equal plots where there are none."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely.affinity import scale as scaled
from shapely.geometry import Polygon

from pipeline.reports.wall_sheet import Ring, SheetBlock

WIDTH_MM, HEIGHT_MM = 75.0, 40.0  # beside them the arrow to the north
MARGIN_MM = 1.0  # half the outline's own width
LEAST_ROOM_MM = 1.6  # a letter that is smaller can't be read: the outlines give way to equal plots
GOOD_ROOM_MM = 7.5  # with less, blocks that lie far apart are drawn larger, each about its own middle
LARGER = tuple(1 + step / 10 for step in range(41))
BETWEEN_MM = 1.2  # of blocks that are drawn larger
APART_MM = 0.15  # corners that lie closer make no difference on paper
CENTRED = 0.8  # of the roomiest place's room: with as much, a letter stands better in the middle
GAP_MM = 2.0  # between equal plots


@dataclass(frozen=True)
class PlanBlock:
    """A block on paper, x to the right and y down [mm].

    Attributes
    ----------
    outline
        Its corners.
    at
        Where its letter stands.
    room_mm
        From there to the nearest edge.
    """

    outline: Ring
    at: tuple[float, float]
    room_mm: float


@dataclass(frozen=True)
class Plan:
    """All blocks, in the sheet's order.

    Attributes
    ----------
    blocks
        Each with its place on paper.
    mapped
        Whether they lie as on record, north up.
    larger
        How many times as long they are drawn as the map's scale has it. [-]
    """

    blocks: tuple[PlanBlock, ...]
    mapped: bool
    larger: float = 1.0


def plan_of(blocks: Sequence[SheetBlock]) -> Plan:
    """Return the plan: as mapped where every block has an outline that its letter fits into."""
    shapes = [Polygon(block.outline) for block in blocks if block.outline is not None]
    if shapes and len(shapes) == len(blocks) and all(shape.is_valid and shape.area > 0 for shape in shapes):
        found = _mapped(shapes)
        if all(block.room_mm >= LEAST_ROOM_MM for block in found.blocks):
            return found
    return Plan(tuple(map(_drawn, _equal_plots(len(blocks)))), mapped=False)


def _mapped(shapes: Sequence[Polygon]) -> Plan:
    """The outlines to scale, or larger where that leaves too little room for their letters."""
    found = Plan(tuple(map(_drawn, _on_paper(shapes))), mapped=True)
    for larger in LARGER[1:]:
        if min(block.room_mm for block in found.blocks) >= GOOD_ROOM_MM:
            break
        paper = _on_paper([scaled(shape, larger, larger, origin="centroid") for shape in shapes])
        if any(one.distance(other) < BETWEEN_MM for one, other in combinations(paper, 2)):
            break
        found = Plan(tuple(map(_drawn, paper)), mapped=True, larger=larger)
    return found


def _on_paper(shapes: Sequence[Polygon]) -> list[Polygon]:
    """Degrees to millimetres: a site is small enough for a flat earth."""
    west, south, east, north = shapely.total_bounds(shapes)
    narrower = math.cos(math.radians((south + north) / 2))
    wide, high = max((east - west) * narrower, 1e-12), max(north - south, 1e-12)
    scale = min((WIDTH_MM - 2 * MARGIN_MM) / wide, (HEIGHT_MM - 2 * MARGIN_MM) / high)
    left, top = (WIDTH_MM - wide * scale) / 2, (HEIGHT_MM - high * scale) / 2
    return [
        Polygon(
            [
                (left + (x - west) * narrower * scale, top + (north - y) * scale)
                for x, y, *_ in shape.exterior.coords
            ]
        ).simplify(APART_MM)
        for shape in shapes
    ]


def _drawn(shape: Polygon) -> PlanBlock:
    outline = tuple((round(x, 2), round(y, 2)) for x, y, *_ in shape.exterior.coords[:-1])
    radius = shapely.maximum_inscribed_circle(shape, tolerance=0.05)
    roomiest, centre = shapely.Point(radius.coords[0]), shape.centroid
    at, room = max(
        ((roomiest, radius.length), (centre, _room(shape, centre) / CENTRED)), key=lambda place: place[1]
    )
    return PlanBlock(outline, (round(at.x, 2), round(at.y, 2)), round(min(room, radius.length), 2))


def _room(shape: Polygon, at: shapely.Point) -> float:
    """From a point within to the nearest edge; 0 for one outside."""
    return float(shape.exterior.distance(at)) if shape.contains(at) else 0.0


def _equal_plots(count: int) -> list[Polygon]:
    across = max(math.ceil(math.sqrt(count * WIDTH_MM / HEIGHT_MM / 1.3)), 1)
    down = max(math.ceil(count / across), 1)
    wide, high = (WIDTH_MM - MARGIN_MM) / across, (HEIGHT_MM - MARGIN_MM) / down
    wide = min(wide, 26.0)
    return [
        shapely.box(
            MARGIN_MM + wide * (k % across),
            MARGIN_MM + high * (k // across),
            wide * (k % across + 1) - GAP_MM + MARGIN_MM,
            high * (k // across + 1) - GAP_MM + MARGIN_MM,
        )
        for k in range(count)
    ]
