"""Points of segments, also of those that shrank to a point."""

from flatgen.core import arcs


def test_a_side_that_shrank_to_a_point_is_that_point() -> None:
    assert (3.0, 4.0) == arcs.nearest_point((3.0, 4.0), (3.0, 4.0), 0.0, (7.0, 9.0))
    assert (2.0, 0.0) == arcs.nearest_point((0.0, 0.0), (5.0, 0.0), 0.0, (2.0, 9.0))
