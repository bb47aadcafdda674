"""Blanks of parts whose edges all but meet, minimised from random trees; and what a blank that overlaps itself says."""

import math

import pytest
from random_parts import METAL, bents_of

from flatgen.core.clip import TooNear
from flatgen.core.outline import area, contains, rectangle
from flatgen.core.points import placed
from flatgen.core.shared import shared_area
from flatgen.develop.fold import on_bend
from flatgen.develop.unfold import _explained, _placements, overlaps, unfold
from flatgen.errors import CannotMake
from flatgen.model.part import SKIRT_EDGES, Bend, Cutout, Face, Part, Relief, Skirt

EDGES = ("bottom", "right", "top", "left")


def part_of(size, thickness, *flanges, **more):
    """A base and flanges: (bend, skirt) pairs."""
    faces = [Face("base", rectangle(0.0, 0.0, *size), EDGES)]
    faces += [Face(bend.child, (), SKIRT_EDGES, skirt=skirt) for bend, skirt in flanges]
    bends = tuple(bend for bend, _ in flanges)
    return Part("P", "", "", "base", tuple(faces), bends, METAL, thickness, 1, **more)


def flange(name, parent, edge, angle, radius, skirt, span=None, **more):
    return Bend(f"b_{name}", parent, edge, name, "bend", angle, radius, span, **more), Skirt(*skirt)


def tangent(**more):
    return {"measured_parent": "tangent", "measured_child": "tangent", **more}


def unaccounted(part):
    """Area that the blank has more than its flats and bends, net of openings [mm²]."""
    blank = unfold(part, bents_of(part))
    assert not overlaps(blank)
    regions = [f.outline for f in blank.faces] + [b.outline for b in blank.bends]
    return blank.area - sum(area(r) - sum(shared_area(r, c) for c in blank.cutouts) for r in regions)


def test_strip_of_a_slight_bend_beside_a_side_a_hair_off() -> None:
    """The strip is 0.05 mm wide; its corner and the next once passed for points of one straight line: 2.5e-4 mm²."""
    part = part_of(
        (109.0, 185.0),
        1.2223379186641434,
        flange("f1", "base", "bottom", 150.87, 0.26, (34.838, 34.838, 0.629, 1.9), **tangent()),
        flange("f2", "f1", "high", -45.0, 2.282, (50.0, 50.0, 2.424, 0.0), measured_child="inside"),
        flange("f3", "f2", "free", -2.00001, 0.3, (25.0, 25.0, 0.0, 1e-05), measured_child="tangent"),
    )
    assert abs(unaccounted(part)) < 1e-7


def test_fold_whose_side_leans_by_a_hair() -> None:
    """A flange's side 1e-7 mm off square once ran straight on from the bend: 1e-5 mm²."""
    part = part_of(
        (201.3, 201.3), 2.0, flange("f1", "base", "bottom", -180.0, 3.08, (52.7, 52.7, 1e-07, -2.95), **tangent())
    )
    assert abs(unaccounted(part)) < 1e-7


def test_slot_a_hair_short_of_an_edge_and_beside_a_slit() -> None:
    """The metal beside the bend, 1e-5 mm of it, lies along the flange; the slot takes it away and nothing else."""
    part = part_of(
        (140.17745662890042, 105.7),
        1.066913708369781,
        flange(
            "f1",
            "base",
            "bottom",
            44.9999997,
            0.0,
            (50.8, 50.8, -3e-07, 0.43),
            (1e-06, 140.1774466289004),
            measured_child="inside",
            beside="edge",
        ),
        reliefs=(Relief("b_f1", "high", "square-ended", 1.2827945816860582, 0.9999999),),
    )
    blank = unfold(part, bents_of(part))
    assert 1e-5 > abs(area(blank.outline) - sum(area(r.outline) for r in (*blank.faces, *blank.bends)))


@pytest.mark.parametrize("width", [3.999999999, 4.0, 4.000000001])
def test_obround_that_touches_a_flange_that_leans_over_it(width) -> None:
    """A side 1e-9 mm out of square crosses the round end beside the bend a hair from where it touches."""
    part = part_of(
        (226.9, 125.6),
        2.246354266977777,
        flange(
            "f1",
            "base",
            "bottom",
            -180.0,
            1.9999999,
            (25.0, 25.0, -1e-09, -1e-06),
            (22.69, 102.1),
            measured_parent="fold",
            measured_child="tangent",
            beside="edge",
        ),
        reliefs=(Relief("b_f1", "low", "round-ended", width, 1.2066918090209824),),
    )
    blank = unfold(part, bents_of(part))
    assert 1e-6 > abs(area(blank.outline) - sum(area(r.outline) for r in (*blank.faces, *blank.bends)))


def test_obround_without_depth_touches_the_tangent_line() -> None:
    """Its round end touches the flat's edge in one point and takes nothing there."""
    part = part_of(
        (90.0, 160.0),
        1.6,
        flange(
            "f1",
            "base",
            "bottom",
            72.47,
            3.6,
            (42.6, 42.6, 2.81, 0.556),
            (31.84, 61.68),
            measured_child="tangent",
        ),
        reliefs=(Relief("b_f1", "low", "round-ended", 2.7922126621110914, 0.0),),
    )
    bare = Part(**{**{k: getattr(part, k) for k in part.__slots__}, "reliefs": ()})
    assert unfold(bare, bents_of(bare)).area == pytest.approx(unfold(part, bents_of(part)).area, abs=1e-6)


@pytest.mark.parametrize("out", [0.0, 1e-10, 3e-8, 1e-6, -3e-8])
def test_opening_a_hair_over_the_edge_is_a_notch(out) -> None:
    """One that stays a hair inside is a window; either way its metal is counted once."""
    part = part_of((160.0, 99.0), 2.0, cutouts=(Cutout("base", rectangle(77.0, 91.0, 10.0, 8.0 + out)),))
    blank = unfold(part, {})
    assert (1 if out < 0 else 0) == len(blank.cutouts)
    assert 160.0 * 99.0 - 10.0 * (8.0 + min(out, 0.0)) == pytest.approx(blank.area, abs=1e-9)


def leaning(**more):
    """Two flanges that lean over the corner between them and so lie on the same metal when flat."""
    return part_of(
        (100.0, 80.0),
        1.0,
        flange("south", "base", "bottom", 90.0, 2.0, (40.0, 40.0, 0.0, -60.0)),
        flange("east", "base", "right", 90.0, 2.0, (40.0, 40.0, -60.0, 0.0)),
        **more,
    )


def test_flats_that_overlap_are_named_when_they_cannot_be_cut() -> None:
    """Where the blank falls apart, or cannot be cut, flats that lie upon one another are the likely cause."""
    across = Cutout("base", rectangle(-1.0, 40.0, 102.0, 5.0))
    told = r'part "P": the flat crosses itself: "south" and "east" overlap by \d+\.\d\d mm² .* laid flat.* 2 pieces'
    with pytest.raises(CannotMake, match=told) as error:
        unfold(leaning(cutouts=(across,)), bents_of(leaning()))
    assert "\n" not in str(error.value)
    assert {("south", "east")} == {pair[:2] for pair in overlaps(unfold(leaning(), bents_of(leaning())))}


def test_flat_that_crosses_itself_says_so_where_a_cut_cannot_be_decided() -> None:
    """A slot along a side of another flange that lies on the same metal: the overlap is what is wrong."""
    part = leaning(reliefs=(Relief("b_south", "both", "square-ended", 2.0, 1.0),))
    placements = _placements(part, bents_of(part), {})
    error = _explained(part, placements, TooNear("about x 1.000, y 2.000 mm of the flat an edge lies so near another"))
    assert str(error).startswith('part "P": the flat crosses itself: "south" and "east" overlap by ')
    assert str(error).endswith("; shorten, notch or move one of them")


@pytest.mark.parametrize("edge", ["high", "low"])
def test_tip_of_a_strip_that_a_relief_leaves_on_one_flat_goes_with_the_relief(edge) -> None:
    """A flange whose end is bent too is drawn in there, so that its strip slants; the relief at that corner reaches
    over the strip and would leave its outer tip on the base alone, in the way of the bend."""
    end = flange("end", "side", edge, 90.0, 2.0, (20.0, 20.0))
    side = flange("side", "base", "bottom", 30.0, 2.0, (30.0, 30.0))
    part = part_of((100.0, 80.0), 1.0, side, end, reliefs=(Relief("b_end", "both", "drilled", 5.0, 0.0),))
    bents = bents_of(part)
    blank = unfold(part, bents)
    assert abs(unaccounted(part)) < 1e-7
    corner = blank.bend("b_side").tangents[0][0 if edge == "low" else 1]
    away, lower = (1.0 if edge == "low" else -1.0), 0.25 * bents["b_side"].allowance
    # the base keeps its corner; just past the tangent line there is nothing, where the strip's tip was
    inside = min(blank.face("base").outline, key=lambda v: math.dist(v[:2], corner))
    assert math.dist(inside[:2], corner) < 1e-9
    assert contains(blank.outline, (corner[0] + 0.5 * away, corner[1] + 0.05))
    assert not contains(blank.outline, (corner[0] + 0.5 * away, corner[1] - lower))


def test_bend_cut_through_names_what_to_describe_instead() -> None:
    notch = Cutout("base", rectangle(40.0, -9.0, 20.0, 14.0))
    lip = flange("lip", "base", "bottom", 90.0, 2.0, (6.0, 6.0))
    through = part_of((100.0, 80.0), 1.0, lip, cutouts=(notch,))
    with pytest.raises(CannotMake, match='cut bend "b_lip" into 2 pieces; describe two flanges in place of "lip"'):
        unfold(through, bents_of(through))


def test_slit_is_told_by_what_lies_on_its_sides() -> None:
    """Beside a partial bend without relief the metal runs along the flange: two sides with nothing between."""
    bend, skirt = flange("lug", "base", "bottom", 90.0, 2.0, (30.0, 30.0), (30.0, 70.0), beside="edge")
    blank = unfold(part_of((100.0, 80.0), 1.0, (bend, skirt)), bents_of(part_of((100.0, 80.0), 1.0, (bend, skirt))))
    ((one, two, shared),) = overlaps(blank)
    assert {"base", "b_lug"} == {one, two} and 0.0 == shared


@pytest.mark.parametrize("span", [(0.0, 150.0), (30.0, 90.0)])
@pytest.mark.parametrize("angle", [60.0, 146.5, -146.5])
def test_setback_of_less_than_a_nanometre_keeps_the_tangent_line_straight(angle, span) -> None:
    """The step from the edge down to the tangent line, 1e-9 mm, was left out, and the line ran askew by as much."""
    bend, skirt = flange(
        "flap", "base", "bottom", angle, 3e-10, (30.0, 30.0, 0.0, 0.0), span, measured_parent="inside", beside="edge"
    )
    part = part_of((150.0, 100.0), 1.0, (bend, skirt))
    blank = unfold(part, bents_of(part))
    (line,), base = blank.bends, blank.face("base").frame
    for tangent, face in zip(line.tangents, ("base", "flap"), strict=True):
        for end in tangent:
            flat = placed(blank.face(face).frame, (*end, 0.0))
            assert math.dist(flat, on_bend(line, 1.0, base, end, 0.0)) < 1e-12
