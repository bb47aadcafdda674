"""Profile cutting by true shapes: whole orders on stock sheets, sheet by sheet, then the last sheets laid better.

Counted, not timed, unless the caller says when it is over: the same input gives the same nest. Lengths mm.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from flatgen.core.outline import bounds, perimeter
from flatgen.model.plan import Piece
from flatgen.model.shop import Sheet
from flatgen.nest.effort import Effort
from flatgen.nest.kinds import Member
from flatgen.nest.shapes.late_acceptance import Full, Laying, Plan, Room
from flatgen.nest.shapes.no_fit_polygon import convexes
from flatgen.nest.shapes.ways import Choice, choice_of
from flatgen.nest.stock import prices, rank_of

CELLS = 1700  # lattice steps over the side of a square as large as the largest sheet
LEAST_STEP = 0.5  # on small sheets [mm]
FINEST, COARSEST = 0.6, 2.0  # lattice steps, by the share of the usual one [1]
SIZES = 4  # sizes to buy that are tried by themselves
TAIL = 3  # last sheets that are laid again together

Sheets = list[tuple[int, list[Member]]]


def quick(pieces: Sequence[Piece]) -> Effort:
    """What the default takes: about a second, less for a few pieces."""
    return Effort(masks=min(60_000, 500 * sum(piece.quantity for piece in pieces)))


@dataclass(slots=True)
class Fitting:
    """An order on stock; lattice, ways and masks are made once for each grain."""

    pieces: Sequence[Piece]
    stock: Sequence[Sheet]
    gap: float
    step: float = 0.0
    _choices: dict[float, Choice] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Settle the lattice."""
        self.step = lattice_step(self.pieces, self.stock, self.gap)

    def whole(self, effort: Effort) -> tuple[Sheets, list[int]]:
        """The whole order sheet by sheet, and how many of each piece are left over."""
        best: _Run | None = None
        worked = 0
        plans = self._laying(0, [p.quantity for p in self.pieces]).plain_plans()
        for plan, some in product(plans, _choices_of_sizes(self.stock)):
            run = _Run(self, plan, some)
            run.fill()
            worked += run.work
            if best is None or run.score() < best.score():
                best = run
            if worked >= effort.masks or effort.over():
                break
        assert best is not None
        return [(number, self._members(number, full)) for number, full in best.fulls], best.left

    def tail(self, sheets: Sheets, left: Sequence[int], effort: Effort) -> tuple[Sheets, list[int]]:
        """The last few sheets, all of one grain, laid anew with what is on them and what is left over."""
        return next(self.tails(sheets, left, effort))

    def tails(self, sheets: Sheets, left: Sequence[int], effort: Effort) -> Iterator[tuple[Sheets, list[int]]]:
        """The last few sheets laid anew, then again and again with other steps, none worse than the one before."""
        grain = self.stock[sheets[-1][0]].grain
        count = 1
        while count < min(TAIL, len(sheets)) and self.stock[sheets[-1 - count][0]].grain == grain:
            count += 1
        demand = list(left)
        for _, members in sheets[-count:]:
            for member in members:
                demand[member.piece] += 1
        numbers = [number for number, _ in sheets[-count:]]
        laying = Laying(
            self.choice(grain).shapes, [self.room(n) for n in numbers], demand, effort.seed, over=effort.over
        )
        some = laying.starts(effort.masks)
        while True:
            some = [laying.bettered(trial, effort.masks // len(some), effort.lateness) for trial in some]
            found = min(some, key=lambda trial: trial.score)
            laid = [(n, self._members(n, full)) for n, full in zip(numbers, found.fulls, strict=False)]
            yield [*sheets[:-count], *laid], list(found.fulls[-1].left) if found.fulls else demand
            laying.seed += 1

    def _members(self, number: int, full: Full) -> list[Member]:
        """Every blank in its place."""
        sheet, step = self.stock[number], self.step
        ways = self.choice(sheet.grain).ways
        return [
            replace(
                ways[way],
                x=ways[way].x + sheet.margin + (x + dx) * step,
                y=ways[way].y + sheet.margin + (y + dy) * step,
            )
            for group, x, y in full.board.placed
            for way, dx, dy in full.board.groups[group].parts
        ]

    def choice(self, grain: float) -> Choice:
        """Ways and masks for sheets with this grain."""
        if grain not in self._choices:
            self._choices[grain] = choice_of(self.pieces, grain, self.gap, self.step)
        return self._choices[grain]

    def _laying(self, number: int, demand: Sequence[int]) -> Laying:
        return Laying(self.choice(self.stock[number].grain).shapes, [self.room(number)], demand)

    def room(self, number: int) -> Room:
        """The usable part of a sheet."""
        sheet = self.stock[number]
        m = sheet.margin
        bad = [
            [(x - m, y - m), (x + w - m, y - m), (x + w - m, y + h - m), (x - m, y + h - m)]
            for x, y, w, h in sheet.bad_areas
        ]
        return Room(sheet.width - 2.0 * m, sheet.height - 2.0 * m, m, convexes(bad) if bad else None)


def lattice_step(pieces: Sequence[Piece], stock: Sequence[Sheet], gap: float) -> float:
    """The step that wastes least on the sizes of these blanks, near the usual share of a usual sheet [mm]."""
    usual = max(LEAST_STEP, *(math.sqrt(s.width * s.height) / CELLS for s in stock))
    sizes: dict[float, float] = {}
    for piece in pieces:
        x0, y0, x1, y1 = bounds([piece.outline])
        for size in (x1 - x0 + gap, y1 - y0 + gap):
            sizes[round(size, 6)] = sizes.get(round(size, 6), 0.0) + piece.quantity * perimeter(piece.outline)

    def lost(step: float) -> float:
        over = math.fsum(weight * (math.ceil(size / step - 1e-6) * step - size) for size, weight in sizes.items())
        return over / math.fsum(sizes.values()) + 0.02 * abs(step - usual)

    round_ones = [k * unit for unit in (0.05, 0.79375, 1.0) for k in range(1, 81)]
    near = [s for s in round_ones if FINEST * usual < s < COARSEST * usual]
    return min([usual, *near], key=lambda step: (round(lost(step), 9), step))


def _choices_of_sizes(stock: Sequence[Sheet]) -> list[frozenset[int]]:
    """All of the stock; and, since sheet by sheet a size may look cheap, what is on hand with one size to buy."""
    new = [number for number, sheet in enumerate(stock) if rank_of(sheet) == 2]
    every = frozenset(range(len(stock)))
    return [every, *(every.difference(new) | {number} for number in new[:SIZES] if len(new) > 1)]


@dataclass(slots=True)
class _Run:
    """One plan for all sheets, remnants first, then what is on hand, then what must be bought."""

    fitting: Fitting
    plan: Plan
    some: frozenset[int]
    left: list[int] = field(default_factory=list)
    fulls: list[tuple[int, Full]] = field(default_factory=list)
    work: int = 0

    def fill(self) -> None:
        """Sheets until nothing is left or nothing fits."""
        stock = self.fitting.stock
        self.left = [piece.quantity for piece in self.fitting.pieces]
        used = [0] * len(stock)
        costs = prices(stock)
        for rank in (0, 1, 2):
            while any(self.left):
                tried = [
                    (self._score(full, costs[number], number), number, full)
                    for number, sheet in enumerate(stock)
                    if number in self.some
                    and rank_of(sheet) == rank
                    and (sheet.copies is None or used[number] < sheet.copies)
                    if (full := self._full(number)).board.placed
                ]
                if not tried:
                    break
                _, number, full = min(tried, key=lambda entry: entry[:2])
                taken = [a - b for a, b in zip(self.left, full.left, strict=True)]
                # the same sheet again while the order holds out: quick, and the same cutting
                repeat = min(a // t for a, t in zip(self.left, taken, strict=True) if t)
                copies = stock[number].copies
                repeat = repeat if copies is None else min(repeat, copies - used[number])
                self.left = [a - t * repeat for a, t in zip(self.left, taken, strict=True)]
                used[number] += repeat
                self.fulls += [(number, full)] * repeat

    def _full(self, number: int) -> Full:
        laying = self.fitting._laying(number, self.left)
        full = laying.full(0, self.plan, self.left)
        self.work += laying.work
        return full

    def _score(self, full: Full, cost: float, number: int) -> tuple[float, float, float]:
        """A sheet that takes all that is left counts by its price alone, others by price for the metal they hold."""
        areas = self.fitting.choice(self.fitting.stock[number].grain).shapes.areas
        metal = math.fsum(area * (a - b) for area, a, b in zip(areas, self.left, full.left, strict=True))
        return (0.0, cost, -metal) if not any(full.left) else (1.0, cost / metal, -metal)

    def score(self) -> tuple[float, float, float]:
        """Blanks left over, cost, share of the last sheet."""
        costs = prices(self.fitting.stock)
        last = self.fitting.room(self.fulls[-1][0]).used(self.fulls[-1][1].board) if self.fulls else 0.0
        return (float(sum(self.left)), round(math.fsum(costs[n] for n, _ in self.fulls), 6), last)
