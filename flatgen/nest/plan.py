"""Pieces on sheets: the one entry of the nesting stage, for shear and saw as for profile cutting. Lengths mm."""

from collections.abc import Sequence

from flatgen.model.plan import Nest, Piece, Placement, Unplaced
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest.block import leaves, tidy
from flatgen.nest.cuts import CutPlan, Rect, in_order, settings, take_apart
from flatgen.nest.greedy import Bin, Filled, fill_all
from flatgen.nest.guillotine import Search
from flatgen.nest.kinds import Kind, net_area, rectangle_turns
from flatgen.nest.offcuts import free_rectangles, named
from flatgen.nest.result import NestResult, Waste
from flatgen.nest.stock import prices, regions_of, square
from flatgen.nest.strips import Rules


def nest_pieces(
    pieces: Sequence[Piece],
    sheets: Sequence[Sheet],
    tool: CuttingTool,
    *,
    material: str,
    thickness: float,
    effort: float | None = None,
    offcut: tuple[float, float] = (150.0, 100.0),
) -> NestResult:
    """Nest pieces of one alloy and thickness on the sheets of that alloy and thickness.

    Remnants are used first, then sheets on hand, then sheets that can be bought (``copies`` None). Every piece is in a
    nest or in ``unplaced`` with the reason. Same input, same result, unless ``effort`` asks for a longer search.

    Parameters
    ----------
    pieces : blanks with the number of each; their rotations are for a sheet with its grain along the width
    sheets : stock; sheets of another material or thickness are passed over
    tool : how the blanks are cut out
    effort : seconds to search for a better nest; None: the quick result
    offcut : least sizes of an off-cut worth keeping [mm]
    """
    stock = [s for s in sheets if s.material == material and abs(s.thickness - thickness) < 1e-6]
    kerf = tool.kerf if tool.method == "shear" else tool.gap
    shear = tool.method == "shear"
    rules = Rules(tool.max_stages, tool.smallest_strip + kerf, tool.longest_cut or float("inf")) if shear else Rules()
    costs = prices(stock)
    bins = [
        _bin(number, sheet, pieces, cost, kerf, rules)
        for number, (sheet, cost) in enumerate(zip(stock, costs, strict=True))
    ]
    demand = [piece.quantity for piece in pieces]
    search = Search(bins, demand, kerf, rules)
    filled, left = search.run()
    copies = [0] * len(pieces)
    nests, kerf_area, margin_area = [], 0.0, 0.0
    names = 1
    for sheet_filled in filled:
        sheet = stock[sheet_filled.bin]
        nest, lost = _nest(
            sheet, sheet_filled, bins[sheet_filled.bin], pieces, tool, rules, kerf, copies, offcut, names
        )
        names += len(nest.offcuts)
        nests.append(nest)
        kerf_area += lost
        margin_area += sheet.width * sheet.height - max(0.0, sheet.width - 2 * sheet.margin) * max(
            0.0, sheet.height - 2 * sheet.margin
        )
    unplaced, buy = _unplaced(pieces, stock, bins, left, kerf, rules, tool)
    for nest in nests:
        if nest.sheet.copies is None and not nest.sheet.remnant:
            buy[nest.sheet.id] = buy.get(nest.sheet.id, 0) + 1
    return _result(nests, unplaced, buy, filled, bins, pieces, kerf_area, margin_area, shear)


def _bin(number: int, sheet: Sheet, pieces: Sequence[Piece], cost: float, kerf: float, rules: Rules) -> Bin:
    kinds = []
    for piece in pieces:
        turns = tuple(
            turn
            for turn in rectangle_turns(piece, sheet.grain)
            if min(turn.width, turn.height) + kerf >= rules.smallest - 1e-6
        )
        kinds.append(Kind(piece.part, turns, piece.quantity, net_area(piece)))
    regions = tuple((r.width + kerf, r.height + kerf) for r in regions_of(sheet, None, kerf, rules.longest))
    rank = 0 if sheet.remnant else (2 if sheet.copies is None else 1)
    return Bin(number, regions, sheet.copies, cost, sheet.width * sheet.height, tuple(kinds), rank)


def _nest(
    sheet: Sheet,
    filled: Filled,
    bin_: Bin,
    pieces: Sequence[Piece],
    tool: CuttingTool,
    rules: Rules,
    kerf: float,
    copies: list[int],
    offcut: tuple[float, float],
    first_name: int,
) -> tuple[Nest, float]:
    """One sheet's nest, and the metal that the kerf takes."""
    shear = tool.method == "shear"
    plan = CutPlan(last_stage=max(1, rules.stages))
    regions = regions_of(sheet, plan, kerf, rules.longest)
    placements: list[Placement] = []
    taken: list[Rect] = []
    for number, (region, block) in enumerate(zip(regions, filled.blocks, strict=True), start=1):
        if block is None:
            plan.rests.append(region.metal)
            continue
        block = tidy(block)
        for kind, turn_number, x, y in leaves(block):
            turn = bin_.kinds[kind].turns[turn_number]
            copies[kind] += 1
            at_x, at_y = region.x + x, region.y + y
            placements.append(
                Placement(pieces[kind].part, copies[kind], at_x + turn.dx, at_y + turn.dy, turn.rotation, turn.mirrored)
            )
            taken.append((at_x, at_y, at_x + turn.width, at_y + turn.height))
        metal = square(region, plan, kerf, rules.longest)
        take_apart(plan, metal, region.x, region.y, block, bin_.kinds, kerf, str(number) if len(regions) > 1 else "")
    cuts = in_order(plan) if shear else ()
    rests = plan.rests if shear else free_rectangles(sheet.width, sheet.height, taken)
    net = sum(bin_.kinds[kind].area for block in filled.blocks if block for kind, _, _, _ in leaves(block))
    lost = sum(kerf * (abs(c.end[0] - c.start[0]) + abs(c.end[1] - c.start[1])) for c in cuts)
    nest = Nest(
        sheet.material,
        sheet.thickness,
        tool.method,
        tool.name,
        sheet,
        tuple(placements),
        cuts,
        named(rests, offcut, first_name),
        net / (sheet.width * sheet.height),
    )
    return nest, lost


def _unplaced(
    pieces: Sequence[Piece],
    stock: Sequence[Sheet],
    bins: Sequence[Bin],
    left: Sequence[int],
    kerf: float,
    rules: Rules,
    tool: CuttingTool,
) -> tuple[list[Unplaced], dict[str, int]]:
    """Reasons for what found no place, and the sheets to buy for what only lacks stock."""
    unplaced: list[Unplaced] = []
    buy: dict[str, int] = {}
    if not any(left):
        return unplaced, buy
    more = [Bin(b.index, b.regions, None, b.cost, b.sheet_area, b.kinds, 2) for b in bins if not stock[b.index].remnant]
    extra, never = fill_all(more, left, kerf, rules) if more else ([], list(left))
    for sheet in extra:
        name = stock[sheet.bin].id
        buy[name] = buy.get(name, 0) + 1
    words = ", ".join(f"{number} of {name}" for name, number in buy.items())
    for index, piece in enumerate(pieces):
        lacking = left[index] - never[index]
        if lacking:
            unplaced.append(
                Unplaced(piece.part, lacking, f"no stock is left on hand; all that is left over needs {words}")
            )
        if never[index]:
            unplaced.append(Unplaced(piece.part, never[index], _why(index, bins, stock, rules, tool)))
    return unplaced, buy


def _why(index: int, bins: Sequence[Bin], stock: Sequence[Sheet], rules: Rules, tool: CuttingTool) -> str:
    if not bins:
        return "there is no sheet of this material and thickness in the stock"
    if all(not b.kinds[index].turns for b in bins):
        return f'one side is narrower than the smallest strip that "{tool.name}" can hold'
    if rules.longest < float("inf") and any(
        t.width <= w + 1e-6 and t.height <= h + 1e-6 for b in bins for t in b.kinds[index].turns for w, h in b.regions
    ):
        return f'it would need a cut longer than "{tool.name}" can make, or no sheet takes it'
    return "it is larger than the usable part of every sheet, in each way it may lie"


def _result(
    nests: Sequence[Nest],
    unplaced: Sequence[Unplaced],
    buy: dict[str, int],
    filled: Sequence[Filled],
    bins: Sequence[Bin],
    pieces: Sequence[Piece],
    kerf_area: float,
    margin_area: float,
    shear: bool,
) -> NestResult:
    total = sum(n.sheet.width * n.sheet.height for n in nests)
    blanks = sum(n.utilisation * n.sheet.width * n.sheet.height for n in nests)
    kept = sum(o.width * o.height for n in nests for o in n.offcuts)
    gap = 0.0
    scrap = total - blanks - margin_area - kerf_area - gap - kept
    figure = float(len(nests))
    if nests:
        last = nests[-1]
        best = max((o.width * o.height for o in last.offcuts), default=0.0)
        figure -= best / (last.sheet.width * last.sheet.height)
    wanted = sum(net_area(p) * p.quantity for p in pieces)
    rate = min((b.cost / max(1e-9, sum(w * h for w, h in b.regions)) for b in bins if b.regions), default=0.0)
    cost = sum(bins[f.bin].cost for f in filled)
    return NestResult(
        tuple(nests),
        tuple(unplaced),
        tuple(buy.items()),
        cost,
        wanted * rate,
        wanted * rate,
        Waste(total, blanks, margin_area, kerf_area, gap, kept, scrap),
        figure,
        sum(settings(n.cuts) for n in nests),
        "strips",
    )
