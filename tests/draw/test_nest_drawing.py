"""Nests as drawn: every blank where the plan says, the list of cuts, nothing that overlaps."""

import math
from dataclasses import replace
from itertools import combinations

import ezdxf
import pytest
from shapely.geometry import Polygon
from shapely.geometry import box as block

from flatgen.core.outline import area, moved, polygon, rectangle
from flatgen.core.points import move
from flatgen.draw.nest import nest_drawing
from flatgen.model.plan import Cut, Nest, Offcut, Placement
from flatgen.model.shop import Sheet
from flatgen.page.drawing import Circle, Line, Text
from flatgen.page.room import overlap
from flatgen.write import dxf

INCH = 25.4


@pytest.fixture
def nest(clip):
    width, height = clip[1].width, clip[1].height
    placements = tuple(
        Placement("TF-101", 7 * r + c + 1, 6.0 + c * width, 6.0 + r * height, 0.0) for r in range(3) for c in range(7)
    )
    placements += (Placement("TF-101", 22, 590.0, 200.0, 0.0, True), Placement("TF-101", 23, 100.0, 200.0, 90.0))
    cuts = tuple(
        Cut(k + 1, (0.0, 6.0 + height * (k + 1)), (609.6, 6.0 + height * (k + 1)), height, 1, "strip") for k in range(3)
    )
    cuts += (Cut(4, (82.2, 6.0), (82.2, 47.4), width, 2, "TF-101: lay aside"),)
    sheet = Sheet("S1", "2024-T3", 0.04 * INCH, 609.6, 1219.2, 6.0, bad_areas=((300.0, 500.0, 60.0, 40.0),))
    offcut = Offcut("A", 6.0, 600.0, 590.0, 600.0)
    return Nest("2024-T3", 0.04 * INCH, "shear", "hand shear", sheet, placements, cuts, (offcut,), 0.11)


def test_every_blank_lies_where_the_plan_says(nest, clip, tmp_path):
    """The contract: mirrored in x first, then turned about the blank's origin, then moved."""
    blank = clip[1]
    path = tmp_path / "nest.dxf"
    dxf.write(nest_drawing(nest, {"TF-101": blank}, "in"), path)
    document = ezdxf.readfile(path)
    assert ([], []) == (document.audit().errors, document.audit().fixes)
    found = [
        [(x * INCH, y * INCH) for x, y in c.get_points("xy")]
        for c in document.modelspace().query('LWPOLYLINE[layer=="outline"]')
    ]
    assert len(nest.placements) == len(found)
    for placement, corners in zip(nest.placements, found, strict=True):
        turn = math.radians(placement.rotation)
        for x, y, _ in blank.outline:
            flipped = -x if placement.mirrored else x
            at = (
                flipped * math.cos(turn) - y * math.sin(turn) + placement.x,
                flipped * math.sin(turn) + y * math.cos(turn) + placement.y,
            )
            assert min(math.dist(at, corner) for corner in corners) < 1e-6


def test_a_blank_turned_over_shows_its_bend_the_other_way(nest, clip):
    drawing = nest_drawing(nest, {"TF-101": clip[1]}, "mm")
    assert 1 == sum(isinstance(i, Line) and i.layer == "bend-down" for i in drawing.items)
    assert any(isinstance(i, Text) and i.text == "TF-101-22 turned over" for i in drawing.items)


def test_motion_keeps_area_and_carries_holes(nest, clip):
    blank = clip[1]
    for placement in nest.placements[-2:]:
        motion = placement.motion
        assert area(blank.outline) == pytest.approx(area(moved(blank.outline, motion)))
        holes = [
            i for i in nest_drawing(nest, {"TF-101": blank}, "mm").items if isinstance(i, Circle) and i.layer == "hole"
        ]
        for hole in blank.holes:
            assert any(math.dist(move(motion, hole.center), h.center) < 1e-9 for h in holes)


@pytest.mark.parametrize("units", ["in", "mm"])
def test_no_words_overlap(nest, clip, units):
    blanks = {"TF-101": clip[1]}
    for page in (nest_drawing(nest, blanks, units),):
        boxes = [(i.text, i.box()) for i in page.items if isinstance(i, Text)]
        for (a, box), (b, other) in combinations(boxes, 2):
            small = (box[0] + 0.05, box[1] + 0.05, box[2] - 0.05, box[3] - 0.05)
            assert not overlap(small, other, -0.05), (a, b)


def test_marks_gauges_offcut_and_bad_area_are_named(nest, clip):
    said = [i.text for i in nest_drawing(nest, {"TF-101": clip[1]}, "in").items if isinstance(i, Text)]
    for text in ("TF-101-1", "1: 1.631", "off-cut A  23.228 × 23.622 in", "not usable", "GRAIN"):
        assert text in said, text


def cee(x, y):
    """A plate with a deep notch, so that the middle of its rectangle is not its metal."""
    corners = [(0, 0), (90, 0), (90, 18), (18, 18), (18, 60), (90, 60), (90, 78), (0, 78)]
    return polygon((x + a, y + b) for a, b in corners)


def marks_of(page):
    return [i for i in page.items if isinstance(i, Text) and i.layer == "mark"]


def test_a_mark_lies_on_the_metal_of_its_piece(nest, clip):
    """Not in a notch and not in an opening, where it would name the scrap, or the piece in there."""
    notched = replace(clip[1], part="CEE", outline=cee(0, 0), cutouts=(), holes=(), bends=())
    window = rectangle(20, 20, 160, 160)
    frame = replace(notched, part="FRAME", outline=rectangle(0, 0, 200, 200), cutouts=(window,))
    places = (Placement("CEE", 1, 50.0, 50.0, 0.0), Placement("FRAME", 1, 200.0, 200.0, 0.0))
    drawing = nest_drawing(replace(nest, placements=places, cuts=()), {"CEE": notched, "FRAME": frame}, "mm")
    found = {i.text: i.box() for i in marks_of(drawing)}
    metal = {"CEE-1": Polygon([q[:2] for q in cee(50, 50)])}
    metal["FRAME-1"] = block(200, 200, 400, 400) - block(220, 220, 380, 380)
    assert found.keys() == metal.keys()
    for text, b in found.items():
        assert metal[text].contains(block(*b)), text
