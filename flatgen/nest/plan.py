"""Pieces on sheets: the one entry of the nesting stage, for shear and saw as for profile cutting. Lengths mm."""

from collections.abc import Sequence
from dataclasses import replace
from time import monotonic

from flatgen.model.plan import Cut, Nest, Piece, Placement, Unplaced
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest.aside import larger_offcuts
from flatgen.nest.block import leaves, tidy
from flatgen.nest.cuts import CutPlan, Rect, in_reach, take_apart
from flatgen.nest.greedy import Bin, Filled
from flatgen.nest.guillotine import NORMAL, Depth, Search
from flatgen.nest.kinds import Kind, Member, net_area, rectangle_turns
from flatgen.nest.longer import Progress, longer, nest_longer
from flatgen.nest.offcuts import free_rectangles, named, worth_keeping
from flatgen.nest.order import in_order
from flatgen.nest.profile import nest_profiles, reach_of
from flatgen.nest.regular import fewest_settings
from flatgen.nest.report import finished
from flatgen.nest.result import Halt, NestResult
from flatgen.nest.stock import Region, bad_rectangles, clear_rests, part_off, prices, rank_of, regions_of, square
from flatgen.nest.strips import Rules


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
    """
    stock = [s for s in sheets if s.is_of(material, thickness)]
    if tool.method == "shear":
        return _sheared(pieces, stock, tool, effort, progress, offcut, halt or Halt())
    return _profiled(pieces, stock, tool, effort, progress, offcut, halt or Halt())


def _sheared(
    pieces: Sequence[Piece],
    stock: Sequence[Sheet],
    tool: CuttingTool,
    effort: float | None,
    progress: Progress | None,
    offcut: tuple[float, float],
    halt: Halt,
) -> NestResult:
    kerf = tool.kerf
    rules = Rules(tool.max_stages, tool.smallest_strip + kerf, tool.longest_cut or float("inf"))
    costs = prices(stock)
    bins = [
        _bin(number, sheet, pieces, cost, kerf, rules)
        for number, (sheet, cost) in enumerate(zip(stock, costs, strict=True))
    ]
    demand = [piece.quantity for piece in pieces]

    def run(depth: Depth) -> tuple[tuple[float, ...], list[Filled], list[int], Search]:
        search = Search(bins, demand, kerf, rules, depth)
        filled, left = search.run()
        return (search.score(filled, left, bins) if bins else ()), filled, left, search

    found = run(NORMAL)
    if effort:
        found = longer(run, lambda f: f[0], effort, progress, lambda f: f"{len(f[1])} sheets", found, halt)
    _, filled, left, search = found

    def cut(sheet_filled: Filled) -> tuple[CutPlan, list[Member]]:
        sheet = stock[sheet_filled.bin]
        plan = CutPlan(max(1, rules.stages), kerf, tool.smallest_strip)
        members = _cut_up(sheet, sheet_filled, bins[sheet_filled.bin], rules, kerf, plan, offcut)
        clear_rests(plan, bad_rectangles(sheet), rules.longest, offcut)
        return plan, members

    def cuts(sheet_filled: Filled) -> CutPlan:
        return cut(sheet_filled)[0]

    filled = larger_offcuts(filled, bins, kerf, rules, offcut, cuts)
    filled = fewest_settings(filled, bins, kerf, rules, offcut, cuts)
    copies = [0] * len(pieces)
    nests: list[Nest] = []
    for sheet_filled in filled:
        plan, members = cut(sheet_filled)
        sheet = stock[sheet_filled.bin]
        nests.append(_nest(sheet, tool, pieces, members, copies, in_order(plan), plan.rests, offcut, nests))
    more = [replace(b, copies=None, rank=2) for b in bins if not stock[b.index].remnant]
    extra, never = Search(more, left, kerf, rules).run() if more and any(left) else ([], left)
    unplaced, buy = _unplaced(pieces, stock, bins, left, [sheet.bin for sheet in extra], never, rules, tool)
    # the search's own proof knows only its own ways to turn a blank free of grain
    proved = 0.0 if any(left) or any(piece.rotations is None for piece in pieces) else search.bound
    return finished(nests, unplaced, buy, pieces, stock, tool, proved, search.engine)


def _profiled(
    pieces: Sequence[Piece],
    stock: Sequence[Sheet],
    tool: CuttingTool,
    effort: float | None,
    progress: Progress | None,
    offcut: tuple[float, float],
    halt: Halt,
) -> NestResult:
    began = monotonic()
    found = nest_profiles(pieces, stock, tool.gap)
    if effort:
        found = nest_longer(found, pieces, stock, tool.gap, began + effort - monotonic(), progress, halt)
    sheets = found.sheets
    left, engine = found.left, found.engine
    copies = [0] * len(pieces)
    nests: list[Nest] = []
    for number, members in sheets:
        sheet = stock[number]
        taken = [reach_of(pieces[m.piece], m) for m in members]
        rests = free_rectangles(sheet.width, sheet.height, taken, sheet.bad_areas, tool.gap)
        nests.append(_nest(sheet, tool, pieces, members, copies, (), rests, offcut, nests))
    bins = [
        _bin(number, sheet, pieces, cost, tool.gap, Rules())
        for number, (sheet, cost) in enumerate(zip(stock, prices(stock), strict=True))
    ]
    new = [number for number, sheet in enumerate(stock) if not sheet.remnant]
    lacking = [replace(piece, quantity=many) for piece, many in zip(pieces, left, strict=True)]
    more = nest_profiles(lacking, [replace(stock[number], copies=None) for number in new], tool.gap)
    extra = [new[number] for number, _ in more.sheets]
    unplaced, buy = _unplaced(pieces, stock, bins, left, extra, more.left, Rules(), tool)
    return finished(nests, unplaced, buy, pieces, stock, tool, 0.0, engine)


def _bin(number: int, sheet: Sheet, pieces: Sequence[Piece], cost: float, kerf: float, rules: Rules) -> Bin:
    kinds = []
    for index, piece in enumerate(pieces):
        turns = tuple(
            turn
            for turn in rectangle_turns(piece, sheet.grain, index)
            if min(turn.width, turn.height) + kerf >= rules.smallest - 1e-6
        )
        kinds.append(Kind(piece.part, turns, piece.quantity, net_area(piece)))
    found = regions_of(sheet, None, kerf, rules.longest, rules.smallest - kerf)
    regions = tuple((r.width + kerf, r.height + kerf) for r in found)
    metal = tuple((r.metal[2] - r.metal[0], r.metal[3] - r.metal[1]) for r in found)
    rank = rank_of(sheet)
    return Bin(number, regions, sheet.copies, cost, tuple(kinds), rank, metal)


def _cut_up(
    sheet: Sheet, filled: Filled, bin_: Bin, rules: Rules, kerf: float, plan: CutPlan, offcut: tuple[float, float]
) -> list[Member]:
    """The blanks of a sheet in place, and in ``plan`` the cuts that free them."""
    members: list[Member] = []
    smallest = rules.smallest - kerf

    def wanted(number: int, region: Region) -> bool:
        return filled.blocks[number] is not None or worth_keeping(region.metal, offcut)

    regions = regions_of(sheet, plan, kerf, rules.longest, smallest, wanted)
    for number, (region, block) in enumerate(zip(regions, filled.blocks, strict=True), start=1):
        if block is None:
            plan.rests.append(region.metal)
            continue
        block = block if filled.as_is else tidy(block)
        for kind, turn, x, y in leaves(block):
            for m in bin_.kinds[kind].turns[turn].members:
                members.append(replace(m, x=m.x + region.x + x, y=m.y + region.y + y))
        metal = square(region, plan, rules.longest)
        ends = (region.x + block.width, region.y + block.height)
        metal = part_off(plan, metal, ends, block.along, rules.longest, offcut) if block.along else metal
        block = in_reach(block, metal, rules.longest)
        take_apart(plan, metal, region.x, region.y, block, bin_.kinds, str(number) if len(regions) > 1 else "")
    return members


def _nest(
    sheet: Sheet,
    tool: CuttingTool,
    pieces: Sequence[Piece],
    members: Sequence[Member],
    copies: list[int],
    cuts: tuple[Cut, ...],
    rests: Sequence[Rect],
    offcut: tuple[float, float],
    before: Sequence[Nest],
) -> Nest:
    """One sheet's nest; ``copies`` counts the blanks of each piece over all sheets."""
    placements = []
    for m in members:
        copies[m.piece] += 1
        placements.append(Placement(pieces[m.piece].part, copies[m.piece], m.x, m.y, m.rotation, m.mirrored))
    net = sum(net_area(pieces[m.piece]) for m in members)
    return Nest(
        sheet.material,
        sheet.thickness,
        tool.method,
        tool.name,
        sheet,
        tuple(placements),
        cuts,
        named(rests, offcut, 1 + sum(len(nest.offcuts) for nest in before)),
        net / (sheet.width * sheet.height),
    )


def _unplaced(
    pieces: Sequence[Piece],
    stock: Sequence[Sheet],
    bins: Sequence[Bin],
    left: Sequence[int],
    extra: Sequence[int],
    never: Sequence[int],
    rules: Rules,
    tool: CuttingTool,
) -> tuple[list[Unplaced], dict[str, int]]:
    """Reasons for what found no place, and the sheets to buy for what only lacks stock.

    extra : numbers of the sheets that would take all that is left but ``never``, which no sheet takes
    """
    unplaced: list[Unplaced] = []
    buy: dict[str, int] = {}
    for number in extra:
        buy[stock[number].id] = buy.get(stock[number].id, 0) + 1
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
