"""Metal too thin to be cut, held or bent: what a circle of the least width does not reach. Blank axes, mm."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shapely import force_2d, set_precision
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from flatgen.core.outline import Outline, counter_clockwise, flatten, polygon
from flatgen.core.points import Point
from flatgen.develop.reliefs import LEAST_METAL

CHORD = 0.005  # of an arc that is looked at by straight lines
SHARP = 8.0  # an outer corner keeps its tip down to 14 degrees: twice its offset over the tip's
CLEAR = 0.02  # that a cut runs beyond the edges that it crosses
GRID = 1e-4  # to which corners of a cut are rounded, so that they are the same everywhere


@dataclass(frozen=True, slots=True)
class Whisker:
    """A place where metal is thinner than ``LEAST_METAL``, and longer than that.

    hangs : more metal hangs by it, or an opening is closed by it; else it is a tip
    cut : the outline that takes a tip away, None where that would take more than the tip
    """

    at: Point
    hangs: bool
    cut: Outline | None = None


def whiskers(outline: Outline, cutouts: Iterable[Outline], width: float = LEAST_METAL) -> tuple[Whisker, ...]:
    """Every such place of a blank.

    The metal is drawn in by half the width and let out again with its corners; what is not reached is too thin, and
    where fewer or more pieces are left in between, something hangs by it.
    """
    metal = Polygon(flatten(outline, CHORD), [flatten(c, CHORD) for c in cutouts]).buffer(0.0)
    core = metal.buffer(-width / 2.0)
    thin = metal.difference(core.buffer(width / 2.0 + CHORD, join_style="mitre", mitre_limit=SHARP))
    places = [part for part in _parts(thin) if _length(part) > width]
    whole = len(_parts(metal)) == len(_parts(core)) and _rings(metal) == _rings(core)
    if not places and whole:
        return ()
    beyond = _parts(metal.difference(metal.buffer(-0.6 * width).buffer(0.6 * width)))
    found = []
    for place in places:
        hangs = not whole and _joins(metal, place)
        cut = None if hangs else _cut(metal, next((b for b in beyond if b.intersects(place)), place))
        found.append(Whisker(_middle(place), hangs, cut))
    if not whole and not any(one.hangs for one in found):
        # a neck as short as it is wide
        thinnest = max(_parts(thin), key=lambda part: part.area, default=metal)
        found.append(Whisker(_middle(thinnest), True))
    return tuple(found)


def tips(outline: Outline, cutouts: Sequence[Outline], tools: Sequence[Outline]) -> list[Outline]:
    """Cuts that take away the tips which these tools leave on a blank; a tip that is drawn so stays."""
    shapes = [Polygon(flatten(tool, CHORD)) for tool in tools if len(tool) > 1]
    return [
        one.cut
        for one in whiskers(outline, cutouts)
        if one.cut is not None and any(shape.distance(Polygon([v[:2] for v in one.cut])) < CLEAR for shape in shapes)
    ]


def _cut(metal: BaseGeometry, tip: BaseGeometry) -> Outline | None:
    """A straight-sided cut over a tip."""
    shape = set_precision(force_2d(tip.convex_hull.buffer(CLEAR, join_style="mitre", mitre_limit=2.0)), GRID)
    if not isinstance(shape, Polygon) or shape.is_empty:
        return None
    taken = metal.intersection(shape)
    if taken.area > tip.area + 2.0 * CLEAR * tip.length or _joins(metal, shape):
        return None
    return counter_clockwise(polygon(list(shape.exterior.coords)[:-1]))


def _joins(metal: BaseGeometry, place: BaseGeometry) -> bool:
    """Whether metal comes apart, or an opening comes open, without a place."""
    rest = metal.difference(place.buffer(CHORD))
    return len(_parts(rest)) > len(_parts(metal)) or _rings(rest) < _rings(metal)


def _parts(shape: BaseGeometry) -> list[Polygon]:
    return [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon) and not part.is_empty]


def _rings(shape: BaseGeometry) -> int:
    return sum(len(part.interiors) for part in _parts(shape))


def _length(part: Polygon) -> float:
    """Longest side of the smallest rectangle about a piece."""
    around = part.minimum_rotated_rectangle
    corners = list(around.exterior.coords) if isinstance(around, Polygon) else list(around.coords)
    return max(math.dist(p, q) for p, q in zip(corners, corners[1:], strict=False))


def _middle(part: BaseGeometry) -> Point:
    return (part.centroid.x, part.centroid.y)
