"""Area that two outlines share, with nothing to decide: it depends on both without a jump, however they lie.

Seen from a level below both, each outline is the sum of the areas under its segments, those that run left counted
positive, those that run right negative. The shared area is therefore the signed sum, over all pairs of segments, of the
area under both. Edges that run together, touch or all but touch need no rule. Lengths in mm, areas in mm².
"""

import math
from functools import lru_cache
from typing import NamedTuple

from flatgen.core import arcs
from flatgen.core.meets import curve_meets
from flatgen.core.outline import Outline, Segment, area, box, segments


class _Reach(NamedTuple):
    """A piece of an outline with one height at every x, from left to right: its ends and bulge, the heights between
    which it stays, and how it counts."""

    x0: float
    y0: float
    x1: float
    y1: float
    bulge: float
    low: float
    high: float
    sign: float

    def segment(self) -> Segment:
        """The piece from left to right."""
        return (self.x0, self.y0), (self.x1, self.y1), self.bulge

    def height(self, x: float) -> float:
        """Height at x."""
        run = self.x1 - self.x0
        share = (x - self.x0) / run
        rise = self.y1 - self.y0
        chord = self.y0 + rise * share
        if self.bulge == 0.0:
            return chord
        # up or down from the chord, where the power in the circle is known, to where it is nought
        power = -share * (1.0 - share) * (run * run + rise * rise)
        center = 0.5 * (self.y0 + self.y1) + run * (1.0 - self.bulge * self.bulge) / (4.0 * self.bulge)
        over = chord - center if self.bulge < 0.0 else center - chord
        reach = math.sqrt(over * over - power)
        away = -power / (over + reach) if over > 0.0 else reach - over
        return chord + away if self.bulge < 0.0 else chord - away

    def under(self, left: float, right: float, base: float) -> float:
        """Area between a base level and the piece, from left to right."""
        if self.bulge == 0.0:
            return (self.height(0.5 * (left + right)) - base) * (right - left)
        p, q = (left, self.height(left)), (right, self.height(right))
        flat = (0.5 * (p[1] + q[1]) - base) * (right - left)
        if left == self.x0 and right == self.x1:
            return flat - arcs.cap_area(p, q, self.bulge)
        share, share_to = (min(1.0, max(0.0, arcs.share_of(*self.segment(), x))) for x in (p, q))
        return flat - arcs.cap_area(p, q, arcs.sub_bulge(self.bulge, share, share_to))


def shared_area(outline: Outline, other: Outline) -> float:
    """Area that two outlines share, exact on arcs [mm²]; both may run either way round."""
    a, b = box(outline), box(other)
    left, right = max(a[0], b[0]), min(a[2], b[2])
    if left >= right or max(a[1], b[1]) >= min(a[3], b[3]):
        return 0.0
    # what lies below all of the other counts as often positive as negative
    mine = [r for r in _reaches(outline) if r.x0 < right and left < r.x1 and r.high > b[1]]
    theirs = [r for r in _reaches(other) if r.x0 < right and left < r.x1 and r.high > a[1]]
    return math.fsum(one.sign * two.sign * _under_both(one, two, b[1]) for one in mine for two in theirs)


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
    return math.fsum(min(one.under(a, b, base), two.under(a, b, base)) for a, b in zip(marks, marks[1:], strict=False))


def _levels(one: _Reach, two: _Reach, left: float, right: float) -> list[float]:
    """Where two pieces change places. A place that is off a little costs only the square of that."""
    if one.bulge == 0.0 and two.bulge == 0.0:
        start, end = (one.height(x) - two.height(x) for x in (left, right))
        return [left + (right - left) * (start / (start - end))] if start * end < 0.0 else []
    return sorted(x for x, _ in curve_meets(one.segment(), two.segment(), 0.0) if left < x < right)


@lru_cache(maxsize=2048)
def _reaches(outline: Outline) -> tuple[_Reach, ...]:
    """Pieces of an outline, counted so that its own area is positive."""
    sense = 1.0 if area(outline) >= 0.0 else -1.0
    found = []
    for segment in segments(outline):
        for p, q, bulge in _level_cut(segment) if segment[2] else (segment,):
            if p[0] == q[0]:
                continue
            ends, sign = ((*p, *q, bulge), -sense) if p[0] < q[0] else ((*q, *p, -bulge), sense)
            low, high = (p[1], q[1]) if p[1] < q[1] else (q[1], p[1])
            if bulge:
                _, low, _, high = arcs.box(p, q, bulge)
            found.append(_Reach(*ends, low, high, sign))
    return tuple(found)


def _level_cut(segment: Segment) -> list[Segment]:
    """A segment cut where it runs plumb, so that each piece has one height at every x."""
    p, q, bulge = segment
    if abs(bulge) < arcs.STRAIGHT:
        return [(p, q, 0.0)]
    (x, y), radius, start, sweep = arcs.arc_of(p, q, bulge)
    shares, points = [0.0], [p]
    turns = sorted((k * math.pi - start) / sweep for k in range(-3, 4))
    for share in turns:
        if 0.0 < share < 1.0:
            shares.append(share)
            points.append((x + math.copysign(radius, math.cos(start + share * sweep)), y))
    shares.append(1.0)
    points.append(q)
    return [(points[k], points[k + 1], arcs.sub_bulge(bulge, shares[k], shares[k + 1])) for k in range(len(points) - 1)]
