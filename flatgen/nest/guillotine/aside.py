"""A sheet once more: small blanks at the end of a side strip whose rest is one long off-cut. Lengths mm.

Strips over the whole sheet leave a piece at the end of each; a first cut along all of them leaves one piece instead.
The blanks that no longer fit beside that cut go into the low end of the side strip.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from flatgen.nest.guillotine.block import EPS, Block, column, leaves, tidy, transposed
from flatgen.nest.guillotine.cuts import CutPlan
from flatgen.nest.guillotine.greedy import Bin, Filled, count, options_for
from flatgen.nest.guillotine.knapsacks import Option, Rules, fill_strips
from flatgen.nest.offcuts import areas_kept

SHEETS = 8  # most that are looked at
TRIED = 6  # patterns that are really cut up
MAIN = 0.1  # share of the metal that a blank's kind must take to set the place of the first cut
CUTS = 8  # most places of the first cut that are tried by each guess and way, a third where there are many blanks
MANY = 60
FULL = 0.96  # share of the metal before the cut that blanks may fill
MOVED = 1.3  # room that blanks in the side strip take, in their area
POWERS = (1.0, 1.25)  # how much more than its area a larger blank counts beside the strip


def larger_offcuts(
    filled: Sequence[Filled],
    bins: Sequence[Bin],
    kerf: float,
    rules: Rules,
    offcut: tuple[float, float],
    cut: Callable[[Filled], CutPlan],
) -> list[Filled]:
    """The sheets, those from the last one back with a side strip where that leaves a larger off-cut worth keeping.

    offcut : least sizes of one worth keeping; cut : a sheet as its cuts and what they leave over
    """
    best = list(filled)
    for number in range(max(0, len(best) - SHEETS), len(best)):
        sheet = best[number]
        block = sheet.blocks[0] if len(sheet.blocks) == 1 else None
        if block is None:
            continue
        now = _largest(cut(sheet), offcut)
        for pattern in set_aside(bins[sheet.bin], block, kerf, rules, now)[:TRIED]:
            other = Filled(sheet.bin, (pattern,), as_is=True)
            found = _largest(cut(other), offcut)
            if found > now * 1.001:
                best[number], now = other, found
    return best


def _largest(plan: CutPlan, offcut: tuple[float, float]) -> float:
    return max(areas_kept(plan.rests, offcut), default=0.0)


def set_aside(bin_: Bin, block: Block, kerf: float, rules: Rules, least: float) -> list[Block]:
    """Other patterns of the same blanks with a side strip, the largest off-cut first, all larger than ``least`` [mm²].

    They are to be cut as they are: the strip's block reaches to the end of the metal.
    """
    if rules.stages < 3:
        return []
    wanted = count(block, len(bin_.kinds))
    found: list[tuple[float, Block]] = []
    for along in "xy":
        if bin_.cut_lengths(0)["y" if along == "x" else "x"] > rules.longest + EPS:
            continue
        found += _ways(bin_, block, wanted, kerf, replace(rules, stages=rules.stages - 1), along, least)
    found.sort(key=lambda entry: -round(entry[0], 3))
    return [pattern for _, pattern in found]


def _ways(
    bin_: Bin, block: Block, wanted: Sequence[int], kerf: float, inner: Rules, along: str, least: float
) -> Iterator[tuple[float, Block]]:
    """Patterns whose first cut runs upright (``along`` "x") or across, with the off-cut of each."""
    width, height = bin_.regions[0] if along == "x" else bin_.regions[0][::-1]
    edges = bin_.cut_lengths(0)[along] - width  # margins
    beyond = max(bin_.cut_lengths(0).values())  # the side strip reaches to the edge of the metal, margin included
    options = {way: options_for(bin_.kinds, kerf, way if along == "x" else _other(way)) for way in "xy"}
    sizes = [max((t.width * t.height for t in kind.turns), default=0.0) for kind in bin_.kinds]
    for at in _places(bin_, block, options["x"], along, least):
        for power in POWERS if sum(wanted) <= MANY else POWERS[:1]:
            worth = [size**power for size in sizes]
            # a little more room, since strips are filled on a grid; the cut then runs where the blanks end
            room = min(width, 1.005 * at)
            for way, length, depth in (("x", room, height), ("y", height, room)):
                left = list(wanted)
                strips = fill_strips(options[way], length, depth, left, worth, inner)
                if not strips or not any(left):
                    continue
                main = column(strips) if way == "x" else transposed(column(strips))
                across = (main.width if way == "x" else 0.0, width - main.width)
                if max(across) + edges > inner.longest + EPS:
                    continue
                rest = fill_strips(options["x"], width - main.width, height, left, worth, inner)
                side = column(rest) if rest else None
                if side is None or any(left) or width - main.width < inner.smallest:
                    continue
                offcut = (width - main.width) * (height - side.height)
                if offcut > least:
                    yield offcut, _beside(tidy(main), tidy(side), beyond, along)


def _beside(main: Block, side: Block, beyond: float, along: str) -> Block:
    """The main part, the cut, and the side strip."""
    strip = side if side.along == "y" else Block(side.width, side.height, along="y", parts=(side,))
    pattern = Block(
        main.width + beyond,
        max(main.height, side.height),
        along="x",
        parts=(*(main.parts if main.along == "x" else (main,)), replace(strip, width=beyond)),
    )
    return pattern if along == "x" else transposed(pattern)


def _places(bin_: Bin, block: Block, options: Sequence[Option], along: str, least: float) -> list[float]:
    """Where the first cut may run: at multiples of the sizes that take most metal, and at edges of blanks as they lie.

    Those come first, and are all, that leave the most when only the blanks on the cut and beyond it are moved, or when
    all blanks were laid anew with little waste.
    """
    width, height = bin_.regions[0] if along == "x" else bin_.regions[0][::-1]
    lie = []
    areas = [0.0] * len(bin_.kinds)
    for kind, turn, x, y in leaves(block):
        size = bin_.kinds[kind].turns[turn]
        lie.append((x, size.width, size.height) if along == "x" else (y, size.height, size.width))
        areas[kind] += size.width * size.height
    whole = sum(areas)
    ends = {round(low, 6) for low, _, _ in lie}
    for option in options:
        if areas[option.kind] > MAIN * whole:
            ends.update(round(option.along * k, 6) for k in range(1, int((width + EPS) / option.along) + 1))
    inside = sorted(at for at in ends if EPS < at < width - EPS)

    def as_it_lies(at: float) -> float:
        return (width - at) * height - MOVED * sum(w * h for low, w, h in lie if low + w > at + EPS)

    def anew(at: float) -> float:
        return (width - at) * height - MOVED * max(0.0, whole - FULL * at * height)

    most = CUTS if len(lie) <= MANY else CUTS // 3
    found: list[float] = []
    for leaves_over in (as_it_lies, anew):
        ranked = sorted((-round(leaves_over(at), 3), at) for at in inside if leaves_over(at) > least)
        found += [at for _, at in ranked[:most] if at not in found]
    return found


def _other(along: str) -> str:
    return "y" if along == "x" else "x"
