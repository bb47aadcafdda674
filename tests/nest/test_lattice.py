"""True shapes on a lattice, held against a general-purpose geometry library (shapely): no-fit places, convex parts,
pushing together, strips and sheets of random polygons.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import few
from nest_verifier import check_result, laid
from shapely import affinity
from shapely.geometry import Polygon
from shapely.ops import unary_union

from flatgen.core.outline import circle, polygon, rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces
from flatgen.nest.shapes.fitted import lattice_step
from flatgen.nest.shapes.lattice import WORD, Masks
from flatgen.nest.shapes.lattice import laid as laid_parts
from flatgen.nest.shapes.no_fit_polygon import convex_parts, twice_area
from flatgen.nest.shapes.ways import plain_parts

QUARTERS = (0.0, 90.0, 180.0, 270.0)
SLOW = settings(max_examples=few(12))


def at_zero(points):
    x0, y0 = min(x for x, _ in points), min(y for _, y in points)
    return tuple((x - x0, y - y0) for x, y in points)


@st.composite
def star(draw, largest=60.0):
    """A polygon without crossings, seen whole from its middle; mostly not convex."""
    corners = draw(st.integers(3, 9))
    reach = [draw(st.floats(0.15 * largest, 0.5 * largest)) for _ in range(corners)]
    turns = [math.tau * (k + draw(st.floats(0.1, 0.9))) / corners for k in range(corners)]
    return at_zero([(r * math.cos(t), r * math.sin(t)) for r, t in zip(reach, turns, strict=True)])


@st.composite
def step_shape(draw):
    """Angles with whole sizes, so that edges meet lattice points exactly."""
    w, h, a, b = (draw(st.integers(*span)) for span in ((20, 60), (20, 60), (4, 18), (4, 18)))
    return ((0.0, 0.0), (w, 0.0), (w, a), (b, a), (b, h), (0.0, h))


shape = star() | step_shape()


def is_taken(mask, x, y):
    """Whether the mask holds a lattice place."""
    if mask is None or not (0 <= x - mask.x < mask.words.shape[1] and 0 <= y - mask.y < WORD * len(mask.words)):
        return False
    word, bit = divmod(y - mask.y, WORD)
    return bool(int(mask.words[word, x - mask.x]) >> bit & 1)


@SLOW
@given(a=shape, b=shape, gap=st.sampled_from([0.0, 3.0, 25.0]), data=st.data())
def test_a_place_is_taken_where_blanks_would_overlap_and_only_there(a, b, gap, data) -> None:
    """At random lattice places: never free where the gap is broken, never taken where there is room."""
    masks = Masks([laid_parts(convex_parts(p), gap) for p in (a, b)], 1.5)
    mask, fixed = masks(0, 1), Polygon(a)
    for _ in range(40):
        x, y = data.draw(st.integers(-80, 80)), data.draw(st.integers(-80, 80))
        moving = affinity.translate(Polygon(b), 1.5 * x, 1.5 * y)
        apart = fixed.distance(moving)
        if not is_taken(mask, x, y):
            assert fixed.intersection(moving).area < 1e-4
            assert apart >= gap - 1e-6
        elif gap:
            assert apart <= gap * 1.01
        else:
            assert fixed.buffer(1e-6).intersects(moving)


@SLOW
@given(outer=shape)
def test_convex_parts_make_up_the_polygon(outer) -> None:
    """Their areas add up to the polygon's, their union is the polygon, each turns left all round."""
    parts = convex_parts(outer)
    assert Polygon(outer).area == pytest.approx(sum(twice_area(p) / 2 for p in parts))
    assert unary_union([Polygon(p).buffer(1e-9) for p in parts]).symmetric_difference(Polygon(outer)).area < 1e-4
    assert all(Polygon(p).convex_hull.area == pytest.approx(Polygon(p).area) for p in parts)


def test_a_shape_of_many_parts_is_taken_larger_never_smaller() -> None:
    """A gear of 60 teeth: fewer parts, all of the metal in them, no more than a sixteenth larger."""
    gear = at_zero(
        [
            (
                (50 + 2 * (k % 4 < 2)) * math.cos(k * math.tau / 240),
                (50 + 2 * (k % 4 < 2)) * math.sin(k * math.tau / 240),
            )
            for k in range(240)
        ]
    )
    parts, (dx, dy) = plain_parts(gear, (), 3.0, 1.0)
    assert len(parts) < len(convex_parts(gear))
    union = unary_union([Polygon(p).buffer(1e-9) for p in parts])
    assert union.covers(affinity.translate(Polygon(gear), dx, dy).buffer(-1e-6))
    assert union.area < 1.07 * Polygon(gear).area


def test_triangles_fill_their_sheet() -> None:
    """By head: 8 right triangles of 40 x 30 make four rectangles, two above each other in 60: 80 long, no less."""
    triangle = Piece("T", polygon([(0, 0), (40, 0), (0, 30)]), (), 8, (0.0, 180.0))
    stock, tool = [Sheet("S", "A", 1.0, 200.0, 60.0)], CuttingTool("r", "profile-cut")
    result = nest_pieces(Problem([triangle], stock, tool))
    check_result(result, [triangle], stock, tool)
    (nest,) = result.nests
    assert 80.0 == pytest.approx(max(x for p in nest.placements for x, _ in laid([(0, 0), (40, 0), (0, 30)], p)))


@SLOW
@given(
    shapes=st.lists(st.tuples(star(120.0), st.integers(1, 5), st.booleans()), min_size=1, max_size=4),
    gap=st.sampled_from([0.0, 3.175, 150.0]),
    bad=st.booleans(),
)
def test_sheets_of_random_polygons_keep_every_rule(shapes, gap, bad) -> None:
    """The independent check, and the gap to a millionth; a gap larger than the parts; a scratch in the middle."""
    pieces = [
        Piece(f"P{n}", polygon(points), (), many, QUARTERS, mirror) for n, (points, many, mirror) in enumerate(shapes)
    ]
    spoilt = ((200.0, 90.0, 40.0, 25.0),) if bad else ()
    stock = [Sheet("S", "6061-T6", 1.6, 420.0, 300.0, 7.5, bad_areas=spoilt)]
    tool = CuttingTool("router", "profile-cut", gap=gap)
    result = nest_pieces(Problem(pieces, stock, tool))
    check_result(result, pieces, stock, tool)
    assert not result.unplaced
    by_part = {p.part: p for p in pieces}
    for nest in result.nests:
        polygons = [Polygon(laid([v[:2] for v in by_part[p.part].outline], p)) for p in nest.placements]
        for n, one in enumerate(polygons):
            assert all(one.distance(other) >= gap - 1e-6 for other in polygons[n + 1 :])


def test_an_angle_as_large_as_the_sheet_with_a_plate_in_its_arms() -> None:
    """Limiting case by head: the angle fits exactly once, and the plate fills what it leaves, less the gap."""
    angle = Piece("A", polygon([(0, 0), (380, 0), (380, 80), (90, 80), (90, 280), (0, 280)]), (), 1, (0.0,))
    plate = Piece("P", rectangle(0, 0, 290 - 5, 200 - 5), (), 1, (0.0,))
    stock, tool = [Sheet("S", "6061-T6", 1.6, 400, 300, 10, copies=1)], CuttingTool("r", "profile-cut", gap=5.0)
    result = nest_pieces(Problem([angle, plate], stock, tool))
    check_result(result, [angle, plate], stock, tool)
    assert not result.unplaced


def test_discs_lie_in_round_openings() -> None:
    """A ring that fills its sheet, bored 150, takes a disc of 138 at 5 mm gap: their rectangles could never."""
    ring = Piece("R", circle((0, 0), 180), (circle((0, 0), 150),), 1, QUARTERS)
    disc = Piece("D", circle((0, 0), 138), (), 1, QUARTERS)
    stock, tool = [Sheet("S", "6061-T6", 1.6, 190, 190, 4, copies=1)], CuttingTool("r", "profile-cut", gap=5.0)
    result = nest_pieces(Problem([ring, disc], stock, tool))
    check_result(result, [ring, disc], stock, tool)
    assert not result.unplaced


def test_the_lattice_suits_the_sizes() -> None:
    """Whole millimetres with a gap of 3 lose nothing on steps of 1; sixteenths of an inch nothing on thirty-seconds."""
    stock = [Sheet("S", "6061-T6", 1.6, 2438, 1219, 10)]
    plates = [
        Piece("A", rectangle(0, 0, 63, 187), (), 9, QUARTERS),
        Piece("B", rectangle(0, 0, 44, 91), (), 9, QUARTERS),
    ]
    assert lattice_step(plates, stock, 3.0) == pytest.approx(1.0)
    inch = [Piece("A", rectangle(0, 0, 25.4 * 3.0625, 25.4 * 5.1875), (), 9, QUARTERS)]
    assert (25.4 / 32) % lattice_step(inch, stock, 3.175) == pytest.approx(0.0, abs=1e-9)
