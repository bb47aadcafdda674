"""The formed part as surfaces and edges in space, for pictures: flats carried by their frames, bends swept about their
inside radius. Lengths mm.
"""

import math
from dataclasses import dataclass

from flatgen.core.outline import Outline, contains, flatten
from flatgen.core.points import Frame, Point, Point3, cross, dot, frame_about, frame_after, left, placed, sub, unit
from flatgen.model.blank import BendLine, Blank

CHORDS = 8  # flats that stand for a bend
ROUND = 0.15  # chord error of holes and corners, as a share of the thickness at least


@dataclass(frozen=True, slots=True)
class Surface:
    """A flat piece of surface: closed loops in space, the first the outer one."""

    loops: tuple[tuple[Point3, ...], ...]


@dataclass(frozen=True, slots=True)
class Edge:
    """A curve in space as points; a tangent edge is where flat becomes curve."""

    points: tuple[Point3, ...]
    tangent: bool = False


def solid(blank: Blank) -> tuple[list[Surface], list[Edge]]:
    """Surfaces and edges of the formed part, upper and lower side of every flat and bend, and its walls."""
    t = blank.thickness
    surfaces: list[Surface] = []
    edges: list[Edge] = []
    joined = _joined(blank)
    for face in blank.faces:
        inner = [c for c in blank.cutouts if _within(face.outline, c)]
        chord = max(0.05, ROUND * t)
        loops = [flatten(face.outline, chord), *(flatten(c, chord) for c in inner)]
        top = tuple(tuple(placed(face.frame, (x, y, 0.0)) for x, y in loop) for loop in loops)
        low = tuple(tuple(placed(face.frame, (x, y, -t)) for x, y in loop) for loop in loops)
        surfaces += [Surface(top), Surface(low)]
        for flat, upper, lower in zip(loops, top, low, strict=True):
            n = len(upper)
            smooth = n > 8
            for k in range(n):
                m = (k + 1) % n
                if _on_tangent(flat[k], flat[m], joined):
                    continue  # a bend goes on from here: no wall
                surfaces.append(Surface(((upper[k], upper[m], lower[m], lower[k]),)))
                edges += [Edge((upper[k], upper[m])), Edge((lower[k], lower[m]))]
                if not smooth or _corner(flat, k):
                    edges.append(Edge((upper[k], lower[k])))
    for bend in blank.bends:
        s, e = _bend_shell(blank, bend)
        surfaces += s
        edges += e
    return surfaces, edges


def _joined(blank: Blank) -> list[tuple[Point, Point]]:
    return [tangent for bend in blank.bends for tangent in bend.tangents]


def _on_tangent(p: Point, q: Point, lines: list[tuple[Point, Point]]) -> bool:
    """Whether an edge of a flat lies on a tangent line, so that metal goes on beyond it."""
    for a, b in lines:
        u = unit(sub(b, a))
        if all(abs(cross(u, sub(x, a))) < 1e-5 for x in (p, q)):
            middle = dot(((p[0] + q[0]) / 2 - a[0], (p[1] + q[1]) / 2 - a[1]), u)
            if 0.0 < middle < dot(sub(b, a), u):
                return True
    return False


def _corner(loop: list[Point], k: int) -> bool:
    """Whether the loop turns by more than a chord of a round does."""
    u, v = sub(loop[k], loop[k - 1]), sub(loop[(k + 1) % len(loop)], loop[k])
    return abs(math.atan2(cross(u, v), dot(u, v))) > math.radians(40.0)


def _within(outline: Outline, cutout: Outline) -> bool:
    xs, ys = [v[0] for v in cutout], [v[1] for v in cutout]
    return contains(outline, (math.fsum(xs) / len(xs), math.fsum(ys) / len(ys)))


def _bend_shell(blank: Blank, bend: BendLine) -> tuple[list[Surface], list[Edge]]:
    """The strip between tangent lines, swept: both curved sides as narrow flats, end walls, arcs and tangent edges."""
    t = blank.thickness
    rows = stations(blank, bend)
    surfaces: list[Surface] = []
    edges: list[Edge] = []
    for depth in (0.0, -t):
        rails = [tuple(placed(frame, (*p, depth)) for p in pair) for frame, pair in rows]
        for (a, b), (c, d) in zip(rails, rails[1:], strict=False):
            surfaces.append(Surface(((a, b, d, c),)))
        edges += [Edge(tuple(rail[k] for rail in rails)) for k in (0, 1)]
        edges += [Edge(rails[0], True), Edge(rails[-1], True)]
    for k in (0, 1):
        for (f0, p0), (f1, p1) in zip(rows, rows[1:], strict=False):
            top = placed(f0, (*p0[k], 0.0)), placed(f1, (*p1[k], 0.0))
            low = placed(f1, (*p1[k], -t)), placed(f0, (*p0[k], -t))
            surfaces.append(Surface(((*top, *low),)))
    return surfaces, edges


def stations(blank: Blank, bend: BendLine, shares: tuple[float, ...] = ()) -> list[tuple[Frame, tuple[Point, Point]]]:
    """Frames along the bend with the two ends of the strip there, in blank coordinates drawn back to the tangent."""
    parent = blank.face(bend.parent).frame
    (a, b), (c, d) = bend.tangents
    if dot(sub(b, a), sub(d, c)) < 0:
        c, d = d, c
    u = unit(sub(b, a))
    out = left(u) if dot(sub(c, a), left(u)) > 0 else (-left(u)[0], -left(u)[1])
    strip = dot(sub(c, a), out)
    up = bend.direction == "up"
    axis_z = bend.bent.inside_radius if up else -(bend.bent.inside_radius + blank.thickness)
    # right-handed about the tangent's own direction: lifts the child when it lies to the left of it
    lifts = 1.0 if dot(out, left(u)) > 0 else -1.0
    sign = lifts if up else -lifts
    result = []
    for share in shares or tuple(k / CHORDS for k in range(CHORDS + 1)):
        turn = frame_about((*a, axis_z), (*u, 0.0), sign * bend.angle * share)
        back = (-out[0] * strip * share, -out[1] * strip * share)
        ends = tuple(
            (p[0] + (q[0] - p[0]) * share + back[0], p[1] + (q[1] - p[1]) * share + back[1])
            for p, q in ((a, c), (b, d))
        )
        result.append((frame_after(parent, turn), (ends[0], ends[1])))
    return result
