"""Pieces on sheets: the one entry of the nesting stage, for shear and saw as for profile cutting. Lengths mm."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from time import monotonic

from flatgen.model.plan import Cut, Nest, Piece, Placement, Unplaced
from flatgen.model.shop import CuttingTool, Minutes, Sheet
from flatgen.nest.effort import METAL, NORMAL, Effort
from flatgen.nest.guillotine.cut_up import metal_of, whole_of
from flatgen.nest.guillotine.cuts import CutPlan, Rect
from flatgen.nest.guillotine.finish import best_finished
from flatgen.nest.guillotine.first import first_members, lost_to_the_first, openings, waiting
from flatgen.nest.guillotine.greedy import Bin
from flatgen.nest.guillotine.knapsacks import Rules
from flatgen.nest.guillotine.regions import regions_of
from flatgen.nest.guillotine.search import Search
from flatgen.nest.kinds import Member, held_kinds, net_area
from flatgen.nest.longer import Progress, longer, nest_longer
from flatgen.nest.offcuts import free_rectangles, lettered, named
from flatgen.nest.problem import Aim, Problem
from flatgen.nest.report import finished
from flatgen.nest.result import Halt, NestResult
from flatgen.nest.shapes.search import nest_profiles, reach_of
from flatgen.nest.stock import prices, rank_of


def nest_pieces(
    pieces: Sequence[Piece],
    sheets: Sequence[Sheet],
    tool: CuttingTool,
    *,
    material: str,
    thickness: float,
    effort: float | None = None,
    progress: Progress | None = None,
    offcut: tuple[float, float] = (150.0, 100.0),
    halt: Halt | None = None,
    minutes: Minutes | None = None,
    aim: Aim = "money",
) -> NestResult:
    """Nest pieces of one alloy and thickness on the sheets of that alloy and thickness.

    Remnants are used first, then sheets on hand, then sheets that can be bought (``copies`` None). Every piece is in a
    nest or in ``unplaced`` with the reason. Same input, same result, unless ``effort`` asks for a longer search.

    Parameters
    ----------
    pieces : blanks with the number of each; their rotations are for a sheet with its grain along the width
    sheets : stock; sheets of another material or thickness are passed over
    tool : how the blanks are cut out
    effort : seconds to search for a better nest, on a clock; None: the quick result. An interruption keeps the best
    progress : told the share of that time gone, and the best so far in words
    offcut : least sizes of an off-cut worth keeping [mm]
    halt : told when the search was interrupted
    minutes : what setting the gauge and cutting take, weighed against the metal in off-cuts; None: a guess
    aim : "metal" for the least metal whatever setting the gauge costs, as a longer search always has it
    """
    stock = tuple(s for s in sheets if s.is_of(material, thickness))
    problem = Problem(tuple(pieces), stock, tool, offcut, minutes or Minutes(), aim)
    halt = halt or Halt()
    if not any(piece.first for piece in pieces):
        return _solved(problem, effort, progress, halt)
    tried = [(_solved(opened, None, None, halt), opened) for opened in openings(problem)]
    if not tried:
        return _apart(problem, effort, progress, halt)
    best, opened = min(tried, key=lambda entry: _worth(*entry))
    return _solved(opened, effort, progress, halt) if effort else best


def _worth(result: NestResult, opened: Problem) -> tuple[float, ...]:
    """Lower is better: pieces left over, cost, a sheet opened where a remnant would do, sheets less an off-cut."""
    assert opened.opening is not None
    rank = rank_of(opened.stock[opened.opening.sheet])
    return (float(sum(u.quantity for u in result.unplaced)), round(result.cost, 6), float(rank), result.figure)


def _apart(problem: Problem, effort: float | None, progress: Progress | None, halt: Halt) -> NestResult:
    """Pieces that come first but fit on no strip together, on sheets of their own, then all others."""
    own = tuple(replace(p, quantity=p.quantity if p.first else 0, first=False) for p in problem.pieces)
    before = _solved(replace(problem, pieces=own), effort, progress, halt)
    taken = Counter(nest.sheet.id for nest in before.nests)
    stock = tuple(s if s.copies is None else replace(s, copies=max(0, s.copies - taken[s.id])) for s in problem.stock)
    after = _solved(replace(problem, pieces=tuple(map(waiting, problem.pieces)), stock=stock), effort, progress, halt)
    firsts = tuple(p.part for p in problem.pieces if p.first)
    nests = tuple(
        replace(n, first=tuple(p for p in firsts if p in {q.part for q in n.placements})) for n in before.nests
    )
    buy = Counter(dict(before.to_buy)) + Counter(dict(after.to_buy))
    buy.subtract(n.sheet.id for n in (*before.nests, *after.nests) if n.sheet.copies is None and not n.sheet.remnant)
    all_nests = _lettered((*nests, *after.nests))
    left = [*before.unplaced, *after.unplaced]
    return finished(all_nests, left, {k: v for k, v in buy.items() if v > 0}, problem, 0.0, after.engine)


def _lettered(nests: Sequence[Nest]) -> list[Nest]:
    """Nests with their off-cuts lettered on from the first."""
    done: list[Nest] = []
    for nest in nests:
        first = 1 + sum(len(n.offcuts) for n in done)
        names = (replace(o, id=lettered(k)) for k, o in enumerate(nest.offcuts, first))
        done.append(replace(nest, offcuts=tuple(names)))
    return done


def _solved(problem: Problem, effort: float | None, progress: Progress | None, halt: Halt) -> NestResult:
    solve = _sheared if problem.tool.edge_to_edge else _profiled
    return solve(problem, effort, progress, halt)


def _sheared(problem: Problem, effort: float | None, progress: Progress | None, halt: Halt) -> NestResult:
    pieces, stock, kerf, rules = problem.pieces, problem.stock, problem.gap, problem.rules
    bins = [_bin(problem, number) for number in range(len(stock))]
    demand = [piece.quantity for piece in pieces]

    def run(how: Effort) -> Search:
        search = Search(bins, demand, kerf, rules, how)
        search.run()
        return search

    if effort:
        found = longer(run, lambda s: s.best.score, effort, progress, lambda s: f"{len(s.best.sheets)} sheets", halt)
    else:
        found = run(METAL if problem.aim == "metal" else NORMAL)
    candidates = [found.best] if effort or problem.aim == "metal" else found.candidates()
    best = best_finished(candidates, problem, bins)
    left = best.left
    copies = [0] * len(pieces)
    nests: list[Nest] = []
    for sheet in best.sheets:
        nests.append(_nest(problem, sheet.bin, sheet.members, copies, sheet.cuts, sheet.plan.rests, nests))
    more = [replace(b, copies=None, rank=2) for b in bins if not stock[b.index].remnant]
    extra, never = Search(more, left, kerf, rules).run() if more and any(left) else ([], left)
    unplaced, buy = _unplaced(problem, bins, left, [sheet.bin for sheet in extra], never)
    return finished(nests, unplaced, buy, problem, 0.0, best.engine)


def _profiled(problem: Problem, effort: float | None, progress: Progress | None, halt: Halt) -> NestResult:
    pieces, stock, gap = problem.pieces, problem.stock, problem.gap
    began = monotonic()
    found = nest_profiles(pieces, stock, gap)
    if effort:
        found = nest_longer(found, pieces, stock, gap, began + effort - monotonic(), progress, halt)
    sheets, left, engine = found.sheets, found.left, found.engine
    if problem.opening is not None:
        number = len(stock) - 1
        on_it = [m for n, members in sheets if n == number for m in members]
        sheets = [(number, [*first_members(problem), *on_it]), *[entry for entry in sheets if entry[0] != number]]
    copies = [0] * len(pieces)
    nests: list[Nest] = []
    for number, members in sheets:
        sheet = metal_of(problem, number)
        taken = [reach_of(pieces[m.piece], m) for m in members]
        rests = free_rectangles(sheet.width, sheet.height, taken, sheet.bad_areas, gap)
        nests.append(_nest(problem, number, members, copies, (), rests, nests))
    bins = [_bin(problem, number) for number in range(len(stock))]
    new = [number for number, sheet in enumerate(stock) if not sheet.remnant]
    lacking = [replace(piece, quantity=many) for piece, many in zip(pieces, left, strict=True)]
    more = nest_profiles(lacking, [replace(stock[number], copies=None) for number in new], gap)
    extra = [new[number] for number, _ in more.sheets]
    unplaced, buy = _unplaced(problem, bins, left, extra, more.left)
    return finished(nests, unplaced, buy, problem, 0.0, engine)


def _bin(problem: Problem, number: int) -> Bin:
    sheet, kerf = problem.stock[number], problem.gap
    rules = problem.rules if problem.tool.edge_to_edge else Rules()
    kinds = held_kinds(problem.pieces, sheet.grain, rules.smallest - kerf)
    metal = metal_of(problem, number)
    found = regions_of(
        metal, CutPlan(kerf=kerf, smallest=rules.smallest - kerf), rules.longest, whole_of(problem, number)
    )
    regions = tuple((r.width + kerf, r.height + kerf) for r in found)
    sizes = tuple((r.metal[2] - r.metal[0], r.metal[3] - r.metal[1]) for r in found)
    rank = 1 if problem.opened(number) else rank_of(sheet)  # an opened sheet is one on hand that costs nothing
    return Bin(number, regions, sheet.copies, prices(problem.stock)[number], tuple(kinds), rank, sizes)


def _nest(
    problem: Problem,
    number: int,
    members: Sequence[Member],
    copies: list[int],
    cuts: tuple[Cut, ...],
    rests: Sequence[Rect],
    before: Sequence[Nest],
) -> Nest:
    """One sheet's nest; ``copies`` counts the blanks of each piece over all sheets."""
    pieces, tool, sheet = problem.pieces, problem.tool, metal_of(problem, number)
    placements = []
    for m in members:
        copies[m.piece] += 1
        placements.append(Placement(pieces[m.piece].part, copies[m.piece], m.x, m.y, m.rotation, m.mirrored))
    net = math.fsum(net_area(pieces[m.piece]) for m in members)
    kept = named(rests, problem.offcut, 1 + sum(len(nest.offcuts) for nest in before))
    first = dict.fromkeys(pieces[m.piece].part for m in members if pieces[m.piece].first)
    lost = 0.0
    if problem.opened(number) is not None:
        lost = lost_to_the_first(problem, [(o.x, o.y, o.x + o.width, o.y + o.height) for o in kept])
    area = sheet.width * sheet.height
    return Nest(
        sheet.material,
        sheet.thickness,
        tool.method,
        tool.name,
        sheet,
        tuple(placements),
        cuts,
        kept,
        net / area,
        tuple(first),
        lost / area,
    )


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
