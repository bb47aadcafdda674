"""Edge-to-edge nests that cost the same are finished, and the one counts that a shop pays least for. Lengths mm.

Finished: cut up, the cuts in an order of few gauge settings. Paid for: the minutes of setting and cutting, less the
metal in off-cuts worth keeping.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flatgen.model.plan import Cut
from flatgen.nest.guillotine.cut_up import cut_up
from flatgen.nest.guillotine.cuts import CutPlan
from flatgen.nest.guillotine.greedy import Bin, Filled
from flatgen.nest.guillotine.hold import settings
from flatgen.nest.guillotine.order import in_order
from flatgen.nest.guillotine.search import Candidate
from flatgen.nest.kinds import Member
from flatgen.nest.offcuts import areas_kept
from flatgen.nest.problem import Problem
from flatgen.nest.stock import NO_PRICE, prices

MANY, FEW = 400, 6  # blanks beyond which no more than so many nests are cut up


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
    spent: tuple[float, ...]


def best_finished(candidates: Sequence[Candidate], problem: Problem, bins: Sequence[Bin]) -> Finished:
    """The candidate that costs least when it is finished; of equal ones the first."""
    many = sum(piece.quantity for piece in problem.pieces) > MANY
    known: dict[Filled, Sheared] = {}
    found = [_finished(c, problem, bins, known) for c in candidates[: FEW if many else None]]
    return min(found, key=lambda finished: finished.spent)


def _finished(candidate: Candidate, problem: Problem, bins: Sequence[Bin], known: dict[Filled, Sheared]) -> Finished:
    """All sheets of a candidate cut up; those that are ``known`` are not cut up again."""
    sheets = []
    for filled in _with_the_opened(candidate.sheets, problem, bins):
        if filled not in known:
            plan, members = cut_up(problem, filled, bins[filled.bin])
            known[filled] = Sheared(filled.bin, members, in_order(plan), plan)
        sheets.append(known[filled])
    return Finished(sheets, candidate.left, _spent(sheets, problem))


def _spent(sheets: Iterable[Sheared], problem: Problem) -> tuple[float, ...]:
    """Price of the minutes, less that of the off-cuts; or for metal alone the largest off-cut, then the minutes."""
    sheets = list(sheets)
    minutes = math.fsum(problem.minutes.spent(settings(s.cuts), len(s.cuts)) for s in sheets)
    kept = [size for s in sheets for size in areas_kept(s.plan.rests, problem.offcut)]
    if problem.aim == "metal":
        return (-round(max(kept, default=0.0), 3), round(minutes, 6))
    sizes = [s.width * s.height for s in problem.stock]
    rates = [cost / size for cost, size, s in zip(prices(problem.stock), sizes, problem.stock, strict=True) if s.cost]
    spent = minutes / 60.0 * problem.minutes.hour - math.fsum(kept) * max(rates, default=NO_PRICE)
    return (round(spent, 6),)


def _with_the_opened(filled: Sequence[Filled], problem: Problem, bins: Sequence[Bin]) -> list[Filled]:
    """The opened sheet is cut before all others, and cut even where nothing else lies on it."""
    if problem.opening is None:
        return list(filled)
    number = len(problem.stock) - 1
    opened = [f for f in filled if f.bin == number] or [Filled(number, tuple(None for _ in bins[number].regions))]
    return [*opened, *[f for f in filled if f.bin != number]]
