"""Edge-to-edge nests that cost the same are finished, and the one counts that a shop pays least for. Lengths mm.

Finished: off-cuts drawn together, gauge settings brought down, cuts in order. Paid for: the minutes of setting and
cutting, less the metal in off-cuts worth keeping.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flatgen.model.plan import Cut
from flatgen.nest.guillotine.aside import larger_offcuts
from flatgen.nest.guillotine.cut_up import cut_up
from flatgen.nest.guillotine.cuts import CutPlan
from flatgen.nest.guillotine.fewer_settings import fewest_settings
from flatgen.nest.guillotine.greedy import Bin, Filled
from flatgen.nest.guillotine.hold import settings
from flatgen.nest.guillotine.order import in_order
from flatgen.nest.guillotine.search import Candidate
from flatgen.nest.kinds import Member
from flatgen.nest.offcuts import areas_kept
from flatgen.nest.problem import Problem
from flatgen.nest.stock import NO_PRICE, prices

MANY, FEW = 400, 6  # blanks beyond which no more than so many nests are cut up, and one is finished
DRAWN, SETTLED = 2, 2  # most nests whose off-cuts are drawn together, and whose settings are brought down


@dataclass(frozen=True, slots=True)
class Sheared:
    """A sheet with its blanks in place, its cuts in order and what they leave."""

    bin: int
    members: list[Member]
    cuts: tuple[Cut, ...]
    plan: CutPlan


@dataclass(frozen=True, slots=True)
class Finished:
    """A nest with its cuts, and what it costs beyond its sheets, to be compared."""

    sheets: list[Sheared]
    left: list[int]
    engine: str
    spent: tuple[float, ...]


def best_finished(candidates: Iterable[Candidate], problem: Problem, bins: Sequence[Bin]) -> Finished:
    """The candidate that costs least when it is finished; of equal ones the first.

    First all are cut up as they are, then the better ones with their off-cuts drawn together, then the best of all
    these with fewer settings.
    """
    cutter = _Cutter(problem, bins)
    many = sum(piece.quantity for piece in problem.pieces) > MANY
    found = list(candidates)[: FEW if many else None]
    plain = [cutter.cut(_with_the_opened(c.sheets, problem, bins), c) for c in found]
    some = _best(plain, 1 if many else DRAWN)
    some += [cutter.cut(drawn, c) for _, filled, c in some if (drawn := cutter.drawn(filled)) != filled]
    ends = _best(some, 1 if many else SETTLED)
    ends += [cutter.cut(cutter.settled(filled), c) for _, filled, c in ends]
    return _best(ends, 1)[0][0]


Entry = tuple[Finished, list[Filled], Candidate]


def _best(entries: Iterable[Entry], most: int) -> list[Entry]:
    return sorted(entries, key=lambda entry: entry[0].spent)[:most]


@dataclass(frozen=True, slots=True)
class _Cutter:
    """Cuts filled sheets up."""

    problem: Problem
    bins: Sequence[Bin]

    def plan(self, filled: Filled) -> CutPlan:
        """The cuts of one sheet."""
        return cut_up(self.problem, filled, self.bins[filled.bin])[0]

    def cut(self, filled: Sequence[Filled], candidate: Candidate) -> Entry:
        """All sheets with their cuts in order."""
        sheets = []
        for sheet in filled:
            plan, members = cut_up(self.problem, sheet, self.bins[sheet.bin])
            sheets.append(Sheared(sheet.bin, members, in_order(plan), plan))
        spent = _spent(sheets, self.problem)
        return Finished(sheets, candidate.left, candidate.engine, spent), list(filled), candidate

    def drawn(self, filled: Sequence[Filled]) -> list[Filled]:
        """The sheets with off-cuts drawn together."""
        problem = self.problem
        return larger_offcuts(filled, self.bins, problem.gap, problem.rules, problem.offcut, self.plan)

    def settled(self, filled: Sequence[Filled]) -> list[Filled]:
        """The sheets with fewer settings."""
        problem = self.problem
        return fewest_settings(filled, self.bins, problem.gap, problem.rules, problem.offcut, self.plan)


def _spent(sheets: Sequence[Sheared], problem: Problem) -> tuple[float, ...]:
    """Price of the minutes, less that of the off-cuts; or for metal alone the largest off-cut, then the minutes."""
    minutes = sum(problem.minutes.spent(settings(s.cuts), len(s.cuts)) for s in sheets)
    kept = [size for s in sheets for size in areas_kept(s.plan.rests, problem.offcut)]
    if problem.aim == "metal":
        return (-round(max(kept, default=0.0), 3), round(minutes, 6))
    sizes = [s.width * s.height for s in problem.stock]
    rates = [cost / size for cost, size, s in zip(prices(problem.stock), sizes, problem.stock, strict=True) if s.cost]
    return (round(minutes / 60.0 * problem.minutes.hour - sum(kept) * max(rates, default=NO_PRICE), 6),)


def _with_the_opened(filled: Sequence[Filled], problem: Problem, bins: Sequence[Bin]) -> list[Filled]:
    """The opened sheet is cut before all others, and cut even where nothing else lies on it."""
    if problem.opening is None:
        return list(filled)
    number = len(problem.stock) - 1
    opened = [f for f in filled if f.bin == number] or [Filled(number, tuple(None for _ in bins[number].regions))]
    return [*opened, *[f for f in filled if f.bin != number]]
