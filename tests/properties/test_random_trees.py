"""Random parts: trees of faces four and more deep, any angle, hems, partial bends, reliefs, openings, rounded corners.

What must hold for every one. ``--hypothesis-profile=long`` runs each with 20,000 parts instead of 100.
"""

import math

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from random_parts import bents_of, rooted_at, steepness, trees, with_own_outlines

from flatgen.core.outline import area, distance_to, flatten, moved
from flatgen.core.points import after, inverse, move, placed
from flatgen.core.shared import shared_area
from flatgen.develop.fold import on_bend
from flatgen.develop.measure import fold_back_error
from flatgen.develop.unfold import overlaps, unfold
from flatgen.errors import CannotMake

CONGRUENT = 1e-9  # mm
CONSERVED = 1e-6  # mm²


def developed(part):
    """Blank and bends; a part that cannot be made is not looked at further."""
    bents = bents_of(part)
    try:
        return unfold(part, bents), bents
    except CannotMake:
        assume(False)


def gap(p, q):
    return math.dist(p, q)


usual = settings(deadline=None, suppress_health_check=list(HealthCheck))


@usual
@given(trees(least_depth=4))
def test_fold_gives_back_the_description(part):
    blank, bents = developed(part)
    assert fold_back_error(part, blank, bents) < CONGRUENT
    for face in blank.faces:
        rows = [row[:3] for row in face.frame]
        for i in range(3):
            for j in range(3):
                product = sum(a * b for a, b in zip(rows[i], rows[j], strict=True))
                assert abs(product - (i == j)) < CONGRUENT
    # every flange stands as high over its tangent line as drawn, less the setback (derived: trade formula SB)
    for bend in part.bends:
        face = part.face(bend.child)
        outer = bend.radius + part.thickness
        reach = {"outside": outer, "inside": bend.radius, "tangent": 0.0}
        back = outer if bend.measured_child == "fold" else reach[bend.measured_child] * steepness(bend.angle)
        if face.corners or any(other.parent == face.id and other.parent_edge == "free" for other in part.bends):
            continue
        flat = blank.face(face.id)
        (p, q) = blank.bend(bend.id).tangents[1]
        a, b, c = (placed(flat.frame, (*x, 0.0)) for x in (p, q, move(flat.motion, (50.0, face.skirt.height_low))))
        assert _off(a, b, c) == pytest.approx(face.skirt.height_low - back, abs=CONGRUENT)


def _off(a, b, c):
    """Distance of c from the line through a and b."""
    along = [(y - x) / gap(a, b) for x, y in zip(a, b, strict=True)]
    run = sum((z - x) * w for x, z, w in zip(a, c, along, strict=True))
    return gap(c, [x + run * w for x, w in zip(a, along, strict=True)])


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
        a, b = (placed(parent.frame, (*end, 0.0)) for end in bend.tangents[0])
        for end in bend.tangents[1]:
            c = placed(child.frame, (*end, 0.0))
            assert _off(a, b, c) == pytest.approx(chord, abs=CONGRUENT)


@usual
@given(trees(least_depth=2))
def test_area_is_conserved_and_no_overlap_goes_unreported(part):
    shapely = pytest.importorskip("shapely")
    blank, _ = developed(part)
    regions = [f.outline for f in blank.faces] + [b.outline for b in blank.bends]
    polygons = [_on_grid(outline) for outline in regions]
    union = shapely.union_all(polygons, grid_size=1e-7)
    doubled = sum(p.area for p in polygons) - union.area
    found = overlaps(blank)
    if doubled > 0.01:
        assert found
    if found:
        return
    assert doubled < 0.01
    # the flats and bends together are the blank, but for what reliefs enclosed by metal leave open
    windows = [shapely.Polygon(flatten(c, 1e-4)) for c in blank.cutouts]
    whole = _on_grid(blank.outline)
    apart = shapely.difference(whole.symmetric_difference(union, grid_size=1e-7), shapely.union_all(windows))
    assert apart.area < 0.05
    assert abs(area(blank.outline) - sum(area(c) for c in _open(blank, regions)) - sum(map(area, regions))) < CONSERVED
    assert blank.area == pytest.approx(area(blank.outline) - sum(area(c) for c in blank.cutouts), abs=CONSERVED)


def _on_grid(outline):
    """Outline as a polygon on a grid: shapely's overlay goes astray without one where edges all but share a line."""
    import shapely

    points = shapely.set_precision(shapely.Polygon(flatten(outline, 1e-4)), 1e-7, mode="pointwise")
    return shapely.make_valid(points)


def _open(blank, regions):
    """Cutouts that the outlines of flats and bends leave out already."""
    asked = {hole.cutout for hole in blank.holes}
    return [
        cutout
        for k, cutout in enumerate(blank.cutouts)
        if k not in asked and sum(shared_area(region, cutout) for region in regions) < 0.5 * area(cutout)
    ]


@usual
@given(trees(least_depth=3, most=6, either_way=True), st.data())
def test_blank_does_not_depend_on_the_base(part, data):
    blank, bents = developed(part)
    assume(not overlaps(blank))
    fixed = with_own_outlines(part, blank)
    again = unfold(fixed, bents)
    other = data.draw(st.sampled_from([face.id for face in part.faces[1:]]))
    turned = unfold(rooted_at(fixed, other), bents)
    for one in (again, turned):
        back = after(blank.face("f0").motion, inverse(one.face("f0").motion))
        carried = moved(one.outline, back)
        assert abs(area(one.outline) - area(blank.outline)) < CONSERVED
        for outline, other_outline in ((blank.outline, carried), (carried, blank.outline)):
            assert max(distance_to(other_outline, v[:2]) for v in outline) < 1e-6
