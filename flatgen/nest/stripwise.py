"""Whole orders cut from strips: which strips, and how many of each, take the least sheet. Lengths in mm.

Strip patterns are made as the linear programme's prices ask for them; an integer programme then picks among them. The
strips are shared out to sheets so that every sheet but the last is as full as can be, and the last as short.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from flatgen.nest.block import EPS, Block, column, join, transposed
from flatgen.nest.programs import Programme
from flatgen.nest.strips import Option, Rules, Stacks, Strip

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

    def grow(
        self, demand: Sequence[int], last: str, fulls: Sequence[tuple[str, float]] = (), rounds: int = 30
    ) -> list[tuple[float, Key]]:
        """Make strips until the prices ask for no more; (how many, which) of the fractional optimum on the last sheet.

        last : direction of the strips whose total height counts
        fulls : direction and room [mm] on sheets where strips cost nothing
        """
        programme = Programme()
        cover = [programme.row(float(many), None) for many in demand]
        room = {g: programme.row(None, sum(r for a, r in fulls if a == g)) for g in sorted({a for a, _ in fulls})}
        for kind, row in enumerate(cover):
            programme.column(self.lack(kind, last), [(row, 1.0)])
        first = programme.columns
        known: set[Key] = set()
        entered: list[Key] = []

        def enter(key: Key) -> None:
            along, height, counts = key
            known.add(key)
            entries = [(cover[kind], float(many)) for kind, many in counts]
            if along == last:
                programme.column(height, entries)
                entered.append(key)
            if along in room:
                programme.column(0.0, [*entries, (room[along], height)])
                entered.append(key)

        for key in self.strips:
            if all(many <= demand[kind] for kind, many in key[2]):
                enter(key)
        found = None
        for _ in range(rounds):
            found = programme.relaxed()
            if found is None:
                return []
            worth = [max(0.0, price) for price in found.prices[: len(cover)]]
            before = programme.columns
            for along in sorted({last, *room}):
                length, depth = self.size[along]
                price = 1.0 if along == last else math.inf
                if along in room:
                    price = min(price, -found.prices[room[along]])
                stacks = Stacks(self.options[along], depth, demand, worth, self.rules)
                for height in stacks.heights(depth):
                    strip = stacks.strip(height, length)
                    if strip is None:
                        continue
                    key = (along, round(strip.block.height, 6), strip.counts)
                    if key not in known and strip.worth > price * key[1] + 1e-7:
                        self.strips.setdefault(key, strip)
                        enter(key)
            if programme.columns == before:
                break
        else:
            found = programme.relaxed()
        if found is None:
            return []
        return [(value, key) for value, key in zip(found.values[first:], entered, strict=True) if value > 1e-6]

    def enter(self, along: str, strip: Strip) -> None:
        """Take a strip in, where the order wants all that it holds."""
        if all(many <= self.demand[kind] for kind, many in strip.counts):
            self.strips[(along, round(strip.block.height, 6), strip.counts)] = strip

    def least(self, last: str, fulls: Sequence[tuple[str, float]] = (), rounds: int = 30) -> float:
        """Height on the last sheet [mm] that fractions of strips come down to, the other sheets full."""
        fractions = self.grow(self.demand, last, fulls, rounds)
        total = sum(value * key[1] for value, key in fractions if key[0] == last)
        return total - sum(room for along, room in fulls if along == last)

    def dive(
        self, last: str, fulls: Sequence[tuple[str, float]] = (), rounds: int = 3
    ) -> tuple[dict[str, list[Strip]], list[Strip]] | None:
        """Take strips of the fractional optimum one sort after the other; the rest asks for strips of its own.

        Returns the strips in the room of full sheets, by direction, and those on the last; None when some blank found no
        strip. Strips that run as on the last sheet are all among the latter.
        """
        demand = list(self.demand)
        rooms = {along: sum(room for a, room in fulls if a == along) for along, _ in fulls}
        inside: dict[str, list[Strip]] = {along: [] for along in rooms if along != last}
        end: list[Strip] = []
        # with very many sizes all whole strips are taken at once: fewer programmes, almost the same strips
        one_by_one = sum(1 for many in demand if many) <= 20
        while any(demand):
            taken = False
            fractions = self.grow(demand, last, [(a, r) for a, r in rooms.items() if r > 1.0], rounds)
            for value, key in sorted(fractions, key=lambda e: (-_rank(e[0]), e[1])):
                many = max(1, int(value + 1e-6))
                many = min([many, *(demand[kind] // count for kind, count in key[2])])
                if key[0] in inside:
                    many = min(many, int(rooms[key[0]] / key[1] + EPS))
                if many and not (taken and value < 1.0):
                    if key[0] in inside:
                        rooms[key[0]] -= many * key[1]
                    inside.get(key[0], end).extend([self.strips[key]] * many)
                    for kind, count in key[2]:
                        demand[kind] -= count * many
                    taken = True
                    if one_by_one or value < 1.0:
                        break
            if not taken:
                return None
        return inside, end

    def choose(
        self,
        last: str,
        fulls: Sequence[tuple[str, float]] = (),
        most: float | None = None,
        nodes: int = 100,
        gap: float = 2e-4,
        seconds: float | None = None,
        columns: int = 1_000_000,
    ) -> tuple[list[list[Strip]], list[Strip]] | None:
        """Strips for each full sheet and for the last one that cover the demand with the least height on the last.

        most : what the strips on the last may reach together [mm]; None when they are to be shared out to several
        columns : most strips to pick from; those that cost least beside the fractional optimum are kept
        """
        picks = [(-1, strip) for key, strip in self.strips.items() if key[0] == last]
        picks += [
            (number, strip)
            for number, (full, room) in enumerate(fulls)
            for key, strip in self.strips.items()
            if key[0] == full and key[1] <= room + EPS
        ]
        if len(picks) > columns:
            relaxed = self._cover(picks, fulls, most).relaxed()
            if relaxed is None:
                return None
            order = sorted(range(len(picks)), key=lambda n: (relaxed.losses[n], n))
            picks = [picks[n] for n in sorted(order[:columns])]
        programme = self._cover(picks, fulls, most)
        found = programme.whole(nodes=nodes, gap=gap, seconds=seconds, presolve=False)
        if found is None:
            return None
        full_strips: list[list[Strip]] = [[] for _ in fulls]
        last_strips: list[Strip] = []
        for value, (number, strip) in zip(found.values, picks, strict=True):
            (last_strips if number < 0 else full_strips[number]).extend([strip] * round(value))
        return full_strips, last_strips

    def _cover(
        self, picks: Sequence[tuple[int, Strip]], fulls: Sequence[tuple[str, float]], most: float | None
    ) -> Programme:
        """The demand covered by strips on sheets (-1: the last), each within its room."""
        programme = Programme()
        cover = [programme.row(float(many), None) for many in self.demand]
        rooms = [programme.row(None, room + EPS) for _, room in fulls]
        rooms.append(programme.row(None, most))
        for number, strip in picks:
            entries = [(cover[kind], float(many)) for kind, many in strip.counts]
            height = strip.block.height
            programme.column(height if number < 0 else 0.0, [*entries, (rooms[number], height)])
        return programme


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
    return sum(strip.block.height for strip in strips)


def share_out(strips: Sequence[Strip], depth: float) -> list[list[Strip]]:
    """Strips on sheets of a depth: each as full as a subset can make it, what is left on the last."""
    grid = 100.0
    cells = int((depth + EPS) * grid)
    rest = sorted(strips, key=lambda s: (-s.block.height, s.counts))
    sheets = []
    while rest:
        if sum(s.block.height for s in rest) <= depth + EPS:
            sheets.append(rest)
            break
        sizes = [min(cells, math.ceil(s.block.height * grid - 1e-4)) for s in rest]
        reach = [1]
        for size in sizes:
            reach.append((reach[-1] | reach[-1] << size) & ((1 << cells + 1) - 1))
        at = reach[-1].bit_length() - 1
        taken = set()
        for number in range(len(rest) - 1, -1, -1):
            if not reach[number] >> at & 1:
                taken.add(number)
                at -= sizes[number]
        sheets.append([s for number, s in enumerate(rest) if number in taken])
        rest = [s for number, s in enumerate(rest) if number not in taken]
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
