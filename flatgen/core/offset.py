"""Outlines set off by a distance, arcs staying arcs: where the middle of a round tool runs.

Each segment is set off square to itself, outer corners get an arc about the corner; the raw curves are cut wherever
they meet, pieces nearer to the outline than the distance are dropped, the rest is chained up. Lengths in mm.
"""

import math
from collections.abc import Iterable

from flatgen.core import arcs
from flatgen.core.meets import TOUCH, clear, crossings
from flatgen.core.outline import Outline, Segment, area, distance_to, reversed_outline, segments, tidy
from flatgen.core.points import Point, along, cross, distance, dot, right

SLACK = 1e-6
LET_PASS = 0.02  # metal that a tool leaves and nobody minds [mm]


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
    boxes = [arcs.box(*piece) for piece in raw]
    kept: list[Segment] = []
    for i, piece in enumerate(raw):
        shares = {0.0, 1.0}
        for j, other in enumerate(raw):
            if i == j or clear(boxes[i], boxes[j]):
                continue
            shares.update(min(1.0, max(0.0, arcs.share_of(*piece, x))) for x in crossings(piece, other))
        for part in _cut_at(piece, sorted(shares)):
            if distance_to(outline, arcs.point_at(*part, 0.5)) >= distance - SLACK:
                kept.append(part)
    return [curve for curve in _chained(kept) if abs(area(curve)) > TOUCH]


def _cut_at(segment: Segment, shares: list[float]) -> Iterable[Segment]:
    """Pieces of a segment between rising shares, which begin with 0 and end with 1."""
    p, q, bulge = segment
    size = arcs.length(p, q, bulge)
    if len(shares) == 2 and size > TOUCH:
        yield segment
        return
    marks = [shares[0]]
    for share in shares[1:]:
        if (share - marks[-1]) * size > TOUCH:
            marks.append(share)
    if len(marks) == 1:
        return
    marks[-1] = 1.0
    ends = [p, *(arcs.point_at(p, q, bulge, share) for share in marks[1:-1]), q]
    for i in range(len(marks) - 1):
        yield ends[i], ends[i + 1], arcs.sub_bulge(bulge, marks[i], marks[i + 1])


def _chained(pieces: list[Segment]) -> list[Outline]:
    """Closed outlines from loose segments that meet end to end; at a point where several leave, the sharpest left turn
    is taken, so that outlines that touch in a point come out apart."""
    rest = list(pieces)
    loops: list[Outline] = []
    while rest:
        run = [rest.pop(0)]
        while distance(run[-1][1], run[0][0]) > 10 * TOUCH:
            here = run[-1]
            options = [k for k, piece in enumerate(rest) if distance(piece[0], here[1]) <= 10 * TOUCH]
            if not options:
                run = []
                break
            if len(options) > 1:
                coming = arcs.tangent_at(*here, 1.0)
                options.sort(key=lambda k: -_turn(coming, arcs.tangent_at(*rest[k], 0.0)))
            run.append(rest.pop(options[0]))
        loop = tidy([(*p, b) for p, _, b in run])
        if len(loop) > 1 and abs(area(loop)) > TOUCH:
            loops.append(loop)
    return loops


def _turn(coming: Point, going: Point) -> float:
    return math.atan2(cross(coming, going), dot(coming, going))


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

    step : distance between samples [mm]; misses of less than LET_PASS are let pass
    """
    found: list[tuple[Point, float]] = []
    open_stretch = False
    sides = [side for path in paths for side in segments(path)]
    near = 0  # the side that came near enough last; mostly it does again
    for p, q, bulge in segments(outline):
        count = max(1, math.ceil(arcs.length(p, q, bulge) / step))
        for k in range(count):
            x = arcs.point_at(p, q, bulge, k / count)
            off = math.inf
            if sides and (off := distance(x, arcs.nearest_point(*sides[near], x)) - radius) >= LET_PASS:
                off, near = min((distance(x, arcs.nearest_point(*side, x)) - radius, k) for k, side in enumerate(sides))
            if off < LET_PASS:
                open_stretch = False
                continue
            if not open_stretch:
                found.append((x, off))
            elif off > found[-1][1]:
                found[-1] = (x, off)
            open_stretch = True
    return found
