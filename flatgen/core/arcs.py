"""Arcs written as bulges: the tangent of a quarter of the sweep, positive counter-clockwise, 0 for a straight line.

The bulge form is that of polylines in the open DXF reference; a half circle has bulge 1. Lengths in mm.
"""

import math
from functools import lru_cache
from typing import NamedTuple

from flatgen.core.points import Point, distance

STRAIGHT = 1e-12
QUARTER = math.pi / 2.0
WAYS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


class Arc(NamedTuple):
    """Centre, radius, start angle and signed sweep; lengths in mm, angles in radians."""

    center: Point
    radius: float
    start: float
    sweep: float

    def point(self, share: float) -> Point:
        """Point at a share 0..1 of the sweep."""
        angle = self.start + share * self.sweep
        return (self.center[0] + self.radius * math.cos(angle), self.center[1] + self.radius * math.sin(angle))


def bulge_of(sweep: float) -> float:
    """Bulge of a sweep [rad]."""
    return math.tan(sweep / 4.0)


def sweep_of(bulge: float) -> float:
    """Signed sweep of a bulge [rad]."""
    return 4.0 * math.atan(bulge)


def arc_of(p: Point, q: Point, bulge: float) -> Arc:
    """The arc from p to q; bulge must not be 0."""
    return _arc(p[0], p[1], q[0], q[1], bulge)


@lru_cache(maxsize=4096)
def _arc(px: float, py: float, qx: float, qy: float, bulge: float) -> Arc:
    """Kept, since cutting outlines from one another asks for the same few arcs again and again."""
    chord = math.hypot(px - qx, py - qy)
    sweep = sweep_of(bulge)
    # signed distance from the middle of the chord to the centre, positive to the left of p -> q
    offset = chord * (1.0 - bulge * bulge) / (4.0 * bulge)
    ux, uy = (qx - px) / chord, (qy - py) / chord
    center = ((px + qx) / 2.0 - uy * offset, (py + qy) / 2.0 + ux * offset)
    radius = chord * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    return Arc(center, radius, math.atan2(py - center[1], px - center[0]), sweep)


def bulge_through(p: Point, q: Point, center: Point, counter_clockwise: bool) -> float:
    """Bulge of the arc from p to q about a centre, running the given way round."""
    start = math.atan2(p[1] - center[1], p[0] - center[0])
    end = math.atan2(q[1] - center[1], q[0] - center[0])
    sweep = (end - start) % math.tau if counter_clockwise else -((start - end) % math.tau)
    return bulge_of(sweep)


def length(p: Point, q: Point, bulge: float) -> float:
    """Length of a segment, straight or arc [mm]."""
    if abs(bulge) < STRAIGHT:
        return distance(p, q)
    arc = arc_of(p, q, bulge)
    return arc.radius * abs(arc.sweep)


def cap_area(p: Point, q: Point, bulge: float) -> float:
    """Signed area between a segment and its chord [mm²]; positive when the arc bulges to the right of p -> q."""
    if abs(bulge) < STRAIGHT:
        return 0.0
    square = bulge * bulge
    if square < 0.0025:
        # the same as a series, where the terms of the closed form cancel
        share = bulge * (1.0 / 3.0 + square * (1.0 / 15.0 - square * (1.0 / 105.0 - square / 315.0)))
    else:
        share = ((1.0 + square) ** 2 * math.atan(bulge) - bulge * (1.0 - square)) / (8.0 * square)
    return share * ((p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2)


def cap_moments(p: Point, q: Point, bulge: float) -> tuple[float, float]:
    """First moments, about the axes, of what lies between an arc and its chord, signed as its area [mm³].

    About the arc's centre, the moment of a circle's cap is a twelfth of its chord cubed, toward the middle of the arc.

    >>> cap_moments((-1.0, 0.0), (1.0, 0.0), -1.0)[1]  # half a disc of radius 1: area pi/2, centroid 4/(3 pi) up
    -0.6666666666666665
    """
    size, (x, y) = cap_area(p, q, bulge), point_at(p, q, bulge, 0.5)
    middle = ((p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0)
    if abs(bulge) < 0.01:
        # the centre is far off; so flat an arc is as good as a parabola, whose cap has its centroid two fifths up
        return size * (0.6 * middle[0] + 0.4 * x), size * (0.6 * middle[1] + 0.4 * y)
    (cx, cy), radius, *_ = arc_of(p, q, bulge)
    turn = math.copysign(distance(p, q) ** 3 / 12.0 / radius, bulge)
    return size * cx + turn * (x - cx), size * cy + turn * (y - cy)


def power(p: Point, q: Point, bulge: float, x: Point) -> float:
    """Power of a point in an arc's circle: negative inside, near the line twice the radius times the distance [mm²].

    From the chord, not from the centre: the centre of a flat arc is far off.
    """
    ax, ay, bx, by = p[0] - x[0], p[1] - x[1], q[0] - x[0], q[1] - x[1]
    return ax * bx + ay * by - (ax * by - ay * bx) * (1.0 - bulge * bulge) / (2.0 * bulge)


def point_at(p: Point, q: Point, bulge: float, share: float) -> Point:
    """Point at a share 0..1 of a segment's length."""
    ux, uy = q[0] - p[0], q[1] - p[1]
    if abs(bulge) < STRAIGHT:
        return (p[0] + ux * share, p[1] + uy * share)
    # a chord of a share of the sweep, turned from the whole chord by half of what is left
    half = 2.0 * math.atan(bulge)
    size, turn = math.sin(half * share) / math.sin(half), half * (share - 1.0)
    c, s = size * math.cos(turn), size * math.sin(turn)
    return (p[0] + c * ux - s * uy, p[1] + s * ux + c * uy)


def share_of(p: Point, q: Point, bulge: float, x: Point) -> float:
    """Share 0..1 along a segment of a point that lies on it (outside 0..1 when it lies beyond)."""
    if abs(bulge) < STRAIGHT:
        dx, dy = q[0] - p[0], q[1] - p[1]
        length = dx * dx + dy * dy  # none where a shape's side shrinks to a point, as a round end's may
        return ((x[0] - p[0]) * dx + (x[1] - p[1]) * dy) / length if length else 0.0
    # seen from an end, an arc spans half the angle that it spans at its centre; the farther end sees more clearly
    ax, ay, bx, by = x[0] - p[0], x[1] - p[1], x[0] - q[0], x[1] - q[1]
    cx, cy = q[0] - p[0], q[1] - p[1]
    half = 2.0 * math.atan(bulge)
    if ax * ax + ay * ay >= bx * bx + by * by:
        return 1.0 + math.atan2(cx * ay - cy * ax, cx * ax + cy * ay) / half
    return math.atan2(cy * bx - cx * by, -cx * bx - cy * by) / half


def sub_bulge(bulge: float, share_from: float, share_to: float) -> float:
    """Bulge of the piece of a segment between two shares."""
    return 0.0 if abs(bulge) < STRAIGHT else bulge_of(sweep_of(bulge) * (share_to - share_from))


def nearest_point(p: Point, q: Point, bulge: float, x: Point) -> Point:
    """Point of a segment that lies nearest to x."""
    if abs(bulge) < STRAIGHT:
        return point_at(p, q, 0.0, min(1.0, max(0.0, share_of(p, q, 0.0, x))))
    arc = arc_of(p, q, bulge)
    away = distance(arc.center, x)
    if away > 1e-12:
        foot = arc.radius / away
        on_circle = (arc.center[0] + foot * (x[0] - arc.center[0]), arc.center[1] + foot * (x[1] - arc.center[1]))
        if 0.0 <= share_of(p, q, bulge, on_circle) <= 1.0:
            return on_circle
    return p if distance(p, x) <= distance(q, x) else q


def tangent_at(p: Point, q: Point, bulge: float, share: float) -> Point:
    """Unit direction of travel at a share of a segment."""
    if abs(bulge) < STRAIGHT:
        d = distance(p, q)
        return ((q[0] - p[0]) / d, (q[1] - p[1]) / d)
    arc = arc_of(p, q, bulge)
    angle = arc.start + share * arc.sweep
    way = 1.0 if arc.sweep > 0 else -1.0
    return (-math.sin(angle) * way, math.cos(angle) * way)


def extremes(p: Point, q: Point, bulge: float) -> list[Point]:
    """End points and, for an arc, the points where it runs level or plumb."""
    points = [p, q]
    if abs(bulge) >= STRAIGHT:
        (x, y), radius, start, sweep = arc_of(p, q, bulge)
        low, high = (start, start + sweep) if sweep > 0.0 else (start + sweep, start)
        for k in range(math.ceil(low / QUARTER), math.floor(high / QUARTER) + 1):
            dx, dy = WAYS[k % 4]
            points.append((x + dx * radius, y + dy * radius))
    return points


def box(p: Point, q: Point, bulge: float) -> tuple[float, float, float, float]:
    """Least and greatest x and y of a segment [mm]."""
    if abs(bulge) >= STRAIGHT:
        return _arc_box(p, q, bulge)
    (a, b), (c, d) = p, q
    return a if a < c else c, b if b < d else d, c if a < c else a, d if b < d else b


@lru_cache(maxsize=4096)
def _arc_box(p: Point, q: Point, bulge: float) -> tuple[float, float, float, float]:
    xs, ys = zip(*extremes(p, q, bulge), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def chords(p: Point, q: Point, bulge: float, tolerance: float) -> list[Point]:
    """Points after p along a segment, q included, whose chords lie within a tolerance [mm] of it."""
    if 0.5 * abs(bulge) * distance(p, q) <= tolerance and abs(bulge) <= 1.0:
        return [q]
    arc = arc_of(p, q, bulge)
    step = 4.0 * math.asin(math.sqrt(0.5 * tolerance / arc.radius)) if arc.radius > tolerance else QUARTER
    count = max(1, math.ceil(abs(arc.sweep) / step))
    return [point_at(p, q, bulge, k / count) for k in range(1, count)] + [q]
