"""The one door to the linear and integer programme solver (HiGHS): one thread, a fixed seed, limits by count.

A clock is used only where the caller gives seconds, which is where the user asked for a longer search.
"""

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Solution:
    """Values of the columns, prices of the rows (linear programmes only), value reached and bound proved."""

    values: tuple[float, ...]
    prices: tuple[float, ...]
    value: float
    bound: float


@contextmanager
def _unheard() -> Iterator[None]:
    """Nothing reaches standard output: the solver, from 1.16 on, greets there before it can be told to be silent, which
    would spoil what a command prints as JSON."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output to spoil
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


class Programme:
    """Columns of non-negative numbers, as cheap as can be, that keep every row between its limits."""

    def __init__(self) -> None:
        """An empty programme."""
        import highspy

        self._inf = highspy.kHighsInf
        self._ok = (highspy.HighsModelStatus.kOptimal,)
        self._integer = highspy.HighsVarType.kInteger
        with _unheard():
            self._highs: Any = highspy.Highs()
        for option, value in (("output_flag", False), ("threads", 1), ("random_seed", 7)):
            self._highs.setOptionValue(option, value)
        self.columns = 0
        self.rows = 0

    def row(self, low: float | None, high: float | None) -> int:
        """A new row, still empty; None leaves a side open."""
        import numpy as np

        self._highs.addRow(
            -self._inf if low is None else low,
            self._inf if high is None else high,
            0,
            np.array([], dtype=np.int32),
            np.array([], dtype=np.float64),
        )
        self.rows += 1
        return self.rows - 1

    def column(self, cost: float, entries: Sequence[tuple[int, float]], most: float | None = None) -> int:
        """A new column with its entries (row, factor)."""
        import numpy as np

        self._highs.addCol(
            cost,
            0.0,
            self._inf if most is None else most,
            len(entries),
            np.array([row for row, _ in entries], dtype=np.int32),
            np.array([factor for _, factor in entries], dtype=np.float64),
        )
        self.columns += 1
        return self.columns - 1

    def relaxed(self) -> Solution | None:
        """The best in fractions; None when nothing keeps the rows."""
        self._highs.run()
        if self._highs.getModelStatus() not in self._ok:
            return None
        found = self._highs.getSolution()
        value = float(self._highs.getInfo().objective_function_value)
        return Solution(tuple(found.col_value), tuple(found.row_dual), value, value)

    def whole(
        self,
        nodes: int = 200,
        seconds: float | None = None,
        step: float | None = None,
    ) -> Solution | None:
        """The best found in whole numbers; None when none was found.

        nodes : most branches looked at
        step : costs of all solutions are multiples of this, so a smaller gap proves the best
        """
        for column in range(self.columns):
            self._highs.changeColIntegrality(column, self._integer)
        options: list[tuple[str, float | int]] = [("mip_max_nodes", nodes), ("mip_rel_gap", 1e-6)]
        if seconds is not None:
            options.append(("time_limit", float(self._highs.getRunTime()) + max(0.1, seconds)))
        if step is not None:
            options.append(("mip_abs_gap", 0.999 * step))
        for option, value in options:
            self._highs.setOptionValue(option, value)
        self._highs.run()
        info = self._highs.getInfo()
        if info.primal_solution_status != 2:
            return None
        found = self._highs.getSolution()
        return Solution(tuple(found.col_value), (), float(info.objective_function_value), float(info.mip_dual_bound))
