"""Metal is conserved in a bend being made: what the two flats and the arc take is what the blank has."""

import math
import random

import pytest

from flatgen.core.making import making, sight_from_clamped, sight_from_free

COUNT = 2500


def cases():
    draw = random.Random(41)
    for _ in range(COUNT):
        radius, thickness, angle = draw.uniform(0.8, 8.0), draw.uniform(0.4, 2.0), draw.uniform(5.0, 145.0)
        yield radius, thickness, angle, angle * draw.uniform(1.0, 1.15), draw.uniform(0.3, 0.5), draw.random() < 0.3


@pytest.mark.parametrize("gauged", ["back", "front"])
def test_back_flat_arc_and_front_flat_are_the_blank(gauged) -> None:
    """2,500 random bends to 1e-9 mm: one leg as drawn at its stop, the other E longer; both as they measure formed.

    The blank is two mould-line legs less a deduction; the formed legs are measured from flats that are walked along the
    metal, so nothing of the excess is used but its value.
    """
    for radius, thickness, angle, leaf, ratio, finished in cases():
        half = math.tan(math.radians(angle) / 2.0)
        allowance = math.radians(angle) * (radius + ratio * thickness)
        blank = 60.0 + 45.0 - (2.0 * (radius + thickness) * half - allowance)
        made = making(angle, leaf, radius, thickness, allowance, springback_in=finished)
        own, other = (60.0, 45.0) if gauged == "back" else (45.0, 60.0)
        flat = made.flat(own)
        left = blank - flat - made.arc
        assert other + made.excess == pytest.approx(left + (made.released + thickness) * half, abs=1e-9)
        assert finished <= (abs(made.excess) < 1e-9)
        if not finished:
            assert (radius + ratio * thickness) * math.radians(leaf) == pytest.approx(made.arc, abs=1e-9)


def test_sight_lines_from_both_edges_differ_by_the_excess() -> None:
    """From the clamped edge and from the free edge, each for its own leg to size, on 2,500 random bends."""
    for radius, thickness, angle, leaf, ratio, finished in cases():
        half = math.tan(math.radians(angle) / 2.0)
        allowance = math.radians(angle) * (radius + ratio * thickness)
        blank = 105.0 - (2.0 * (radius + thickness) * half - allowance)
        made = making(angle, leaf, radius, thickness, allowance, springback_in=finished)
        clamped = sight_from_clamped(made.flat(60.0), radius)
        free = blank - sight_from_free(made.flat(45.0), made.arc, radius)
        assert made.excess == pytest.approx(free - clamped, abs=1e-9)


def test_without_over_bend_nothing_is_left_over() -> None:
    made = making(90.0, 90.0, 3.0, 1.0, 5.4, springback_in=False)
    found = (made.released, made.arc, made.setback, made.shortens, made.excess)
    assert (3.0, 5.4, 4.0, 0.0, 0.0) == pytest.approx(found, abs=1e-12)
