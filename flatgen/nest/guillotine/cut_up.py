"""A filled sheet as its cuts and its blanks in place. Lengths mm."""

from flatgen.model.shop import Sheet
from flatgen.nest.guillotine.block import members_of, tidy
from flatgen.nest.guillotine.cuts import CutPlan, Rect, TakenApart, in_reach
from flatgen.nest.guillotine.first import first_members, open_up
from flatgen.nest.guillotine.greedy import Bin, Filled
from flatgen.nest.guillotine.regions import Region, bad_rectangles, clear_rests, part_off, regions_of, square
from flatgen.nest.kinds import Member
from flatgen.nest.offcuts import worth_keeping
from flatgen.nest.problem import Problem


def metal_of(problem: Problem, number: int) -> Sheet:
    """A sheet of the stock as it is; the opened one without the strip as a bad area."""
    opening = problem.opened(number)
    return problem.stock[number] if opening is None else problem.on_hand[opening.sheet]


def whole_of(problem: Problem, number: int) -> Rect:
    """The metal that blanks lie on: the sheet, or what is left of the opened one."""
    opening, sheet = problem.opened(number), problem.stock[number]
    return (0.0, 0.0, sheet.width, sheet.height) if opening is None else opening.rest


def cut_up(problem: Problem, filled: Filled, bin_: Bin) -> tuple[CutPlan, list[Member]]:
    """The cuts that free the blanks of a sheet, and these in place."""
    plan = CutPlan(max(1, problem.rules.stages), problem.gap, problem.tool.smallest_strip)
    members: list[Member] = []
    offcut, longest = problem.offcut, problem.rules.longest

    def wanted(number: int, region: Region) -> bool:
        return filled.blocks[number] is not None or worth_keeping(region.metal, offcut)

    if problem.opened(filled.bin) is not None:
        members += first_members(problem)
        open_up(problem, plan)
    sheet = metal_of(problem, filled.bin)
    regions = regions_of(sheet, plan, longest, whole_of(problem, filled.bin), wanted)
    for number, (region, block) in enumerate(zip(regions, filled.blocks, strict=True), start=1):
        if block is None:
            plan.rests.append(region.metal)
            continue
        block = tidy(block)
        members += members_of(block, bin_.kinds, region.x, region.y)
        metal = square(region, plan, longest)
        ends = (region.x + block.width, region.y + block.height)
        metal = part_off(plan, metal, ends, block.along, longest, offcut) if block.along else metal
        block = in_reach(block, metal, longest)
        TakenApart(plan, bin_.kinds).from_(metal, (region.x, region.y), block, str(number) if len(regions) > 1 else "")
    clear_rests(plan, bad_rectangles(sheet), longest, offcut)
    return plan, members
