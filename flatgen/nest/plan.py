"""Pieces on sheets: the one entry of the nesting stage, for shear and saw as for profile cutting. Lengths mm."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import count
from typing import NamedTuple

from flatgen.model.plan import Cut, Nest, Placement, Unplaced
from flatgen.nest.effort import METAL, NORMAL, Effort
from flatgen.nest.guillotine.cut_up import cut_up, metal_of, whole_of
from flatgen.nest.guillotine.cuts import CutPlan, Rect
from flatgen.nest.guillotine.finish import best_finished
from flatgen.nest.guillotine.first import first_members, lost_to_the_first, openings, waiting
from flatgen.nest.guillotine.greedy import Bin
from flatgen.nest.guillotine.regions import regions_of
from flatgen.nest.guillotine.search import Candidate, Search
from flatgen.nest.kinds import Member, held_kinds, net_area
from flatgen.nest.longer import Longer
from flatgen.nest.offcuts import free_rectangles, lettered, named
from flatgen.nest.problem import Problem
from flatgen.nest.report import finished
from flatgen.nest.result import NestResult
from flatgen.nest.shapes.search import Profiled, bettered, nest_profiles, profiled, reach_of
from flatgen.nest.stock import prices, rank_of

FEW = 40  # blanks up to which sizes of sheets are chosen among by programme


class _Laid(NamedTuple):
    """A sheet by its number in the stock, the blanks on it, the cuts that free them, and what these leave."""

    number: int
    members: Sequence[Member]
    cuts: tuple[Cut, ...]
    rests: Sequence[Rect]


def nest_pieces(problem: Problem, longer: Longer | None = None) -> NestResult:
    """Nest pieces of one metal on the sheets of that metal.

    Remnants are used first, then sheets on hand, then sheets that can be bought (``copies`` None). Every piece is in a
    nest or in ``unplaced`` with the reason. Same input, same result, unless a longer search is asked for.
    """
    if not any(piece.first for piece in problem.pieces):
        return _solved(problem, longer)
    tried = [(_solved(opened, None), opened) for opened in openings(problem)]
    if not tried:
        return _apart(problem, longer)
    best, opened = min(tried, key=lambda entry: _worth(*entry))
    return _solved(opened, longer) if longer else best


def _worth(result: NestResult, opened: Problem) -> tuple[float, ...]:
    """Lower is better: pieces left over, cost, a sheet opened where a remnant would do, sheets less an off-cut."""
    assert opened.opening is not None
    rank = rank_of(opened.stock[opened.opening.sheet])
    return (float(sum(u.quantity for u in result.unplaced)), round(result.cost, 6), float(rank), result.figure)


def _apart(problem: Problem, longer: Longer | None) -> NestResult:
    """Pieces that come first but fit on no strip together, on sheets of their own, then all others."""
    own = tuple(replace(p, quantity=p.quantity if p.first else 0, first=False) for p in problem.pieces)
    before = _solved(replace(problem, pieces=own), longer)
    taken = Counter(nest.sheet.id for nest in before.nests)
    stock = tuple(s if s.copies is None else replace(s, copies=max(0, s.copies - taken[s.id])) for s in problem.stock)
    after = _solved(replace(problem, pieces=tuple(map(waiting, problem.pieces)), stock=stock), longer)
    firsts = tuple(p.part for p in problem.pieces if p.first)
    nests = tuple(
        replace(n, first=tuple(p for p in firsts if p in {q.part for q in n.placements})) for n in before.nests
    )
    buy = Counter(dict(before.to_buy)) + Counter(dict(after.to_buy))
    buy.subtract(n.sheet.id for n in (*before.nests, *after.nests) if n.sheet.copies is None and not n.sheet.remnant)
    all_nests = _lettered((*nests, *after.nests))
    left = [*before.unplaced, *after.unplaced]
    return finished(all_nests, left, {k: v for k, v in buy.items() if v > 0}, problem)


def _lettered(nests: Sequence[Nest]) -> list[Nest]:
    """Nests with their off-cuts lettered on from the first."""
    done: list[Nest] = []
    for nest in nests:
        first = 1 + sum(len(n.offcuts) for n in done)
        names = (replace(o, id=lettered(k)) for k, o in enumerate(nest.offcuts, first))
        done.append(replace(nest, offcuts=tuple(names)))
    return done


def _solved(problem: Problem, longer: Longer | None) -> NestResult:
    return _sheared(problem, longer) if problem.tool.edge_to_edge else _profiled(problem, longer)


def _sheared(problem: Problem, longer: Longer | None) -> NestResult:
    stock, kerf, rules = problem.stock, problem.gap, problem.rules
    bins = [_bin(problem, number) for number in range(len(stock))]
    demand = [piece.quantity for piece in problem.pieces]

    def again(effort: Effort) -> Iterator[Candidate]:
        for seed in count(effort.seed + 1):
            yield Search(bins, demand, kerf, rules, replace(effort, seed=seed)).candidates()[0]

    metal = longer or problem.aim == "metal"
    candidates = Search(bins, demand, kerf, rules, METAL if metal else NORMAL).candidates()
    candidates = candidates[:1] if metal else candidates
    best = best_finished([longer.best(candidates[0], again)] if longer else candidates, problem, bins)
    nests = _nests(problem, (_Laid(sheet.bin, sheet.members, sheet.cuts, sheet.plan.rests) for sheet in best.sheets))
    left = best.left
    more = [replace(b, copies=None, rank=2) for b in bins if not stock[b.index].remnant]
    extra = Search(more, left, kerf, rules).candidates()[0] if more and any(left) else Candidate((), [], left)
    unplaced, buy = _unplaced(problem, bins, left, [sheet.bin for sheet in extra.sheets], extra.left)
    return finished(nests, unplaced, buy, problem)


def _profiled(problem: Problem, longer: Longer | None) -> NestResult:
    pieces, stock, gap = problem.pieces, problem.stock, problem.gap
    found = _by_shapes(problem)
    if longer:
        found = longer.best(found, lambda effort: bettered(found, pieces, stock, gap, effort))
    sheets, left = found.sheets, found.left
    if problem.opening is not None:
        number = len(stock) - 1
        on_it = [m for n, members in sheets if n == number for m in members]
        sheets = [(number, [*first_members(problem), *on_it]), *[entry for entry in sheets if entry[0] != number]]
    nests = _nests(problem, (_Laid(n, members, (), _free(problem, n, members)) for n, members in sheets))
    bins = [_bin(problem, number) for number in range(len(stock))]
    new = [number for number, sheet in enumerate(stock) if not sheet.remnant]
    lacking = [replace(piece, quantity=many) for piece, many in zip(pieces, left, strict=True)]
    to_buy = [replace(stock[number], copies=None) for number in new]
    more = _by_shapes(replace(problem, pieces=lacking, stock=to_buy, opening=None))
    unplaced, buy = _unplaced(problem, bins, left, [new[number] for number, _ in more.sheets], more.left)
    return finished(nests, unplaced, buy, problem)


def _by_shapes(problem: Problem) -> Profiled:
    """True shapes; few blanks as rectangles too, where programmes choose among several sizes of sheets to buy."""
    pieces, stock = problem.pieces, problem.stock
    found = nest_profiles(pieces, stock, problem.gap)
    several = sum(sheet.copies is None for sheet in stock) > 1 and problem.opening is None
    demand = [piece.quantity for piece in pieces]
    if not several or not 0 < sum(demand) <= FEW:
        return found
    bins = [_bin(problem, number) for number in range(len(stock))]
    other = Search(bins, demand, problem.gap, problem.rules).candidates()[0]
    sheets = [(sheet.bin, cut_up(problem, sheet, bins[sheet.bin])[1]) for sheet in other.sheets]
    return min(found, profiled(sheets, other.left, pieces, stock), key=lambda one: one.score)


def _free(problem: Problem, number: int, members: Sequence[Member]) -> list[Rect]:
    """What profile-cut blanks leave of a sheet."""
    sheet = metal_of(problem, number)
    taken = [reach_of(problem.pieces[m.piece], m) for m in members]
    return free_rectangles(sheet.width, sheet.height, taken, sheet.bad_areas, problem.gap)


def _bin(problem: Problem, number: int) -> Bin:
    sheet, kerf = problem.stock[number], problem.gap
    rules = problem.rules
    kinds = held_kinds(problem.pieces, sheet.grain, rules.smallest - kerf)
    metal = metal_of(problem, number)
    found = regions_of(
        metal, CutPlan(kerf=kerf, smallest=rules.smallest - kerf), rules.longest, whole_of(problem, number)
    )
    regions = tuple((r.width + kerf, r.height + kerf) for r in found)
    sizes = tuple((r.metal[2] - r.metal[0], r.metal[3] - r.metal[1]) for r in found)
    rank = 1 if problem.opened(number) else rank_of(sheet)  # an opened sheet is one on hand that costs nothing
    return Bin(number, regions, sheet.copies, prices(problem.stock)[number], tuple(kinds), rank, sizes)


def _nests(problem: Problem, laid: Iterable[_Laid]) -> list[Nest]:
    """A nest a sheet; the copies of a piece and the off-cuts are counted over all of them."""
    pieces, tool = problem.pieces, problem.tool
    copies, offcuts = [0] * len(pieces), 0
    nests = []
    for number, members, cuts, rests in laid:
        sheet = metal_of(problem, number)
        placements = []
        for m in members:
            copies[m.piece] += 1
            placements.append(Placement(pieces[m.piece].part, copies[m.piece], m.x, m.y, m.rotation, m.mirrored))
        kept = named(rests, problem.offcut, 1 + offcuts)
        offcuts += len(kept)
        first = dict.fromkeys(pieces[m.piece].part for m in members if pieces[m.piece].first)
        lost, area = 0.0, sheet.width * sheet.height
        if problem.opened(number) is not None:
            lost = lost_to_the_first(problem, [(o.x, o.y, o.x + o.width, o.y + o.height) for o in kept])
        net = math.fsum(net_area(pieces[m.piece]) for m in members)
        metal = (sheet.material, sheet.thickness, tool.method, tool.name, sheet)
        nests.append(Nest(*metal, tuple(placements), cuts, kept, net / area, tuple(first), lost / area))
    return nests


def _unplaced(
    problem: Problem, bins: Sequence[Bin], left: Sequence[int], extra: Sequence[int], never: Sequence[int]
) -> tuple[list[Unplaced], dict[str, int]]:
    """Reasons for what found no place, and the sheets to buy for what only lacks stock.

    extra : numbers of the sheets that would take all that is left but ``never``, which no sheet takes
    """
    stock = problem.stock
    unplaced: list[Unplaced] = []
    buy: dict[str, int] = {}
    for number in extra:
        buy[stock[number].id] = buy.get(stock[number].id, 0) + 1
    words = ", ".join(f"{number} of {name}" for name, number in buy.items())
    for index, piece in enumerate(problem.pieces):
        lacking = left[index] - never[index]
        if lacking:
            unplaced.append(
                Unplaced(piece.part, lacking, f"no stock is left on hand; all that is left over needs {words}")
            )
        if never[index]:
            unplaced.append(Unplaced(piece.part, never[index], _why(index, bins, problem)))
    return unplaced, buy


def _why(index: int, bins: Sequence[Bin], problem: Problem) -> str:
    tool, rules = problem.tool, problem.rules
    if not bins:
        return "there is no sheet of this material and thickness in the stock"
    if all(not b.kinds[index].turns for b in bins):
        return f'one side is narrower than the smallest strip that "{tool.name}" can hold'
    if rules.longest < float("inf") and any(
        t.width <= w + 1e-6 and t.height <= h + 1e-6 for b in bins for t in b.kinds[index].turns for w, h in b.regions
    ):
        return f'it would need a cut longer than "{tool.name}" can make, or no sheet takes it'
    return "it is larger than the usable part of every sheet, in each way it may lie"
