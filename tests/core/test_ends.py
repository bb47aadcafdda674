"""Pieces of a bar whose one end moves, whose leaf stop moves, and that only scatter."""

import random

import pytest

from flatgen.core.ends import drifting


@pytest.mark.parametrize(("slopes", "end"), [((0.06, 0.0), "left"), ((0.0, -0.06), "right"), ((0.06, 0.06), "all")])
def test_most_series_tell_which_end(slopes, end) -> None:
    draw, right = random.Random(4), 0
    for _ in range(200):
        places = list(range(1, 25))
        series = [[slope * k + draw.gauss(0.0, 0.15) for k in places] for slope in slopes]
        right += end == drifting(places, *series)
    assert right >= 180


def test_scatter_alone_seldom_drifts() -> None:
    draw = random.Random(7)
    found = [drifting(range(20), *[[draw.gauss(0.0, 0.2) for _ in range(20)] for _ in range(2)]) for _ in range(200)]
    assert sum(map(bool, found)) <= 20


def test_too_few_pieces_tell_nothing() -> None:
    assert "" == drifting([1, 2], [0.0, 1.0], [0.0, 1.0])
