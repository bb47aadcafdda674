"""Parts of a formed piece that would stand in the same place: flats and bends that run through one another.

Every flat is a plate of the sheet's thickness, every bend a few narrow ones. Two plates collide when layers of one,
laid into the other's axes, lie within its thickness and over its outline. What a bend joins may touch. Lengths mm.
"""

import math
from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from flatgen.core.outline import flatten
from flatgen.core.points import Frame, Point, Point3, dot, frame_after, frame_inverse, placed, right, sub, unit
from flatgen.develop.fold import bend_frame
from flatgen.model.blank import BendLine, Blank

CHORD = 0.05  # of rounded edges
SLACK = 0.02  # plates that dip into one another by less than this only touch
LEAST_AREA = 0.02  # mm²
LAYERS = (0.0, 0.25, 0.5, 0.75, 1.0)


class Plate(NamedTuple):
    """A flat piece of the formed part: outline in axes of its own, the frame that carries those to space."""

    owner: str
    outline: tuple[Point, ...]
    frame: Frame
    low: Point3
    high: Point3


def collisions(blank: Blank) -> list[tuple[str, str, float]]:
    """Pairs of faces or bends of the formed part that run into one another, with the area they share [mm²]."""
    plates = list(_plates(blank))
    joined = {frozenset(pair) for bend in blank.bends for pair in _near(bend)}
    worst: dict[tuple[str, str], float] = {}
    for one, two in combinations(plates, 2):
        if one.owner == two.owner or frozenset((one.owner, two.owner)) in joined or not _boxes_meet(one, two):
            continue
        shared = max(_shared(one, two, blank.thickness), _shared(two, one, blank.thickness))
        if shared > LEAST_AREA:
            pair = (one.owner, two.owner)
            worst[pair] = max(worst.get(pair, 0.0), shared)
    return [(one, two, area) for (one, two), area in worst.items()]


def _near(bend: BendLine) -> tuple[tuple[str, str], ...]:
    name = f"bend {bend.id}"
    return ((name, bend.parent), (name, bend.child), (bend.parent, bend.child))


def _plates(blank: Blank) -> Iterator[Plate]:
    where = {face.id: face.frame for face in blank.faces}
    for face in blank.faces:
        yield _plate(face.id, tuple(flatten(face.outline, CHORD)), face.frame, blank.thickness)
    for bend in blank.bends:
        if bend.angle < 1.0:
            continue
        for outline, frame in bend_plates(bend, blank.thickness):
            yield _plate(f"bend {bend.id}", outline, frame_after(where[bend.parent], frame), blank.thickness)


def bend_plates(bend: BendLine, thickness: float) -> Iterator[tuple[tuple[Point, ...], Frame]]:
    """A bend as narrow plates, each with the frame that carries it from the blank to its parent's axes.

    Each plate is the tangent plane in the middle of its share of the angle; shares are small enough for ``SLACK``.
    """
    from dataclasses import replace

    radius = bend.bent.inside_radius + thickness
    step = math.degrees(2.0 * math.acos(max(0.0, 1.0 - 0.5 * SLACK / radius)))
    count = max(1, math.ceil(bend.angle / step))
    (p, q), _ = bend.tangents
    n = right(unit(sub(q, p)))
    points = flatten(bend.outline, CHORD)
    for k in range(count):
        low, high = bend.bent.allowance * k / count, bend.bent.allowance * (k + 1) / count
        piece = _between(points, p, n, low, high)
        if len(piece) < 3:
            continue
        # bent as far as the middle of this piece, with the flat beyond drawn back to where the bend has come to
        share = (k + 0.5) / count
        part = replace(
            bend,
            angle=bend.angle * share,
            bent=replace(bend.bent, allowance=bend.bent.allowance * share),
        )
        yield tuple(piece), bend_frame(part, thickness)


def _between(points: list[Point], p: Point, n: Point, low: float, high: float) -> list[Point]:
    """The part of a polygon between two lines square to n."""
    return _beyond(_beyond(points, p, n, low), p, (-n[0], -n[1]), -high)


def _beyond(points: list[Point], p: Point, n: Point, least: float) -> list[Point]:
    out: list[Point] = []
    depths = [dot(sub(x, p), n) - least for x in points]
    for k, (x, d) in enumerate(zip(points, depths, strict=True)):
        y, e = points[k - 1], depths[k - 1]
        if (d >= 0) != (e >= 0):
            t = e / (e - d)
            out.append((y[0] + t * (x[0] - y[0]), y[1] + t * (x[1] - y[1])))
        if d >= 0:
            out.append(x)
    return out


def _plate(owner: str, outline: tuple[Point, ...], frame: Frame, thickness: float) -> Plate:
    corners = [placed(frame, (x, y, z)) for x, y in outline for z in (0.0, -thickness)]
    low = tuple(min(c[k] for c in corners) for k in range(3))
    high = tuple(max(c[k] for c in corners) for k in range(3))
    return Plate(owner, outline, frame, low, high)  # type: ignore[arg-type]


def _boxes_meet(one: Plate, two: Plate) -> bool:
    return all(one.low[k] < two.high[k] - SLACK and two.low[k] < one.high[k] - SLACK for k in range(3))


def _shared(one: Plate, two: Plate, thickness: float) -> float:
    """Largest area of a layer of the second plate that lies within the first [mm²], as seen on the first."""
    to_one = frame_after(frame_inverse(one.frame), two.frame)
    best = 0.0
    for share in LAYERS:
        depth = -SLACK - share * (thickness - 2.0 * SLACK)
        layer = [placed(to_one, (x, y, depth)) for x, y in two.outline]
        inside = _within_slab(layer, -thickness + SLACK, -SLACK)
        if len(inside) >= 3:
            best = max(best, _area_over(inside, one.outline, to_one))
    return best


def _within_slab(layer: list[Point3], low: float, high: float) -> list[Point3]:
    for sign, limit in ((1.0, low), (-1.0, -high)):
        out: list[Point3] = []
        for k, x in enumerate(layer):
            y = layer[k - 1]
            d, e = sign * x[2] - limit, sign * y[2] - limit
            if (d >= 0) != (e >= 0):
                t = e / (e - d)
                out.append((y[0] + t * (x[0] - y[0]), y[1] + t * (x[1] - y[1]), y[2] + t * (x[2] - y[2])))
            if d >= 0:
                out.append(x)
        layer = out
    return layer


def _area_over(layer: list[Point3], outline: tuple[Point, ...], frame: Frame) -> float:
    """Area of a layer over an outline; one that stands square to it counts by its length times its depth."""
    import shapely

    flat = shapely.Polygon([(x, y) for x, y, _ in layer])
    face = shapely.Polygon(outline)
    if flat.area > 1e-9 and flat.is_valid and abs(frame[2][2]) > 0.05:
        return float(flat.intersection(face).area) / abs(frame[2][2])
    line = shapely.MultiPoint([(x, y) for x, y, _ in layer]).convex_hull
    depth = max(z for *_, z in layer) - min(z for *_, z in layer)
    shared = line.intersection(face)
    length = shared.length if shared.geom_type != "Polygon" else shared.length / 2.0
    return float(length) * depth
