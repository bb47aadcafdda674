"""Pieces that are cut before all others: a remnant, or a strip along an edge of a sheet that the first cut frees.

A test bend tells how long the blanks must be. So nothing that waits for it shares its strip, and the sheet beyond the
strip is still whole when it is bent. Lengths mm.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from flatgen.model.plan import Piece
from flatgen.nest.guillotine.block import EPS, Block, column, leaves, members_of, tidy, transposed
from flatgen.nest.guillotine.cuts import FIRST, CutPlan, Rect, TakenApart
from flatgen.nest.guillotine.greedy import options_for
from flatgen.nest.guillotine.knapsacks import fill_strips
from flatgen.nest.guillotine.order import ranked
from flatgen.nest.guillotine.regions import bad_rectangles, overlaps
from flatgen.nest.kinds import Kind, Member, held_kinds
from flatgen.nest.problem import Opening, Problem
from flatgen.nest.stock import prices, rank_of

SIZES = 2  # most sizes on hand or to buy that are tried


def waiting(piece: Piece) -> Piece:
    """A piece that is cut first, as none of those that are nested after it."""
    return replace(piece, quantity=0) if piece.first else piece


def openings(problem: Problem) -> Iterator[Problem]:
    """The question with a sheet opened for the pieces that come first: on the smallest remnant, on each cheap size."""
    costs, stock = prices(problem.stock), problem.stock
    there = [n for n, sheet in enumerate(stock) if sheet.copies != 0 and any(_openings(problem, n))]
    there.sort(key=lambda n: (rank_of(stock[n]), costs[n], stock[n].width * stock[n].height))
    remnants = [n for n in there if rank_of(stock[n]) == 0][:1]
    for number in [*remnants, *[n for n in there if rank_of(stock[n])][:SIZES]]:
        for opening in _openings(problem, number):
            yield _with(problem, opening)


def first_members(problem: Problem) -> list[Member]:
    """The pieces that come first, in their places on the opened sheet."""
    opening = problem.opening
    if opening is None:
        return []
    kinds = _kinds(problem, opening.sheet)
    return members_of(opening.block, kinds, *opening.corner)


def open_up(problem: Problem, plan: CutPlan) -> None:
    """Enter the cut that frees the strip of the opened sheet, and after it those that take the strip apart."""
    opening = problem.opening
    assert opening is not None
    sheet, i = problem.stock[opening.sheet], 1 if opening.along == "x" else 0
    whole: Rect = (0.0, 0.0, sheet.width, sheet.height)
    strip = opening.strip
    if opening.rest[i + 2] > opening.rest[i] + EPS:
        at = opening.rest[i] - plan.kerf
        strip, _ = plan.cut(FIRST - 1.0, False, whole, "yx"[1 - i], at, "strip for what is cut first: cut it up now")
        entry = plan.cuts.pop()
        plan.cuts.append(entry._replace(cut=replace(entry.cut, stage=1)))
    own = CutPlan(plan.last_stage, plan.kerf, plan.smallest)
    block = opening.block
    if block.along != "yx"[1 - i]:
        block = Block(block.width, block.height, along="yx"[1 - i], parts=(block,))
    TakenApart(own, _kinds(problem, opening.sheet)).from_(strip, opening.corner, block, "first")
    plan.cuts += [e._replace(key=(FIRST - 0.5, 0.0, float(n), float(n))) for n, e in enumerate(ranked(own))]
    plan.rests += own.rests


def lost_to_the_first(problem: Problem, kept: Sequence[Rect]) -> float:
    """Metal in the strip that becomes neither a piece nor one of the off-cuts kept [mm²]."""
    opening = problem.opening
    if opening is None:
        return 0.0
    x0, y0, x1, y1 = opening.strip
    sizes = {(k, t): turn for k, kind in enumerate(_kinds(problem, opening.sheet)) for t, turn in enumerate(kind.turns)}
    cut = math.fsum(sizes[k, t].width * sizes[k, t].height for k, t, _, _ in leaves(opening.block))
    saved = math.fsum(max(0.0, min(r[2], x1) - max(r[0], x0)) * max(0.0, min(r[3], y1) - max(r[1], y0)) for r in kept)
    return max(0.0, (x1 - x0) * (y1 - y0) - cut - saved)


def _with(problem: Problem, opening: Opening) -> Problem:
    sheet = problem.stock[opening.sheet]
    x0, y0, x1, y1 = opening.strip
    open_one = replace(
        sheet, copies=1, remnant=True, cost=0.0, bad_areas=(*sheet.bad_areas, (x0, y0, x1 - x0, y1 - y0))
    )
    left = None if sheet.copies is None else sheet.copies - 1
    stock = [replace(s, copies=left) if n == opening.sheet else s for n, s in enumerate(problem.stock)]
    return replace(problem, pieces=tuple(map(waiting, problem.pieces)), stock=(*stock, open_one), opening=opening)


def _kinds(problem: Problem, number: int) -> list[Kind]:
    return held_kinds(problem.pieces, problem.stock[number].grain, problem.rules.smallest - problem.gap)


def _openings(problem: Problem, number: int) -> Iterator[Opening]:
    """A strip along the lower and one along the left edge, where all pieces that come first fit on it."""
    sheet, gap, rules = problem.stock[number], problem.gap, replace(problem.rules, stages=2)
    kinds = _kinds(problem, number)
    worth = [max((t.width * t.height for t in kind.turns), default=0.0) for kind in kinds]
    m = sheet.margin
    for along in "xy":
        size = (sheet.width, sheet.height) if along == "x" else (sheet.height, sheet.width)
        left = [piece.quantity if piece.first else 0 for piece in problem.pieces]
        if size[0] > rules.longest + EPS:
            continue
        room = (size[0] - 2.0 * m + gap, size[1] - 2.0 * m + gap)
        strips = fill_strips(options_for(kinds, gap, along), *room, left, worth, rules)
        if any(left) or not strips:
            continue
        block = tidy(column(strips))
        deep = min(m + block.height, size[1])
        low, rest = (0.0, 0.0, size[0], deep), (0.0, deep, *size)
        strip = low if along == "x" else _turned(low)
        if not any(overlaps(bad, strip) for bad in bad_rectangles(sheet)):
            block = block if along == "x" else transposed(block)
            yield Opening(number, block, (m, m), along, strip, rest if along == "x" else _turned(rest))


def _turned(rect: Rect) -> Rect:
    return (rect[1], rect[0], rect[3], rect[2])
