"""Outlines taken from one another, against shapely on fine chords and against areas known by head."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from flatgen.core.clip import difference, intersection, without
from flatgen.core.meets import self_crossings
from flatgen.core.outline import area, circle, flatten, polygon, rectangle, rounded, slot
from flatgen.core.shared import shared_area

PLATE = rectangle(0, 0, 40, 20)


def test_corner_hole_leaves_three_quarters_of_a_circle_out() -> None:
    """A disc centred on a re-entrant corner takes away 270 degrees of itself."""
    plus = polygon([(0, 10), (10, 10), (10, 0), (30, 0), (30, 10), (40, 10), (40, 30), (0, 30)])
    (left,) = difference(plus, circle((10, 10), 4))
    assert area(plus) - 0.75 * math.pi * 4 == pytest.approx(area(left), abs=1e-9)


def test_slot_beside_a_shared_edge() -> None:
    """A tool whose side runs along the outline's own edge takes only what lies inside."""
    step = polygon([(0, 0), (10, 0), (10, 10), (20, 10), (20, 20), (0, 20)])
    (left,) = difference(step, rectangle(10, 8, 2, 6))
    assert area(step) - 2 * 4 == pytest.approx(area(left), abs=1e-9)


def test_tool_inside_leaves_a_window() -> None:
    """A tool that meets no edge becomes an inner curve run clockwise."""
    outers, windows = without(PLATE, [slot((10, 10), (20, 10), 4)])
    assert [800.0] == [area(o) for o in outers]
    assert 40 + math.pi * 4 == pytest.approx(area(windows[0]))


def test_tool_that_misses_changes_nothing() -> None:
    """Touching along an edge from outside takes nothing."""
    assert [PLATE] == difference(PLATE, rectangle(0, 20, 40, 5))
    assert 0.0 == shared_area(PLATE, rectangle(50, 0, 5, 5))


def test_tool_that_parts_the_plate() -> None:
    """A slot right across leaves two pieces."""
    assert [300.0, 300.0] == sorted(area(o) for o in difference(PLATE, rectangle(15, -1, 10, 30)))


def test_self_crossing_is_seen() -> None:
    """A bow tie crosses itself in its middle; a rectangle does not."""
    assert (5.0, 5.0) == pytest.approx(self_crossings(polygon([(0, 0), (10, 10), (10, 0), (0, 10)]))[0])
    assert [] == self_crossings(PLATE)


coordinate = st.floats(-15, 45).map(lambda v: round(v, 2))
size = st.floats(0.5, 30).map(lambda v: round(v, 2))


@given(x=coordinate, y=coordinate, w=size, h=size, d=size, kind=st.sampled_from(["circle", "rectangle", "slot"]))
def test_difference_and_intersection_share_out_the_area(x, y, w, h, d, kind) -> None:
    """Both agree with each other and, on chords, with shapely."""
    tool = {"circle": circle((x, y), d), "rectangle": rectangle(x, y, w, h), "slot": slot((x, y), (x + w, y + h), d)}
    plate = rounded(PLATE, 2, 6)
    left = sum(area(o) for o in difference(plate, tool[kind]))
    taken = sum(area(o) for o in intersection(plate, tool[kind]))
    assert area(plate) == pytest.approx(left + taken, abs=1e-5)
    reference = Polygon(flatten(plate, 1e-4)).intersection(Polygon(flatten(tool[kind], 1e-4))).area
    assert reference == pytest.approx(taken, abs=0.05)
