"""No-fit polygons: where one blank may not stand beside another, as sums of their convex parts. Lengths mm.

Two blanks overlap exactly when the low corner of the second lies inside the sum of a convex part of the first and the
mirror image of a convex part of the second. A sum is kept as its lower and its upper edge over x, each a chain of
straight pieces, because that is how lattices and slides ask for it.

References
----------
[1] J. A. Bennell, J. F. Oliveira, "The geometry of nesting problems: a tutorial", European Journal of Operational
    Research 184, 2008: the no-fit polygon, also as a sum of Minkowski (from memory)
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from flatgen.core.points import Point

FLAT = 1e-9
ROUND = 24  # corners of the polygon about the disc by which a blank is grown
STEEP = 1e30  # slope of an edge of no length, which only fills a row up


@dataclass(frozen=True, slots=True)
class Convexes:
    """Convex polygons, one a row, by their edges over x: left end, lower and upper y there, lower and upper chain.

    A chain is the steps in x > 0 and the slopes along them, left to right; rows are filled up with steps of 0.
    """

    left: Any
    low: Any
    high: Any
    under: tuple[Any, Any]
    over: tuple[Any, Any]

    def __len__(self) -> int:
        """How many polygons."""
        return len(self.left)


def convexes(polygons: Sequence[Sequence[Point]]) -> Convexes:
    """Convex polygons, their corners counter-clockwise."""
    left, low, high, under, over = [], [], [], [], []
    for points in polygons:
        p = np.asarray(points, dtype=float)
        end = p[:, 0].min()
        at_end = p[p[:, 0] <= end + FLAT, 1]
        step = np.roll(p, -1, axis=0) - p
        left.append(end)
        low.append(at_end.min())
        high.append(at_end.max())
        under.append(step[step[:, 0] > FLAT])
        over.append(-step[step[:, 0] < -FLAT])
    return Convexes(np.array(left), np.array(low), np.array(high), _chains(under, 1), _chains(over, -1))


def _chains(rows: Sequence[Any], sign: int) -> tuple[Any, Any]:
    longest = max(len(row) for row in rows)
    steps, slopes = np.zeros((len(rows), longest)), np.full((len(rows), longest), sign * STEEP)
    for number, row in enumerate(rows):
        steps[number, : len(row)] = row[:, 0]
        slopes[number, : len(row)] = row[:, 1] / row[:, 0]
    return _sorted(steps, slopes, sign)


def _sorted(steps: Any, slopes: Any, sign: int) -> tuple[Any, Any]:
    if steps.shape[1] < 2:
        return steps, slopes
    order = np.argsort(sign * slopes, axis=1, kind="stable")
    return np.take_along_axis(steps, order, 1), np.take_along_axis(slopes, order, 1)


def summed(a: Convexes, b: Convexes) -> Convexes:
    """For every polygon of one and every one of the other, all that is a point of this plus a point of that."""

    def pairs(u: Any, v: Any) -> tuple[Any, Any]:
        return np.repeat(u, len(b), axis=0), np.tile(v, (len(a), *(1,) * (v.ndim - 1)))

    def chain(u: tuple[Any, Any], v: tuple[Any, Any], sign: int) -> tuple[Any, Any]:
        steps, slopes = (np.concatenate(pairs(u[n], v[n]), axis=1) for n in (0, 1))
        return _sorted(steps, slopes, sign)

    left, low, high = (np.add(*pairs(u, v)) for u, v in ((a.left, b.left), (a.low, b.low), (a.high, b.high)))
    return Convexes(left, low, high, chain(a.under, b.under, 1), chain(a.over, b.over, -1))


def edges(shapes: Convexes) -> tuple[Any, Any, Any]:
    """The polygons' chains as points, one row a polygon: (x and y of the lower, of the upper), and the right ends."""
    under = _points(shapes.left, shapes.low, shapes.under)
    return under, _points(shapes.left, shapes.high, shapes.over), under[0][:, -1]


def _points(x: Any, y: Any, chain: tuple[Any, Any]) -> tuple[Any, Any]:
    steps, slopes = chain
    xs, ys = np.empty((len(x), steps.shape[1] + 1)), np.empty((len(x), steps.shape[1] + 1))
    xs[:, 0], ys[:, 0] = x, y
    np.cumsum(steps, axis=1, out=xs[:, 1:])
    np.cumsum(steps * slopes, axis=1, out=ys[:, 1:])
    xs[:, 1:] += x[:, None]
    ys[:, 1:] += y[:, None]
    return xs, ys


def disc(radius: float) -> Convexes:
    """A polygon about a disc, with flat sides to the four quarters [mm]."""
    half = math.pi / ROUND
    out = radius / math.cos(half)
    return convexes([[(out * math.cos((2 * k + 1) * half), out * math.sin((2 * k + 1) * half)) for k in range(ROUND)]])


def opposite(points: Sequence[Point]) -> list[Point]:
    """A polygon mirrored through 0, 0."""
    return [(-x, -y) for x, y in points]


@lru_cache(maxsize=4096)
def convex_parts(outer: tuple[Point, ...], holes: tuple[tuple[Point, ...], ...] = ()) -> tuple[tuple[Point, ...], ...]:
    """A polygon (counter-clockwise, openings left out) cut into few convex ones."""
    if not holes and _is_convex(outer):
        return (outer,)
    import shapely
    from shapely.geometry import Polygon

    shape: Any = Polygon(outer, holes)
    if not shape.is_valid:
        shape = shape.buffer(0.0)
    triangles = [
        _turned_left(list(t.exterior.coords)[:-1]) for t in shapely.constrained_delaunay_triangles(shape).geoms
    ]
    return tuple(tuple(part) for part in _joined([t for t in triangles if abs(twice_area(t)) > FLAT]))


def _is_convex(points: Sequence[Point]) -> bool:
    n = len(points)
    turns = 0.0
    for k in range(n):
        a, b, c = points[k - 2], points[k - 1], points[k]
        if not _left_turn(a, b, c):
            return False
        way = math.atan2(b[1] - a[1], b[0] - a[0])
        turns += abs(math.remainder(math.atan2(c[1] - b[1], c[0] - b[0]) - way, math.tau))
    return turns < 1.5 * math.tau  # a star that crosses itself turns left all round, but twice


def _left_turn(a: Point, b: Point, c: Point) -> bool:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) >= -FLAT


def twice_area(points: Sequence[Point]) -> float:
    """Twice the area of a polygon, positive when it runs counter-clockwise [mm²]."""
    return math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in zip(points, [*points[1:], points[0]], strict=True))


def _turned_left(points: list[Point]) -> list[Point]:
    return points if twice_area(points) > 0.0 else points[::-1]


def _joined(parts: list[list[Point]]) -> list[list[Point]]:
    """Neighbours joined across their common edge wherever what comes of it stays convex, the longest edges first."""
    owner: dict[tuple[Point, Point], int] = {}
    for number, part in enumerate(parts):
        for p, q in zip(part, part[1:] + part[:1], strict=True):
            owner[p, q] = number
    inner = [(p, q) for p, q in owner if p < q and (q, p) in owner]
    for p, q in sorted(inner, key=lambda e: (-math.dist(*e), e)):
        a, b = owner[p, q], owner[q, p]
        if a == b:
            continue
        first, second = _from(parts[a], q), _from(parts[b], p)  # q … p and p … q
        if first[-1] != p or second[-1] != q:
            continue
        if not (_left_turn(first[-2], p, second[1]) and _left_turn(second[-2], q, first[1])):
            continue
        parts[a], parts[b] = first + second[1:-1], []
        for u, v in zip(parts[a], parts[a][1:] + parts[a][:1], strict=True):
            owner[u, v] = a
    return [part for part in parts if part]


def _from(part: list[Point], start: Point) -> list[Point]:
    at = part.index(start)
    return part[at:] + part[:at]
