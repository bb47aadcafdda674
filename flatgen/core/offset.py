"""Outlines set off by a distance, arcs staying arcs: where the middle of a round tool runs.

Each segment is set off square to itself, outer corners get an arc about the corner; the raw curves are cut wherever
they meet, pieces nearer to the outline than the distance are dropped, the rest is chained up. Lengths in mm.
"""

import math

from flatgen.core import arcs
from flatgen.core.clip import TOUCH, bounds_of, chained, crossings, cut_at
from flatgen.core.outline import Outline, Segment, area, distance_to, reversed_outline, segments
from flatgen.core.points import Point, along, cross, dot, right

SLACK = 1e-6


def outset(outline: Outline, distance: float) -> list[Outline]:
    """Curves at a distance outside a counter-clockwise outline; several where it closes a pocket off.

    Outer curves run counter-clockwise, curves round a closed-off pocket clockwise.
    """
    return _set_off(outline, distance)


def inset(outline: Outline, distance: float) -> list[Outline]:
    """Counter-clockwise curves at a distance inside a counter-clockwise outline; none where the tool does not fit."""
    return [reversed_outline(curve) for curve in _set_off(reversed_outline(outline), distance)]


def _set_off(outline: Outline, distance: float) -> list[Outline]:
    """Curves to the right of the way the outline runs."""
    raw = _raw(outline, distance)
    boxes = [bounds_of(piece) for piece in raw]
    kept: list[Segment] = []
    for i, piece in enumerate(raw):
        shares = {0.0, 1.0}
        for j, other in enumerate(raw):
            a, b = boxes[i], boxes[j]
            if i == j or a[2] < b[0] - TOUCH or b[2] < a[0] - TOUCH or a[3] < b[1] - TOUCH or b[3] < a[1] - TOUCH:
                continue
            shares.update(min(1.0, max(0.0, arcs.share_of(*piece, x))) for x in crossings(piece, other))
        for part in cut_at(piece, sorted(shares)):
            if distance_to(outline, arcs.point_at(*part, 0.5)) >= distance - SLACK:
                kept.append(part)
    return [curve for curve in chained(kept) if abs(area(curve)) > TOUCH]


def _raw(outline: Outline, distance: float) -> list[Segment]:
    runs = list(segments(outline))
    pieces: list[Segment] = []
    for k, run in enumerate(runs):
        before = runs[k - 1]
        corner = run[0]
        out_before = right(arcs.tangent_at(*before, 1.0))
        out_after = right(arcs.tangent_at(*run, 0.0))
        turn = math.atan2(cross(out_before, out_after), dot(out_before, out_after))
        if turn > 1e-9:
            start, end = along(corner, out_before, distance), along(corner, out_after, distance)
            pieces.append((start, end, arcs.bulge_of(turn)))
        moved = _moved(run, distance)
        if moved:
            pieces.append(moved)
    return pieces


def _moved(run: Segment, distance: float) -> Segment | None:
    """A segment set off to its right; None for a hollow arc that the distance uses up."""
    p, q, bulge = run
    start = along(p, right(arcs.tangent_at(*run, 0.0)), distance)
    end = along(q, right(arcs.tangent_at(*run, 1.0)), distance)
    if abs(bulge) > arcs.STRAIGHT and bulge < 0 and arcs.arc_of(p, q, bulge).radius <= distance + SLACK:
        return None
    return start, end, bulge


def left_uncut(outline: Outline, paths: list[Outline], radius: float, step: float = 0.25) -> list[tuple[Point, float]]:
    """Places on an outline that a tool on the paths does not reach: worst of each stretch, how far it stays off.

    step : distance between samples [mm]; misses of less than 0.02 mm are let pass
    """
    found: list[tuple[Point, float]] = []
    open_stretch = False
    for p, q, bulge in segments(outline):
        count = max(1, math.ceil(arcs.length(p, q, bulge) / step))
        for k in range(count):
            x = arcs.point_at(p, q, bulge, k / count)
            off = min((distance_to(path, x) for path in paths), default=math.inf) - radius
            if off < 0.02:
                open_stretch = False
                continue
            if not open_stretch:
                found.append((x, off))
            elif off > found[-1][1]:
                found[-1] = (x, off)
            open_stretch = True
    return found
