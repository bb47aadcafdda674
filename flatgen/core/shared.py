"""Area that two outlines share, with nothing to decide: it depends on both without a jump, however they lie.

Seen from a level below both, each outline is the sum of the areas under its segments, those that run left counted
positive, those that run right negative. The shared area is therefore the signed sum, over all pairs of segments, of the
area under both. Edges that run together, touch or all but touch need no rule. Lengths in mm, areas in mm².
"""

import math
from functools import lru_cache
from typing import NamedTuple

from flatgen.core import arcs
from flatgen.core.outline import Outline, Segment, area, segments
from flatgen.core.points import Point


class _Reach(NamedTuple):
    """A piece of an outline with one height at every x: its ends, its sign, heights between which it stays, and for an
    arc the centre, the radius and whether it is the upper half (1) or the lower (-1)."""

    x0: float
    y0: float
    x1: float
    y1: float
    sign: float
    low: float
    high: float
    center: Point = (0.0, 0.0)
    radius: float = 0.0
    half: float = 0.0

    def height(self, x: float) -> float:
        """Height at x."""
        if self.half:
            return self.center[1] + self.half * _leg(self.radius, x - self.center[0])
        return self.y0 + (self.y1 - self.y0) * ((x - self.x0) / (self.x1 - self.x0))

    def under(self, left: float, right: float, base: float) -> float:
        """Area between a base level and the piece, from left to right."""
        if not self.half:
            return (0.5 * (self.height(left) + self.height(right)) - base) * (right - left)
        below = (self.center[1] - base) * (right - left)
        return below + self.half * (self._disc(right) - self._disc(left))

    def _disc(self, x: float) -> float:
        """Area under a half circle over its centre's level, from its middle to x."""
        t = min(self.radius, max(-self.radius, x - self.center[0]))
        return 0.5 * (t * _leg(self.radius, t) + self.radius**2 * math.asin(t / self.radius))


def shared_area(outline: Outline, other: Outline) -> float:
    """Area that two outlines share, exact on arcs [mm²]; both may run either way round."""
    box, reaches = _reaches(outline)
    other_box, others = _reaches(other)
    left, right = max(box[0], other_box[0]), min(box[2], other_box[2])
    if left >= right or max(box[1], other_box[1]) >= min(box[3], other_box[3]):
        return 0.0
    base = min(box[1], other_box[1])
    mine = [r for r in reaches if r.x0 < right and left < r.x1]
    theirs = [r for r in others if r.x0 < right and left < r.x1]
    return sum(one.sign * two.sign * _under_both(one, two, base) for one in mine for two in theirs)


def _under_both(one: _Reach, two: _Reach, base: float) -> float:
    left = one.x0 if one.x0 > two.x0 else two.x0
    right = one.x1 if one.x1 < two.x1 else two.x1
    if left >= right:
        return 0.0
    if one.high <= two.low:
        return one.under(left, right, base)
    if two.high <= one.low:
        return two.under(left, right, base)
    marks = [left, *_levels(one, two, left, right), right]
    # between marks one stays below the other; the areas tell which even where both touch in the middle
    return sum(min(one.under(a, b, base), two.under(a, b, base)) for a, b in zip(marks, marks[1:], strict=False))


def _levels(one: _Reach, two: _Reach, left: float, right: float) -> list[float]:
    """Where two pieces change places. A place that is off a little costs only the square of that."""
    if not one.half and not two.half:
        start, end = (one.height(x) - two.height(x) for x in (left, right))
        return [left + (right - left) * (start / (start - end))] if start * end < 0.0 else []
    if one.half and two.half:
        found = _circles(one, two)
    else:
        found = _line_and_circle(two, one) if one.half else _line_and_circle(one, two)
    return sorted(x for x in found if left < x < right)


def _line_and_circle(line: _Reach, arc: _Reach) -> list[float]:
    dx, dy = line.x1 - line.x0, line.y1 - line.y0
    size = math.hypot(dx, dy)
    ux, uy = dx / size, dy / size
    vx, vy = arc.center[0] - line.x0, arc.center[1] - line.y0
    along, away = vx * ux + vy * uy, abs(vx * uy - vy * ux)
    leg = _leg(arc.radius, away)
    return [line.x0 + (along - leg) * ux, line.x0 + (along + leg) * ux] if away < arc.radius else []


def _circles(one: _Reach, two: _Reach) -> list[float]:
    dx, dy = two.center[0] - one.center[0], two.center[1] - one.center[1]
    apart = math.hypot(dx, dy)
    if apart == 0.0 or abs(one.radius - two.radius) >= apart or apart >= one.radius + two.radius:
        return []
    back = (apart + (one.radius - two.radius) * (one.radius + two.radius) / apart) / 2.0
    leg = _leg(one.radius, back)
    foot = one.center[0] + back * dx / apart
    return [foot - leg * dy / apart, foot + leg * dy / apart]


def _leg(hypotenuse: float, leg: float) -> float:
    return math.sqrt(max(0.0, (hypotenuse - leg) * (hypotenuse + leg)))


@lru_cache(maxsize=2048)
def _reaches(outline: Outline) -> tuple[tuple[float, float, float, float], tuple[_Reach, ...]]:
    """Box of an outline and its pieces, counted so that its own area is positive."""
    sense = 1.0 if area(outline) >= 0.0 else -1.0
    found = []
    for p, q, bulge in segments(outline):
        if abs(bulge) >= arcs.STRAIGHT:
            found += _of_arc((p, q, bulge), sense)
        elif p[0] < q[0]:
            found.append(_Reach(*p, *q, -sense, min(p[1], q[1]), max(p[1], q[1])))
        elif q[0] < p[0]:
            found.append(_Reach(*q, *p, sense, min(p[1], q[1]), max(p[1], q[1])))
    if not found:
        return (math.inf, math.inf, -math.inf, -math.inf), ()
    box = min(r.x0 for r in found), min(r.low for r in found), max(r.x1 for r in found), max(r.high for r in found)
    return box, tuple(found)


def _of_arc(segment: Segment, sense: float) -> list[_Reach]:
    """An arc's upper and lower halves."""
    arc = arcs.arc_of(*segment)
    end = arc.start + arc.sweep
    low, high = min(arc.start, end), max(arc.start, end)
    marks = [low, *(k * math.pi for k in range(math.floor(low / math.pi) + 1, math.ceil(high / math.pi))), high]
    found = []
    for a, b in zip(marks, marks[1:], strict=False):
        half = 1.0 if math.sin(0.5 * (a + b)) > 0.0 else -1.0
        # counter-clockwise, the upper half runs left
        sign = sense * half * (1.0 if arc.sweep > 0.0 else -1.0)
        ends = sorted(
            (arc.center[0] + arc.radius * math.cos(t), arc.center[1] + arc.radius * math.sin(t)) for t in (a, b)
        )
        heights = [y for _, y in ends]
        if ends[0][0] < arc.center[0] < ends[1][0]:
            heights.append(arc.center[1] + half * arc.radius)
        if ends[0][0] < ends[1][0]:
            levels = min(heights), max(heights)
            found.append(_Reach(*ends[0], *ends[1], sign, *levels, arc.center, arc.radius, half))
    return found
