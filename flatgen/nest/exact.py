"""The worthiest edge-to-edge pattern on a sheet when blanks may be taken any number of times, proved. Lengths in mm.

Only for sheets that hold few blanks: the table has one cell for every pair of sums of sizes that a sheet can hold.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from flatgen.nest.block import EPS, Block, join

if TYPE_CHECKING:
    pass

LARGEST = 160  # most sums along one side; beyond that the table takes too long


def sums(sizes: Sequence[float], length: float) -> list[float]:
    """All sums of sizes up to a length, and the length itself; empty when there are too many."""
    found = {0.0}
    layer = {0.0}
    while layer:
        layer = {round(a + s, 6) for a in layer for s in sizes if a + s <= length + EPS} - found
        found |= layer
        if len(found) > LARGEST:
            return []
    return sorted(found)


class PatternTable:
    """Best patterns for every pair of reachable sizes up to width by height, for given worths."""

    def __init__(
        self,
        sizes: Sequence[Sequence[tuple[int, float, float]]],
        width: float,
        height: float,
    ) -> None:
        """Sums of sizes along both sides; ``usable`` tells whether the table is small enough."""
        import numpy as np

        self.np = np
        self.sizes = sizes
        self.xs = sums(sorted({w for choices in sizes for _, w, h in choices if h <= height + EPS}), width)
        self.ys = sums(sorted({h for choices in sizes for _, w, h in choices if w <= width + EPS}), height)
        self.usable = bool(self.xs) and bool(self.ys)
        self.table: np.ndarray[tuple[int, int], np.dtype[np.float64]] = np.zeros((0, 0))
        self.worth: Sequence[float] = ()
        self._halves: dict[str, list[list[int]]] = {}

    def _below(self, marks: list[float]) -> list[list[int]]:
        """For every mark i and every j <= i: index of the greatest mark that marks[i] - marks[j] still holds."""
        array = self.np.array(marks)
        return [
            [int(v) for v in self.np.searchsorted(array, array[i] - array[: i + 1] + EPS, side="right") - 1]
            for i in range(len(marks))
        ]

    def solve(self, worth: Sequence[float]) -> None:
        """Fill the table."""
        np = self.np
        self.worth = worth
        if not self._halves:
            self._halves = {"x": self._below(self.xs), "y": self._below(self.ys)}
        table = np.zeros((len(self.xs), len(self.ys)))
        for kind, choices in enumerate(self.sizes):
            for _, w, h in choices:
                i, j = np.searchsorted(self.xs, w - EPS), np.searchsorted(self.ys, h - EPS)
                if i < len(self.xs) and j < len(self.ys):
                    table[i:, j:] = np.maximum(table[i:, j:], worth[kind])
        halves_y = [np.array(row) for row in self._halves["y"]]
        for i in range(1, len(self.xs)):
            below = self._halves["x"][i]
            for a in range(1, i):
                b = below[a]
                if b < a:
                    break
                np.maximum(table[i], table[a] + table[b], out=table[i])
            line = table[i]
            for j in range(1, len(self.ys)):
                other = halves_y[j][1:j]
                if len(other):
                    line[j] = max(line[j], float(np.max(line[1:j] + line[other])))
        self.table = table

    def pattern(self, width: float, height: float) -> tuple[float, Block | None]:
        """Worth and pattern for one size of sheet."""
        np = self.np
        i = int(np.searchsorted(self.xs, width + EPS, side="right")) - 1
        j = int(np.searchsorted(self.ys, height + EPS, side="right")) - 1
        return float(self.table[i, j]), self._read(i, j)

    def _read(self, i: int, j: int) -> Block | None:
        value = self.table[i, j]
        if value <= 0.0:
            return None
        near = 1e-9 * max(1.0, abs(value))
        for kind, choices in enumerate(self.sizes):
            for turn, w, h in choices:
                if abs(self.worth[kind] - value) <= near and w <= self.xs[i] + EPS and h <= self.ys[j] + EPS:
                    return Block(w, h, kind, turn)
        for along, count in (("x", i), ("y", j)):
            for a in range(1, count):
                b = self._halves[along][count][a]
                first, second = ((a, j), (b, j)) if along == "x" else ((i, a), (i, b))
                if b >= 1 and abs(self.table[first] + self.table[second] - value) <= near:
                    blocks = [block for block in (self._read(*first), self._read(*second)) if block is not None]
                    return join(along, blocks)
        return None
