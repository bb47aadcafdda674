"""Random parts for property tests: trees of faces many bends deep with reliefs, holes, openings, rounded corners, hems.

About half the sizes stand a hair (0 to 1e-5 mm or degrees) off a special value, where geometry is hardest: edges nearly
in one line, spans that end at or just short of an edge's end, reliefs that just touch, angles next to 90 and 180.
"""

import math
from dataclasses import replace

from hypothesis import strategies as st

from flatgen.core.outline import circle, rectangle, slot
from flatgen.core.points import inverse, move
from flatgen.develop.allowance import bent_radius
from flatgen.develop.drawn import drawn_outlines
from flatgen.develop.methods import Case
from flatgen.develop.runs import edge_run
from flatgen.model.part import SKIRT_EDGES, Bend, Corner, Cutout, Face, Hole, Part, Relief, Skirt
from flatgen.tables.load import material

METAL = material("6061-T6")
BASE_EDGES = ("bottom", "right", "top", "left")
RELIEFS = ("none", "none", "square-ended", "round-ended", "drilled")
# none just as wide as what counts as one place (1e-10, 1e-7, 1e-6): there rounding decides, and either way is right
HAIRS = (0.0, 1e-12, 1e-11, 5e-11, 3e-10, 1e-9, 1e-8, 3e-8, 7e-8, 3e-7, 3e-6, 1e-5)

hairs = st.sampled_from([sign * hair for hair in HAIRS for sign in (1.0, -1.0)])


def near(*values):
    """One of the values, a hair off."""
    return st.builds(lambda value, hair: value + hair, st.sampled_from(values), hairs)


def least(low, strategy):
    """Values of a strategy, not below a limit."""
    return strategy.map(lambda value: max(low, value))


turns = st.one_of(st.floats(1.0, 179.0), near(45.0, 90.0, 135.0), near(180.0).map(lambda a: min(a, 180.0)))
angles = st.builds(lambda a, sign: sign * a, turns, st.sampled_from([1.0, -1.0]))
radii = least(0.0, st.one_of(st.floats(0.0, 4.0), near(0.0, 1.0, 2.0)))
insets = st.one_of(st.floats(-3.0, 3.0), near(0.0))
widths = least(0.1, st.one_of(st.floats(0.3, 8.0), near(1.0, 2.0, 4.0)))
depths = least(0.0, st.one_of(st.floats(0.0, 3.0), near(0.0, 1.0)))


@st.composite
def trees(draw, least_depth=1, most=9, either_way=False):
    """A base rectangle and flanges on its edges and on theirs; the first branch goes as deep as asked.

    either_way : only what can be said of a bend from both of its faces: no reliefs, and nothing of the edge beside a
        partial bend, which belong to its parent
    """
    thickness = draw(st.floats(0.4, 3.2))
    width, height = draw(st.floats(90.0, 260.0)), draw(st.floats(90.0, 260.0))
    faces = {"f0": Face("f0", rectangle(0.0, 0.0, width, height), BASE_EDGES)}
    bends, cuts = [], []
    free = [("f0", edge, 1, None) for edge in BASE_EDGES]
    for k in range(1, draw(st.integers(least_depth, most)) + 1):
        deepest = max(free, key=lambda spot: spot[2])
        spot = deepest if k <= least_depth else draw(st.sampled_from(free))
        free.remove(spot)
        parent, edge, depth, span = spot
        if parent == "f0" and span is None:
            long = width if edge in ("bottom", "top") else height
            span, rest = draw(_spans(long))
            free += [("f0", edge, depth, other) for other in rest]
        bend = draw(_bends(f"b{k}", parent, edge, f"f{k}", span))
        if either_way:
            bend = replace(bend, beside="tangent")
        bends.append(bend)
        tall = draw(st.one_of(st.floats(25.0, 70.0), near(30.0)))
        skirt = Skirt(tall, tall, draw(insets), draw(insets))
        faces[bend.child] = Face(bend.child, (), SKIRT_EDGES, skirt=skirt)
        if not either_way and (kind := draw(st.sampled_from(RELIEFS))) != "none":
            ends = draw(st.sampled_from(["both", "both", "low", "high"]))
            cuts.append(Relief(bend.id, ends, kind, draw(widths), draw(depths)))
        if not bend.hem:
            free += [(bend.child, e, depth + 1, None) for e in ("high", "free", "low")]
    taken = {(bend.parent, bend.parent_edge) for bend in bends}
    holes, cutouts = draw(_openings(width, height, taken))
    shaped = tuple(draw(_shaped(face, taken)) for face in faces.values())
    return Part(
        "random",
        "",
        "",
        "f0",
        shaped,
        tuple(bends),
        METAL,
        thickness,
        1,
        reliefs=tuple(cuts),
        holes=holes,
        cutouts=cutouts,
    )


@st.composite
def crowded(draw):
    """A plate whose reliefs nearly meet: side by side on one edge, and at a corner where two edges have flanges."""
    width, height = draw(st.floats(50.0, 90.0)), draw(st.floats(50.0, 90.0))
    kind, wide = draw(st.sampled_from(["square-ended", "round-ended", "drilled"])), draw(st.floats(1.5, 6.0))
    relief = (kind, wide, draw(depths))
    # two reliefs beside one another nearly fill what is between their bends, or half of it
    beside = draw(st.sampled_from([wide, 2.0 * wide])) + draw(st.floats(-0.1, 0.4))
    inset = st.floats(0.0, 4.0)
    first = 0.5 * (width - beside)
    spans = [("top", (5.0, first)), ("top", (first + beside, width - draw(inset)))]
    # the right side runs up, so that its high end and the top's low one are at one corner
    spans += [("right", (6.0, height - draw(inset)))] if draw(st.booleans()) else []
    faces, bends, cuts = [Face("f0", rectangle(0.0, 0.0, width, height), BASE_EDGES)], [], []
    angle, radius = draw(st.sampled_from([90.0, 75.0, 110.0])), draw(st.floats(0.5, 3.0))
    for k, (edge, span) in enumerate(spans, 1):
        bends.append(Bend(f"b{k}", "f0", edge, f"f{k}", "bend", angle, radius, span))
        tall = draw(st.floats(12.0, 30.0))
        faces.append(Face(f"f{k}", (), SKIRT_EDGES, skirt=Skirt(tall, tall, 0.0, 0.0)))
        cuts.append(Relief(f"b{k}", "both", *relief))
    return Part("crowded", "", "", "f0", tuple(faces), tuple(bends), METAL, 1.0, 1, reliefs=tuple(cuts))


@st.composite
def _spans(draw, long):
    """Where a bend lies on a base edge (None: all of it), and what is left of the edge for others."""
    kind = draw(st.sampled_from(["whole", "whole", "middle", "ends", "two"]))
    if kind == "whole":
        return None, []
    if kind == "middle":
        return (draw(st.floats(0.3, 0.4)) * long, draw(st.floats(0.6, 0.7)) * long), []
    if kind == "ends":
        return (max(0.0, draw(hairs)), long + min(0.0, draw(hairs))), []
    first = (0.1 * long, 0.45 * long)
    second = (first[1] + draw(st.one_of(st.floats(0.0, 12.0), near(0.0).map(abs))), 0.9 * long)
    return first, [second]


@st.composite
def _bends(draw, name, parent, edge, child, span):
    angle = draw(angles)
    # mould lines run away for closed bends; the trade gives those to the tangent or over the fold
    kinds = ["tangent"] if abs(angle) > 150 else ["outside", "inside", "tangent"]
    if abs(angle) > 170:
        kinds.append("fold")
    return Bend(
        name,
        parent,
        edge,
        child,
        "bend",
        angle,
        draw(radii),
        span,
        measured_parent=draw(st.sampled_from(kinds)),
        measured_child=draw(st.sampled_from(kinds)),
        beside=draw(st.sampled_from(["tangent", "edge"])),
        hem=abs(angle) == 180.0 and draw(st.booleans()),
    )


@st.composite
def _openings(draw, width, height, taken):
    """Holes and openings of the base, each in a cell of its own, and notches in edges without bends."""
    holes, cutouts = [], []
    for k in range(draw(st.integers(0, 3))):
        center = (width * (0.3 + 0.2 * k), height * 0.5)
        kind = draw(st.sampled_from(["hole", "rectangle", "slot"]))
        if kind == "hole":
            holes.append(Hole("f0", center, draw(st.floats(2.0, 9.0)), "hole"))
        elif kind == "rectangle":
            cutouts.append(Cutout("f0", rectangle(center[0] - 4.0, center[1] - 3.0, 8.0, 6.0)))
        else:
            cutouts.append(Cutout("f0", slot(center, (center[0] + 5.0, center[1]), 4.0)))
    if ("f0", "top") not in taken and draw(st.booleans()):
        x, deep, out = 0.5 * width, draw(st.floats(2.0, 8.0)), draw(st.one_of(st.floats(0.5, 2.0), near(0.0)))
        if draw(st.booleans()):
            cutouts.append(Cutout("f0", rectangle(x - 5.0, height - deep, 10.0, deep + out)))
        else:
            cutouts.append(Cutout("f0", circle((x, height + out), 2.0 * deep)))
    return tuple(holes), tuple(cutouts)


@st.composite
def _shaped(draw, face, taken):
    """The face with some corners between free edges rounded or clipped; a free base edge may be an arc."""
    corners = []
    n = len(face.edges)
    for k in range(n):
        pair = (face.edges[k - 1], face.edges[k])
        if "bend" in pair or any((face.id, edge) in taken for edge in pair):
            continue
        if (kind := draw(st.sampled_from(["sharp", "round", "clip"]))) != "sharp":
            corners.append(Corner(pair, kind, draw(least(0.0, st.one_of(st.floats(0.5, 8.0), near(0.0, 5.0))))))
    straight = face.id != "f0" or ("f0", "left") in taken or any("left" in c.edges for c in corners)
    if not straight and draw(st.booleans()):
        *rest, (x, y, _) = face.outline
        return replace(face, corners=tuple(corners), outline=(*rest, (x, y, draw(st.floats(-0.15, 0.3)))))
    return replace(face, corners=tuple(corners))


def bents_of(part):
    """Radii as drawn, allowance by the neutral axis at 0.42."""
    return {
        bend.id: bent_radius(
            Case(bend.angle, bend.radius, part.thickness, METAL, neutral_axis_ratio=0.42), "neutral-axis"
        )
        for bend in part.bends
    }


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


def steepness(angle):
    """Tangent of half an angle, 0 for a fold flat upon itself [deg]."""
    return math.tan(math.radians(abs(angle)) / 2.0) if abs(angle) < 179.9 else 0.0
