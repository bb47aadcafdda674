"""Sizes of a blank that a caliper takes before it is bent, across bends that lie one way: cut and deduction apart."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from flatgen.core.outline import Outline, bounds, moved, segments
from flatgen.core.points import Point, cross, distance, dot, left, sub, turned, unit
from flatgen.model.blank import BendLine, Blank

PARALLEL = 1e-3  # sine of the angle within which two bends lie one way
AT_THE_EDGE = 0.01  # of the blank: there the size is taken [mm]
LEAST_EDGE = 6.0  # for the jaws of a caliper to lie on [mm]


@dataclass(frozen=True, slots=True)
class Across:
    """A size across some bends, between two straight edges along them [mm]; ``way`` points from the low to the high."""

    bends: tuple[str, ...]
    size: float
    way: Point
    high: float

    def ends_high(self, outline: Outline) -> bool:
        """Whether a flat reaches the high edge."""
        return bounds([_seen(outline, self.way)])[2] > self.high - AT_THE_EDGE


def across(blank: Blank) -> tuple[Across, ...]:
    """Every such size of a blank; bends are left out whose blank has no straight edge along them on both sides."""
    return tuple(_across(blank))


def _across(blank: Blank) -> Iterator[Across]:
    groups: list[tuple[Point, list[str]]] = []
    for bend in blank.bends:
        way = toward_child(bend)
        for known, names in groups:
            if abs(cross(known, way)) < PARALLEL:
                names.append(bend.id)
                break
        else:
            groups.append((way, [bend.id]))
    for way, names in groups:
        seen = _seen(blank.outline, way)
        low, _, high, _ = bounds([seen])
        if all(_edge_at(seen, x) for x in (low, high)):
            yield Across(tuple(names), high - low, way, high)


def toward_child(bend: BendLine) -> Point:
    """Unit direction across the bend from its parent to its child."""
    p, q = max(bend.tangents, key=lambda line: distance(*line))
    normal = left(unit(sub(q, p)))
    ahead = dot(sub(bend.tangents[1][0], bend.tangents[0][0]), normal) > 0.0
    return normal if ahead else (-normal[0], -normal[1])


def _seen(outline: Outline, way: Point) -> Outline:
    """An outline in axes whose x is the way."""
    return moved(outline, turned(-math.degrees(math.atan2(way[1], way[0]))))


def _edge_at(seen: Outline, x: float) -> bool:
    return any(
        not bulge and abs(p[0] - x) < AT_THE_EDGE and abs(q[0] - x) < AT_THE_EDGE and abs(p[1] - q[1]) > LEAST_EDGE
        for p, q, bulge in segments(seen)
    )
