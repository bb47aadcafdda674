"""Two outlines joined at every place where they meet, and cut there into pieces that are chained up again.

``core.clip`` tells how, and takes from this what it cuts. Lengths mm.
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from flatgen.core import arcs
from flatgen.core.meets import TOUCH, Box, clear, curve_meets, on
from flatgen.core.outline import (
    Outline,
    Segment,
    area,
    bounds,
    box,
    contains,
    tidy,
    turns,
)
from flatgen.core.points import Point, cross, distance, dot, sub

NO_AREA = 1e-9  # mm²
LARGE = 1e4  # mm, radius from which on the centre of a flat arc is too far off to tell anything by


class _Piece(NamedTuple):
    """Part of a segment between two nodes."""

    start: int
    end: int
    bulge: float


@lru_cache(maxsize=2048)
def boxed_sides(outline: Outline) -> tuple[tuple[Segment, Box], ...]:
    """Segments of an outline with their boxes."""
    found = []
    x, y, bulge = outline[-1]
    for x2, y2, following in outline:
        p, q = (x, y), (x2, y2)
        if bulge:
            own = arcs.box(p, q, bulge)
        else:
            own = (x if x < x2 else x2, y if y < y2 else y2, x2 if x < x2 else x, y2 if y < y2 else y)
        found.append(((p, q, bulge), own))
        x, y, bulge = x2, y2, following
    return (*found[1:], found[0])


class Joined:
    """An outline and others as pieces between common nodes; the others stand clear of one another.

    Nodes are the corners of the first, of the others, then the crossings.
    """

    def __init__(self, first: Outline, others: Sequence[Outline], near: float) -> None:
        """Join an outline with others at all places nearer than a nearness [mm]."""
        self.near = near
        self.first, self.others = first, others
        self.points: list[Point] = [v[:2] for outline in (first, *others) for v in outline]
        self.same = list(range(len(self.points)))
        self.segments = (boxed_sides(first), tuple(segment for other in others for segment in boxed_sides(other)))
        # nodes at the ends of each segment
        rings = []
        start = len(first)
        for other in others:
            rings.append(_ring(start, len(other)))
            start += len(other)
        self.corners = (_ring(0, len(first)), [ends for ring in rings for ends in ring])
        self.starts = [ring[0][0] for ring in rings]
        # nodes upon each segment of each outline
        self.upon: tuple[dict[int, list[int]], dict[int, list[int]]] = (defaultdict(list), defaultdict(list))
        self._meet_all()
        self._pass_on()
        self._merge_close()
        self.pieces = tuple(self._divided(k) for k in (0, 1))
        ends = [{node for piece in pieces for node in piece[:2]} for pieces in self.pieces]
        self.common = ends[0] & ends[1]
        self.with_other = self._running_together()

    def _node(self, k: int) -> int:
        """The node that stands for this one."""
        same = self.same
        while same[k] != k:
            k = same[k]
        return k

    def _unite(self, a: int, b: int) -> None:
        a, b = self._node(a), self._node(b)
        self.same[max(a, b)] = min(a, b)

    def _meet_all(self) -> None:
        whole, other_whole = box(self.first), bounds(self.others)
        others = [(j, b, near) for j, (b, near) in enumerate(self.segments[1]) if not clear(near, whole)]
        for i, (a, own) in enumerate(self.segments[0]):
            if clear(own, other_whole):
                continue
            for j, b, their in others:
                if not clear(own, their) and not _miss(a, own, b, their, self.near):
                    self._meet(i, a, own, j, b, their)

    def _meet(self, i: int, a: Segment, box_a: Box, j: int, b: Segment, box_b: Box) -> None:
        """Make nodes of the places where two segments meet."""
        near = self.near
        ends_a, ends_b = self.corners[0][i], self.corners[1][j]
        touched = False
        for node, x in zip(ends_b, b[:2], strict=True):
            if not _in_box(box_a, x, near):
                continue
            own = [k for k, y in zip(ends_a, a[:2], strict=True) if distance(x, y) <= near]
            if own:
                self._unite(own[0], node)
                touched = True
            elif on(a, x, near):
                self.upon[0][i].append(node)
                touched = True
        for node, x in zip(ends_a, a[:2], strict=True):
            if _in_box(box_b, x, near) and distance(x, b[0]) > near and distance(x, b[1]) > near and on(b, x, near):
                self.upon[1][j].append(node)
                touched = True
        if a[2] == 0.0 and b[2] == 0.0:
            # lines meet once: at the end that touches, or where each has its ends on both sides of the other
            found = [] if touched else _line_crossing(a, b)
        else:
            found = [
                x
                for x in curve_meets(a, b, near)
                if _in_box(box_a, x, near)
                and _in_box(box_b, x, near)
                and (not a[2] or 0.0 <= arcs.share_of(*a, x) <= 1.0)
                and (not b[2] or 0.0 <= arcs.share_of(*b, x) <= 1.0)
                and not any(distance(x, y) <= near for y in (*a[:2], *b[:2]))
            ]
        for x in found:
            node = len(self.points)
            self.points.append(x)
            self.same.append(node)
            self.upon[0][i].append(node)
            self.upon[1][j].append(node)

    def _pass_on(self) -> None:
        """Put every node upon all segments that run through it: edges of a blank may run along one another (a slit)."""
        met = {node for upon in self.upon for nodes in upon.values() for node in nodes}
        met |= {one for k, to in enumerate(self.same) if k != to for one in (k, to)}
        places = [(node, self.points[node]) for node in met]
        near = self.near
        for which in (0, 1):
            for k, (segment, own) in enumerate(self.segments[which]):
                x0, y0, x1, y1 = own[0] - near, own[1] - near, own[2] + near, own[3] + near
                for node, x in places:
                    if not (x0 <= x[0] <= x1 and y0 <= x[1] <= y1) or node in self.upon[which].get(k, ()):
                        continue
                    ends = [self._node(end) for end in self.corners[which][k]]
                    if self._node(node) not in ends and on(segment, x, near):
                        self.upon[which][k].append(node)

    def _merge_close(self) -> None:
        """Nodes on one segment that are nearer than ``near`` become one."""
        for which in (0, 1):
            for k, nodes in self.upon[which].items():
                segment = self.segments[which][k][0]
                start, end = self.corners[which][k]
                if len(nodes) > 1:
                    nodes.sort(key=lambda node: arcs.share_of(*segment, self.points[node]))
                row = [start, *nodes, end]
                for one, two in zip(row, row[1:], strict=False):
                    if distance(self.points[one], self.points[two]) <= self.near:
                        self._unite(one, two)

    def _divided(self, which: int) -> list[_Piece]:
        """Pieces of one outline in order."""
        found = []
        same, upon = self.same, self.upon[which]
        for k, (segment, _) in enumerate(self.segments[which]):
            start, end = self.corners[which][k]
            if same[start] != start or same[end] != end:
                start, end = self._node(start), self._node(end)
            bulge = segment[2]
            nodes = upon.get(k)
            if not nodes:
                if start != end or bulge != 0.0:
                    found.append(_Piece(start, end, bulge))
                continue
            here, share = start, 0.0
            for node in nodes:
                to = self._node(node)
                if to != here and to != start and to != end:
                    reached = arcs.share_of(*segment, self.points[node])
                    found.append(_Piece(here, to, arcs.sub_bulge(bulge, share, reached)))
                    here, share = to, reached
            if here != end or (here == start and bulge != 0.0):
                found.append(_Piece(here, end, arcs.sub_bulge(bulge, share, 1.0)))
        return found

    def _running_together(self) -> tuple[dict[_Piece, list[bool]], dict[_Piece, list[bool]]]:
        """Pieces of each outline that run with some of the other, with whether each goes the same way."""
        theirs = defaultdict(list)
        for piece in self.pieces[1]:
            if piece.start in self.common and piece.end in self.common:
                theirs[piece.start, piece.end].append(piece)
        found: tuple[dict[_Piece, list[bool]], dict[_Piece, list[bool]]] = (defaultdict(list), defaultdict(list))
        for mine in self.pieces[0]:
            for alike, key in ((True, (mine.start, mine.end)), (False, (mine.end, mine.start))):
                for piece in theirs.get(key, ()):
                    if self._coincide(mine, piece):
                        found[0][mine].append(alike)
                        found[1][piece].append(alike)
        return found

    def _coincide(self, one: _Piece, two: _Piece) -> bool:
        if one.bulge == 0.0 and two.bulge == 0.0:
            return True
        middles = (arcs.point_at(*self._segment(piece), 0.5) for piece in (one, two))
        return distance(*middles) <= 4.0 * self.near

    def _segment(self, piece: _Piece) -> Segment:
        return self.points[piece.start], self.points[piece.end], piece.bulge

    def first_kept(self, *, inside: bool) -> list[_Piece]:
        """Pieces of the first outline inside, or outside, the second. Those that run with it count as inside where both
        go the same way, since both then have what they enclose on the same side."""
        found = []
        within: bool | None = None
        for piece in self.pieces[0]:
            together = self.with_other[0].get(piece)
            if together:
                within = None
                if together[0] is inside:
                    found.append(piece)
                continue
            if within is None or piece.start in self.common:
                middle = arcs.point_at(*self._segment(piece), 0.5)
                within = any(_in_box(box(other), middle, 0.0) and contains(other, middle) for other in self.others)
            if within is inside:
                found.append(piece)
        return found

    def second_kept(self, *, inside: bool) -> list[_Piece]:
        """Pieces of the second outline in the first, as often as that lies over itself there; run backward for what is
        outside the second. Of those that run with the first only what its own pieces do not bound already."""
        found = []
        within: int | None = None
        starts = {self._node(start) for start in self.starts}
        for piece in self.pieces[1]:
            together = self.with_other[1].get(piece)
            if together:
                within = None
                count = turns(self.first, self._beside(piece, inside)) - together.count(inside)
            else:
                if within is None or piece.start in self.common or piece.start in starts:
                    within = turns(self.first, arcs.point_at(*self._segment(piece), 0.5))
                count = within
            found += [piece if inside else _Piece(piece.end, piece.start, -piece.bulge)] * count
        return found

    def _beside(self, piece: _Piece, left: bool) -> Point:
        """Point a hair to the left or right of a piece's middle."""
        segment = self._segment(piece)
        x, y = arcs.point_at(*segment, 0.5)
        ux, uy = arcs.tangent_at(*segment, 0.5)
        off = 8.0 * self.near if left else -8.0 * self.near
        return x - off * uy, y + off * ux

    def loops(self, kept: list[_Piece]) -> list[tuple[float, Outline]] | None:
        """Closed outlines from pieces, with areas [mm²]; None when not as many arrive at every node as leave it.

        At a node where several leave, the sharpest left turn is taken, so that outlines that touch in a point come
        out apart.
        """
        leaving: dict[int, list[_Piece]] = defaultdict(list)
        balance: dict[int, int] = defaultdict(int)
        for piece in kept:
            leaving[piece.start].append(piece)
            balance[piece.start] += 1
            balance[piece.end] -= 1
        if any(balance.values()):
            return None
        found = []
        for first in kept:
            if first not in leaving[first.start]:
                continue
            leaving[first.start].remove(first)
            run = [first]
            while run[-1].end != first.start:
                run.append(self._next(run[-1], leaving))
            loop = tidy([(*self.points[piece.start], piece.bulge) for piece in run])
            if len(loop) > 1 and abs(size := area(loop)) > NO_AREA:
                found.append((size, loop))
        return found

    def _next(self, coming: _Piece, leaving: dict[int, list[_Piece]]) -> _Piece:
        """Take away the piece to go on with."""
        options = leaving[coming.end]
        going = options[0] if len(options) == 1 else max(options, key=lambda to: self._left(coming, to))
        options.remove(going)
        return going

    def _left(self, coming: _Piece, going: _Piece) -> float:
        """Angle by which the way turns to the left at the node between two pieces [rad].

        Seen from a little way off, so that curves that touch the same line still turn differently.
        """
        before, after = self._segment(coming), self._segment(going)
        sizes = arcs.length(*before), arcs.length(*after)
        step = 1e-3 * min(sizes)
        here = after[0]
        u = sub(here, arcs.point_at(*before, 1.0 - step / sizes[0]))
        v = sub(arcs.point_at(*after, step / sizes[1]), here)
        return math.atan2(cross(u, v), dot(u, v))


def _ring(start: int, count: int) -> list[tuple[int, int]]:
    """Numbers of neighbouring corners of an outline, all the way round."""
    return [(start + k, start + (k + 1) % count) for k in range(count)]


def _in_box(box_: Box, x: Point, near: float) -> bool:
    return box_[0] - near <= x[0] <= box_[2] + near and box_[1] - near <= x[1] <= box_[3] + near


def _miss(a: Segment, own: Box, b: Segment, their: Box, near: float) -> bool:
    """Whether two segments whose boxes overlap clearly do not meet, as a quick look tells."""
    if a[2]:
        return _inside(a, own, their, near) or (not b[2] and _aside(b, a, near))
    if b[2]:
        return _inside(b, own, their, near) or _aside(a, b, near)
    return _aside(a, b, near) or _aside(b, a, near)


def _inside(arc: Segment, one: Box, two: Box, near: float) -> bool:
    """Whether all that two boxes share lies clearly inside an arc's circle, where the arc itself is not."""
    (x, y), radius, *_ = arcs.arc_of(*arc)
    if radius > LARGE:
        return False
    left, right = (one[0] if one[0] > two[0] else two[0]) - x, (one[2] if one[2] < two[2] else two[2]) - x
    low, high = (one[1] if one[1] > two[1] else two[1]) - y, (one[3] if one[3] < two[3] else two[3]) - y
    # boxes that stand apart by a hair share a place between them; their nearness is allowed for with TOUCH
    return math.hypot(max(abs(left), abs(right)), max(abs(low), abs(high))) + 2.0 * TOUCH + near < radius


def _aside(a: Segment, b: Segment, near: float) -> bool:
    """Whether a line has another segment's line, or its circle, clearly on one side."""
    (px, py), (qx, qy), _ = a
    ux, uy = qx - px, qy - py
    least = near * math.hypot(ux, uy)
    if b[2]:
        (x, y), radius, *_ = arcs.arc_of(*b)
        return radius < LARGE and abs(ux * (y - py) - uy * (x - px)) > least + radius * math.hypot(ux, uy)
    (rx, ry), (sx, sy), _ = b
    of_r, of_s = ux * (ry - py) - uy * (rx - px), ux * (sy - py) - uy * (sx - px)
    return (of_r > least and of_s > least) or (of_r < -least and of_s < -least)


def _line_crossing(a: Segment, b: Segment) -> list[Point]:
    """Where two straight segments cross, each with its ends on both sides of the other."""
    (p, q, _), (r, s, _) = a, b
    u, v = sub(q, p), sub(s, r)
    of_r, of_s = cross(u, sub(r, p)), cross(u, sub(s, p))
    of_p, of_q = cross(v, sub(p, r)), cross(v, sub(q, r))
    if of_r * of_s >= 0.0 or of_p * of_q >= 0.0:
        return []
    share = of_p / (of_p - of_q)
    return [(p[0] + share * u[0], p[1] + share * u[1])]
