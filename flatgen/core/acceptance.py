"""How many pieces of a batch to measure, and how many bad ones among them the batch may have, by a published plan.

Single sampling, normal inspection, general level II. ``sampling`` gives sample size and acceptance number for a batch;
``spread_out`` says which pieces to take. Source: MIL-STD-105E (10 May 1989), tables I and II-A, the same values as ISO
2859-1 tables 1 and 2-A; from memory.
"""

from dataclasses import dataclass

SOURCE = "MIL-STD-105E tables I and II-A (ISO 2859-1), single sampling, general level II; from memory"
# smallest batch above which each sample size holds (table I, level II), with the sample sizes of table II-A
BATCHES = (
    (8, 2), (15, 3), (25, 5), (50, 8), (90, 13), (150, 20), (280, 32), (500, 50), (1200, 80), (3200, 125)
)  # fmt: skip
SIZES = tuple(size for _, size in BATCHES)
STEPS = (0, 1, 2, 3, 5, 7, 10, 14, 21)  # acceptance numbers in order down the table
# for each quality level [% nonconforming]: the sample size that has acceptance number 0
LEVELS = {0.65: 20, 1.0: 13, 1.5: 8, 2.5: 5, 4.0: 3, 6.5: 2}


@dataclass(frozen=True, slots=True)
class Sampling:
    """Pieces to measure of a batch; the batch is accepted with at most ``accept`` bad ones among them."""

    batch: int
    size: int
    accept: int
    level: float  # acceptance quality level [% nonconforming]

    @property
    def everything(self) -> bool:
        """Whether every piece is measured."""
        return self.size >= self.batch


def sampling(batch: int, level: float = 2.5) -> Sampling:
    """Sample size and acceptance number for a batch at a quality level.

    Where the table's cell is an arrow, the plan at the arrow's head is taken, sample size and all. A sample as large as
    the batch is inspection of every piece.

    Examples
    --------
    >>> sampling(24), sampling(96, level=4.0)
    (Sampling(batch=24, size=5, accept=0, level=2.5), Sampling(batch=96, size=20, accept=2, level=4.0))
    """
    if batch < 1:
        raise ValueError("a batch has at least one piece")
    if level not in LEVELS:
        raise ValueError(f"the plan is tabled for {', '.join(f'{key:g}' for key in LEVELS)} %")
    row = next((k for k, (most, _) in enumerate(BATCHES) if batch <= most), len(BATCHES) - 1)
    zero = SIZES.index(LEVELS[level])
    # down a column: 0, an arrow up to it, an arrow down, then 1, 2, 3 ...
    if row <= zero + 1:
        row, accept = zero, 0
    else:
        row = max(row, zero + 3)
        accept = STEPS[min(row - zero - 2, len(STEPS) - 1)]
    row = min(row, len(BATCHES) - 1)
    size = SIZES[row]
    return Sampling(batch, batch, 0, level) if size >= batch else Sampling(batch, size, accept, level)


def spread_out(batch: int, size: int) -> tuple[int, ...]:
    """Numbers of the pieces to measure: the first article, then evenly on to the last.

    Examples
    --------
    >>> spread_out(24, 5)
    (1, 7, 13, 18, 24)
    """
    if size >= batch:
        return tuple(range(1, batch + 1))
    if size == 1:
        return (1,)
    return tuple(1 + round(k * (batch - 1) / (size - 1)) for k in range(size))
