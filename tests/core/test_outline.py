"""Outlines: corners that say nothing, turns round a point, flat arcs."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from flatgen.core import arcs
from flatgen.core.outline import WASTE, area, circle, contains, distance_to, flatten, polygon, tidy, turns

hair = st.sampled_from([0.0, 1e-12, 1e-10, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5]).flatmap(lambda h: st.sampled_from([h, -h]))


def test_corner_after_a_short_side_stays() -> None:
    """A strip of a slight bend between two long sides: 1e-5 mm off over 25 mm is 2e-4 mm², not one line."""
    points = [(0, 0), (50, 0), (50.05, 0), (75.05, -1e-5), (75.05, 20), (0, 20)]
    assert area(polygon(points)) == pytest.approx(area(tidy(polygon(points))), abs=WASTE)
    assert ((50.05, 0), (75.05, -1e-5)) == tuple(v[:2] for v in tidy(polygon(points))[1:3])


def test_points_in_the_run_of_a_line_or_circle_go() -> None:
    """Also where the run goes on over the seam; so does the end of a side of no length."""
    outline = polygon([(5, 0), (10, 0), (10, 10), (10, 10), (0, 10), (0, 5), (0, 0)])
    assert {(10, 0), (10, 10), (0, 10), (0, 0)} == {v[:2] for v in tidy(outline)}
    quarter = math.tan(math.pi / 8.0)
    disc = ((1.0, 0.0, quarter), (0.0, 1.0, quarter), (-1.0, 0.0, quarter), (0.0, -1.0, quarter))
    assert 3 >= len(tidy(disc)) and math.pi == pytest.approx(area(tidy(disc)))


@given(st.lists(st.tuples(st.floats(0.1, 60.0), hair), min_size=1, max_size=8), hair)
def test_tidy_keeps_the_area(steps, last) -> None:
    """A wavy upper edge of hairs: what is left out of it moves no more than the stated area a side."""
    x, points = 0.0, [(0.0, -10.0)]
    for step, height in steps:
        points.insert(1, (x, height))
        x += step
    points = [(x, last), *points[1:], (0.0, -10.0), (x, -10.0)]
    assert abs(area(polygon(points)) - area(tidy(polygon(points)))) <= WASTE * len(points)


def test_turns_count_layers() -> None:
    """A path that goes twice round a square holds its inside twice; its middle line is no edge."""
    twice = polygon([(0, 0), (4, 0), (4, 4), (0, 4), (0, 0), (4, 0), (4, 4), (0, 4)])
    assert 2 == turns(twice, (1, 1)) and 0 == turns(twice, (5, 1))
    assert 1 == turns(circle((0, 0), 2), (0.25, 0))  # on the chord that both halves share
    assert -1 == turns(tuple(reversed(polygon([(0, 0), (1, 0), (0, 1)]))), (0.2, 0.2))


bulge = st.sampled_from([0.0, 0.0, 1.0, -0.4]) | st.floats(-1.2, 1.2)


@given(st.lists(st.tuples(st.floats(2.0, 9.0), bulge), min_size=3, max_size=7), st.floats(-9, 9), st.floats(-9, 9))
def test_inside_agrees_with_shapely(rays, x, y) -> None:
    """Stars with arcs, on fine chords."""
    step = math.tau / len(rays)
    outline = tuple((r * math.cos(k * step), r * math.sin(k * step), b) for k, (r, b) in enumerate(rays))
    figure = Polygon(flatten(outline, 1e-4))
    if figure.is_valid and distance_to(outline, (x, y)) > 1e-3:
        assert figure.contains(Point(x, y)) == contains(outline, (x, y))


@pytest.mark.parametrize("flatness", [1e-10, 1e-7, 1e-4, 0.049, 0.051])
def test_flat_arcs_lose_no_digits(flatness) -> None:
    """Area of a flat circular segment: 2/3 of chord times rise, with its next terms (derived: series)."""
    p, q, chord = (0.0, 0.0), (100.0, 0.0), 100.0
    rise = flatness * chord / 2.0
    series = 2.0 / 3.0 * chord * rise * (1.0 + flatness**2 / 5.0 - flatness**4 / 35.0 + flatness**6 / 105.0)
    assert series == pytest.approx(arcs.cap_area(p, q, flatness), rel=1e-11)
    middle = arcs.point_at(p, q, flatness, 0.5)
    assert (50.0, -rise) == pytest.approx(middle, rel=1e-14)
    assert 0.5 == pytest.approx(arcs.share_of(p, q, flatness, middle), rel=1e-12)
    assert abs(arcs.power(p, q, flatness, middle)) < 1e-9 * chord / flatness
