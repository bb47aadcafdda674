"""Which sheets to buy: against every way to share the blanks out, where blanks and sheets are all of one height."""

import random

import pytest
from nest_verifier import check_result

from flatgen.core.outline import rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces

TOOLS = [CuttingTool("shear", "shear"), CuttingTool("snips", "profile-cut")]


def least(lengths: list[float], sizes: list[tuple[float, float]]) -> float:
    """Cost of the best way to cut the lengths from sizes (length, price), by dynamic programming over all subsets."""
    total = [sum(x for k, x in enumerate(lengths) if some >> k & 1) for some in range(1 << len(lengths))]
    price = [min((p for size, p in sizes if length <= size), default=float("inf")) for length in total]
    best = [0.0] + [float("inf")] * (len(total) - 1)
    for some in range(1, len(total)):
        part = some
        while part:
            if part & some & -some:
                best[some] = min(best[some], price[part] + best[some ^ part])
            part = (part - 1) & some
    return best[-1]


@pytest.mark.parametrize("tool", TOOLS, ids=lambda tool: tool.name)
@pytest.mark.parametrize("copies", [None, 0], ids=["to buy", "none on hand"])
@pytest.mark.parametrize("seed", [9, 14, 17, 35, 41, 44, 63, 78])
def test_what_is_to_buy_costs_the_least(seed: int, copies: int | None, tool: CuttingTool) -> None:
    """Random sizes and prices on which choosing sheet by sheet buys too much."""
    draw = random.Random(seed)
    sizes = [
        (float(draw.choice([600, 800, 1000, 1250, 1500])), float(draw.randint(20, 100)))
        for _ in range(draw.choice([2, 3]))
    ]
    sizes = [(size, round(size * draw.uniform(0.05, 0.1))) for size, _ in sizes]
    lengths = [float(draw.randint(100, 590)) for _ in range(draw.randint(3, 9))]
    sheets = [Sheet(f"S{k}", "a", 1.0, size, 100.0, 0.0, copies, price) for k, (size, price) in enumerate(sizes)]
    pieces = [Piece(f"P{k}", rectangle(0, 0, length, 100), (), 1, (0.0,)) for k, length in enumerate(lengths)]
    result = nest_pieces(Problem(pieces, sheets, tool))
    check_result(result, pieces, sheets, tool)
    cost = {sheet.id: sheet.cost for sheet in sheets}
    assert least(lengths, sizes) == sum(cost[name] * many for name, many in result.to_buy)
