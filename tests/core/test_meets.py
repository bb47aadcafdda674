"""Where segments meet, by hand."""

import pytest

from flatgen.core.meets import curve_meets, self_crossings
from flatgen.core.outline import polygon, rectangle


def test_self_crossing_is_seen() -> None:
    """A bow tie crosses itself in its middle; a rectangle does not."""
    assert (5.0, 5.0) == pytest.approx(self_crossings(polygon([(0, 0), (10, 10), (10, 0), (0, 10)]))[0])
    assert [] == self_crossings(rectangle(0, 0, 40, 20))


def test_line_meets_circle() -> None:
    """A half circle of radius 5 about the origin: cut at 3-4-5, touched, and missed."""
    half = ((5.0, 0.0), (-5.0, 0.0), 1.0)
    cut = curve_meets(((-9.0, 3.0), (9.0, 3.0), 0.0), half)
    assert [(-4.0, 3.0), (4.0, 3.0)] == [pytest.approx(x) for x in sorted(cut)]
    assert [pytest.approx((0.0, 5.0))] == curve_meets(((-9.0, 5.0 + 1e-9), (9.0, 5.0 + 1e-9), 0.0), half)
    assert [] == curve_meets(((-9.0, 5.1), (9.0, 5.1), 0.0), half)


def test_line_meets_a_flat_arc_whose_centre_is_far_off() -> None:
    """An arc that rises 1e-6 mm over 100 mm is cut in its middle, not somewhere along its circle."""
    arc = ((0.0, 0.0), (100.0, 0.0), -2e-8)
    crossing = min(curve_meets(((50.0, -1.0), (50.0, 1.0), 0.0), arc), key=lambda x: abs(x[1]))
    assert (50.0, 1e-6) == pytest.approx(crossing, abs=1e-12)
