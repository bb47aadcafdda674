"""Values that agree within a width are one setting: as few windows as can be, counted from the smallest value up.

``Tally`` keeps the number of settings while parts change their orders, looking again only at what a change reaches, so
that trying an order costs the same in a job of ten parts and of thousands.
"""

import math
from bisect import bisect_left, bisect_right, insort
from collections import Counter
from collections.abc import Hashable, Sequence

from flatgen.brake.order import LEAF_ALIKE, SETBACK_ALIKE, Step

SLACK = 1e-9


def windows(values: Sequence[float], width: float) -> dict[float, int]:
    """Number of the window each value falls in: as few windows of this width as there can be."""
    numbers: dict[float, int] = {}
    start, number = -math.inf, -1
    for value in sorted(set(values)):
        if value - start > width + SLACK:
            start, number = value, number + 1
        numbers[value] = number
    return numbers


class Windows:
    """The windows of values that come and go."""

    def __init__(self, width: float) -> None:
        """No value yet."""
        self.width = width
        self.counts: Counter[float] = Counter()
        self.values: list[float] = []
        self.starts: list[float] = []

    def change(self, value: float, by: int) -> None:
        """Take a value in (1) or out (-1)."""
        before = self.counts[value]
        self.counts[value] += by
        if not before:
            insort(self.values, value)
        elif not self.counts[value]:
            del self.counts[value]
            del self.values[bisect_left(self.values, value)]
        else:
            return
        first = max(bisect_right(self.starts, value) - 1, 0)
        place = bisect_left(self.values, min(value, self.starts[first])) if self.starts else 0
        new, last = [], len(self.starts)
        while place < len(self.values):
            start = self.values[place]
            known = bisect_left(self.starts, start)
            # from a start that was one before, behind the change, all windows stay
            if start > value and known < len(self.starts) and self.starts[known] == start:
                last = known
                break
            new.append(start)
            place = self._behind(start)
        self.starts[first:last] = new

    def _behind(self, start: float) -> int:
        """Place of the first value behind the window that begins at ``start``."""
        place = bisect_right(self.values, start + self.width + SLACK)
        while place < len(self.values) and self.values[place] - start <= self.width + SLACK:
            place += 1
        while self.values[place - 1] - start > self.width + SLACK:
            place -= 1
        return place


class Tally:
    """How many settings a group of steps takes: same nose, wraps, fingers, nominal thickness and alloy."""

    def __init__(self, tolerance: float) -> None:
        """No step yet; tolerance is the stop's."""
        self.tolerance = tolerance
        self.steps: Counter[tuple[float, float, str, float, int, float]] = Counter()
        self.setbacks: Counter[float] = Counter()
        self.leaves: Counter[float] = Counter()
        self.numbers: tuple[dict[float, int], dict[float, int]] | None = None
        self.stops: dict[Hashable, Windows] = {}

    def change(self, step: Step, hem: int, by: int) -> None:
        """Take a step in (1) or out (-1); ``hem``: its number among its part's hems, else 0."""
        setting = step.trial.setting
        one = (setting.setback, setting.leaf_angle, step.side, step.pad, hem, step.stop)
        for counter, value in ((self.setbacks, one[0]), (self.leaves, one[1])):
            if counter[value] + by == 0 or not counter[value]:
                self.numbers = None  # windows of set-backs or leaf angles may have moved: count the stops anew
            counter[value] += by
        self.steps[one] += by
        if self.numbers is not None:
            self._place(one, by)

    def _place(self, one: tuple[float, float, str, float, int, float], by: int) -> None:
        assert self.numbers is not None
        setback, leaf, side, pad, hem, stop = one
        place = (self.numbers[0][setback], self.numbers[1][leaf], side, pad, hem)
        if place not in self.stops:
            self.stops[place] = Windows(self.tolerance)
        self.stops[place].change(stop, by)

    def count(self) -> int:
        """Settings now."""
        if self.numbers is None:
            self.steps = +self.steps
            self.setbacks, self.leaves = +self.setbacks, +self.leaves
            self.numbers = windows(list(self.setbacks), SETBACK_ALIKE), windows(list(self.leaves), LEAF_ALIKE)
            self.stops = {}
            for one in self.steps:
                for _ in range(self.steps[one]):
                    self._place(one, 1)
        return sum(len(found.starts) for found in self.stops.values())
