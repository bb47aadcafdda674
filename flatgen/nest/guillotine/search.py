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
    """A nest of a search: its score (lower is better), its sheets, blanks left over, and how it was found."""

    score: tuple[float, ...]
    sheets: list[Filled]
    left: list[int]
    engine: str


@dataclass(slots=True)
class Search:
    """One nesting run on stock of one metal."""

    bins: Sequence[Bin]
    demand: Sequence[int]
    kerf: float
    rules: Rules
    effort: Effort = NORMAL
    engine: str = "strips, sheet by sheet"
    found: list[Candidate] = field(default_factory=list)

    def run(self) -> tuple[list[Filled], list[int]]:
        """Sheets in cutting order, the one with the largest off-cut last; and what is left over."""
        left = list(self.demand)
        done: list[Filled] = []
        self.found = []
        remnants = [b for b in self.bins if b.rank == 0]
        if remnants and any(left):
            sheets, left = self._remnants(remnants, left)
            done += sheets
        others = [b for b in self.bins if b.rank > 0]
        if not (others and any(left)):
            self.found = [Candidate((), done, left, self.engine)]
            return done, left
        best = self._bought(others, left)
        self.found = [replace(other, sheets=[*done, *other.sheets]) for other in self.found]
        return [*done, *best.sheets], best.left

    @property
    def best(self) -> Candidate:
        """The best that ``run`` found."""
        return min(self.found, key=lambda other: other.score)

    def candidates(self) -> list[Candidate]:
        """What ``run`` found that costs no more than the best, those that differ, the best first."""
        least = min(other.score for other in self.found)
        some = {other.score: other for other in reversed(self.found) if other.score[:3] == least[:3]}
        return [some[score] for score in sorted(some)][:CANDIDATES]

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
        if not self.effort.programmes:
            return 2
        if sum(demand) > MANY:
            return 3
        if len(demand) <= FEW_KINDS or self.effort.work > NORMAL.work:
            return None
        return max(3, int(WAYS * math.pow(FEW_KINDS / len(demand), 1.5)))

    def _bought(self, bins: Sequence[Bin], demand: list[int]) -> Candidate:
        best: Candidate | None = None

        def offer(sheets: list[Filled] | None, engine: str) -> None:
            nonlocal best
            if sheets is None:
                return
            sheets, left = settled(sheets, demand, bins)
            offered = Candidate(self.score(sheets, left, bins), sheets, left, engine)
            self.found.append(offered)
            if best is None or offered.score < best.score:
                best = offered
                self.engine = engine

        tries = []
        for start in islice(starts(len(demand), self.effort.seed), self._ways(demand)):
            tries.append(fill_all(bins, demand, self.kerf, self.rules, start))
            offer(tries[-1][0], "strips, sheet by sheet")
        for some in _sizes_by_themselves(bins) if sum(demand) <= MANY else ():
            tries.append(fill_all(some, demand, self.kerf, self.rules))
            offer(tries[-1][0], "strips, sheet by sheet")
        assert best is not None
        reachable = [a - b for a, b in zip(demand, best.left, strict=True)]
        if not any(reachable) or not self.effort.programmes:
            return best
        count_of = sum(reachable)
        per_sheet = count_of / max(1, len(best.sheets))
        cheapest = least_cost(bins, reachable)
        choice = len(best.sheets) > 1 or len(bins) > 1
        if best.score[2] > cheapest * (1.0 + 1e-9) and choice and per_sheet <= 15 and not self.effort.over():
            pool = PatternPool(bins, reachable, self.kerf, self.rules)
            numbers = {b.index: n for n, b in enumerate(bins)}
            for sheets, _ in tries:
                for sheet in sheets:
                    pool.add(numbers[sheet.bin], sheet)
            if len(best.sheets) <= 60:
                pool.shuffle(self.effort.tries, self.effort.seed, self.effort.until)
            pool.price(60)
            offer(pool.cheapest(NODES, best.score[2], self.effort.seconds()), "patterns picked by integer programme")
        if self._may_save(best, cheapest, bins) and self.effort.work:
            self.effort = replace(self.effort, work=max(self.effort.work, SAVE))
        if per_sheet >= 6:
            for bin_ in bins:
                if len(bin_.regions) == 1 and least_cost([bin_], reachable) <= best.score[2] * (1.0 + 1e-9):
                    for sheets in self._stripwise(bin_, reachable):
                        offer(sheets, "strips, blank by blank")
        elif len(best.sheets[-1].blocks) == 1:
            last = best.sheets[-1]
            bin_ = next(b for b in bins if b.index == last.bin)
            for sheets in self._stripwise(replace(bin_, copies=1), count(last.blocks[0], len(demand))):
                offer([*best.sheets[:-1], *sheets], self.engine)
        return best

    def _may_save(self, best: Candidate, cheapest: float, bins: Sequence[Bin]) -> bool:
        """Whether so little lies on one of the sheets that a denser nest could do without it."""
        cost = {b.index: b for b in bins}
        few = sum(self.demand) <= DENSE
        return (
            few
            and best.score[2] > cheapest * (1.0 + 1e-9)
            and any(used_share(s, cost[s.bin]) < SPARSE for s in best.sheets)
        )

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
