"""Parts of a formed piece that would stand in the same place: flats and bends that run through one another.

Every flat is a plate of the sheet's thickness, every bend a few narrow ones. Two plates collide when layers of one,
laid into the other's axes, lie within its thickness and over its outline. What a bend joins may touch. Lengths mm.
"""

import math
from collections.abc import Iterable, Iterator
from itertools import combinations, pairwise
from typing import NamedTuple

from flatgen.core.outline import contains, flatten, polygon
from flatgen.core.points import (
    Frame,
    Point,
    Point3,
    along,
    cross,
    distance,
    dot,
    frame_after,
    frame_inverse,
    placed,
    right,
    sub,
    unit,
)
from flatgen.core.shared import shared_area
from flatgen.develop.fold import bend_extremes, bend_frame
from flatgen.model.blank import BendLine, Blank, FlatFace

CHORD = 0.05  # of rounded edges
SLACK = 0.02  # plates that dip into one another by less than this only touch
LEAST_AREA = 0.02  # mm²
LAYERS = (0.0, 0.25, 0.5, 0.75, 1.0)


class Plate(NamedTuple):
    """A flat piece of the formed part: outline in axes of its own, the frame that carries those to space, its box."""

    outline: tuple[Point, ...]
    frame: Frame
    low: Point3
    high: Point3


class _Owner(NamedTuple):
    """A face or bend by the name it is reported with, its box in space, and its own or its parent's frame."""

    name: str
    low: Point3
    high: Point3
    piece: FlatFace | BendLine
    frame: Frame


def collisions(blank: Blank) -> list[tuple[str, str, float]]:
    """Pairs of faces or bends of the formed part that run into one another, with the area they share [mm²]."""
    joined = {frozenset(pair) for bend in blank.bends for pair in _near(bend)}
    plates: dict[str, list[Plate]] = {}

    def plates_of(one: _Owner) -> list[Plate]:
        if one.name not in plates:
            plates[one.name] = list(_plates(one, blank))
        return plates[one.name]

    found = []
    for one, two in combinations(list(_owners(blank)), 2):
        if not _boxes_meet(one, two) or frozenset((one.name, two.name)) in joined:
            continue
        worst = 0.0
        for a in plates_of(one):
            for b in plates_of(two):
                if _boxes_meet(a, b):
                    worst = max(worst, _shared(a, b, blank.thickness), _shared(b, a, blank.thickness))
        if worst > LEAST_AREA:
            found.append((one.name, two.name, worst))
    return found


def _near(bend: BendLine) -> tuple[tuple[str, str], ...]:
    name = f"bend {bend.id}"
    return ((name, bend.parent), (name, bend.child), (bend.parent, bend.child))


def _owners(blank: Blank) -> Iterator[_Owner]:
    where = {face.id: face.frame for face in blank.faces}
    for face in blank.faces:
        corners = _corners(tuple(flatten(face.outline, CHORD)), face.frame, blank.thickness)
        yield _Owner(face.id, *_box(corners), face, face.frame)
    for bend in blank.bends:
        if bend.angle < 1.0:
            continue
        frame = where[bend.parent]
        yield _Owner(f"bend {bend.id}", *_box(bend_extremes(bend, blank.thickness, frame)), bend, frame)


def _plates(owner: _Owner, blank: Blank) -> Iterator[Plate]:
    if isinstance(owner.piece, FlatFace):
        yield _plate(tuple(flatten(owner.piece.outline, CHORD)), owner.frame, blank.thickness)
        return
    for outline, frame in bend_plates(owner.piece, blank.thickness):
        yield _plate(outline, frame_after(owner.frame, frame), blank.thickness)


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


def _plate(outline: tuple[Point, ...], frame: Frame, thickness: float) -> Plate:
    return Plate(outline, frame, *_box(_corners(outline, frame, thickness)))


def _corners(outline: tuple[Point, ...], frame: Frame, thickness: float) -> list[Point3]:
    return [placed(frame, (x, y, z)) for x, y in outline for z in (0.0, -thickness)]


def _box(points: Iterable[Point3]) -> tuple[Point3, Point3]:
    xs, ys, zs = zip(*points, strict=True)
    return (min(xs), min(ys), min(zs)), (max(xs), max(ys), max(zs))


def _boxes_meet(one: Plate | _Owner, two: Plate | _Owner) -> bool:
    (ax, ay, az), (bx, by, bz) = one.low, one.high
    (cx, cy, cz), (dx, dy, dz) = two.low, two.high
    return (
        ax < dx - SLACK
        and cx < bx - SLACK
        and ay < dy - SLACK
        and cy < by - SLACK
        and az < dz - SLACK
        and cz < bz - SLACK
    )


def _shared(one: Plate, two: Plate, thickness: float) -> float:
    """Largest area of a layer of the second plate that lies within the first [mm²], as seen on the first."""
    to_one = frame_after(frame_inverse(one.frame), two.frame)
    skin = [placed(to_one, (x, y, 0.0)) for x, y in two.outline]
    nx, ny, nz = (row[2] for row in to_one)
    best = 0.0
    for share in LAYERS:
        depth = -SLACK - share * (thickness - 2.0 * SLACK)
        layer = [(x + depth * nx, y + depth * ny, z + depth * nz) for x, y, z in skin]
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
    flat = [(x, y) for x, y, _ in layer]
    if abs(frame[2][2]) > 0.05:
        return shared_area(polygon(flat), polygon(outline)) / abs(frame[2][2])
    start, end = max(combinations(flat, 2), key=lambda pair: distance(*pair))
    depth = max(z for *_, z in layer) - min(z for *_, z in layer)
    return _length_over(start, end, outline) * depth


def _length_over(start: Point, end: Point, outline: tuple[Point, ...]) -> float:
    """Length of a straight line that lies over an outline [mm]."""
    way = sub(end, start)
    marks = [0.0, 1.0]
    for k, p in enumerate(outline):
        before, here = cross(way, sub(outline[k - 1], start)), cross(way, sub(p, start))
        if (before < 0.0) != (here < 0.0):
            t = before / (before - here)
            q = outline[k - 1]
            crossing = (q[0] + t * (p[0] - q[0]), q[1] + t * (p[1] - q[1]))
            marks.append(dot(sub(crossing, start), way) / dot(way, way))
    marks = sorted(min(1.0, max(0.0, mark)) for mark in marks)
    figure = polygon(outline)
    inside = math.fsum(b - a for a, b in pairwise(marks) if contains(figure, along(start, way, 0.5 * (a + b))))
    return inside * math.hypot(*way)
