"""Filling sheets with strips: each strip the best row of stacks of blanks that knapsacks find. Lengths in mm.

Sizes are rounded up to a grid for the knapsacks only, so what they find always fits; the grid is exact when all sizes
are multiples of it.

References
----------
[1] P. C. Gilmore, R. E. Gomory, "Multistage cutting stock problems of two and more dimensions", Operations Research 13,
    1965: strips by knapsacks (from memory)
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flatgen.nest.guillotine.block import EPS, Block, column, row

Cells = np.ndarray[tuple[int], np.dtype[np.float64]]


GRID = 3200  # most cells along a sheet
HEIGHTS = 20  # most strip heights tried for one strip
MANY = 40  # ways to stand in a strip beyond which fewer heights are tried
STEPS = (1.0, 0.5, 25.4 / 32.0, 0.25, 0.2, 0.1)  # mm: grids that sizes are often multiples of


@dataclass(frozen=True, slots=True)
class Rules:
    """What the cutting tool asks of a pattern.

    stages : most cutting stages, trims to size not counted
    smallest : least width of a strip or blank, with the kerf [mm]
    longest : longest cut that can be made [mm]
    """

    stages: int = 3
    smallest: float = 0.0
    longest: float = float("inf")


@dataclass(frozen=True, slots=True)
class Option:
    """One way for a blank to stand in a strip: its size along the strip and across it."""

    kind: int
    turn: int
    along: float
    across: float


def blank_area(options: Sequence[Option], kind: int) -> float:
    """Area of a blank [mm²]; 0 when it is not among the options."""
    return next((o.along * o.across for o in options if o.kind == kind), 0.0)


def grid_unit(sizes: Sequence[float], length: float) -> float:
    """Step of a knapsack's grid: one that all sizes are multiples of when it is not too fine, else a small one."""
    for unit in STEPS:
        if length / unit <= GRID and all(abs(s / unit - round(s / unit)) < 1e-6 for s in sizes):
            return unit
    return length / GRID


class Knapsack:
    """A bounded knapsack filled option by option; what the best filling holds can be read back for any capacity."""

    def __init__(self, capacity: float, unit: float) -> None:
        """Capacity and grid [mm]."""
        self.unit = unit
        self.cells = int((capacity + EPS) / unit)
        self.best: Cells = np.zeros(self.cells + 1)
        self.history: list[tuple[int, int, int, Cells]] = []  # label, how many, cells taken, values before

    def size(self, length: float) -> int:
        """Cells that a length takes, at least one; a length that fits the whole always does."""
        return max(1, min(self.cells, math.ceil((length - EPS) / self.unit)))

    def offer(self, label: int, length: float, worth: float, most: int) -> None:
        """Let up to ``most`` of one thing in."""
        size = self.size(length)
        most = min(most, self.cells // size)
        step = 1
        while most > 0:
            take = min(step, most)
            most -= take
            step *= 2
            width = size * take
            better = self.best.copy()
            np.maximum(better[width:], self.best[: self.cells + 1 - width] + worth * take, out=better[width:])
            self.history.append((label, take, width, self.best))
            self.best = better

    def mark(self) -> int:
        """Where the history stands, to read back later from there."""
        return len(self.history)

    def held(self, at: int, mark: int | None = None, best: "Cells | None" = None) -> dict[int, int]:
        """What the best filling of a capacity [cells] holds: label -> how many."""
        found: dict[int, int] = {}
        now = self.best if best is None else best
        for label, take, width, before in reversed(self.history[:mark]):
            if now[at] > before[at]:
                found[label] = found.get(label, 0) + take
                at -= width
            now = before
        return found


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip along x: its block, height, worth and how many of each kind it holds."""

    block: Block
    height: float
    worth: float
    counts: tuple[tuple[int, int], ...]


Stacked = tuple[float, float, dict[int, int], int]


class Stacks:
    """Best stacks for every stack width and strip height, for given worths and what is left of each kind."""

    def __init__(
        self, options: Sequence[Option], height: float, left: Sequence[int], worth: Sequence[float], rules: Rules
    ) -> None:
        """``height`` is the greatest strip height that will be asked for [mm]."""
        usable = [o for o in options if left[o.kind] > 0 and o.across <= height + EPS and worth[o.kind] > 0.0]
        usable.sort(key=lambda o: (o.along, o.across, o.kind, o.turn))
        self.options = usable
        self.left = left
        self.worth = worth
        self.rules = rules
        self.knapsack = Knapsack(height, grid_unit([o.across for o in usable], height) if usable else height)
        self.levels: list[tuple[float, int, Cells]] = []  # stack width, history mark, values by height
        if rules.stages < 3:
            return
        for number, option in enumerate(usable):
            self.knapsack.offer(number, option.across, worth[option.kind], left[option.kind])
            if number + 1 == len(usable) or usable[number + 1].along > option.along + EPS:
                self.levels.append((option.along, self.knapsack.mark(), self.knapsack.best))

    def heights(self, room: float) -> list[float]:
        """Strip heights worth trying, the greatest first; a sample when there are very many."""
        rules = self.rules
        found = sorted(
            {
                round(o.across, 9)
                for o in self.options
                if rules.smallest - EPS <= o.across <= min(room, rules.longest) + EPS
            },
            reverse=True,
        )
        most = HEIGHTS if len(self.options) <= MANY else HEIGHTS * 3 // 5
        if len(found) <= most:
            return found
        head = most // 3
        rest = found[head:]
        return found[:head] + [rest[i * len(rest) // (most - head)] for i in range(most - head)]

    def strip(self, height: float, length: float) -> Strip | None:
        """The worthiest strip of a height, or None when no blank fits."""
        left = list(self.left)
        stacks: list[Block] = []
        worth, room = 0.0, length
        for _ in range(4):  # what two stacks both wanted is shared out anew in the room that is left
            more = self._round(height, room, left)
            if not more:
                break
            for block, value, count in more:
                stacks += [block] * count
                worth += value * count
                room -= block.width * count
        if not stacks:
            return None
        block = row(stacks)
        counts = tuple((k, a - b) for k, (a, b) in enumerate(zip(self.left, left, strict=True)) if a > b)
        return Strip(block, height, worth, counts)

    def densest(self, room: float, length: float) -> Strip | None:
        """The strip of most worth for its height that a room takes; heights that promise less are not worked out."""
        best: Strip | None = None
        reached = 0.0
        for most, height in self.promised(room, length):
            if most <= reached * (1.0 + 1e-9):
                break
            strip = self.strip(height, length)
            if strip is not None and strip.worth / strip.block.height > reached * (1.0 + 1e-9):
                best, reached = strip, strip.worth / strip.block.height
        return best

    def promised(self, room: float, length: float) -> list[tuple[float, float]]:
        """Heights that strips may have in a room, with the worth for its height that none is above, most first."""
        found = ((_at_most(self._stacked(h, length, self.left), length) / h, h) for h in self.heights(room))
        return sorted(found, key=lambda entry: -entry[0])

    def _stacked(self, height: float, length: float, left: Sequence[int]) -> list[Stacked]:
        """The stacks worth having in a strip: width, worth, blanks, and how many there may be of each alone."""
        choices: list[tuple[float, float, dict[int, int]]] = []
        if self.levels:
            reached = 0.0
            most = self.knapsack.size(height)
            for width, mark, values in self.levels:
                if width > length + EPS:
                    break  # they come by rising width
                if values[most] <= reached * (1.0 + 1e-12):
                    continue
                value, held = self._stack(height, mark, values)
                if value > reached * (1.0 + 1e-12):
                    reached = value
                    choices.append((width, value, held))
        else:
            choices = [
                (o.along, self.worth[o.kind], {number: 1})
                for number, o in enumerate(self.options)
                if o.across <= height + EPS and o.along <= length + EPS
            ]
        sized = [(w, v, held, self._copies(held, left)) for w, v, held in choices]
        return [entry for entry in sized if entry[3] > 0]

    def _round(self, height: float, length: float, left: list[int]) -> list[tuple[Block, float, int]]:
        """Stacks that make the worthiest row, as if no two asked for the same blank."""
        sized = self._stacked(height, length, left)
        if not sized:
            return []
        pack = Knapsack(length, grid_unit([entry[0] for entry in sized], length))
        for number, (width, value, _, copies) in enumerate(sized):
            pack.offer(number, width, value, copies)
        found = []
        for number, count in sorted(pack.held(pack.cells).items(), key=lambda e: -sized[e[0]][1] / sized[e[0]][0]):
            _, value, held, _ = sized[number]
            count = min(count, self._copies(held, left))
            if count == 0:
                continue
            blanks = []
            for label, many in sorted(held.items()):
                option = self.options[label]
                left[option.kind] -= many * count
                blanks += [Block(option.along, option.across, option.kind, option.turn)] * many
            found.append((column(blanks), value, count))
        return found

    def _stack(self, height: float, mark: int, values: "Cells") -> tuple[float, dict[int, int]]:
        """Value and blanks of the best stack of a height.

        Blanks are rounded up to whole cells, so a height that is just a blank's is rounded up as well; where that lets
        in more than the height holds, it is rounded down.
        """
        for cell in (self.knapsack.size(height), int((height + EPS) / self.knapsack.unit)):
            held = self.knapsack.held(cell, mark, values)
            if math.fsum(self.options[label].across * many for label, many in held.items()) <= height + EPS:
                return float(values[cell]), held
        return 0.0, {}

    def _copies(self, held: dict[int, int], left: Sequence[int]) -> int:
        need: dict[int, int] = {}
        for label, many in held.items():
            kind = self.options[label].kind
            need[kind] = need.get(kind, 0) + many
        return min(left[kind] // many for kind, many in need.items())


def _at_most(sized: Sequence[Stacked], length: float) -> float:
    """Worth that no row of stacks is above: the last of the densest ones in parts."""
    worth = 0.0
    for width, value, _, copies in sorted(sized, key=lambda entry: -entry[1] / entry[0]):
        many = min(float(copies), length / width)
        worth += many * value
        length -= many * width
    return worth


def fill_strips(
    options: Sequence[Option], length: float, depth: float, left: list[int], worth: Sequence[float], rules: Rules
) -> list[Block]:
    """Strips along x, one above the other, for a rectangle of length by depth; takes what it uses from ``left``."""
    strips: list[Block] = []
    room = depth
    while room > EPS and any(left):
        best = Stacks(options, room, left, worth, rules).densest(room, length)
        if best is None:
            break
        repeat = max(1, int((room + EPS) / best.block.height))
        repeat = min([repeat, *(left[kind] // many for kind, many in best.counts)])
        for kind, many in best.counts:
            left[kind] -= many * repeat
        strips += [best.block] * repeat
        room -= best.block.height * repeat
    return strips
