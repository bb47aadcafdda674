"""Shear orders like those of a workshop, and what a shop pays for their nests: compare two trees by their tables.

    python tests/benchmarks/nesting/orders.py [--seeds 1 2 3 …] [--aim metal]

One line an order: kinds and pieces, sheets, price of the sheets, settings, cuts, minutes, off-cuts kept [m²], what is
paid in all (sheets, and minutes at the price of an hour, less the metal of off-cuts worth keeping), processor time [s].
PYTHONPATH says whose nests they are. The same seed is the same order on every machine.
"""

import argparse
import random
import time

from flatgen.core.outline import rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces

SETTING, CUT, HOUR = 3.0, 0.2, 30.0  # minutes, minutes, price
INCH = 25.4
OFFCUT = (150.0, 100.0)
SIZES = ((2438.4, 1219.2, 165.0), (1219.2, 1219.2, 88.0), (1828.8, 914.4, 98.0), (1219.2, 609.6, 46.0))
METRIC = ((2000.0, 1000.0, 120.0), (2500.0, 1250.0, 182.0), (1000.0, 1000.0, 63.0))
Order = tuple[list[Piece], list[Sheet], CuttingTool]


def order(seed: int) -> Order:
    """Blanks of 2 to 16 sizes in inch or mm; stock of one or two sizes, at times a remnant or a scratch."""
    rng = random.Random(seed)
    inches = rng.random() < 0.5
    step, largest = (INCH / rng.choice((16, 32, 64)), 20.0 * INCH) if inches else (rng.choice((1.0, 0.5, 0.1)), 480.0)
    kinds, grain = rng.randint(2, 16), rng.random() < 0.5
    most = rng.choice((4, 10, 24))
    pieces = []
    for n in range(kinds):
        width = max(step, round(rng.triangular(25.0, largest, 90.0) / step) * step)
        height = max(step, round(rng.triangular(20.0, 0.6 * largest, 60.0) / step) * step)
        turns = (0.0, 180.0) if grain else (0.0, 90.0, 180.0, 270.0)
        pieces.append(Piece(f"P{n:02}", rectangle(0, 0, width, height), (), rng.randint(1, most), turns))
    margin = rng.choice((0.0, 0.25 * INCH, 10.0))
    sizes = rng.sample(SIZES if inches else METRIC, rng.choice((1, 1, 2)))
    stock = [Sheet(f"S{n}", "m", 1.0, w, h, margin, None, cost) for n, (w, h, cost) in enumerate(sizes)]
    if rng.random() < 0.4:
        stock.append(Sheet("R", "m", 1.0, 700.0, 420.0, margin, 1, remnant=True))
    if rng.random() < 0.2:
        bad = ((310.0, 120.0, 60.0, 35.0),)
        stock.insert(0, Sheet("H", "m", 1.0, sizes[0][0], sizes[0][1], margin, 1, sizes[0][2], bad_areas=bad))
    stages, longest = rng.choice((2, 3, 3, 3)), rng.choice((None, None, 1320.0))
    tool = CuttingTool("tool", "shear", 0.0, rng.choice((0.0, 0.0, 0.0, 2.0)), longest, 9.5, stages)
    return pieces, stock, tool


def settings_of(cuts) -> int:
    """Times that the gauge is set, or moved to the other side."""
    at = [(round(cut.gauge, 4), getattr(cut, "hold", "")) for cut in cuts if not cut.trim]
    return sum(1 for k, now in enumerate(at) if k == 0 or now != at[k - 1])


def paid(result, stock) -> tuple[float, int, int, float, float, float]:
    """Price of the sheets, settings, cuts, minutes, off-cuts [mm²], all in all."""
    price = sum(n.sheet.cost or 0.0 for n in result.nests)
    settings, cuts = sum(settings_of(n.cuts) for n in result.nests), sum(len(n.cuts) for n in result.nests)
    minutes = SETTING * settings + CUT * cuts
    kept = sum(o.width * o.height for n in result.nests for o in n.offcuts)
    rate = max(s.cost / (s.width * s.height) for s in stock if s.cost)
    return price, settings, cuts, minutes, kept, price + minutes / 60.0 * HOUR - kept * rate


def main() -> None:
    """Nest them, print them."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--seeds", type=int, nargs="+", default=list(range(1, 37)))
    asked.add_argument("--aim", default="money")
    given = asked.parse_args()
    print("seed kinds pieces sheets  price  settings cuts minutes  kept m2    paid   cpu s")
    totals = [0.0] * 8
    for seed in given.seeds:
        pieces, stock, tool = order(seed)
        more = {} if given.aim == "money" else {"aim": given.aim}
        began = time.process_time()
        result = nest_pieces(Problem(pieces, stock, tool, offcut=OFFCUT, **more))
        cpu = time.process_time() - began
        price, settings, cuts, minutes, kept, all_in_all = paid(result, stock)
        lost = sum(u.quantity for u in result.unplaced)
        row = (len(result.nests), price, settings, cuts, minutes, kept / 1e6, all_in_all, cpu)
        totals = [a + b for a, b in zip(totals, row, strict=True)]
        print(
            f"{seed:4} {len(pieces):5} {sum(p.quantity for p in pieces):6} " + LINE.format(*row), lost or "", flush=True
        )
    print("all               " + LINE.format(*totals))


LINE = "{:6} {:6.0f}  {:8} {:4} {:7.1f}  {:7.3f} {:7.2f} {:7.2f}"

if __name__ == "__main__":
    main()
