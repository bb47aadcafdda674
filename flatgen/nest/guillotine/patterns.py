"""Whole-sheet patterns: a pool of many, out of which an integer programme picks the cheapest set that covers the order.

Patterns come from blanks put into corners in thousands of shuffled orders, from strips filled for the prices of the
linear programme. Lengths in mm.

References
----------
[1] P. C. Gilmore, R. E. Gomory, as in ``column_generation``: whole sheets as the columns (from memory)
"""

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from time import monotonic

from flatgen.nest.guillotine.block import Block, depth, tidy
from flatgen.nest.guillotine.corners import Choice, Fit, Room, Split, pack
from flatgen.nest.guillotine.greedy import Bin, Filled, count, fill, options_for
from flatgen.nest.guillotine.knapsacks import Option, Rules
from flatgen.nest.programs import Programme

COLUMNS = 3000  # most patterns handed to the integer programme
WORK = 9_000_000  # tries at shuffled packing times blanks squared
MOST_TRIES = 2500
SAMPLE = 120  # blanks in one shuffled packing
FITS, SPLITS = tuple(Fit), tuple(Split)
# by what blanks are sorted, of their width and height
MEASURES: tuple[Callable[[float, float], float], ...] = (
    lambda w, h: w * h,
    max,
    lambda w, h: w,
    lambda w, h: h,
    lambda w, h: w + h,
    min,
)


@dataclass(slots=True)
class PatternPool:
    """Patterns by sheet and content; only bins of one clean rectangle take shuffled packings."""

    bins: Sequence[Bin]
    demand: Sequence[int]
    kerf: float
    rules: Rules
    patterns: dict[tuple[int, tuple[int, ...]], Filled] = field(default_factory=dict)

    def add(self, number: int, filled: Filled) -> bool:
        """Enter the pattern of bin ``number``; whether it is new."""
        total = [0] * len(self.demand)
        for block in filled.blocks:
            for kind, many in enumerate(count(block, len(total))):
                total[kind] += many
        key = (number, tuple(min(a, d) for a, d in zip(total, self.demand, strict=True)))
        if key in self.patterns or not any(key[1]):
            return False
        self.patterns[key] = filled
        return True

    def shuffle(self, tries: int | None = None, seed: int = 1, until: float | None = None) -> None:
        """Patterns from shuffled packings, each seeded by its number alone."""
        order = [kind for kind, many in enumerate(self.demand) for _ in range(many)]
        size = min(len(order), SAMPLE)
        if tries is None:
            tries = min(MOST_TRIES, WORK // max(1, size * size))
        for number, bin_ in enumerate(self.bins):
            sizes = [self._choices(bin_, kind) for kind in range(len(self.demand))]
            here = [kind for kind in order if sizes[kind]]
            shown: set[tuple[int, tuple[int, ...]]] = set()
            for turn in range(tries if here and len(bin_.regions) == 1 else 0):
                if until is not None and monotonic() >= until:
                    break
                rng = random.Random(seed * 1_000_003 + turn)
                noise = rng.choice((0.0, 0.1, 0.3, 0.6))
                measure = rng.choice(MEASURES)
                some = here if len(here) <= size else rng.sample(here, size)
                rank = {kind: measure(*sizes[kind][0][1:]) for kind in set(some)}
                some = sorted(some, key=lambda kind: -rank[kind] * (1.0 + noise * rng.random()))
                packed = pack(some, sizes, bin_.regions[0], rng.choice(FITS), rng.choice(SPLITS))
                self._take(number, packed, shown)

    def _choices(self, bin_: Bin, kind: int) -> list[Choice]:
        """How a blank may lie on a bin of one rectangle."""
        if len(bin_.regions) != 1:
            return []
        width, height = bin_.regions[0]
        sizes = [(turn, t.width + self.kerf, t.height + self.kerf) for turn, t in enumerate(bin_.kinds[kind].turns)]
        return [choice for choice in sizes if choice[1] <= width + 1e-6 and choice[2] <= height + 1e-6]

    def _take(
        self, number: int, packed: tuple[list[Room], list[list[int]]], shown: set[tuple[int, tuple[int, ...]]]
    ) -> None:
        """Enter the sheets of a packing that the tool can cut; ``shown`` are those that it cannot."""
        bin_ = self.bins[number]
        for room, kinds in zip(*packed, strict=True):
            counts = [0] * len(self.demand)
            for kind in kinds:
                counts[kind] += 1
            key = (number, tuple(counts))
            if key not in self.patterns and key not in shown:
                block = room.block()
                if block is not None and self._tool_can(block, bin_):
                    self.patterns[key] = Filled(bin_.index, (block,))
                else:
                    shown.add(key)

    def price(self, rounds: int) -> None:
        """Patterns that the linear programme's prices ask for."""
        programme = Programme()
        cover = [programme.row(float(many), None) for many in self.demand]
        supply = [programme.row(None, float(b.copies)) if b.copies is not None else -1 for b in self.bins]
        highest = max(b.cost for b in self.bins)
        for row in cover:
            programme.column(20.0 * highest, [(row, 1.0)])
        known = set()

        def enter(key: tuple[int, tuple[int, ...]]) -> None:
            known.add(key)
            entries = [(cover[kind], float(many)) for kind, many in enumerate(key[1]) if many]
            if supply[key[0]] >= 0:
                entries.append((supply[key[0]], 1.0))
            programme.column(self.bins[key[0]].cost, entries)

        for key in self._best(COLUMNS // 2):
            enter(key)
        for _ in range(rounds):
            found = programme.relaxed()
            if found is None:
                return
            worth = [max(0.0, price) for price in found.prices[: len(cover)]]
            before = len(known)
            for number, bin_ in enumerate(self.bins):
                wanted = bin_.cost - (found.prices[supply[number]] if supply[number] >= 0 else 0.0)
                filled, rest = fill(bin_, self.demand, self.kerf, self.rules, worth)
                value = math.fsum(w * (d - r) for w, d, r in zip(worth, self.demand, rest, strict=True))
                if value > wanted * (1.0 + 1e-7) + 1e-9:
                    self.add(number, filled)
                    for key in list(self.patterns)[-1:]:
                        if key not in known and key[0] == number:
                            enter(key)
            if len(known) == before:
                return

    def cheapest(self, nodes: int, below: float, seconds: float | None = None) -> list[Filled] | None:
        """The cheapest set found that covers the whole order; None when none can be had for less than ``below``."""
        keys = self._best(COLUMNS)
        programme = Programme()
        cover = [programme.row(float(many), None) if many else -1 for many in self.demand]
        supply = [programme.row(None, float(b.copies)) if b.copies is not None else -1 for b in self.bins]
        for number, counts in keys:
            entries = [(cover[kind], float(many)) for kind, many in enumerate(counts) if many and cover[kind] >= 0]
            if supply[number] >= 0:
                entries.append((supply[number], 1.0))
            programme.column(self.bins[number].cost, entries)
        costs = {b.cost for b in self.bins}
        step = costs.pop() if len(costs) == 1 else None
        relaxed = programme.relaxed()
        if relaxed is None:
            return None
        least = relaxed.value if step is None else step * math.ceil(relaxed.value / step - 1e-6)
        if least >= below * (1.0 - 1e-9):
            return None
        found = programme.whole(nodes=nodes, seconds=seconds, step=step)
        if found is None:
            return None
        return [self.patterns[key] for value, key in zip(found.values, keys, strict=True) for _ in range(round(value))]

    def _best(self, most: int) -> list[tuple[int, tuple[int, ...]]]:
        """Patterns that fill their sheet best, at most so many, in a settled order."""
        if len(self.patterns) <= most:
            return list(self.patterns)
        sizes = [max((t.width * t.height for t in k.turns), default=0.0) for k in self.bins[0].kinds]

        def filling(key: tuple[int, tuple[int, ...]]) -> float:
            number, counts = key
            return math.fsum(s * c for s, c in zip(sizes, counts, strict=True)) / max(self.bins[number].cost, 1e-9)

        return sorted(self.patterns, key=lambda key: (-filling(key), key))[:most]

    def _tool_can(self, block: Block, bin_: Bin) -> bool:
        """Whether there are no more stages than allowed, no strip is too narrow and no cut too long."""
        rules = self.rules
        if rules.stages < 9 and depth(tidy(block)) > rules.stages:
            return False
        if rules.smallest <= self.kerf + 1e-9 and rules.longest == float("inf"):
            return True
        lengths = bin_.cut_lengths(0)
        return _within(tidy(block), lengths["x"], lengths["y"], rules)


def _within(block: Block, width: float, height: float, rules: Rules) -> bool:
    """A pattern cut from a piece of metal of this size keeps the tool's limits."""
    if min(block.width, block.height) < rules.smallest - 1e-6:
        return False
    if block.kind >= 0:
        # trims to size run along what is left of the piece
        return min(width, height) <= rules.longest + 1e-6
    length = height if block.along == "x" else width
    if length > rules.longest + 1e-6:
        return False
    return all(
        _within(part, part.width if block.along == "x" else width, height if block.along == "x" else part.height, rules)
        for part in block.parts
    )


def options_by_direction(bin_: Bin, kerf: float) -> dict[str, list[Option]]:
    """How the pieces may stand in strips along x and along y of a bin."""
    return {along: options_for(bin_.kinds, kerf, along) for along in "xy"}
