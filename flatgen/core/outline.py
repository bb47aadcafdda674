"""Closed outlines of straight lines and arcs: (x, y, bulge) at each corner, the bulge for the segment that leaves it.

Outer outlines run counter-clockwise. All functions are exact on arcs; only ``flatten`` makes chords. Lengths in mm.
"""

import math
from collections.abc import Iterable, Iterator, Sequence

from flatgen.core import arcs
from flatgen.core.points import Motion, Point, along, cross, distance, dot, left, mirrors, move, sub, unit

Vertex = tuple[float, float, float]
Outline = tuple[Vertex, ...]
Segment = tuple[Point, Point, float]

SAME_POINT = 1e-7


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
    ox, oy = outline[0][0], outline[0][1]
    total = 0.0
    for p, q, bulge in segments(outline):
        total += 0.5 * ((p[0] - ox) * (q[1] - oy) - (q[0] - ox) * (p[1] - oy)) + arcs.cap_area(p, q, bulge)
    return total


def perimeter(outline: Outline) -> float:
    """Length all round, arcs exact [mm]."""
    return sum(arcs.length(p, q, b) for p, q, b in segments(outline))


def bounds(outlines: Iterable[Outline]) -> tuple[float, float, float, float]:
    """Least and greatest x and y over outlines, arcs exact: (x_min, y_min, x_max, y_max) [mm]."""
    points = [e for outline in outlines for p, q, b in segments(outline) for e in arcs.extremes(p, q, b)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


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
    points: list[Point] = []
    for p, q, bulge in segments(outline):
        if not points:
            points.append(p)
        points.extend(arcs.chords(p, q, bulge, tolerance))
    return points[:-1]


def contains(outline: Outline, x: Point) -> bool:
    """Whether a point lies inside (a point on the line itself may go either way)."""
    winding = 0.0
    for p, q, bulge in segments(outline):
        if abs(bulge) < arcs.STRAIGHT:
            # written out: this is asked more often than anything else
            ax, ay, bx, by = p[0] - x[0], p[1] - x[1], q[0] - x[0], q[1] - x[1]
            winding += math.atan2(ax * by - ay * bx, ax * bx + ay * by)
            continue
        arc = arcs.arc_of(p, q, bulge)
        winding += _arc_winding(arc, p, q, x)
    return winding > math.pi or winding < -math.pi


def _arc_winding(arc: arcs.Arc, p: Point, q: Point, x: Point) -> float:
    """Angle that an arc spans as seen from x [rad]: the chord's, and a whole turn when x lies between arc and chord."""
    a, b = sub(p, x), sub(q, x)
    angle = math.atan2(cross(a, b), dot(a, b))
    inside_circle = distance(arc.center, x) < arc.radius
    if not inside_circle:
        return angle
    # the cap lies to the right of the chord for a counter-clockwise arc
    side = arcs.turn_sign(p, q, x)
    if arc.sweep > 0 and side <= 0:
        return angle + math.tau
    if arc.sweep < 0 and side >= 0:
        return angle - math.tau
    return angle


def distance_to(outline: Outline, x: Point) -> float:
    """Distance from a point to the nearest place on the curve [mm]."""
    return min(distance(x, arcs.nearest_point(p, q, b, x)) for p, q, b in segments(outline))


def tidy(outline: Sequence[Vertex], tolerance: float = SAME_POINT) -> Outline:
    """Outline without zero-length segments; straight runs that carry on in one line, and arcs in one circle, joined."""
    kept: list[Vertex] = []
    for vertex in outline:
        if kept and distance(kept[-1][:2], vertex[:2]) <= tolerance:
            # the first of two equal points had a segment of no length: what leaves the second counts
            kept[-1] = (kept[-1][0], kept[-1][1], vertex[2])
        else:
            kept.append(vertex)
    while len(kept) > 1 and distance(kept[-1][:2], kept[0][:2]) <= tolerance:
        kept.pop()
    kept = _arcs_joined(kept, tolerance)
    n = len(kept)
    result = []
    for i, (x, y, bulge) in enumerate(kept):
        before, following = kept[i - 1], kept[(i + 1) % n]
        if before[2] == 0.0 and bulge == 0.0:
            u, v = sub((x, y), before[:2]), sub(following[:2], (x, y))
            if dot(u, v) > 0 and abs(cross(u, v)) <= tolerance * math.hypot(*v):
                continue
        result.append((x, y, bulge))
    return tuple(result)


def _arcs_joined(vertices: list[Vertex], tolerance: float) -> list[Vertex]:
    """Neighbouring arcs of one circle as one arc, as long as it stays short of a full circle."""
    joined = list(vertices)
    i = 0
    while i < len(joined) and len(joined) > 2:
        before, at, following = joined[i - 1], joined[i], joined[(i + 1) % len(joined)]
        if before[2] * at[2] > 0.0:
            one, two = arcs.arc_of(before[:2], at[:2], before[2]), arcs.arc_of(at[:2], following[:2], at[2])
            sweep = one.sweep + two.sweep
            if distance(one.center, two.center) <= tolerance and abs(sweep) < 1.9 * math.pi:
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
    _need_room(before, at, following, back, f"a corner radius of {radius:g} mm")
    sweep = math.pi - 2.0 * half
    bulge = arcs.bulge_of(sweep if cross(u, v) < 0 else -sweep)
    p, q = along(at[:2], u, back), along(at[:2], v, back)
    return (*outline[:corner], (*p, bulge), (*q, at[2]), *outline[corner + 1 :])


def clipped(outline: Outline, corner: int, leg_before: float, leg_after: float) -> Outline:
    """Outline with the corner cut off straight, leaving the given legs from the corner along both sides [mm]."""
    before, at, following = outline[corner - 1], outline[corner], outline[(corner + 1) % len(outline)]
    u, v = unit(sub(before[:2], at[:2])), unit(sub(following[:2], at[:2]))
    _need_room(before, at, following, max(leg_before, leg_after), f"a corner clip of {leg_before:g} mm")
    p, q = along(at[:2], u, leg_before), along(at[:2], v, leg_after)
    return (*outline[:corner], (*p, 0.0), (*q, at[2]), *outline[corner + 1 :])


def _need_room(before: Vertex, at: Vertex, following: Vertex, back: float, what: str) -> None:
    room = min(distance(before[:2], at[:2]), distance(at[:2], following[:2]))
    if before[2] != 0.0 or at[2] != 0.0:
        raise ValueError(f"{what} needs two straight sides")
    if back > room + SAME_POINT:
        raise ValueError(f"{what} needs {back:.3f} mm of each side, and the shorter side has {room:.3f} mm")
