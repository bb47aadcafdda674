"""Random parts: trees of faces four and more deep, any angle, partial bends, reliefs. What must hold for every one."""

import math
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from flatgen.core.outline import area, distance_to, flatten, moved, rectangle
from flatgen.core.points import after, distance, inverse, move, placed
from flatgen.develop.allowance import bent_radius
from flatgen.develop.drawn import drawn_outlines
from flatgen.develop.fold import on_bend
from flatgen.develop.measure import fold_back_error
from flatgen.develop.runs import edge_run
from flatgen.develop.unfold import overlaps, unfold
from flatgen.errors import CannotMake
from flatgen.model.part import SKIRT_EDGES, Bend, Face, Part, Relief, Skirt
from flatgen.tables.load import material

METAL = material("6061-T6")
BASE_EDGES = ("bottom", "right", "top", "left")
CONGRUENT = 1e-9  # mm
RELIEFS = ("none", "slot", "obround", "round")

angles = st.one_of(st.floats(1.0, 179.0), st.sampled_from([45.0, 90.0, 135.0, 180.0])).flatmap(
    lambda a: st.sampled_from([a, -a])
)


@st.composite
def trees(draw, least_depth=1, most=9):
    """A base rectangle and flanges on its edges and on theirs; the first branch goes as deep as asked."""
    thickness = draw(st.floats(0.4, 3.2))
    width, height = draw(st.floats(90.0, 260.0)), draw(st.floats(90.0, 260.0))
    faces = [Face("f0", rectangle(0.0, 0.0, width, height), BASE_EDGES)]
    bends, reliefs = [], []
    free = [("f0", edge, 1) for edge in BASE_EDGES]
    for k in range(1, draw(st.integers(least_depth, most)) + 1):
        deepest = max(free, key=lambda spot: spot[2])
        spot = deepest if k <= least_depth else draw(st.sampled_from(free))
        free.remove(spot)
        parent, edge, depth = spot
        name, angle = f"f{k}", draw(angles)
        # mould lines run away for closed bends; the trade gives those to the tangent or over the fold
        kinds = ["tangent"] if abs(angle) > 150 else ["outside", "inside", "tangent"]
        tall = draw(st.floats(25.0, 70.0))
        skirt = Skirt(tall, tall, draw(st.floats(0.0, 3.0)), draw(st.floats(-3.0, 3.0)))
        faces.append(Face(name, (), SKIRT_EDGES, skirt=skirt))
        span = None
        if parent == "f0" and draw(st.booleans()):
            long = width if edge in ("bottom", "top") else height
            span = (draw(st.floats(0.3, 0.4)) * long, draw(st.floats(0.6, 0.7)) * long)
        bends.append(
            Bend(
                f"b{k}",
                parent,
                edge,
                name,
                "bend",
                angle,
                draw(st.floats(0.0, 4.0)),
                span,
                measured_parent=draw(st.sampled_from(kinds)),
                measured_child=draw(st.sampled_from(kinds)),
            )
        )
        if (relief := draw(st.sampled_from(RELIEFS))) != "none":
            reliefs.append(Relief(f"b{k}", "both", relief, draw(st.floats(2.0, 5.0)), draw(st.floats(0.0, 3.0))))
        free += [(name, e, depth + 1) for e in ("high", "free", "low")]
    return Part(
        "random",
        "",
        "",
        "f0",
        tuple(faces),
        tuple(bends),
        METAL,
        thickness,
        1,
        reliefs=tuple(reliefs),
    )


def bents_of(part):
    return {
        bend.id: bent_radius(
            angle=bend.angle,
            drawing_radius=bend.radius,
            thickness=part.thickness,
            material=METAL,
            brake=None,
            shop=None,
            method="neutral-axis",
            neutral_axis_ratio=0.42,
        )
        for bend in part.bends
    }


def developed(part):
    bents = bents_of(part)
    try:
        return unfold(part, bents), bents
    except CannotMake:
        assume(False)


def gap(p, q):
    return math.dist(p, q)


usual = settings(max_examples=100, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


@usual
@given(trees(least_depth=4))
def test_fold_gives_back_the_description(part):
    blank, bents = developed(part)
    assert fold_back_error(part, blank, bents) < 1e-6
    for face in blank.faces:
        rows = [row[:3] for row in face.frame]
        for i in range(3):
            for j in range(3):
                product = sum(a * b for a, b in zip(rows[i], rows[j], strict=True))
                assert abs(product - (i == j)) < CONGRUENT
    # every flange stands as high over its tangent line as drawn, less the setback (derived: trade formula SB)
    for bend in part.bends:
        face = part.face(bend.child)
        half = math.tan(math.radians(abs(bend.angle)) / 2.0) if abs(bend.angle) < 179.9 else 0.0
        reach = {"outside": bend.radius + part.thickness, "inside": bend.radius, "tangent": 0.0}
        own = face.skirt.height_low - reach[bend.measured_child] * half
        if any(other.parent == face.id and other.parent_edge == "free" for other in part.bends):
            continue
        flat = blank.face(face.id)
        (p, q) = blank.bend(bend.id).tangents[1]
        a, b, c = (placed(flat.frame, (*x, 0.0)) for x in (p, q, move(flat.motion, (50.0, face.skirt.height_low))))
        side = math.sqrt(max(0.0, gap(a, c) ** 2 - _run(a, b, c) ** 2))
        assert side == pytest.approx(own, abs=1e-8)


def _run(a, b, c):
    along = [(y - x) / gap(a, b) for x, y in zip(a, b, strict=True)]
    return sum((z - x) * w for x, z, w in zip(a, c, along, strict=True))


@usual
@given(trees(least_depth=4))
def test_tangent_lines_meet(part):
    blank, _ = developed(part)
    for bend in blank.bends:
        parent, child = blank.face(bend.parent), blank.face(bend.child)
        radius = bend.bent.inside_radius + (0.0 if bend.direction == "up" else part.thickness)
        chord = 2.0 * radius * math.sin(math.radians(bend.angle) / 2.0)  # results contract
        for tangent, face in ((bend.tangents[0], parent), (bend.tangents[1], child)):
            for p in tangent:
                for z in (0.0, -part.thickness):
                    flat = placed(face.frame, (*p, z))
                    assert gap(flat, on_bend(bend, part.thickness, parent.frame, p, z)) < CONGRUENT
        near = placed(parent.frame, (*bend.tangents[0][0], 0.0))
        far = (placed(child.frame, (*end, 0.0)) for end in bend.tangents[1])
        if abs(distance(*bend.tangents[0]) - distance(*bend.tangents[1])) < 1e-9:
            assert min(abs(gap(near, x) - chord) for x in far) < 1e-8


@usual
@given(trees(least_depth=2))
def test_area_is_conserved_and_no_overlap_goes_unreported(part):
    shapely = pytest.importorskip("shapely")
    blank, _ = developed(part)
    regions = [f.outline for f in blank.faces] + [b.outline for b in blank.bends]
    total = sum(area(outline) for outline in regions)
    # on a grid: without one its overlay goes astray where two edges all but share a line
    polygons = [shapely.set_precision(shapely.Polygon(flatten(outline, 1e-4)), 1e-7) for outline in regions]
    union = shapely.union_all(polygons, grid_size=1e-7).area
    doubled = sum(p.area for p in polygons) - union
    found = overlaps(blank)
    if doubled > 0.01:
        assert found
    if not found:
        assert doubled < 0.01
        # corners nearer than 1e-7 mm to a line count as on it: times its length, that is the slack of an area
        assert abs(area(blank.outline) - sum(area(c) for c in blank.cutouts) - total) < 1e-4


@usual
@given(trees(least_depth=3, most=6), st.data())
def test_blank_does_not_depend_on_the_base(part, data):
    part = replace(part, reliefs=())
    blank, bents = developed(part)
    fixed = with_own_outlines(part, blank)
    again = unfold(fixed, bents)
    other = data.draw(st.sampled_from([face.id for face in part.faces[1:]]))
    turned = unfold(rooted_at(fixed, other), bents)
    for one in (again, turned):
        back = after(blank.face("f0").motion, inverse(one.face("f0").motion))
        carried = moved(one.outline, back)
        # points nearer than 1e-7 mm to a line count as on it: times its length, that is the slack of an area
        assert abs(area(one.outline) - area(blank.outline)) < 1e-4
        for outline, other_outline in ((blank.outline, carried), (carried, blank.outline)):
            assert max(distance_to(other_outline, v[:2]) for v in outline) < 1e-6


def with_own_outlines(part, blank):
    """The same part with every face an outline of its own and every span written out."""
    drawn = drawn_outlines(part)
    faces = tuple(replace(f, outline=drawn[f.id][0], edges=drawn[f.id][1], skirt=None) for f in part.faces)
    by_id = {face.id: face for face in faces}
    bends = []
    for bend in part.bends:
        line = blank.bend(bend.id)
        spans = []
        for face_id, edge, tangent in (
            (bend.parent, bend.parent_edge, line.tangents[0]),
            (bend.child, bend.child_edge, line.tangents[1]),
        ):
            run = edge_run(by_id[face_id].outline, by_id[face_id].edge(edge))
            home = inverse(blank.face(face_id).motion)
            spans.append(tuple(sorted(run.run_of(move(home, end)) for end in tangent)))
        bends.append(replace(bend, span=spans[0], child_span=spans[1]))
    return replace(part, faces=faces, bends=tuple(bends))


def rooted_at(part, base):
    """The same tree with another face as its base: bends on the way are seen from their other side."""
    parent_of = {bend.child: bend for bend in part.bends}
    way, face = set(), base
    while face in parent_of:
        way.add(parent_of[face].id)
        face = parent_of[face].parent
    bends = tuple(
        replace(
            bend,
            parent=bend.child,
            parent_edge=bend.child_edge,
            child=bend.parent,
            child_edge=bend.parent_edge,
            span=bend.child_span,
            child_span=bend.span,
            measured_parent=bend.measured_child,
            measured_child=bend.measured_parent,
        )
        if bend.id in way
        else bend
        for bend in part.bends
    )
    return replace(part, base=base, bends=bends)
