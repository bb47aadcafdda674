"""What a run is reported with: where the metal went, which bound it comes near, cost, what to buy. Lengths mm."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from flatgen.core.outline import area, perimeter
from flatgen.model.plan import Nest, Piece, Unplaced
from flatgen.model.shop import CuttingTool
from flatgen.nest.bounds import area_bound, cost_bound
from flatgen.nest.guillotine.hold import settings
from flatgen.nest.kinds import turn_of
from flatgen.nest.problem import Problem
from flatgen.nest.result import NestResult, Waste
from flatgen.nest.stock import prices


def finished(
    nests: Sequence[Nest],
    unplaced: Sequence[Unplaced],
    buy: dict[str, int],
    problem: Problem,
) -> NestResult:
    """The result with its report.

    buy : sheets for what had no stock; those that the nests take are added
    """
    pieces, tool = problem.pieces, problem.tool
    stock = problem.on_hand
    buy = dict(buy)
    for nest in nests:
        if nest.sheet.copies is None and not nest.sheet.remnant:
            buy[nest.sheet.id] = buy.get(nest.sheet.id, 0) + 1
    price = dict(zip((s.id for s in stock), prices(stock), strict=True))
    cost = math.fsum(price[n.sheet.id] for n in nests)
    placed = _placed(nests, pieces)
    by_area = area_bound(placed, stock)
    return NestResult(
        tuple(nests),
        tuple(unplaced),
        tuple(buy.items()),
        cost,
        by_area,
        max(by_area, cost_bound(placed, stock, tool)),
        _waste(nests, pieces, tool),
        _figure(nests),
        sum(settings(n.cuts) for n in nests),
        _trims(nests, pieces, tool),
    )


def _placed(nests: Sequence[Nest], pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces with the number of each that found a place."""
    counts = Counter(place.part for nest in nests for place in nest.placements)
    return [replace(piece, quantity=counts[piece.part]) for piece in pieces]


def _trims(nests: Sequence[Nest], pieces: Sequence[Piece], tool: CuttingTool) -> tuple[tuple[str, int], ...]:
    """Sheared blanks whose outline is not their rectangle as they lie, in the order of the pieces."""
    if not tool.edge_to_edge:
        return ()
    by_part = {piece.part: piece for piece in pieces}
    counts: dict[str, int] = {}
    for nest in nests:
        for place in nest.placements:
            outline = by_part[place.part].outline
            turn = turn_of(outline, place.rotation, place.mirrored)
            if abs(area(outline)) < turn.width * turn.height - 1e-3:
                counts[place.part] = counts.get(place.part, 0) + 1
    return tuple((piece.part, counts[piece.part]) for piece in pieces if piece.part in counts)


def _waste(nests: Sequence[Nest], pieces: Sequence[Piece], tool: CuttingTool) -> Waste:
    by_part = {piece.part: piece for piece in pieces}
    sheets = math.fsum(n.sheet.width * n.sheet.height for n in nests)
    blanks = math.fsum(n.utilisation * n.sheet.width * n.sheet.height for n in nests)
    margin = math.fsum(
        n.sheet.width * n.sheet.height
        - max(0.0, n.sheet.width - 2 * n.sheet.margin) * max(0.0, n.sheet.height - 2 * n.sheet.margin)
        for n in nests
    )
    kerf = math.fsum(_kerf(n, tool.kerf) for n in nests) if tool.kerf else 0.0
    kept = math.fsum(
        max(0.0, min(o.x + o.width, n.sheet.width - n.sheet.margin) - max(o.x, n.sheet.margin))
        * max(0.0, min(o.y + o.height, n.sheet.height - n.sheet.margin) - max(o.y, n.sheet.margin))
        for n in nests
        for o in n.offcuts
    )
    rest = sheets - blanks - margin - kerf - kept
    # half a gap lies on each side of every outline; where gaps or a margin lie over one another there is less of it
    around = 0.0 if tool.edge_to_edge else tool.gap / 2.0
    gap = around * math.fsum(perimeter(by_part[p.part].outline) for n in nests for p in n.placements) if around else 0.0
    gap = max(0.0, min(gap, rest))
    return Waste(sheets, blanks, margin, kerf, gap, kept, rest - gap)


def _kerf(nest: Nest, kerf: float) -> float:
    """Metal within the margins that the cuts turn to chips [mm²]; a cut may run out over an edge or into another."""
    from shapely import area, box, intersection, union_all

    m, sheet = nest.sheet.margin, nest.sheet
    chips = []
    for cut in nest.cuts:
        low, high = (-kerf, 0.0) if cut.trim else (0.0, kerf)
        (x0, y0), (x1, y1) = sorted((cut.start, cut.end))
        upright = abs(x1 - x0) < abs(y1 - y0)
        chips.append(box(x0 + low, y0, x0 + high, y1) if upright else box(x0, y0 + low, x1, y0 + high))
    usable = box(m, m, max(m, sheet.width - m), max(m, sheet.height - m))
    return float(area(intersection(union_all(chips), usable)))


def _figure(nests: Sequence[Nest]) -> float:
    if not nests:
        return 0.0
    free = [o.width * o.height / (n.sheet.width * n.sheet.height) for n in nests for o in n.offcuts]
    return len(nests) - max(free, default=0.0)
