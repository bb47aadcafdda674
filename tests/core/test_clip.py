"""Outlines taken from one another, against shapely on fine chords and against areas known by head."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from flatgen.core.clip import difference, encloses, intersections, without
from flatgen.core.joined import Joined
from flatgen.core.outline import area, circle, flatten, moved, polygon, rectangle, rounded, slot
from flatgen.core.points import shifted
from flatgen.core.shared import shared_area
from flatgen.errors import CannotMake

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


coordinate = st.floats(-15, 45).map(lambda v: round(v, 2))
size = st.floats(0.5, 30).map(lambda v: round(v, 2))


@given(x=coordinate, y=coordinate, w=size, h=size, d=size, kind=st.sampled_from(["circle", "rectangle", "slot"]))
def test_difference_and_intersection_share_out_the_area(x, y, w, h, d, kind) -> None:
    """Both agree with each other and, on chords, with shapely."""
    tool = {"circle": circle((x, y), d), "rectangle": rectangle(x, y, w, h), "slot": slot((x, y), (x + w, y + h), d)}
    plate = rounded(PLATE, 2, 6)
    left = sum(area(o) for o in difference(plate, tool[kind]))
    taken = sum(area(o) for o in intersections(plate, [tool[kind]]))
    assert area(plate) == pytest.approx(left + taken, abs=1e-7)
    reference = Polygon(flatten(plate, 1e-4)).intersection(Polygon(flatten(tool[kind], 1e-4))).area
    assert reference == pytest.approx(taken, abs=0.05)


hair = st.sampled_from([0.0, 1e-13, 1e-11, 1e-10, 2e-10, 1e-9, 1e-8, 1e-7, 1e-6]).flatmap(
    lambda h: st.sampled_from([h, -h])
)
STEPS = polygon([(0, 0), (40, 0), (40, 12), (30, 12), (30, 12.000001), (20, 20), (0, 20)])
TOOLS = (rectangle(-5, -5, 10, 10), circle((0, 0), 8), slot((0, 0), (0, 10), 4), polygon([(0, 0), (9, -1e-8), (4, 7)]))


@given(st.sampled_from([PLATE, STEPS, rounded(PLATE, 2, 5)]), st.sampled_from(TOOLS), st.integers(0, 6), hair, hair)
def test_tools_a_hair_off_a_corner(plate, tool, corner, dx, dy) -> None:
    """Edges that all but run together, arcs that all but touch: no metal is lost or made."""
    x, y, _ = plate[corner % len(plate)]
    for at in ((x + dx, y + dy), (x + 5.0 + dx, y + dy), (x + dx, y - 4.0 + dy)):
        there = moved(tool, shifted(*at))
        left, taken = difference(plate, there), intersections(plate, [there])
        shared = shared_area(plate, there)
        assert shared == pytest.approx(sum(area(o) for o in taken), abs=1e-7)
        assert area(plate) - shared == pytest.approx(sum(area(o) for o in left), abs=1e-7)


def test_slot_beside_a_slit() -> None:
    """A blank whose edge runs down a slit and up again: the slot takes the metal on one side of it alone."""
    slit = polygon([(0, 0), (40, 0), (40, 30), (20, 30), (20, 12), (20, 18), (20, 30.5), (0, 30.5)])
    (left,) = difference(slit, rectangle(18, 15, 2, 20))
    assert area(slit) - 2 * 15.5 == pytest.approx(area(left), abs=1e-9)


def test_tool_on_metal_that_lies_double() -> None:
    """A strip that turns back over itself is cut in both layers."""
    strip = polygon([(0, 0), (30, 0), (30, 10), (5, 10), (5, -10), (10, -10), (10, 5), (25, 5), (25, 2), (0, 2)])
    tool = rectangle(4, -1, 8, 8)
    assert area(strip) - shared_area(strip, tool) == pytest.approx(
        sum(area(o) for o in difference(strip, tool)), abs=1e-9
    )


tools_of_all_kinds = st.lists(
    st.one_of(
        st.builds(lambda x, y, d: circle((x, y), d), coordinate, coordinate, size),
        st.builds(rectangle, coordinate, coordinate, size, size),
        st.builds(lambda x, y, w, d: slot((x, y), (x + w, y), d), coordinate, coordinate, size, size),
    ),
    max_size=6,
)


def one_by_one(plate, tools):
    """Outer curves and windows of a plate from which tools are cut each on its own."""
    outers, windows = [plate], []
    for tool in tools:
        left = [loop for outer in outers for loop in difference(outer, tool)]
        outers = [loop for loop in left if area(loop) > 0.0]
        windows += [loop for loop in left if area(loop) < 0.0]
    return outers, windows


@given(tools_of_all_kinds)
def test_tools_cut_together_leave_what_they_leave_one_by_one(tools) -> None:
    """Tools that stand clear of one another are cut at once, others in turn: the order of cuts tells nothing."""
    plate = rounded(PLATE, 2, 6)
    outers, windows = without(plate, tools)
    expected = one_by_one(plate, tools)
    assert [len(found) for found in expected] == [len(outers), len(windows)]
    sizes = [sorted(abs(area(loop)) for loop in found) for found in (outers, windows, *expected)]
    assert sizes[:2] == [pytest.approx(found, abs=1e-9) for found in sizes[2:]]


def test_tools_are_cut_together_whichever_ends_inside() -> None:
    """The last side of the first tool lies in the plate, the first side of the second does not."""
    joined = Joined(PLATE, [rectangle(35, 5, 10, 5), rectangle(-5, 5, 10, 5)], 1e-10)
    loops = joined.loops(joined.first_kept(inside=False) + joined.second_kept(inside=False))
    assert loops is not None
    assert [750.0] == [pytest.approx(size, abs=1e-9) for size, _ in loops]


def test_tools_that_cannot_be_cut_together_are_cut_in_turn(monkeypatch) -> None:
    """Each may want a nearness of its own for what is one point."""
    tools = [circle((0, 10), 4), circle((40, 10), 4), circle((20, 10), 4), rectangle(10, 15, 5, 10)]
    outers, windows = without(PLATE, tools)

    def refused(self, kept):
        return None if len(self.others) > 1 else loops(self, kept)

    loops = Joined.loops
    monkeypatch.setattr(Joined, "loops", refused)
    again, same_windows = without(PLATE, tools)
    assert 800 - math.pi * 4 - 25 == pytest.approx(area(outers[0]), abs=1e-9)
    assert [area(outers[0])] == [pytest.approx(area(loop), abs=1e-9) for loop in again]
    assert windows == same_windows == [tools[2]]


def test_encloses_means_clear_of_the_edge() -> None:
    """A window may come near the edge, not up to it."""
    assert encloses(PLATE, rectangle(10, 10, 5, 9.999))
    assert not encloses(PLATE, rectangle(10, 10, 5, 10))
    assert not encloses(PLATE, rectangle(10, 10, 5, 10 + 3e-8))
    assert not encloses(PLATE, rectangle(50, 0, 5, 5))


def test_what_cannot_be_decided_is_refused() -> None:
    """A tool that runs twice round a square would take the same metal twice."""
    with pytest.raises(CannotMake, match="about 2.50, 10.00 mm .* of the flat .* cannot be told on which side"):
        difference(PLATE, polygon([(-5, 5), (5, 5), (5, 15), (-5, 15)] * 2))
