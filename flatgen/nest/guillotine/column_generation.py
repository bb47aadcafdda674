"""Column generation: which strips, and how many of each, cut a whole order from the least sheet. Lengths in mm.

Strip patterns are made as the linear programme's prices ask for them. They are shared out to sheets so that every sheet
but the last is as full as can be, and the last as short.

References
----------
[1] P. C. Gilmore, R. E. Gomory, "A linear programming approach to the cutting-stock problem", Operations Research 9,
    1961, and part II, 11, 1963 (from memory)
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from flatgen.nest.guillotine.block import EPS, Block, column, join, transposed
from flatgen.nest.guillotine.knapsacks import Option, Rules, Stacks, Strip
from flatgen.nest.programs import Programme

CHOICE = 6.0  # sheets' worth of strips that one sheet is filled from
Key = tuple[str, float, tuple[tuple[int, int], ...]]  # strips run along, height, how many of each kind


@dataclass(slots=True)
class StripPool:
    """Strip patterns for one size of sheet, in both directions.

    options : by direction of the strips; size : (length, depth) of the usable rectangle by direction
    """

    options: dict[str, list[Option]]
    size: dict[str, tuple[float, float]]
    demand: Sequence[int]
    rules: Rules
    strips: dict[Key, Strip] = field(default_factory=dict)

    def lack(self, kind: int, along: str) -> float:
        """What a missing blank counts for: several times the strip height it could cost [mm]."""
        sizes = [o.across for o in self.options[along] if o.kind == kind]
        return 3.0 * max(sizes, default=0.0) + 10.0

    def grow(self, demand: Sequence[int], along: str, rounds: int = 30) -> list[tuple[float, Key]]:
        """Make strips until the prices ask for no more; (how many, which) of the fractional optimum of their height."""
        programme = Programme()
        cover = [programme.row(float(many), None) for many in demand]
        for kind, row in enumerate(cover):
            programme.column(self.lack(kind, along), [(row, 1.0)])
        first = programme.columns
        known: list[Key] = []

        def enter(key: Key) -> None:
            known.append(key)
            programme.column(key[1], [(cover[kind], float(many)) for kind, many in key[2]])

        for key in self.strips:
            if key[0] == along and all(many <= demand[kind] for kind, many in key[2]):
                enter(key)
        seen = set(known)
        length, depth = self.size[along]
        for _ in range(rounds):
            found = programme.relaxed()
            if found is None:
                return []
            worth = [max(0.0, price) for price in found.prices[: len(cover)]]
            before = programme.columns
            stacks = Stacks(self.options[along], depth, demand, worth, self.rules)
            for most, height in stacks.promised(depth, length):
                if most <= 1.0:
                    break
                strip = stacks.strip(height, length)
                if strip is None:
                    continue
                key = (along, round(strip.block.height, 6), strip.counts)
                if key not in seen and strip.worth > key[1] + 1e-7:
                    self.strips.setdefault(key, strip)
                    seen.add(key)
                    enter(key)
            if programme.columns == before:
                break
        else:
            found = programme.relaxed()
        if found is None:
            return []
        return [(value, key) for value, key in zip(found.values[first:], known, strict=True) if value > 1e-6]

    def dive(self, along: str, rounds: int = 3) -> list[Strip] | None:
        """The whole order in strips of one direction, those of the fractional optimum taken one sort after the other.

        What they leave asks for strips of its own. None when some blank found no strip.
        """
        demand = list(self.demand)
        taken: list[Strip] = []
        # with very many sizes all whole strips are taken at once: fewer programmes, almost the same strips
        one_by_one = sum(1 for many in demand if many) <= 20
        while any(demand):
            before = len(taken)
            for value, key in sorted(self.grow(demand, along, rounds), key=lambda e: (-_rank(e[0]), e[1])):
                many = min([max(1, int(value + 1e-6)), *(demand[kind] // count for kind, count in key[2])])
                if many and not (len(taken) > before and value < 1.0):
                    for kind, count in key[2]:
                        demand[kind] -= count * many
                    taken += [self.strips[key]] * many
                    if one_by_one or value < 1.0:
                        break
            if len(taken) == before:
                return None
        return taken


def _rank(value: float) -> float:
    """Whole strips first, then the largest fraction."""
    return 1.0 + value if value >= 1.0 - 1e-6 else value


def as_block(strips: Sequence[Strip], along: str) -> Block | None:
    """Strips one above the other (or side by side, when they run along y)."""
    if not strips:
        return None
    block = column([strip.block for strip in strips])
    return transposed(block) if along == "y" else block


def height_of(strips: Sequence[Strip]) -> float:
    """Strips one above the other [mm]."""
    return math.fsum(strip.block.height for strip in strips)


def share_out(strips: Sequence[Strip], depth: float) -> list[list[Strip]]:
    """Strips on sheets of a depth: each as full as a subset can make it, what is left on the last."""
    grid = 100.0
    cells = int((depth + EPS) * grid)
    rest = sorted(strips, key=lambda s: (-s.block.height, s.counts))
    sheets = []
    while rest:
        total = height_of(rest)
        if total <= depth + EPS:
            sheets.append(rest)
            break
        step = max(1, int(total / (CHOICE * depth)))
        some = rest[::step]  # of very many strips a part is choice enough
        sizes = [min(cells, math.ceil(s.block.height * grid - 1e-4)) for s in some]
        reach = [1]
        for size in sizes:
            reach.append((reach[-1] | reach[-1] << size) & ((1 << cells + 1) - 1))
        at = reach[-1].bit_length() - 1
        taken = set()
        for number in range(len(some) - 1, -1, -1):
            if not reach[number] >> at & 1:
                taken.add(number)
                at -= sizes[number]
        sheets.append([s for number, s in enumerate(some) if number in taken])
        rest = [s for number, s in enumerate(rest) if number % step or number // step not in taken]
    return sheets


def without(block: Block, surplus: list[int]) -> Block | None:
    """The pattern less surplus blanks, which it counts down; None when nothing is left."""
    if block.kind >= 0:
        if surplus[block.kind] > 0:
            surplus[block.kind] -= 1
            return None
        return block
    parts = [part for part in (without(part, surplus) for part in reversed(block.parts)) if part is not None]
    if not parts:
        return None
    if len(parts) == len(block.parts) and all(a is b for a, b in zip(reversed(parts), block.parts, strict=True)):
        return block
    return replace(join(block.along, parts[::-1]))
