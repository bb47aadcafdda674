"""Blanks laid on a lattice pushed together until they touch: what was given up between two lattice points is won back.

Exact, in plain floats. Lengths mm.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from flatgen.nest.lattice import TOUCH, Laid
from flatgen.nest.nofit import convexes, disc, edges, opposite, summed

Place = tuple[int, float, float]  # way, low corner

ROUNDS = 4  # sweeps each way
MANY = 24  # sums of a pair from which on they are asked all at once
GAIN = 1e-6  # a move of less is none [mm]


@dataclass(slots=True)
class CloseUp:
    """Blanks in their ways, and what each pair of ways keeps free, reckoned when first asked for."""

    ways: Sequence[Laid]
    gap: float
    _chains: dict[tuple[int, int, int], Any] = field(default_factory=dict)

    def pushed(self, placed: Sequence[Place], along: int = 0) -> list[Place]:
        """The same blanks, first pushed to the near end (left, or down where along is 1), then across, and again."""
        places = list(placed)
        for _ in range(ROUNDS):
            moved = self._sweep(places, along)
            if self._sweep(places, 1 - along) + moved < GAIN * len(places):
                break
        self._sweep(places, along)
        return places

    def _sweep(self, places: list[Place], axis: int) -> float:
        """Push every blank along an axis as far as it goes, the nearest first; how far all went together."""
        total = 0.0
        for n in sorted(range(len(places)), key=lambda n: (places[n][1 + axis], places[n][2 - axis], n)):
            way, x, y = places[n]
            now = (x, y)[axis]
            new = self._stop(places, n, axis)
            if new < now - GAIN:
                places[n] = (way, x, new) if axis else (way, new, y)
                total += now - new
        return total

    def _stop(self, places: Sequence[Place], n: int, axis: int) -> float:
        """Where a blank comes to rest when it is pushed along the axis."""
        way, *at = places[n]
        size = (self.ways[way].width, self.ways[way].height)
        stop = 0.0
        for m, (other, *beside) in enumerate(places):
            shape = (self.ways[other].width, self.ways[other].height)
            across = at[1 - axis] - beside[1 - axis]
            if m == n or across >= shape[1 - axis] + self.gap or -across >= size[1 - axis] + self.gap:
                continue
            if beside[axis] + shape[axis] + self.gap <= stop or beside[axis] > at[axis] + size[axis]:
                continue
            for end in self._ends(other, way, axis, across):
                if stop < beside[axis] + end <= at[axis] + TOUCH:
                    stop = float(beside[axis] + end)
        return min(stop, at[axis])

    def _ends(self, fixed: int, moving: int, axis: int, across: float) -> Any:
        """Far ends of what one blank takes from another on a line along the axis."""
        under, over = self._of(fixed, moving, axis)
        if isinstance(under[1], _Row):
            return _ends_of_many(under, over, across)
        ends = []
        for xs, low, us, high in zip(*under, *over, strict=True):
            if xs[0] + TOUCH < across < xs[-1] - TOUCH:
                end = _at(us, high, across)
                if end - _at(xs, low, across) > 2.0 * TOUCH:
                    ends.append(end)
        return ends

    def _of(self, fixed: int, moving: int, axis: int) -> Any:
        """Lower and upper edges of all sums of a pair, as (places across, along) with a row for each sum."""
        key = (fixed, moving, axis)
        if key not in self._chains:
            a, b = self.ways[fixed].parts, self.ways[moving].parts
            if axis == 0:  # the chains are over y then
                a, b = _swapped(a), _swapped(b)
            wall = convexes(a)
            wall = summed(wall, disc(self.gap)) if self.gap > 0.0 else wall
            under, over, _ = edges(summed(wall, convexes([opposite(part) for part in b])))
            if len(under[0]) > MANY:
                ends = (under[0][:, 0], under[0][:, -1])
                self._chains[key] = ((ends, _in_a_row(*under)), (ends, _in_a_row(*over)))
            else:
                self._chains[key] = tuple((xs.tolist(), ys.tolist()) for xs, ys in (under, over))
        return self._chains[key]


@dataclass(frozen=True, slots=True)
class _Row:
    """Chains laid one behind the other on one long axis, so that they are asked at once."""

    xs: Any
    ys: Any
    offset: Any


def _in_a_row(xs: Any, ys: Any) -> _Row:
    import numpy as np

    offset = np.arange(len(xs)) * (4.0 * float(np.abs(xs).max()) + 1.0)
    return _Row((xs + offset[:, None]).ravel(), ys.ravel(), offset)


def _ends_of_many(under: Any, over: Any, across: float) -> Any:
    import numpy as np

    (ends, low), (_, high) = under, over
    rows = np.flatnonzero((ends[0] + TOUCH < across) & (across < ends[1] - TOUCH))
    bottom, top = (np.interp(across + row.offset[rows], row.xs, row.ys) for row in (low, high))
    return top[top - bottom > 2.0 * TOUCH]


def _swapped(parts: Sequence[Sequence[tuple[float, float]]]) -> Any:
    return [tuple((y, x) for x, y in part[::-1]) for part in parts]


def _at(xs: list[float], ys: list[float], x: float) -> float:
    k = min(max(bisect_right(xs, x), 1), len(xs) - 1)
    run = xs[k] - xs[k - 1]
    return ys[k] if run <= 0.0 else ys[k - 1] + (ys[k] - ys[k - 1]) * (x - xs[k - 1]) / run
