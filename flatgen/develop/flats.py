"""The flat that is left of each face between its tangent lines, with the places where bends join on.

Each edge that carries a bend is drawn in by the bend's setback; neighbouring edges follow. All in the face's own axes,
in mm.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from flatgen.core import arcs
from flatgen.core.outline import SAME_POINT, Outline, Vertex, clipped, rounded
from flatgen.core.points import Point, along, cross, distance, dot, line_crossing, right, sub, unit
from flatgen.develop.runs import EdgeRun, FlatRun, edge_run
from flatgen.develop.setback import Setback, setback
from flatgen.develop.skirts import SQUARE, Ends, skirt_outline
from flatgen.develop.tabs import with_tab
from flatgen.errors import CannotMake
from flatgen.model.part import SKIRT_EDGES, Bend, Corner, Face, Part
from flatgen.said import fine, said, size

ON = 1e-6
# what rounding alone makes of two equal points [mm]; a step left out turns the tangent line after it by as much
STEP = 1e-12
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Joint:
    """A bend seen from one of its two faces: the edge it is on, the setback there, the span in the edge's run."""

    bend: Bend
    of_parent: bool
    edge: int
    setback: float
    span: tuple[float, float] | None
    grown: float = 0.0  # setback beyond that of the drawing's radius


@dataclass(frozen=True, slots=True)
class Flat:
    """A face drawn in to its tangent lines. ``outline`` is as described (mould lines); spans are those of its bends."""

    face: str
    outline: Outline
    runs: tuple[FlatRun, ...]
    edges: tuple[str, ...]
    spans: Mapping[str, tuple[float, float]]

    def flat_outline(self) -> Outline:
        """The flat as a closed outline."""
        return tuple((*run.start, run.bulge) for run in self.runs)


def flat_of(
    part: Part,
    face: Face,
    setbacks: Mapping[str, Setback],
    arriving: tuple[float, float] | None,
    ends: Ends = SQUARE,
) -> Flat:
    """Flat of one face. ``setbacks`` are those of each bend; ``arriving`` is the span at which the bend to the parent
    meets this face, None for the base; ``ends`` are the cuts that mitre a flange.

    Raises CannotMake where the setbacks leave nothing of an edge.
    """
    outline, edges = face.outline, face.edges
    if face.skirt is not None:
        assert arriving is not None
        outline, edges = skirt_outline(face, arriving, ends), SKIRT_EDGES
        # a mitred flange is bent over its whole width, which the cut decides
        low, high = arriving
        arriving = (-math.inf if ends[0] else low, math.inf if ends[1] else high)
    joints = _joints(part, face, edges, setbacks, arriving)
    levels = _levels(edges, joints)
    drawn_in = _drawn_in(part, face, outline, edges, levels)
    chains = _with_corners(part, face, edges, drawn_in)
    runs, spans = _runs(part, face, outline, (chains, levels, joints))
    found = tuple(runs)
    for tab in part.tabs:
        if tab.face == face.id:
            k = edges.index(tab.edge)
            found = with_tab(part, tab, found, edge_run(outline, k), levels[k])
    return Flat(face.id, outline, found, edges, spans)


def _runs(
    part: Part, face: Face, outline: Outline, drawn: tuple[list[list[Vertex]], list[float], list[Joint]]
) -> tuple[list[FlatRun], dict[str, Span]]:
    """The flat's edge run by run, and where each bend joins on; ``drawn`` has its corners, levels and joints."""
    points, levels, joints = drawn
    runs: list[FlatRun] = []
    spans: dict[str, Span] = {}
    # a larger nose than the drawing's draws neighbouring edges in: a span that ended at the drawn flat ends there too
    slack = 1e-4 + 4.0 * max((0.0, *(joint.grown for joint in joints)))
    for k, chain in enumerate(points):
        for one, two in zip(chain, chain[1:], strict=False):
            runs.append(FlatRun(one[:2], two[:2], one[2]))
        start, end = chain[-1], points[(k + 1) % len(points)][0]
        here = [joint for joint in joints if joint.edge == k]
        if here:
            edge = _Edge(part, face, edge_run(outline, k), start[:2], end[:2], levels[k])
            on_it = _spans_on(edge, here, slack)
            spans |= {joint.bend.id: span for span, joint in on_it}
            runs.extend(_along(edge, on_it))
        elif distance(start[:2], end[:2]) > STEP:
            runs.append(FlatRun(start[:2], end[:2], start[2]))
    return runs, spans


def _joints(
    part: Part,
    face: Face,
    edges: tuple[str, ...],
    setbacks: Mapping[str, Setback],
    arriving: tuple[float, float] | None,
) -> list[Joint]:
    joints = []
    for bend in part.bends:
        if face.id not in (bend.parent, bend.child):
            continue
        if bend.parent == face.id and face.skirt is None and face.outline[edges.index(bend.parent_edge)][2]:
            raise CannotMake(
                f'part "{part.id}": flange "{bend.child}" stands on edge "{bend.parent_edge}" of "{face.id}", which is'
                " an arc; a bend wants a straight edge",
                bend.child,
                "on",
            )
        drawn = setback(bend.angle, bend.radius, part.thickness)
        if bend.parent == face.id:
            back = setbacks[bend.id].of(bend, True)
            grown = back - drawn.of(bend, True)
            joints.append(Joint(bend, True, edges.index(bend.parent_edge), back, bend.span, grown))
        if bend.child == face.id:
            back = setbacks[bend.id].of(bend, False)
            grown = back - drawn.of(bend, False)
            joints.append(Joint(bend, False, edges.index(bend.child_edge), back, arriving, grown))
    return joints


def _levels(edges: tuple[str, ...], joints: list[Joint]) -> list[float]:
    """How far each edge as a whole is drawn in: as far as the deepest bend on it, or not at all beside a tab."""
    levels = [0.0] * len(edges)
    for joint in joints:
        whole = joint.span is None or not joint.of_parent or joint.bend.beside == "tangent"
        if whole:
            levels[joint.edge] = max(levels[joint.edge], joint.setback)
    return levels


def _drawn_in(part: Part, face: Face, outline: Outline, edges: tuple[str, ...], levels: list[float]) -> list[Vertex]:
    """Corners of the outline after each straight edge has moved in by its level."""
    n = len(outline)
    lines: list[tuple[Point, Point] | arcs.Arc] = []
    for k in range(n):
        p, q, bulge = outline[k][:2], outline[(k + 1) % n][:2], outline[k][2]
        if abs(bulge) >= arcs.STRAIGHT:
            lines.append(arcs.arc_of(p, q, bulge))
            continue
        way = unit(sub(q, p))
        lines.append((along(p, right(way), -levels[k]), way))
    corners = []
    for k in range(n):
        before, here = lines[k - 1], lines[k]
        if levels[k - 1] == 0.0 and levels[k] == 0.0:
            corners.append(outline[k][:2])
            continue
        corners.append(_meeting(part, face, before, here, outline[k][:2]))
    result: list[Vertex] = []
    for k in range(n):
        line = lines[k]
        p, q = corners[k], corners[(k + 1) % n]
        if isinstance(line, arcs.Arc):
            same = p == outline[k][:2] and q == outline[(k + 1) % n][:2]
            bulge = outline[k][2] if same else arcs.bulge_through(p, q, line.center, line.sweep > 0)
            result.append((*p, bulge))
            continue
        if dot(sub(q, p), line[1]) < -ON:
            raise _no_flat(part, face, edges[k], -dot(sub(q, p), line[1]))
        result.append((*p, 0.0))
    return result


def _no_flat(part: Part, face: Face, edge: str, over: float) -> CannotMake:
    """That bends leave less than nothing of an edge, and what to make larger."""
    if face.skirt is not None and edge in (SKIRT_EDGES[1], SKIRT_EDGES[3]):
        high = edge == SKIRT_EDGES[1]
        need = (face.skirt.height_high if high else face.skirt.height_low) + over
        return CannotMake(
            said(
                f'part "{part.id}": flange "{face.id}" is no higher than its bends take; make it more than ',
                fine(need),
                " high",
            ),
            face.id,
            "height_high" if high and face.skirt.height_high != face.skirt.height_low else "height",
        )
    return CannotMake(
        said(
            f'part "{part.id}": the bends beside edge "{edge}" of face "{face.id}" leave no flat: it comes out ',
            size(over),
            " less than nothing; make the face larger",
        )
    )


def _meeting(
    part: Part, face: Face, before: tuple[Point, Point] | arcs.Arc, here: tuple[Point, Point] | arcs.Arc, near: Point
) -> Point:
    """Where two neighbouring sides meet after moving, the solution nearest to the old corner."""
    if isinstance(before, arcs.Arc) and isinstance(here, arcs.Arc):
        return near
    if isinstance(before, arcs.Arc) or isinstance(here, arcs.Arc):
        arc = before if isinstance(before, arcs.Arc) else here
        line = here if isinstance(before, arcs.Arc) else before
        assert isinstance(arc, arcs.Arc) and not isinstance(line, arcs.Arc)
        p, way = line
        foot = along(p, way, dot(sub(arc.center, p), way))
        rest = arc.radius**2 - distance(foot, arc.center) ** 2
        if rest < 0:
            raise CannotMake(f'part "{part.id}": an arc of face "{face.id}" ends within the bend beside it')
        options = [along(foot, way, rest**0.5), along(foot, way, -(rest**0.5))]
        return min(options, key=lambda x: distance(x, near))
    meeting = line_crossing(before[0], before[1], here[0], here[1])
    if meeting is not None:
        return meeting
    # two sides in one line: both were moved alike, or the corner between them has to step
    if abs(cross(before[1], sub(here[0], before[0]))) > ON:
        raise CannotMake(
            f'part "{part.id}": two sides of face "{face.id}" lie in one line and carry bends of different radius;'
            " put a relief between them and give each bend its span on one side"
        )
    return here[0]


def _with_corners(part: Part, face: Face, edges: tuple[str, ...], drawn_in: list[Vertex]) -> list[list[Vertex]]:
    """Each corner as the chain of points that replaces it: itself, or the two ends of its round or clip."""
    chains = [[vertex] for vertex in drawn_in]
    outline = tuple(drawn_in)
    for corner in face.corners:
        k = corner_index(part, face, edges, corner)
        if corner.size <= SAME_POINT:
            continue  # too small to have two ends
        try:
            if corner.kind == "round":
                shaped = rounded(outline, k, corner.size)
            else:
                other = corner.size if corner.size_other is None else corner.size_other
                legs = (corner.size, other) if edges[k - 1] == corner.edges[0] else (other, corner.size)
                shaped = clipped(outline, k, *legs)
        except ValueError as error:
            names = " and ".join(corner.edges)
            raise CannotMake(said(f'part "{part.id}": face "{face.id}", corner of {names}: ', error.args[0])) from None
        chains[k] = [shaped[k], shaped[k + 1]]
    return chains


def corner_index(part: Part, face: Face, edges: tuple[str, ...], corner: Corner) -> int:
    """Index of the corner between two named edges."""
    for k in range(len(edges)):
        if {edges[k - 1], edges[k]} == set(corner.edges):
            return k
    names = " and ".join(corner.edges)
    raise CannotMake(f'part "{part.id}": face "{face.id}" has no corner between {names}; its edges: {", ".join(edges)}')


@dataclass(frozen=True, slots=True)
class _Edge:
    """An edge that carries bends: its run, where the neighbouring edges end it, how far it is drawn in as a whole."""

    part: Part
    face: Face
    run: EdgeRun
    start: Point
    end: Point
    level: float

    @property
    def forward(self) -> bool:
        """Whether the outline goes along the run."""
        return self.run.run_of(self.end) > self.run.run_of(self.start)


def _spans_on(edge: _Edge, joints: list[Joint], slack: float) -> list[tuple[Span, Joint]]:
    """The span of each bend on the edge, in the outline's own sense; CannotMake where they have no room or overlap."""
    found = [(_span_of(edge, joint, slack), joint) for joint in joints]
    found.sort(key=lambda item: item[0][0])
    for ((_, ends), one), ((begins, _), two) in zip(found, found[1:], strict=False):
        if ends > begins + ON:
            pair = sorted((one.bend, two.bend), key=edge.part.bends.index)  # the later one is told of
            raise CannotMake(
                f'part "{edge.part.id}": bends "{pair[0].id}" and "{pair[1].id}" overlap on face "{edge.face.id}"; give'
                " each its span on the edge, or one of them another edge",
                pair[1].child,
                "span",
            )
    return found if edge.forward else found[::-1]


def _span_of(edge: _Edge, joint: Joint, slack: float) -> Span:
    low, high = sorted((edge.run.run_of(edge.start), edge.run.run_of(edge.end)))
    a, b = joint.span if joint.span is not None else (low, high)
    if not joint.of_parent:
        # bends on the flange's own ends may have drawn its joining edge in
        a, b = max(a, low), min(b, high)
    head = f'part "{edge.part.id}": bend "{joint.bend.id}" '
    if a < low - slack or b > high + slack:
        text = said(
            f"{head}runs from ",
            size(a),
            " to ",
            size(b),
            f', but the flat edge of face "{edge.face.id}" that it is on runs from ',
            size(low),
            " to ",
            size(high),
            "; keep its span within that, or leave it out for the whole edge",
        )
        raise CannotMake(text, joint.bend.child, "span")
    a, b = (low if a < low + ON else a), (high if b > high - ON else b)
    if b - a <= ON:
        raise CannotMake(f'{head}has no length on face "{edge.face.id}"', joint.bend.child, "span")
    return a, b


def _along(edge: _Edge, spans: list[tuple[Span, Joint]]) -> list[FlatRun]:
    """Segments of an edge that carries bends, in the outline's own sense."""
    run, ends = edge.run, edge.run.run_of(edge.end)
    runs: list[FlatRun] = []
    here = edge.start

    def go(to: Point, bend: str = "") -> None:
        nonlocal here
        if distance(here, to) > STEP:
            runs.append(FlatRun(here, to, 0.0, bend))
            here = to

    for (a, b), joint in spans:
        first, last = (a, b) if edge.forward else (b, a)
        if abs(first - run.run_of(here)) > STEP:
            go(run.at(first, -edge.level))
        go(run.at(first, -joint.setback))
        go(run.at(last, -joint.setback), joint.bend.id)
        if abs(last - ends) > STEP:
            go(run.at(last, -edge.level))
    go(edge.end)
    return runs
