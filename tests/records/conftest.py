"""Sample entries that the tests of the book share."""

from collections.abc import Callable
from itertools import count
from typing import Any

import pytest

from flatgen.records.coupons import Coupon

INCH = 25.4


def sample_coupon(**changes: Any) -> Coupon:
    """A believable coupon of 0.032 in 2024-T3 on the 1/8 in nose, square."""
    values: dict[str, Any] = {
        "material": "2024-T3",
        "thickness": 0.032 * INCH,
        "nose_radius": 0.125 * INCH,
        "angle": 90.0,
        "grain": "across",
        "blank_length": 2.905 * INCH,
        "leg_a": 1.500 * INCH,
        "leg_b": 1.501 * INCH,
        "measured_thickness": 0.032 * INCH,
        "leaf_angle": 94.0,
        "released_angle": 90.0,
        "mark": "C1/1",
        "recorded_by": "tester",
    }
    return Coupon(**(values | changes))


@pytest.fixture
def coupon() -> Callable[..., Coupon]:
    """Each call another strip: C1/1, C1/2 … unless a mark is given."""
    numbers = count(1)
    return lambda **changes: sample_coupon(**({"mark": f"C1/{next(numbers)}"} | changes))
