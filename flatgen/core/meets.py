"""Where segments meet: lines and arcs with one another, and an outline with itself. Lengths in mm."""

import math

from flatgen.core import arcs
from flatgen.core.outline import Outline, Segment, segments
from flatgen.core.points import Point, along, cross, distance, sub, unit

TOUCH = 1e-7

Box = tuple[float, float, float, float]


def clear(a: Box, b: Box, near: float = TOUCH) -> bool:
    """Whether two boxes stand apart by more than ``near`` [mm]."""
    return a[2] < b[0] - near or b[2] < a[0] - near or a[3] < b[1] - near or b[3] < a[1] - near


def crossings(first: Segment, second: Segment) -> list[Point]:
    """Points where two segments meet, ends of one upon the other and ends of shared runs included."""
    points = [x for x in curve_meets(first, second) if on(first, x) and on(second, x)]
    points += [end for end in first[:2] if on(second, end)]
    points += [end for end in second[:2] if on(first, end)]
    return points


def self_crossings(outline: Outline) -> list[Point]:
    """Points where an outline meets itself other than at its own corners."""
    runs = list(segments(outline))
    boxes = [arcs.box(*run) for run in runs]
    found = []
    for i, run in enumerate(runs):
        for j in range(i + 1, len(runs)):
            if clear(boxes[i], boxes[j]):
                continue
            joined = [run[1]] if j == i + 1 else []
            if i == 0 and j == len(runs) - 1:
                joined.append(run[0])
            for x in crossings(run, runs[j]):
                if all(distance(x, corner) > 10 * TOUCH for corner in joined):
                    found.append(x)
    return found


def on(segment: Segment, x: Point, near: float = TOUCH) -> bool:
    """Whether a point lies on a segment, to within ``near`` [mm]."""
    p, q, bulge = segment
    if bulge == 0.0:
        ux, uy, vx, vy = q[0] - p[0], q[1] - p[1], x[0] - p[0], x[1] - p[1]
        if not (min(0.0, ux) - near <= vx <= max(0.0, ux) + near):
            return False
        size = ux * ux + uy * uy
        share = min(1.0, max(0.0, (ux * vx + uy * vy) / size)) if size else 0.0
        return math.hypot(vx - share * ux, vy - share * uy) <= near
    off = abs(arcs.power(p, q, bulge, x)) / (2.0 * arcs.arc_of(p, q, bulge).radius)
    if off > near:
        return False
    return 0.0 <= arcs.share_of(p, q, bulge, x) <= 1.0 or min(distance(p, x), distance(q, x)) <= near


def curve_meets(first: Segment, second: Segment, near: float = TOUCH) -> list[Point]:
    """Where the unbounded lines or full circles of two segments meet; those that miss by ``near`` still touch."""
    p, q, b = first
    r, s, c = second
    if b == 0.0 and c == 0.0:
        u, v = sub(q, p), sub(s, r)
        denominator = cross(u, v)
        if abs(denominator) <= 1e-12 * math.hypot(*u) * math.hypot(*v):
            return []
        return [along(p, u, cross(sub(r, p), v) / denominator)]
    if b == 0.0:
        return _line_arc(p, q, second, near)
    if c == 0.0:
        return _line_arc(r, s, first, near)
    return _circle_circle(arcs.arc_of(p, q, b), arcs.arc_of(r, s, c), near)


def _line_arc(p: Point, q: Point, arc: Segment, near: float) -> list[Point]:
    """Where a line meets an arc's circle: where the power of its points in the circle is nought."""
    start, end, bulge = arc
    run, rise = q[0] - p[0], q[1] - p[1]
    size = math.hypot(run, rise)
    u = ux, uy = run / size, rise / size
    out = (0.5 * (start[0] + end[0]) - p[0]) * ux + (0.5 * (start[1] + end[1]) - p[1]) * uy
    foot = p[0] + ux * out, p[1] + uy * out
    # half the slope of the power along the line, at the foot from the middle of the chord
    slope = -((end[0] - start[0]) * uy - (end[1] - start[1]) * ux) * (1.0 - bulge * bulge) / (4.0 * bulge)
    power = arcs.power(start, end, bulge, foot)
    inside = slope * slope - power
    radius = arcs.arc_of(*arc).radius
    if inside < -2.0 * radius * near:
        return []
    if inside <= 0.0:
        return [along(foot, u, -slope)]
    far = -slope - math.copysign(math.sqrt(inside), slope)
    return [along(foot, u, far), along(foot, u, power / far)]


def _circle_circle(a: arcs.Arc, b: arcs.Arc, near: float) -> list[Point]:
    apart = distance(a.center, b.center)
    if apart < 1e-9 or apart > a.radius + b.radius + near or apart < abs(a.radius - b.radius) - near:
        return []
    u = unit(sub(b.center, a.center))
    back = (apart + (a.radius - b.radius) * (a.radius + b.radius) / apart) / 2.0
    half = math.sqrt(max(0.0, (a.radius - back) * (a.radius + back)))
    foot = along(a.center, u, back)
    return [along(foot, (-u[1], u[0]), half), along(foot, (-u[1], u[0]), -half)]
