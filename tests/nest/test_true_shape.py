"""Profile-cut nests: blanks laid into one another, into openings, in even rows."""

import math

import pytest
from nest_verifier import check_result

from flatgen.core.outline import circle, polygon, rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Longer, Problem, nest_pieces
from flatgen.nest.shapes.polygons import safe_points

ROUTER = CuttingTool("router", "profile-cut", gap=6.0)
QUARTERS = (0.0, 90.0, 180.0, 270.0)


def sheet(width, height, **more) -> Sheet:
    return Sheet("S", "6061-T6", 1.6, width, height, **more)


def run(pieces, sheets, tool=ROUTER, longer=None):
    result = nest_pieces(Problem(pieces, sheets, tool), longer)
    check_result(result, pieces, sheets, tool)
    return result


def test_small_blanks_lie_in_large_openings() -> None:
    """By head: a frame that fills its sheet leaves 488 x 288 inside for four plates of 240 x 140."""
    frame = Piece("F", rectangle(0, 0, 580, 380), (rectangle(40, 40, 500, 300),), 1, QUARTERS)
    plates = Piece("P", rectangle(0, 0, 240, 140), (), 4, QUARTERS)
    assert 1 == len(run([frame, plates], [sheet(600, 400, margin=10)]).nests)


def test_blanks_in_openings_keep_the_grain() -> None:
    """The frame must be turned to fit; what lies in it along the grain only must not turn with it."""
    frame = Piece("F", rectangle(0, 0, 380, 580), (rectangle(40, 40, 300, 500),), 1, QUARTERS)
    plates = Piece("P", rectangle(0, 0, 240, 140), (), 4, (0.0, 180.0))
    run([frame, plates], [sheet(600, 400, margin=10)])


def test_wedges_are_laid_head_to_foot() -> None:
    """Two right triangles make a rectangle: 20 of 200 x 100 need little more than half their own rectangles."""
    wedge = Piece("W", polygon([(0, 0), (200, 0), (0, 100)]), (), 20, (0.0, 180.0))
    assert 1 == len(run([wedge], [sheet(700, 500)]).nests)  # 350 000 mm², against 447 000 with 6 mm about each


def test_equal_plates_lie_in_even_rows() -> None:
    """100 plates of 90 x 40 at 6 mm: ten rows of ten in 954 x 454, the best that rows can be; every step the same."""
    result = run([Piece("A", rectangle(0, 0, 90, 40), (), 100, (0.0,))], [sheet(954, 454)])
    assert 1 == len(result.nests)
    assert {round(96.0 * k, 6) for k in range(10)} == {round(p.x, 6) for p in result.nests[0].placements}
    assert {round(46.0 * k, 6) for k in range(10)} == {round(p.y, 6) for p in result.nests[0].placements}


def test_scratches_are_avoided() -> None:
    """A bad area in the middle; the independent check sees whether anything lies on it."""
    result = run(
        [Piece("A", rectangle(0, 0, 150, 120), (), 6, QUARTERS)],
        [sheet(800, 400, bad_areas=((380.0, 180.0, 30.0, 30.0),))],
    )
    assert not result.unplaced


def test_mirrored_blanks_only_where_allowed() -> None:
    """Handed angles that may be turned over; the check refuses a mirrored blank that may not be."""
    angle = polygon([(0, 0), (120, 0), (120, 30), (30, 30), (30, 90), (0, 90)])
    for may_mirror in (False, True):
        run([Piece("A", angle, (), 12, (0.0, 180.0), may_mirror)], [sheet(800, 400)])


def test_safe_polygons_lie_outside_the_metal_and_inside_openings() -> None:
    """Area of a disc of 100 mm: never less than the true one outside, never more in an opening."""
    true = math.pi * 2500.0

    def area(points):
        return 0.5 * sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(points, points[1:] + points[:1], strict=True))

    disc = circle((0, 0), 100)
    assert true < area(safe_points(disc)) < true * 1.002
    assert true * 0.998 < area(safe_points(disc, opening=True)) < true


def test_a_longer_search_is_never_worse_and_can_be_broken_off() -> None:
    """The quick nest is where it starts; an interruption in the progress call keeps the best so far."""
    pieces = [
        Piece("A", polygon([(0, 0), (160, 0), (125, 120), (35, 120)]), (), 9, (0.0, 180.0)),
        Piece("B", rectangle(0, 0, 75, 190), (), 7, QUARTERS),
    ]
    quick = run(pieces, [sheet(1000, 500)])
    seen = []
    assert run(pieces, [sheet(1000, 500)], longer=Longer(2.0, lambda *told: seen.append(told))).figure <= quick.figure
    assert seen

    def stop(share: float, words: str) -> None:
        if share < 1.0:
            raise KeyboardInterrupt

    tool = CuttingTool("shear", "shear")
    longer = Longer(30.0, stop)
    run(pieces, [sheet(1000, 500)], tool, longer)
    assert longer.ended


@pytest.mark.parametrize("gap", [0.0, 6.0])
def test_openings_count_with_the_gap(gap) -> None:
    """A disc of 100 in a round opening: its rectangle fits only into 100·sqrt 2 plus the gap on both sides."""
    frame = Piece("F", rectangle(0, 0, 200, 200), (circle((100, 100), 150),), 1, QUARTERS)
    small = Piece("P", rectangle(0, 0, 70, 70), (), 1, QUARTERS)
    result = run([frame, small], [sheet(200, 200, copies=1)], CuttingTool("r", "profile-cut", gap=gap))
    assert not result.unplaced
