"""One outline taken from another, and the area two outlines share; lines and arcs stay exact.

Each curve is cut wherever the other meets it; a piece is kept or dropped by where its middle lies; the kept pieces are
chained up again. Shared edges are decided by their direction. Lengths in mm.
"""

import math
from collections.abc import Iterable
from functools import lru_cache

from flatgen.core import arcs
from flatgen.core.outline import (
    Outline,
    Segment,
    area,
    contains,
    counter_clockwise,
    reversed_outline,
    segments,
    tidy,
)
from flatgen.core.points import Point, along, cross, distance, dot, sub, unit

TOUCH = 1e-7


Box = tuple[float, float, float, float]


@lru_cache(maxsize=2048)
def _boxed(outline: Outline) -> tuple[Box, tuple[tuple[Segment, Box], ...]]:
    """Box of an outline, and its segments with theirs."""
    runs = tuple((segment, bounds_of(segment)) for segment in segments(outline))
    boxes = [box for _, box in runs]
    whole = (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))
    return whole, runs


@lru_cache(maxsize=2048)
def _clean(outline: Outline) -> Outline:
    """Counter-clockwise and without segments of no length; kept, since one tool often trims many outlines."""
    return counter_clockwise(tidy(outline))


def _clear(a: Box, b: Box) -> bool:
    """Whether two boxes stand apart."""
    return a[2] < b[0] - TOUCH or b[2] < a[0] - TOUCH or a[3] < b[1] - TOUCH or b[3] < a[1] - TOUCH


def _relation(outline: Outline, other: Outline) -> str:
    """How two outlines lie whose curves cannot meet: "apart", "within" (the other in this one), "around"; else ""."""
    whole, runs = _boxed(outline)
    other_whole, other_runs = _boxed(other)
    if _clear(whole, other_whole):
        return "apart"
    near = [box for _, box in other_runs if not _clear(box, whole)]
    for _, box in runs:
        if not _clear(box, other_whole) and not all(_clear(box, their) for their in near):
            return ""
    if contains(outline, other[0][:2]):
        return "within"
    return "around" if contains(other, outline[0][:2]) else "apart"


def difference(outline: Outline, tool: Outline) -> list[Outline]:
    """What is left of an outline when the tool is taken away: outer curves counter-clockwise, windows clockwise."""
    relation = _relation(outline, tool)
    if relation:
        whole = counter_clockwise(outline)
        hole = reversed_outline(counter_clockwise(tool))
        return {"apart": [whole], "within": [whole, hole], "around": []}[relation]
    outline, tool = _clean(outline), _clean(tool)
    kept = _pieces(outline, tool, keep_inside=False, keep_same=False)
    kept += [_reverse(piece) for piece in _pieces(tool, outline, keep_inside=True, keep_same=None)]
    return chained(kept)


def intersection(outline: Outline, other: Outline) -> list[Outline]:
    """What two outlines share."""
    relation = _relation(outline, other)
    if relation:
        shared = {"apart": [], "within": [other], "around": [outline]}[relation]
        return [counter_clockwise(one) for one in shared]
    outline, other = _clean(outline), _clean(other)
    kept = _pieces(outline, other, keep_inside=True, keep_same=True)
    kept += _pieces(other, outline, keep_inside=True, keep_same=None)
    return chained(kept)


def shared_area(outline: Outline, other: Outline) -> float:
    """Area that two outlines share [mm²]."""
    return sum(area(piece) for piece in intersection(outline, other))


def crossings(first: Segment, second: Segment) -> list[Point]:
    """Points where two segments meet, ends of one upon the other and ends of shared runs included."""
    points = [x for x in _curve_meets(first, second) if _on(first, x) and _on(second, x)]
    points += [end for end in first[:2] if _on(second, end)]
    points += [end for end in second[:2] if _on(first, end)]
    return points


def self_crossings(outline: Outline) -> list[Point]:
    """Points where an outline meets itself other than at its own corners."""
    runs = list(segments(outline))
    boxes = [bounds_of(run) for run in runs]
    found = []
    for i, run in enumerate(runs):
        for j in range(i + 1, len(runs)):
            a, b = boxes[i], boxes[j]
            if a[2] < b[0] - TOUCH or b[2] < a[0] - TOUCH or a[3] < b[1] - TOUCH or b[3] < a[1] - TOUCH:
                continue
            joined = [run[1]] if j == i + 1 else []
            if i == 0 and j == len(runs) - 1:
                joined.append(run[0])
            for x in crossings(run, runs[j]):
                if all(distance(x, corner) > 10 * TOUCH for corner in joined):
                    found.append(x)
    return found


def bounds_of(segment: Segment) -> tuple[float, float, float, float]:
    """Least and greatest x and y of one segment [mm]."""
    p, q, bulge = segment
    if bulge == 0.0:
        return min(p[0], q[0]), min(p[1], q[1]), max(p[0], q[0]), max(p[1], q[1])
    points = arcs.extremes(p, q, bulge)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _on(segment: Segment, x: Point) -> bool:
    p, q, bulge = segment
    if bulge == 0.0:
        ux, uy, vx, vy = q[0] - p[0], q[1] - p[1], x[0] - p[0], x[1] - p[1]
        if not (min(0.0, ux) - TOUCH <= vx <= max(0.0, ux) + TOUCH):
            return False
        share = (ux * vx + uy * vy) / (ux * ux + uy * uy)
        share = min(1.0, max(0.0, share))
        return math.hypot(vx - share * ux, vy - share * uy) <= TOUCH
    arc = arcs.arc_of(p, q, bulge)
    if abs(distance(arc.center, x) - arc.radius) > TOUCH:
        return False
    return distance(arcs.nearest_point(p, q, bulge, x), x) <= TOUCH


def _curve_meets(first: Segment, second: Segment) -> list[Point]:
    """Where the unbounded lines or full circles of two segments meet."""
    p, q, b = first
    r, s, c = second
    if b == 0.0 and c == 0.0:
        u, v = sub(q, p), sub(s, r)
        denominator = cross(u, v)
        if abs(denominator) <= 1e-12 * math.hypot(*u) * math.hypot(*v):
            return []
        return [along(p, u, cross(sub(r, p), v) / denominator)]
    if b == 0.0:
        return _line_circle(p, q, arcs.arc_of(r, s, c))
    if c == 0.0:
        return _line_circle(r, s, arcs.arc_of(p, q, b))
    return _circle_circle(arcs.arc_of(p, q, b), arcs.arc_of(r, s, c))


def _line_circle(p: Point, q: Point, arc: arcs.Arc) -> list[Point]:
    u = unit(sub(q, p))
    foot = along(p, u, dot(sub(arc.center, p), u))
    away = distance(foot, arc.center)
    if away > arc.radius + TOUCH:
        return []
    half = math.sqrt(max(0.0, arc.radius**2 - away**2))
    return [along(foot, u, -half), along(foot, u, half)]


def _circle_circle(a: arcs.Arc, b: arcs.Arc) -> list[Point]:
    apart = distance(a.center, b.center)
    if apart < 1e-9 or apart > a.radius + b.radius + TOUCH or apart < abs(a.radius - b.radius) - TOUCH:
        return []
    u = unit(sub(b.center, a.center))
    back = (apart**2 + a.radius**2 - b.radius**2) / (2.0 * apart)
    half = math.sqrt(max(0.0, a.radius**2 - back**2))
    foot = along(a.center, u, back)
    return [along(foot, (-u[1], u[0]), half), along(foot, (-u[1], u[0]), -half)]


def _pieces(outline: Outline, other: Outline, *, keep_inside: bool, keep_same: bool | None) -> list[Segment]:
    """Pieces of an outline inside (or outside) the other; runs they share are kept where their direction agrees with
    ``keep_same`` (None: never)."""
    kept: list[Segment] = []
    _, others = _boxed(other)
    inside: bool | None = None  # of the piece before, while nothing of the other outline lay between
    for segment, box in _boxed(outline)[1]:
        shares = {0.0, 1.0}
        x0, y0, x1, y1 = box[0] - TOUCH, box[1] - TOUCH, box[2] + TOUCH, box[3] + TOUCH
        near = [
            (their, theirs)
            for their, theirs in others
            if x0 <= theirs[2] and theirs[0] <= x1 and y0 <= theirs[3] and theirs[1] <= y1
        ]
        for their, _ in near:
            for x in crossings(segment, their):
                shares.add(min(1.0, max(0.0, arcs.share_of(*segment, x))))
        for piece in cut_at(segment, sorted(shares)):
            middle = arcs.point_at(*piece, 0.5)
            at = (*middle, *middle)
            on = next((their for their, theirs in near if not _clear(at, theirs) and _on(their, middle)), None)
            if on is not None:
                inside = None
                if keep_same is not None:
                    ours = arcs.tangent_at(*piece, 0.5)
                    theirs_way = arcs.tangent_at(*on, arcs.share_of(*on, middle))
                    if (dot(ours, theirs_way) > 0) == keep_same:
                        kept.append(piece)
                continue
            if near or inside is None:
                inside = contains(other, middle)
            if inside == keep_inside:
                kept.append(piece)
    return kept


def cut_at(segment: Segment, shares: list[float]) -> Iterable[Segment]:
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


def _reverse(segment: Segment) -> Segment:
    return segment[1], segment[0], -segment[2]


def chained(pieces: list[Segment]) -> list[Outline]:
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


def without(outline: Outline, tools: Iterable[Outline]) -> tuple[list[Outline], list[Outline]]:
    """An outline less several tools: the outer curves left (normally one), and the windows made in them.

    Both lists run counter-clockwise.
    """
    outers, windows = [_clean(outline)], []
    for tool in tools:
        next_outers: list[Outline] = []
        for outer in outers:
            if _clear(_boxed(outer)[0], _boxed(tool)[0]):
                next_outers.append(outer)
                continue
            for loop in difference(outer, tool):
                if area(loop) > 0:
                    next_outers.append(loop)
                else:
                    windows.append(counter_clockwise(loop))
        outers = next_outers
    return outers, windows
