"""Closed outlines of straight lines and arcs: (x, y, bulge) at each corner, the bulge for the segment that leaves it.

Outer outlines run counter-clockwise. All functions are exact on arcs; only ``flatten`` makes chords. Lengths in mm.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from flatgen.core import arcs
from flatgen.core.points import Motion, Point, along, cross, distance, dot, left, mirrors, move, sub, unit
from flatgen.said import Said, said, size

Vertex = tuple[float, float, float]
Outline = tuple[Vertex, ...]
Segment = tuple[Point, Point, float]

SAME_POINT = 1e-7
WASTE = 1e-8  # mm²


def rectangle(x: float, y: float, width: float, height: float) -> Outline:
    """Rectangle from its low corner [mm]."""
    return ((x, y, 0.0), (x + width, y, 0.0), (x + width, y + height, 0.0), (x, y + height, 0.0))


def polygon(points: Iterable[Point]) -> Outline:
    """Outline of straight lines through the points."""
    return tuple((x, y, 0.0) for x, y in points)


def circle(center: Point, diameter: float) -> Outline:
    """Circle as two half circles, counter-clockwise [mm]."""
    r = diameter / 2.0
    return ((center[0] - r, center[1], 1.0), (center[0] + r, center[1], 1.0))


def is_circle(outline: Outline) -> bool:
    """Whether an outline is two half circles, counter-clockwise."""
    return len(outline) == 2 and outline[0][2] == outline[1][2] == 1.0


def slot(start: Point, end: Point, width: float) -> Outline:
    """Round-ended slot about the line from start to end, which are the centres of its ends [mm]."""
    direction = unit(sub(end, start))
    side = left(direction)
    r = width / 2.0
    a, b = along(start, side, -r), along(end, side, -r)
    c, d = along(end, side, r), along(start, side, r)
    return ((*a, 0.0), (*b, 1.0), (*c, 0.0), (*d, 1.0))


def segments(outline: Outline) -> Iterator[Segment]:
    """Each segment as (from, to, bulge)."""
    for (x, y, bulge), (x2, y2, _) in zip(outline, (*outline[1:], outline[0]), strict=True):
        yield (x, y), (x2, y2), bulge


def area(outline: Outline) -> float:
    """Signed area, arcs exact; positive counter-clockwise [mm²]."""
    if not outline:
        return 0.0
    # relative to the first corner, so that a far-off blank loses no digits
    ox, oy, _ = outline[0]
    px, py, bulge = outline[-1]
    total, caps = 0.0, 0.0
    for x, y, following in outline:
        total += (px - ox) * (y - oy) - (x - ox) * (py - oy)
        if bulge:
            caps += arcs.cap_area((px, py), (x, y), bulge)
        px, py, bulge = x, y, following
    return 0.5 * total + caps


def perimeter(outline: Outline) -> float:
    """Length all round, arcs exact [mm]."""
    return math.fsum(arcs.length(p, q, b) for p, q, b in segments(outline))


def bounds(outlines: Iterable[Outline]) -> tuple[float, float, float, float]:
    """Least and greatest x and y over outlines, arcs exact: (x_min, y_min, x_max, y_max) [mm]."""
    boxes = [box(outline) for outline in outlines]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


@lru_cache(maxsize=4096)
def box(outline: Outline) -> tuple[float, float, float, float]:
    """Least and greatest x and y of one outline; kept, since the same few are asked for again and again [mm]."""
    if is_circle(outline):
        (x1, y1, _), (x2, y2, _) = outline
        x, y, radius = 0.5 * (x1 + x2), 0.5 * (y1 + y2), 0.5 * math.hypot(x2 - x1, y2 - y1)
        return x - radius, y - radius, x + radius, y + radius
    xs, ys = [v[0] for v in outline], [v[1] for v in outline]
    found = min(xs), min(ys), max(xs), max(ys)
    for k, (x, y, bulge) in enumerate(outline):
        if bulge:
            x2, y2, _ = outline[(k + 1) % len(outline)]
            a, b = found, arcs.box((x, y), (x2, y2), bulge)
            found = min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])
    return found


def reach(outline: Outline, direction: Point) -> tuple[float, float]:
    """Least and greatest of x·direction over an outline's edge, arcs as they are [mm times the direction's length]."""
    values = [x * direction[0] + y * direction[1] for x, y, _ in outline]
    length = math.hypot(*direction)
    for p, q, bulge in segments(outline) if length else ():
        if abs(bulge) < arcs.STRAIGHT:
            continue
        arc = arcs.arc_of(p, q, bulge)
        for sign in (1.0, -1.0):
            # how far round the arc looks this way, as a share of its sweep
            way = math.atan2(sign * direction[1], sign * direction[0]) - arc.start
            if (way * math.copysign(1.0, arc.sweep)) % math.tau <= abs(arc.sweep):
                x, y = arc.center
                values.append(x * direction[0] + y * direction[1] + sign * arc.radius * length)
    return min(values), max(values)


def reversed_outline(outline: Outline) -> Outline:
    """The same curve run the other way."""
    n = len(outline)
    return tuple((outline[i][0], outline[i][1], -outline[i - 1][2]) for i in range(n - 1, -1, -1))


def counter_clockwise(outline: Outline) -> Outline:
    """The same curve with positive area."""
    return outline if area(outline) >= 0 else reversed_outline(outline)


def moved(outline: Outline, motion: Motion) -> Outline:
    """Outline carried by a motion; a mirror keeps the sense of rotation by running it the other way."""
    flip = mirrors(motion)
    carried = tuple((*move(motion, (x, y)), -b if flip else b) for x, y, b in outline)
    return reversed_outline(carried) if flip else carried


def flatten(outline: Outline, tolerance: float) -> list[Point]:
    """Corner points with arcs made into chords within a tolerance [mm]; not closed."""
    return list(_flattened(outline, tolerance))


@lru_cache(maxsize=512)
def _flattened(outline: Outline, tolerance: float) -> tuple[Point, ...]:
    """Kept, since size and weight of a flat are measured on the same chords."""
    points: list[Point] = []
    for p, q, bulge in segments(outline):
        if not points:
            points.append(p)
        points.extend(arcs.chords(p, q, bulge, tolerance))
    return tuple(points[:-1])


def contains(outline: Outline, x: Point) -> bool:
    """Whether a point lies inside (a point on the line itself may go either way)."""
    return turns(outline, x) != 0


def turns(outline: Outline, x: Point) -> int:
    """How often an outline runs round a point, counter-clockwise positive: layers of one that overlaps itself."""
    # a ray to the right of the point counts the chords that cross it; between an arc and its chord it is one more turn
    x0, y0 = x
    px, py, bulge = outline[-1]
    found = 0
    for qx, qy, following in outline:
        up, down = py <= y0 < qy, qy <= y0 < py
        curved = bulge > arcs.STRAIGHT or bulge < -arcs.STRAIGHT
        if up or down or curved:
            # written so that the same chord run the other way gives exactly the opposite
            side = (px - x0) * (qy - y0) - (qx - x0) * (py - y0)
            if up and side > 0.0:
                found += 1
            elif down and side < 0.0:
                found -= 1
            # a point on the chord counts as a hair above it, or to its right where it is not level
            leftward = side > 0.0 or (side == 0.0 and (down or (not up and qx > px)))
            if curved and leftward == (bulge < 0.0):
                # the power of the point in the arc's circle, without its centre, which may be far off
                power = (px - x0) * (qx - x0) + (py - y0) * (qy - y0) - side * (1.0 - bulge * bulge) / (2.0 * bulge)
                if power < 0.0:
                    found += 1 if bulge > 0.0 else -1
        px, py, bulge = qx, qy, following
    return found


def distance_to(outline: Outline, x: Point) -> float:
    """Distance from a point to the nearest place on the curve [mm]."""
    return min(distance(x, arcs.nearest_point(p, q, b, x)) for p, q, b in segments(outline))


def tidy(outline: Sequence[Vertex], tolerance: float = SAME_POINT, waste: float = WASTE) -> Outline:
    """Outline without corners that say nothing: ends of segments of no length, points in the run of a line or circle.

    tolerance : how far a corner may lie off the line or arc that goes on without it [mm]
    waste : area that may change with each side that goes on over lost corners [mm²]; nearness alone is not enough,
        because a long side turns a small step into much area
    """
    kept = _arcs_joined(_lines_joined(outline, tolerance, waste), tolerance, waste)
    # the seam: the last side may run on into the first, and the first corner may be the one that says nothing
    while len(kept) > 2 and _says_nothing(kept[-2], kept[-1], kept[0], tolerance) <= waste:
        kept[-2] = (*kept[-2][:2], kept[-1][2])
        kept.pop()
    while len(kept) > 2 and _says_nothing(kept[-1], kept[0], kept[1], tolerance) <= waste:
        kept[-1] = (*kept[-1][:2], kept[0][2])
        kept.pop(0)
    return tuple(kept)


def _lines_joined(outline: Sequence[Vertex], tolerance: float, waste: float) -> list[Vertex]:
    """Corners but for those, after the first, that say nothing."""
    kept: list[Vertex] = []
    spent = 0.0
    last = len(outline) - 1
    for k, vertex in enumerate(outline):
        if kept and not _plain(kept[-1], vertex, outline[k + 1 if k < last else 0], tolerance, waste):
            lost = _says_nothing(kept[-1], vertex, outline[k + 1 if k < last else 0], tolerance)
            if spent + lost <= waste:
                # what leaves the lost corner leaves the one before it
                kept[-1] = (*kept[-1][:2], vertex[2])
                spent += lost
                continue
        kept.append(vertex)
        spent = 0.0
    return kept


def _plain(before: Vertex, at: Vertex, following: Vertex, tolerance: float, waste: float) -> bool:
    """Whether a corner is one without a closer look: most are."""
    ux, uy = at[0] - before[0], at[1] - before[1]
    if before[2] or at[2]:
        return abs(ux) > tolerance or abs(uy) > tolerance
    return abs(ux * (following[1] - at[1]) - uy * (following[0] - at[0])) > 2.0 * waste


def _says_nothing(before: Vertex, at: Vertex, following: Vertex, tolerance: float) -> float:
    """Area that changes when a corner is left out [mm²]; infinite where it may not be."""
    u, v = sub(at[:2], before[:2]), sub(following[:2], at[:2])
    step, size = math.hypot(*u), math.hypot(*v)
    if abs(before[2]) >= arcs.STRAIGHT or abs(at[2]) >= arcs.STRAIGHT:
        return step * size if step <= tolerance else math.inf
    if dot(u, v) <= 0.0 and min(step, size) > tolerance:
        return math.inf  # the line comes back upon itself
    doubled = abs(cross(u, v))
    return 0.5 * doubled if doubled <= tolerance * math.hypot(u[0] + v[0], u[1] + v[1]) else math.inf


def _arcs_joined(vertices: list[Vertex], tolerance: float, waste: float) -> list[Vertex]:
    """Neighbouring arcs of one circle as one arc, as long as it stays short of a full circle."""
    joined = list(vertices)
    i = 0
    while i < len(joined) and len(joined) > 2:
        before, at, following = joined[i - 1], joined[i], joined[(i + 1) % len(joined)]
        if before[2] * at[2] > 0.0:
            one, two = arcs.arc_of(before[:2], at[:2], before[2]), arcs.arc_of(at[:2], following[:2], at[2])
            sweep = one.sweep + two.sweep
            if distance(one.center, two.center) <= tolerance and abs(sweep) < 1.9 * math.pi:
                whole = arcs.arc_of(before[:2], following[:2], arcs.bulge_of(sweep))
                off = abs(distance(whole.center, at[:2]) - whole.radius)
                if off * whole.radius * abs(sweep) <= waste:
                    joined[i - 1] = (before[0], before[1], arcs.bulge_of(sweep))
                    joined.pop(i)
                    continue
        i += 1
    return joined


def rounded(outline: Outline, corner: int, radius: float) -> Outline:
    """Outline with the corner between two straight segments replaced by a tangent arc; corner is its index.

    Raises ValueError when the radius does not fit into the two sides.
    """
    before, at, following = outline[corner - 1], outline[corner], outline[(corner + 1) % len(outline)]
    u, v = unit(sub(before[:2], at[:2])), unit(sub(following[:2], at[:2]))
    half = math.acos(max(-1.0, min(1.0, dot(u, v)))) / 2.0
    back = radius / math.tan(half)
    _need_room(before, at, following, back, said("a corner radius of ", size(radius)))
    sweep = math.pi - 2.0 * half
    bulge = arcs.bulge_of(sweep if cross(u, v) < 0 else -sweep)
    p, q = along(at[:2], u, back), along(at[:2], v, back)
    return (*outline[:corner], (*p, bulge), (*q, at[2]), *outline[corner + 1 :])


def clipped(outline: Outline, corner: int, leg_before: float, leg_after: float) -> Outline:
    """Outline with the corner cut off straight, leaving the given legs from the corner along both sides [mm]."""
    before, at, following = outline[corner - 1], outline[corner], outline[(corner + 1) % len(outline)]
    u, v = unit(sub(before[:2], at[:2])), unit(sub(following[:2], at[:2]))
    _need_room(before, at, following, max(leg_before, leg_after), said("a corner clip of ", size(leg_before)))
    p, q = along(at[:2], u, leg_before), along(at[:2], v, leg_after)
    return (*outline[:corner], (*p, 0.0), (*q, at[2]), *outline[corner + 1 :])


def _need_room(before: Vertex, at: Vertex, following: Vertex, back: float, what: Said) -> None:
    room = min(distance(before[:2], at[:2]), distance(at[:2], following[:2]))
    if before[2] != 0.0 or at[2] != 0.0:
        raise ValueError(what + " needs two straight sides")
    if back > room + SAME_POINT:
        raise ValueError(what + said(" needs ", size(back), " of each side, and the shorter side has ", size(room)))
