"""Nests of equal cost: the one counts that a shop pays least for, minutes at the gauge against metal kept."""

import random

from making import few
from nest_verifier import check_result

from flatgen.core.outline import rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Minutes, Sheet
from flatgen.nest import Problem, nest_pieces

SHEAR = CuttingTool("shear", "shear", smallest_strip=9.0)


def paid(result, minutes: Minutes) -> float:
    """By head: sheets at 80 a square metre, less the off-cuts at that price, and the minutes."""
    kept = sum(o.width * o.height for nest in result.nests for o in nest.offcuts)
    time = minutes.spent(result.settings, sum(len(nest.cuts) for nest in result.nests))
    return result.cost - 8e-5 * kept + time * minutes.hour / 60.0


def test_each_price_of_an_hour_gets_the_nest_that_is_best_for_it() -> None:
    """Orders by seed: a nest chosen for a dear hour costs no more at its price, nor one for a cheap hour."""
    cheap, dear = Minutes(3.0, 0.2, hour=1.0), Minutes(3.0, 0.2, hour=90.0)
    at_cheap = at_dear = other = 0.0
    for seed in range(few(12)):
        rng = random.Random(seed)
        sizes = [(5.0 * rng.randint(6, 50), 5.0 * rng.randint(6, 30), rng.randint(2, 9)) for _ in range(7)]
        pieces = [Piece(f"P{n}", rectangle(0, 0, w, h), (), many, (0.0, 180.0)) for n, (w, h, many) in enumerate(sizes)]
        stock = [Sheet("S", "A", 1.0, 1220.0, 910.0, margin=6.0, cost=8e-5 * 1220 * 910)]
        found = [nest_pieces(Problem(pieces, stock, SHEAR, minutes=m)) for m in (cheap, dear)]
        for result in found:
            check_result(result, pieces, stock, SHEAR)
        assert found[0].cost == found[1].cost
        at_cheap += paid(found[1], cheap) - paid(found[0], cheap)
        at_dear += paid(found[0], dear) - paid(found[1], dear)
        other += found[0].settings - found[1].settings
    assert at_cheap > 0.0
    assert at_dear > 0.0
    assert other > 0
