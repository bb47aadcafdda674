"""Filling one sheet with strips: each strip the best row of stacked blanks that a knapsack finds. Lengths mm.

Sizes are rounded up to a grid for the knapsack only, so what it finds always fits; the grid is exact when all sizes are
multiples of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.nest.block import EPS, Block, column, row

GRID = 3000  # most cells along a sheet


@dataclass(frozen=True, slots=True)
class Rules:
    """What the cutting tool asks of a pattern.

    stages : most cutting stages, trims to size not counted
    smallest : least width of a strip or blank, with the kerf [mm]
    longest : longest cut that can be made [mm]
    """

    stages: int = 3
    smallest: float = 0.0
    longest: float = float("inf")


@dataclass(frozen=True, slots=True)
class Option:
    """One way for a blank to stand in a strip: its size along the strip and across it."""

    kind: int
    turn: int
    along: float
    across: float


def grid_unit(sizes: Sequence[float], length: float) -> float:
    """Step of the knapsack's grid: one that all sizes are multiples of when it is not too fine, else a small one."""
    for unit in (1.0, 0.5, 25.4 / 32.0, 0.25, 0.1):
        if length / unit <= GRID and all(abs(s / unit - round(s / unit)) < 1e-6 for s in sizes):
            return unit
    return length / GRID


def best_row(
    options: Sequence[Option], length: float, strip: float, left: Sequence[int], worth: Sequence[float], stack: bool
) -> tuple[float, list[tuple[Option, int, int]]]:
    """Worthiest row for a strip: (worth, [(option, blanks in a stack, stacks)]).

    left : blanks of each kind still wanted; worth : of one blank of each kind
    """
    import numpy as np

    usable = [o for o in options if o.across <= strip + EPS and o.along <= length + EPS and left[o.kind] > 0]
    if not usable:
        return 0.0, []
    unit = grid_unit([o.along for o in usable], length)
    cells = int((length + EPS) / unit)
    best = np.zeros(cells + 1)
    history = []
    for option in usable:
        high = max(1, int((strip + EPS) / option.across)) if stack else 1
        high = min(high, left[option.kind])
        size = min(cells, int(np.ceil((option.along - EPS) / unit)))
        if size == 0:
            size = 1
        most = min(left[option.kind] // high, cells // size)
        step = 1
        while most > 0:
            take = min(step, most)
            most -= take
            step *= 2
            history.append((option, high, take, size * take, best))
            better = best.copy()
            gain = worth[option.kind] * high * take
            np.maximum(better[size * take :], best[: cells + 1 - size * take] + gain, out=better[size * take :])
            best = better
    total = float(best[cells])
    taken: dict[tuple[Option, int], int] = {}
    at, now = cells, best
    for option, high, take, width, before in reversed(history):
        if now[at] > before[at]:
            key = (option, high)
            taken[key] = taken.get(key, 0) + take
            at -= width
        now = before
    rest = list(left)
    chosen = []
    for (option, high), count in taken.items():
        count = min(count, rest[option.kind] // high)
        if count:
            rest[option.kind] -= count * high
            chosen.append((option, high, count))
    return total, chosen


def strip_block(chosen: Sequence[tuple[Option, int, int]], strip: float) -> Block:
    """The strip along x as a block of the given height."""
    stacks = []
    for option, high, count in chosen:
        blank = Block(option.along, option.across, option.kind, option.turn)
        stacks += [column([blank] * high)] * count
    block = row(stacks)
    return block if block.height >= strip - EPS or block.kind >= 0 else block


def fill_sheet(
    options: Sequence[Option], length: float, depth: float, left: list[int], worth: Sequence[float], rules: Rules
) -> list[Block]:
    """Strips along x, stacked in y, for one sheet of length by depth; takes what it uses from ``left``."""
    strips: list[Block] = []
    room = depth
    while room > EPS:
        heights = sorted({o.across for o in options if left[o.kind] > 0 and o.across <= room + EPS}, reverse=True)
        best: tuple[float, float, list[tuple[Option, int, int]]] | None = None
        for height in heights:
            if height < rules.smallest - EPS or height > rules.longest + EPS:
                continue
            value, chosen = best_row(options, length, height, left, worth, rules.stages >= 3)
            if not chosen:
                continue
            density = value / height
            if best is None or density > best[0] * (1.0 + 1e-9):
                best = (density, height, chosen)
        if best is None:
            break
        _, height, chosen = best
        block = strip_block(chosen, height)
        repeat = max(1, int((room + EPS) / block.height))
        for option, high, count in chosen:
            repeat = min(repeat, left[option.kind] // (high * count))
        repeat = max(1, repeat)
        for option, high, count in chosen:
            left[option.kind] -= high * count * repeat
        strips += [block] * repeat
        room -= block.height * repeat
    return strips
