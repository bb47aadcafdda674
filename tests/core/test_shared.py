"""Area two outlines share: against shapely on fine chords, and where edges touch, run together or all but do."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from flatgen.core.outline import area, circle, flatten, moved, perimeter, polygon, rectangle, rounded, slot
from flatgen.core.points import shifted, turned
from flatgen.core.shared import shared_area

PLATE = rounded(rectangle(0, 0, 40, 20), 2, 6)
SHAPES = (PLATE, circle((10, 10), 9), slot((5, 5), (25, 12), 7), polygon([(0, 0), (30, 4), (12, 9), (20, 25)]))

places = st.floats(-30, 40)


@given(st.sampled_from(SHAPES), st.sampled_from(SHAPES), st.floats(0, 360), places, places)
def test_agrees_with_shapely(one, two, angle, x, y) -> None:
    """Any place, any turn; which is first makes no difference."""
    other = moved(moved(two, turned(angle)), shifted(x, y))
    reference = Polygon(flatten(one, 1e-5)).intersection(Polygon(flatten(other, 1e-5))).area
    assert reference == pytest.approx(shared_area(one, other), abs=0.01)
    assert shared_area(other, one) == pytest.approx(shared_area(one, other), abs=1e-9)


@given(st.sampled_from(SHAPES), st.sampled_from([0.0, 1e-13, 1e-11, 1e-9, 1e-7, 1e-5]), st.floats(0, 360))
def test_depends_on_both_without_a_jump(outline, hair, angle) -> None:
    """An outline and itself, a hair aside: no more is lost than a hair all along it."""
    away = moved(outline, shifted(hair * math.cos(angle), hair * math.sin(angle)))
    assert abs(shared_area(outline, away) - area(outline)) <= perimeter(outline) * hair + 1e-9


def test_touching_shares_nothing() -> None:
    """Edge to edge, and an arc whose top just reaches a line a hair off level."""
    assert 0.0 == shared_area(PLATE, rectangle(0, 20, 40, 5))
    above = polygon([(0, 4.98242450000734), (31, 4.982424500007342), (31, 20), (0, 20)])
    bite = (
        (22.7, 0.0, 0.0),
        (22.7, 3.5863181689517964, 1.0),
        (19.907787338, 3.5863181689517964, 0.0),
        (19.907787338, 0, 0),
    )
    assert abs(shared_area(above, bite)) < 1e-9


def test_either_way_round() -> None:
    """Clockwise outlines hold the same."""
    backward = polygon([(0, 0), (0, 20), (10, 20), (10, 0)])
    assert 200.0 == pytest.approx(shared_area(PLATE, backward))
