"""Fewer gauge settings for sheets that are filled: the same blanks in other strips on as much sheet. Lengths mm.

Sheets of one sort whose strips run the same way are changed together, so that equal blanks come to lie on one of them.
What comes of it is cut up as the cut list has it: nothing is taken that makes an off-cut smaller or a cut too long.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from flatgen.nest.guillotine.annealing import Walk, Way
from flatgen.nest.guillotine.block import EPS, Block, column, leaves, row, tidy, transposed
from flatgen.nest.guillotine.cuts import CutPlan
from flatgen.nest.guillotine.greedy import Bin, Filled
from flatgen.nest.guillotine.hold import settings
from flatgen.nest.guillotine.knapsacks import Rules
from flatgen.nest.guillotine.order import in_order
from flatgen.nest.kinds import Turn
from flatgen.nest.offcuts import areas_kept, worth_keeping

STEPS = 60_000  # most for a whole order
PER_BLANK = 500
ROUNDS = 2  # walks, each from the best so far

Size = tuple[float, float]
Cutting = Callable[[Filled], CutPlan]


def fewest_settings(
    filled: Sequence[Filled], bins: Sequence[Bin], kerf: float, rules: Rules, offcut: Size, cut: Cutting
) -> list[Filled]:
    """The sheets in other strips where that needs fewer settings, else as they are; the last one stays the last.

    offcut : least sizes of an off-cut worth keeping; cut : a sheet as its cuts and what they leave over
    """
    best = list(filled)
    if rules.stages < 2:
        return best
    by_index = {b.index: b for b in bins}
    groups: dict[tuple[int, int, str], list[int]] = {}
    for number, sheet in enumerate(best):
        for region, block in enumerate(sheet.blocks):
            if block is not None and not sheet.as_is:
                groups.setdefault((sheet.bin, region, tidy(block).along or "y"), []).append(number)
    blanks = sum(1 for sheet in best for block in sheet.blocks if block is not None for _ in leaves(block))
    each = min(STEPS, PER_BLANK * blanks) // (ROUNDS * max(1, sum(len(numbers) for numbers in groups.values())))
    for seed in range(1, ROUNDS + 1):
        for (index, region, along), numbers in groups.items():
            walk = _walk(best, numbers, by_index[index], region, along, kerf, rules, offcut, seed)
            new, laid = list(best), walk.go(each * len(numbers))
            if not all(laid):
                continue  # a sheet without blanks has no cuts to be counted
            for number, strips in zip(numbers, laid, strict=True):
                new[number] = _with(best[number], region, strips, along)
            if _better([new[n] for n in numbers], [best[n] for n in numbers], rules, offcut, cut):
                best = new
    return best


def _walk(
    filled: Sequence[Filled],
    numbers: Sequence[int],
    bin_: Bin,
    region: int,
    along: str,
    kerf: float,
    rules: Rules,
    offcut: Size,
    seed: int,
) -> Walk:
    """The sheets' strips along x, with the room that they may take."""
    walk = Walk([_ways(kind.turns, along, kerf) for kind in bin_.kinds], rules.stages, rules.longest, seed)
    length, depth = bin_.regions[region] if along == "y" else bin_.regions[region][::-1]
    for number in numbers:
        block = tidy(_block(filled[number], region))
        block = transposed(block) if along == "x" else block
        # what an off-cut may need stays free: beyond the ends of the strips, above them, and behind single ones
        last = number == len(filled) - 1
        most = block.width if last or _keeps(length - block.width, depth, offcut) else length
        high = block.height if last or _keeps(length, depth - block.height, offcut) else depth
        strips = []
        for strip in block.parts if block.along == "y" else (block,):
            end = _keeps(most - strip.width, strip.height, offcut)
            items = strip.parts if strip.along == "x" else (strip,)
            strips.append((items, strip.width if end else most, strip.height if end else 0.0))
        walk.add(strips, most, high)
    return walk


def _ways(turns: Sequence[Turn], along: str, kerf: float) -> list[Way]:
    sizes = [(turn.width + kerf, turn.height + kerf) for turn in turns]
    return [(w, h, n) if along == "y" else (h, w, n) for n, (w, h) in enumerate(sizes)]


def _keeps(width: float, height: float, offcut: Size) -> bool:
    return worth_keeping((0.0, 0.0, width, height), offcut)


def _block(sheet: Filled, region: int) -> Block:
    block = sheet.blocks[region]
    assert block is not None
    return block


def _with(sheet: Filled, region: int, strips: Sequence[list[Block]], along: str) -> Filled:
    """A sheet with other strips on one of its clean rectangles."""
    block = column([row(strip) for strip in strips])
    blocks = list(sheet.blocks)
    blocks[region] = transposed(block) if along == "x" else block
    return replace(sheet, blocks=tuple(blocks))


def _better(new: Sequence[Filled], old: Sequence[Filled], rules: Rules, offcut: Size, cut: Cutting) -> bool:
    """Whether there are fewer settings, with no off-cut of the last sheet or of all smaller and no cut too long."""
    plans, before = [cut(sheet) for sheet in new], [cut(sheet) for sheet in old]
    if _times(plans) >= _times(before):
        return False
    kept, had = [areas_kept(plan.rests, offcut) for plan in plans], [areas_kept(plan.rests, offcut) for plan in before]
    if sum(map(sum, kept)) < sum(map(sum, had)) - 1.0 or max(kept[-1], default=0.0) < max(had[-1], default=0.0) - EPS:
        return False
    return max(map(_longest, plans)) <= max(rules.longest, max(map(_longest, before))) + EPS


def _times(plans: Sequence[CutPlan]) -> int:
    return sum(settings(in_order(plan)) for plan in plans)


def _longest(plan: CutPlan) -> float:
    """Length of the longest cut [mm]."""
    return max((math.dist(cut.start, cut.end) for _, cut, _ in plan.cuts), default=0.0)
