"""Edges of a face and pieces of its flat: how a place along an edge is given. In the face's own axes, mm."""

from dataclasses import dataclass

from flatgen.core.outline import Outline
from flatgen.core.points import Point, along, dot, right, sub, unit


@dataclass(frozen=True, slots=True)
class EdgeRun:
    """The line of an edge: a place at run t is origin + t·direction; ``outward`` points out of the face."""

    origin: Point
    direction: Point
    outward: Point

    def at(self, run: float, out: float = 0.0) -> Point:
        """Point at a run along the edge, a distance out of the face [mm]."""
        return along(along(self.origin, self.direction, run), self.outward, out)

    def run_of(self, p: Point) -> float:
        """Run of a point along the edge [mm]."""
        return dot(sub(p, self.origin), self.direction)


def edge_run(outline: Outline, index: int) -> EdgeRun:
    """Run of an edge: x of the face when it is level, y when it is plumb, else the distance from its start."""
    p, q = outline[index][:2], outline[(index + 1) % len(outline)][:2]
    way = unit(sub(q, p))
    outward = right(way)
    if abs(way[1]) < 1e-12:
        return EdgeRun((0.0, p[1]), (1.0, 0.0), (0.0, outward[1]))
    if abs(way[0]) < 1e-12:
        return EdgeRun((p[0], 0.0), (0.0, 1.0), (outward[0], 0.0))
    return EdgeRun(p, way, outward)


@dataclass(frozen=True, slots=True)
class FlatRun:
    """One segment of a flat's outline; ``bend`` names the bend that joins there, "" for a free edge."""

    start: Point
    end: Point
    bulge: float
    bend: str = ""
