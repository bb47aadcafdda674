"""Sheet after sheet filled with strips, the best of the allowed strip directions each time. Lengths mm.

An order is filled in many ways, plain ones and shaken ones: all are cheap, and what each costs a shop tells them apart.

References
----------
[1] T. A. Feo, M. G. C. Resende, "Greedy randomized adaptive search procedures", Journal of Global Optimization 6, 1995
    (from memory)
"""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from flatgen.nest.guillotine.block import Block, column, leaves, transposed
from flatgen.nest.guillotine.knapsacks import Option, Rules, fill_strips
from flatgen.nest.kinds import Kind

POWERS = (1.0, 1.1, 1.25, 1.5)
SHAKES = (0.15, 0.3, 0.6)  # largest shares by which the worth of a kind is shaken
SHAKEN = 24  # shaken ways


@dataclass(frozen=True, slots=True)
class Bin:
    """One sort of sheet: its usable rectangles, how many there are, what one costs, and the pieces as they lie on it.

    regions : usable width and height of each clean rectangle, one kerf larger each way
    """

    index: int
    regions: tuple[tuple[float, float], ...]
    copies: int | None
    cost: float
    kinds: tuple[Kind, ...]
    rank: int  # 0 remnants, 1 on hand, 2 to buy
    metal: tuple[
        tuple[float, float], ...
    ] = ()  # what each clean rectangle is cut from, margins included; empty: itself

    def cut_lengths(self, region: int) -> dict[str, float]:
        """How long the first cuts of a region are, for strips along x and along y [mm]."""
        width, height = self.metal[region] if self.metal else self.regions[region]
        return {"x": width, "y": height}


@dataclass(frozen=True, slots=True)
class Filled:
    """A sheet with a pattern on each of its clean rectangles (None: left empty)."""

    bin: int
    blocks: tuple[Block | None, ...]


def options_for(kinds: Sequence[Kind], kerf: float, along: str) -> list[Option]:
    """Every way for every kind to stand in a strip that runs along x or y."""
    found = []
    for index, kind in enumerate(kinds):
        for number, turn in enumerate(kind.turns):
            size = (turn.width + kerf, turn.height + kerf)
            if along == "y":
                size = (size[1], size[0])
            found.append(Option(index, number, size[0], size[1]))
    return found


def count(block: Block | None, many: int) -> list[int]:
    """How many blanks of each kind a pattern holds."""
    counts = [0] * many
    if block is not None:
        for kind, _, _, _ in leaves(block):
            counts[kind] += 1
    return counts


def fill(
    bin_: Bin, left: Sequence[int], kerf: float, rules: Rules, worth: Sequence[float], ways: str = "xy"
) -> tuple[Filled, list[int]]:
    """Fill one sheet with the worthiest of the pieces left; what is left after it."""
    rest = list(left)
    blocks: list[Block | None] = []
    for number, (width, height) in enumerate(bin_.regions):
        cut_lengths = bin_.cut_lengths(number)
        best: tuple[float, Block | None, list[int]] = (0.0, None, rest)
        for along, length, depth in (("x", width, height), ("y", height, width)):
            if along not in ways or cut_lengths[along] > rules.longest + 1e-6:
                continue
            trial = list(rest)
            strips = fill_strips(options_for(bin_.kinds, kerf, along), length, depth, trial, worth, rules)
            if not strips:
                continue
            block = column(strips)
            if along == "y":
                block = transposed(block)
            value = math.fsum(w * (a - b) for w, a, b in zip(worth, rest, trial, strict=True))
            if value > best[0] * (1.0 + 1e-9):
                best = (value, block, trial)
        blocks.append(best[1])
        rest = best[2]
    return Filled(bin_.index, tuple(blocks)), rest


@dataclass(frozen=True, slots=True)
class Start:
    """One way to fill sheets: what a blank counts for, and which strips there may be.

    power : a blank counts as its rectangle to this power; more than 1 brings large blanks forward
    along : directions that strips may run in; stages : most cutting stages, fewer make plainer strips
    noise : a factor for every kind
    """

    power: float = 1.0
    along: str = "xy"
    stages: int = 99
    noise: tuple[float, ...] = ()


def starts(kinds: int, seed: int) -> Iterator[Start]:
    """Plain ways first, then as many with the worth of every kind shaken, each by its number alone."""
    for stages in (99, 2):
        for along in ("xy", "x", "y"):
            yield from (Start(power, along, stages) for power in POWERS)
    for turn in range(SHAKEN):
        rng = random.Random(1000 * seed + turn)
        by = rng.choice(SHAKES)
        noise = tuple(rng.uniform(1.0 - by, 1.0 + by) for _ in range(kinds))
        yield Start(rng.choice(POWERS), rng.choice(("x", "y", "xy")), rng.choice((99, 99, 2)), noise)


def fill_all(
    bins: Sequence[Bin], demand: Sequence[int], kerf: float, rules: Rules, start: Start = Start()
) -> tuple[list[Filled], list[int]]:
    """Sheets until nothing is left or nothing fits: remnants first, then what is on hand, then what must be bought."""
    left = list(demand)
    used = [0] * len(bins)
    done: list[Filled] = []
    rules = replace(rules, stages=min(rules.stages, start.stages))
    areas = [max((t.width * t.height for t in kind.turns), default=0.0) for kind in bins[0].kinds] if bins else []
    worth = [size**start.power * by for size, by in zip(areas, start.noise or [1.0] * len(areas), strict=True)]
    for rank in (0, 1, 2):
        while any(left):
            best = None
            for number, bin_ in enumerate(bins):
                if bin_.rank != rank or (bin_.copies is not None and used[number] >= bin_.copies):
                    continue
                filled, rest = fill(bin_, left, kerf, rules, worth, start.along)
                value = math.fsum(w * (a - b) for w, a, b in zip(areas, left, rest, strict=True))
                if value <= 0.0:
                    continue
                # a sheet that takes all that is left counts by its price alone, others by price for what they hold
                score = (0 if not any(rest) else 1, bin_.cost if not any(rest) else bin_.cost / value, -value)
                if best is None or score < best[0]:
                    best = (score, number, filled, rest)
            if best is None:
                break
            _, number, filled, rest = best
            taken = [a - b for a, b in zip(left, rest, strict=True)]
            # the same pattern again while the order holds out keeps large orders quick and gauges the same
            repeat = min(a // t for a, t in zip(left, taken, strict=True) if t)
            copies = bins[number].copies
            if copies is not None:
                repeat = min(repeat, copies - used[number])
            left = [a - t * repeat for a, t in zip(left, taken, strict=True)]
            used[number] += repeat
            done += [filled] * repeat
    return done, left
