"""Pieces sawn from lengths: nothing lost, no length too full, as few as an exact programme of its own proves."""

import random

import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from flatgen.nest.lengths import cut_lengths


def order(seed):
    """A small order of odd sizes."""
    draw = random.Random(seed)
    kinds = draw.randint(2, 4)
    pieces = [round(draw.uniform(15.0, 200.0), 2) for _ in range(kinds)]
    return pieces, [draw.randint(1, 4) for _ in range(kinds)], draw.uniform(220.0, 470.0), draw.choice((0.0, 1.2, 3.0))


def exact(pieces, wanted, length, kerf):
    """Each piece is assigned to one of as many lengths as there are pieces; as few lengths as can be are used."""
    sizes = [size + kerf for size, many in zip(pieces, wanted, strict=True) for _ in range(many)]
    n = len(sizes)
    most = len(cut_lengths(pieces, wanted, length, kerf))
    bins = sum(many for many, _ in cut_lengths(pieces, wanted, length, kerf))
    assert most <= bins
    rows, low, high = [], [], []
    for k in range(n):  # assigned once
        rows.append([1.0 if i == k else 0.0 for i in range(n) for _ in range(bins)] + [0.0] * bins)
        low.append(1.0)
        high.append(1.0)
    for b in range(bins):  # no fuller than a length
        row = [sizes[i] if c == b else 0.0 for i in range(n) for c in range(bins)]
        rows.append(row + [-(length + kerf) if c == b else 0.0 for c in range(bins)])
        low.append(-1e9)
        high.append(1e-6)
    for b in range(bins - 1):  # lengths are used in turn
        rows.append([0.0] * (n * bins) + [{b: -1.0, b + 1: 1.0}.get(c, 0.0) for c in range(bins)])
        low.append(-1e9)
        high.append(0.0)
    cost = [0.0] * (n * bins) + [1.0] * bins
    answer = milp(cost, constraints=LinearConstraint(rows, low, high), integrality=[1] * len(cost), bounds=Bounds(0, 1))
    return round(answer.fun)


def sound(pieces, wanted, length, kerf):
    found = cut_lengths(pieces, wanted, length, kerf)
    for kind, many in enumerate(wanted):
        assert many == sum(times * pattern[kind] for times, pattern in found)
    for _, pattern in found:
        cut = [size for size, many in zip(pieces, pattern, strict=True) for _ in range(many)]
        assert cut and sum(cut) + kerf * (len(cut) - 1) <= length + 1e-6
    return sum(times for times, _ in found)


@pytest.mark.parametrize("seed", range(30))
def test_small_orders_take_as_few_as_an_exact_programme(seed) -> None:
    case = order(seed)
    assert exact(*case) == sound(*case)


def test_an_order_of_very_many_patterns_is_within_one_of_its_metal() -> None:
    pieces = [19.05, 25.4, 31.75, 38.1, 50.8, 63.5, 76.2, 101.6, 152.4]
    wanted = [30, 28, 26, 26, 24, 22, 20, 16, 14]
    count = sound(pieces, wanted, 463.9, 1.2)
    least = sum(many * (size + 1.2) for size, many in zip(pieces, wanted, strict=True)) / 465.1
    assert least <= count <= least + 1.5


def test_a_piece_longer_than_a_length_is_refused() -> None:
    with pytest.raises(ValueError, match="longer than a length"):
        cut_lengths([50.0, 10.0], [1, 2], 40.0, 1.0)
