"""Sampling plan against cells of the published table, and against the chances it is meant to give."""

import pytest
from scipy import stats

from flatgen.core.acceptance import LEVELS, sampling, spread_out

# MIL-STD-105E (1989) tables I and II-A, general level II, normal inspection: batch, level -> sample, accept (from
# memory); "=" marks cells reached by an arrow
CELLS = [
    (40, 1.5, 8, 0),
    (24, 2.5, 5, 0),
    (30, 2.5, 5, 0),  # arrow up from D
    (60, 2.5, 20, 1),  # arrow down from E
    (120, 2.5, 20, 1),
    (200, 2.5, 32, 2),
    (400, 2.5, 50, 3),
    (1000, 2.5, 80, 5),
    (3000, 2.5, 125, 7),
    (120, 4.0, 20, 2),
    (1000, 4.0, 80, 7),
    (200, 1.0, 50, 1),  # arrow down from G
    (120, 1.0, 13, 0),  # arrow up from F
    (400, 1.0, 50, 1),
    (3000, 1.0, 125, 3),
    (90, 6.5, 13, 2),
    (300, 6.5, 50, 7),
]


@pytest.mark.parametrize(("batch", "level", "size", "accept"), CELLS, ids=lambda v: str(v))
def test_cells_of_the_published_table(batch: int, level: float, size: int, accept: int) -> None:
    plan = sampling(batch, level)
    assert (size, accept) == (plan.size, plan.accept)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("batch", [40, 120, 400, 1000])
def test_batch_at_the_quality_level_is_mostly_accepted(batch: int, level: float) -> None:
    """The plan is made so that a batch at the level passes about nine times in ten or more (binomial)."""
    plan = sampling(batch, level)
    assert stats.binom.cdf(plan.accept, plan.size, level / 100) > 0.85


@pytest.mark.parametrize("batch", [1, 2, 4])
def test_small_batches_are_measured_whole(batch: int) -> None:
    assert sampling(batch).everything
    assert tuple(range(1, batch + 1)) == spread_out(batch, sampling(batch).size)


def test_first_and_last_are_always_among_them() -> None:
    for batch in range(2, 400):
        plan = sampling(batch)
        pieces = spread_out(batch, plan.size)
        assert plan.size == len(set(pieces))
        assert (1, batch) == (pieces[0], pieces[-1])
    assert (1,) == spread_out(9, 1)


def test_what_the_table_does_not_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="tabled for"):
        sampling(10, 3.0)
    with pytest.raises(ValueError, match="at least one piece"):
        sampling(0)


# levels II of the table in notes on batches of small fittings, which had it from published sampling charts (read):
# the largest batch of a row -> sample and acceptance number at 1.0, 2.5 and 4.0 %
NOTED = {
    8: ("13/0", "5/0", "3/0"),
    15: ("13/0", "5/0", "3/0"),
    25: ("13/0", "5/0", "3/0"),
    50: ("13/0", "5/0", "13/1"),
    90: ("13/0", "20/1", "13/1"),
    150: ("13/0", "20/1", "20/2"),
    280: ("50/1", "32/2", "32/3"),
    500: ("50/1", "50/3", "50/5"),
}


@pytest.mark.parametrize("batch", NOTED)
def test_the_plan_is_that_of_the_noted_table(batch: int) -> None:
    for level, cell in zip((1.0, 2.5, 4.0), NOTED[batch], strict=True):
        size, accept = map(int, cell.split("/"))
        plan = sampling(batch, level)
        assert (min(size, batch), 0 if size >= batch else accept) == (plan.size, plan.accept)
