"""Edge-to-edge nests: several ways to fill the stock are tried, the cheapest is kept, then its last sheet is drawn in.

Remnants are filled first, then sheets on hand, then sheets to buy. What counts, in this order: nothing left over, cost
of what must be bought, cost of all sheets, the largest off-cut on the last sheet. Lengths in mm.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations, islice

from flatgen.nest.effort import NORMAL, SAVE, Effort
from flatgen.nest.guillotine.block import Block, tidy
from flatgen.nest.guillotine.column_generation import StripPool, as_block, without
from flatgen.nest.guillotine.greedy import POWERS, Bin, Filled, Start, count, fill_all, starts
from flatgen.nest.guillotine.knapsacks import Rules
from flatgen.nest.guillotine.patterns import PatternPool, options_by_direction
from flatgen.nest.guillotine.ruin_and_recreate import Budget, layouts_of, shared_out_all

CANDIDATES = 80  # most nests of equal cost that are compared further
SEARCHES = 20  # most searches for a whole order, for every size in it
MANY = 2000  # blanks beyond which the sizes of sheets are not tried one by one as well
FEW_KINDS, WAYS = 60, 48  # of so many sizes of blanks all ways are tried, of more fewer
SIZES = 4  # most of them that are
DENSE = 400  # blanks up to which a search for that is made
SPARSE = 0.4  # share of a sheet below which it may be saved by a denser nest
NODES = 20  # branches of the integer programme over whole-sheet patterns


@dataclass(frozen=True, slots=True)
class Candidate:
    """A nest of a search: its score (lower is better), its sheets, blanks left over."""

    score: tuple[float, ...]
    sheets: list[Filled]
    left: list[int]


@dataclass(slots=True)
class Search:
    """One nesting run on stock of one metal."""

    bins: Sequence[Bin]
    demand: Sequence[int]
    kerf: float
    rules: Rules
    effort: Effort = NORMAL
    found: list[Candidate] = field(default_factory=list)

    def candidates(self) -> list[Candidate]:
        """Nests that cost no more than the best, those that differ, the best first: sheets in cutting order, the one
        with the largest off-cut last.
        """
        left = list(self.demand)
        done: list[Filled] = []
        remnants, others = [b for b in self.bins if b.rank == 0], [b for b in self.bins if b.rank > 0]
        if remnants and any(left):
            done, left = self._remnants(remnants, left)
        if not (others and any(left)):
            return [Candidate((), done, left)]
        self._bought(others, left)
        least = min(other.score for other in self.found)
        some = {other.score: other for other in reversed(self.found) if other.score[:3] == least[:3]}
        return [replace(some[score], sheets=[*done, *some[score].sheets]) for score in sorted(some)][:CANDIDATES]

    def _remnants(self, bins: Sequence[Bin], demand: Sequence[int]) -> tuple[list[Filled], list[int]]:
        best = None
        for power in POWERS:
            sheets, left = fill_all(bins, demand, self.kerf, self.rules, Start(power))
            rest = math.fsum(many * kind_area(bins[0], kind) for kind, many in enumerate(left))
            if best is None or (rest, len(sheets)) < best[0]:
                best = ((rest, len(sheets)), sheets, left)
        assert best is not None
        return best[1], best[2]

    def _ways(self, demand: Sequence[int]) -> int | None:
        """In how many ways sheets are filled; None: all. One takes longer than in proportion to the sizes of blanks."""
        if sum(demand) > MANY:
            return 3
        if len(demand) <= FEW_KINDS or self.effort.work > NORMAL.work:
            return None
        return max(3, int(WAYS * math.pow(FEW_KINDS / len(demand), 1.5)))

    def _offer(self, bins: Sequence[Bin], demand: Sequence[int], sheets: list[Filled] | None) -> None:
        if sheets is not None:
            sheets, left = settled(sheets, demand, bins)
            self.found.append(Candidate(self.score(sheets, left, bins), sheets, left))

    @property
    def _best(self) -> Candidate:
        return min(self.found, key=lambda other: other.score)

    def _bought(self, bins: Sequence[Bin], demand: list[int]) -> None:
        tries = [
            fill_all(bins, demand, self.kerf, self.rules, start)
            for start in islice(starts(len(demand), self.effort.seed), self._ways(demand))
        ]
        for some in _sizes_by_themselves(bins) if sum(demand) <= MANY else ():
            tries.append(fill_all(some, demand, self.kerf, self.rules))
        for sheets, _ in tries:
            self._offer(bins, demand, sheets)
        reachable = [a - b for a, b in zip(demand, self._best.left, strict=True)]
        if not any(reachable):
            return
        per_sheet = sum(reachable) / max(1, len(self._best.sheets))
        least = least_cost(bins, reachable) * (1.0 + 1e-9)
        choice = len(self._best.sheets) > 1 or len(bins) > 1
        if self._best.score[2] > least and choice and per_sheet <= 15 and not self.effort.over():
            self._offer(bins, demand, self._by_patterns(bins, reachable, [s for sheets, _ in tries for s in sheets]))
        if self._best.score[2] > least and self._may_save(bins) and self.effort.work:
            self.effort = replace(self.effort, work=max(self.effort.work, SAVE))
        if per_sheet >= 6:
            cost = self._best.score[2] * (1.0 + 1e-9)
            for bin_ in bins:
                if len(bin_.regions) == 1 and least_cost([bin_], reachable) <= cost:
                    for sheets in self._stripwise(bin_, reachable):
                        self._offer(bins, demand, sheets)
        elif len(self._best.sheets[-1].blocks) == 1:
            *others, last = self._best.sheets
            bin_ = next(b for b in bins if b.index == last.bin)
            for sheets in self._stripwise(replace(bin_, copies=1), count(last.blocks[0], len(demand))):
                self._offer(bins, demand, [*others, *sheets])

    def _by_patterns(self, bins: Sequence[Bin], demand: Sequence[int], known: Sequence[Filled]) -> list[Filled] | None:
        """The cheapest set of whole-sheet patterns that an integer programme picks; None where none is cheaper."""
        pool = PatternPool(bins, demand, self.kerf, self.rules)
        numbers = {b.index: n for n, b in enumerate(bins)}
        for sheet in known:
            pool.add(numbers[sheet.bin], sheet)
        if len(self._best.sheets) <= 60:
            pool.shuffle(self.effort.tries, self.effort.seed, self.effort.until)
        pool.price(60)
        return pool.cheapest(NODES, self._best.score[2], self.effort.seconds())

    def _may_save(self, bins: Sequence[Bin]) -> bool:
        """Whether so little lies on one of the sheets that a denser nest could do without it."""
        by_index = {b.index: b for b in bins}
        few = sum(self.demand) <= DENSE
        return few and any(used_share(s, by_index[s.bin]) < SPARSE for s in self._best.sheets)

    def _stripwise(self, bin_: Bin, demand: list[int]) -> Iterator[list[Filled]]:
        """The whole order in strips, on one sort of sheet, with the last sheet as short as can be."""
        pool = strip_pool(bin_, demand, self.kerf, self.rules)
        searches = max(8, min(sum(demand), SEARCHES * sum(1 for many in demand if many)))
        least = self.effort.work / searches
        budget = Budget(self.effort.work, self.effort.seed, least, self.effort.seconds)
        for layout in layouts_of(pool, budget) if self.effort.work else shared_out_all(pool):
            if bin_.copies is None or len(layout.sheets) <= bin_.copies:
                yield [Filled(bin_.index, (as_block(strips, along),)) for along, strips in layout.sheets]

    def score(self, sheets: Sequence[Filled], left: Sequence[int], bins: Sequence[Bin]) -> tuple[float, ...]:
        """Lower is better: blanks left over, cost to buy, cost of all, last sheet less its off-cut, gauge settings."""
        by_index = {b.index: b for b in bins}
        rest = math.fsum(many * kind_area(bins[0], kind) for kind, many in enumerate(left))
        buy = math.fsum(by_index[s.bin].cost for s in sheets if by_index[s.bin].rank == 2)
        cost = math.fsum(by_index[s.bin].cost for s in sheets)
        last = min((used_share(s, by_index[s.bin]) for s in sheets), default=0.0)
        gauges = {g for s in sheets for block in s.blocks if block is not None for g in gauges_of(tidy(block))}
        return (round(rest, 3), round(buy, 6), round(cost, 6), round(last, 6), float(len(gauges)))


def _sizes_by_themselves(bins: Sequence[Bin]) -> Iterator[list[Bin]]:
    """What is on hand, and one or two of the sizes to buy: sheet by sheet a size may look cheap and not be."""
    own, new = [b for b in bins if b.rank < 2], [b for b in bins if b.rank == 2]
    for many in (1, 2):
        if len(new) > many:
            yield from ([*own, *some] for some in combinations(new[:SIZES], many))


def gauges_of(block: Block, stage: int = 1) -> Iterator[tuple[int, float]]:
    """Gauge settings that a pattern asks for: (stage, size)."""
    for part in block.parts:
        yield stage, round(part.width if block.along == "x" else part.height, 4)
        yield from gauges_of(part, stage + 1)


def strip_pool(bin_: Bin, demand: Sequence[int], kerf: float, rules: Rules) -> StripPool:
    """An empty pool of strips for a bin of one clean rectangle, in the directions that the tool can cut."""
    width, height = bin_.regions[0]
    size = {"x": (width, height), "y": (height, width)}
    size = {along: s for along, s in size.items() if bin_.cut_lengths(0)[along] <= rules.longest + 1e-6}
    return StripPool(options_by_direction(bin_, kerf), size, demand, rules)


def kind_area(bin_: Bin, kind: int) -> float:
    """Rectangle of a blank [mm²]; 0 when it cannot lie on this bin."""
    return max((t.width * t.height for t in bin_.kinds[kind].turns), default=0.0)


def least_cost(bins: Sequence[Bin], demand: Sequence[int]) -> float:
    """Cost that no nest can be below, by area; whole sheets where there is one size only."""
    area = math.fsum(many * kind_area(bins[0], kind) for kind, many in enumerate(demand))
    usable = [(b.cost, math.fsum(w * h for w, h in b.regions)) for b in bins]
    rate = min((cost / size for cost, size in usable if size > 0), default=0.0)
    if len(usable) == 1 and usable[0][1] > 0:
        return usable[0][0] * -(-area // usable[0][1])
    return rate * area


def used_share(filled: Filled, bin_: Bin) -> float:
    """Share of a sheet that is not its largest off-cut beside or above all blanks."""
    block = filled.blocks[0] if len(filled.blocks) == 1 else None
    if block is None:
        return 1.0
    width, height = bin_.regions[0]
    return min(block.width / width, block.height / height)


def settled(sheets: Sequence[Filled], demand: Sequence[int], bins: Sequence[Bin]) -> tuple[list[Filled], list[int]]:
    """Sheets without surplus blanks, the one with the largest off-cut last; and what is still lacking."""
    by_index = {b.index: b for b in bins}
    have = [0] * len(demand)
    for sheet in sheets:
        for block in sheet.blocks:
            for kind, many in enumerate(count(block, len(have))):
                have[kind] += many
    surplus = [max(0, a - d) for a, d in zip(have, demand, strict=True)]
    lacking = [max(0, d - a) for a, d in zip(have, demand, strict=True)]
    order = sorted(sheets, key=lambda s: used_share(s, by_index[s.bin]))
    kept = []
    for sheet in order:
        if any(surplus):
            sheet = replace(sheet, blocks=tuple(without(b, surplus) if b is not None else None for b in sheet.blocks))
        if any(block is not None for block in sheet.blocks):
            kept.append(sheet)
    kept.sort(key=lambda s: (by_index[s.bin].rank, -round(used_share(s, by_index[s.bin]), 6)))
    return kept, lacking
