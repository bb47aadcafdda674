"""What each setting, sheet and part takes, by the shop's own ``[minutes]``: guesses until a log replaces them."""

import math
from collections.abc import Mapping

from flatgen.core.outline import perimeter
from flatgen.model.blank import Blank
from flatgen.model.plan import Nest, Setup
from flatgen.model.results import Results
from flatgen.model.shop import LONG_BEND, Minutes

IN = 25.4
LAYING = 0.4  # share of a bend's minutes to lay one blank beside others, and to take it out; a guess
RIP_SHARE = 3.0  # saw cuts that ripping one long edge and dressing it takes as long as; a guess


def to_set(setup: Setup, minutes: Minutes) -> float:
    """To change the brake for a setting [min]."""
    of = {"nose": minutes.nose, "set-back": minutes.setback, "leaf": minutes.leaf, "stop": minutes.stop}
    return math.fsum(of[change] for change in setup.changes)


def to_bend(setup: Setup, minutes: Minutes) -> float:
    """To make all bends of a setting, once it is set [min]."""
    strokes = {(op.part, op.step): op for op in setup.operations}
    return math.fsum(
        side_by_side(math.ceil(op.pieces / op.abreast), op.pieces, minutes)
        if op.abreast > 1
        else op.pieces * (minutes.bend_long if op.length > LONG_BEND else minutes.bend)
        for op in strokes.values()
    )


def side_by_side(clampings: int, bends: int, minutes: Minutes) -> float:
    """To make so many bends of blanks that lie beside each other, in so many clampings of a full bar [min]."""
    return clampings * minutes.bend_long + bends * LAYING * minutes.bend


def to_cut(nest: Nest, blanks: Mapping[str, Blank], minutes: Minutes) -> float:
    """To cut a sheet, edge to edge or along the outlines of its blanks [min]."""
    if not nest.cuts:
        edges = math.fsum(_edges(blanks[placement.part]) for placement in nest.placements)
        return minutes.sheet + minutes.outline * edges / IN
    gauges = [round(cut.gauge, 3) for cut in nest.cuts]
    return minutes.spent(sum(a != b for a, b in zip(gauges, [None, *gauges], strict=False)), len(gauges))


def _edges(blank: Blank) -> float:
    return math.fsum(map(perimeter, (blank.outline, *blank.cutouts)))


def to_finish(blank: Blank, minutes: Minutes) -> float:
    """To mark out, drill and deburr one piece [min]: what neither shear nor brake does."""
    return minutes.mark + minutes.hole * len(blank.drilled) + minutes.edge * _edges(blank) / IN


def hours(minutes: float) -> str:
    """Minutes as they are read.

    >>> hours(42.4), hours(150.0)
    ('42 min', '2 h 30 min')
    """
    whole = round(minutes)
    return f"{whole} min" if whole < 90 else f"{whole // 60} h {whole % 60:02d} min"


def time_spent(results: Results) -> tuple[tuple[str, float], ...]:
    """All that is left of a job, station by station [min]; nothing for what is stopped, or sawn from what is."""
    minutes = results.job.shop.minutes
    nests = [nest for report in results.nests for nest in report.nests]
    blanks = {made.part.id: made.blank for made in results.parts}
    stopped = {made.part.id for made in results.parts if made.stopped}
    left = [made for made in results.parts if not {made.part.id, made.part.cut_from} & stopped]
    parts = [made for made in left if made.part.kind == "part"]
    coupons = [made for made in left if made.part.kind == "coupon"]
    rips = {made.part.id: made.part.cut_list[0].rips for made in parts if made.part.cut_list}
    sawn = math.fsum(
        made.pieces * (RIP_SHARE * rips[made.part.cut_from] or 1.0) for made in parts if made.part.cut_from
    )
    lengths = sum(made.pieces for made in parts if rips.get(made.part.id) == 0)
    return (
        ("cut", math.fsum(to_cut(nest, blanks, minutes) for nest in nests)),
        ("mark, drill, deburr", math.fsum(made.pieces * to_finish(made.blank, minutes) for made in parts)),
        ("test strips", minutes.coupon * sum(made.pieces for made in coupons)),
        ("set the brake", math.fsum(to_set(setup, minutes) for setup in results.setups)),
        ("bend", math.fsum(to_bend(setup, minutes) for setup in results.setups)),
        ("saw", minutes.saw * (sawn + lengths)),
    )
