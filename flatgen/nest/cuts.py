"""A pattern as cuts stage by stage, with the gauge for each. Lengths mm.

The sheet is squared first; then every stage runs from its largest gauge to its smallest over all pieces on the table
(``order`` then mixes stages). A cut's line lies on the edge of the metal kept, its kerf in the waste.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from flatgen.model.plan import Cut
from flatgen.nest.block import EPS, Block
from flatgen.nest.kinds import Kind

Rect = tuple[float, float, float, float]  # x0, y0, x1, y1


@dataclass(slots=True)
class CutPlan:
    """Cuts before they are put in order, and the rectangles that are left over."""

    last_stage: int = 99
    cuts: list[tuple[tuple[float, ...], Cut]] = field(default_factory=list)
    rests: list[Rect] = field(default_factory=list)

    def add(self, stage: float, trim: bool, line: Rect, gauge: float, note: str) -> None:
        """Enter a cut; edge trims of a stage come before its other cuts.

        A stage and a half is the second trim of a blank; what is printed never passes the last stage allowed, since
        trims to size are not counted as a stage of their own.
        """
        key = (stage, 0.0 if trim else 1.0, 0.0 if trim else -round(gauge, 4), float(len(self.cuts)))
        cut = Cut(
            0, (line[0], line[1]), (line[2], line[3]), gauge, max(0, min(int(stage), self.last_stage)), note, trim
        )
        self.cuts.append((key, cut))


def take_apart(
    plan: CutPlan, metal: Rect, x: float, y: float, block: Block, kinds: Sequence[Kind], kerf: float, name: str = ""
) -> None:
    """Enter the cuts that take a pattern, its low corner at x, y, out of a piece of metal lying on the table."""
    _take_apart(plan, metal, x, y, block, 1, name, kinds, kerf)


def in_reach(block: Block, metal: Rect, longest: float) -> Block:
    """The pattern with a strip cut off across first, where its own first cuts would be too long for the tool."""
    across = metal[3] - metal[1] if block.along == "x" else metal[2] - metal[0]
    if block.kind >= 0 or across <= longest + EPS:
        return block
    return Block(block.width, block.height, along="y" if block.along == "x" else "x", parts=(block,))


def settings(cuts: Sequence[Cut]) -> int:
    """How many times the gauge is set over a list of cuts, edge trims not counted."""
    count, last = 0, None
    for cut in cuts:
        if cut.trim:
            continue
        if last is None or abs(cut.gauge - last) > 1e-4:
            count, last = count + 1, cut.gauge
    return count


def trim_low(plan: CutPlan, metal: Rect, along: str, at: float, kerf: float, stage: float, note: str) -> Rect:
    """Cut waste off the low side of a piece of metal; what is kept."""
    x0, y0, x1, y1 = metal
    if along == "x" and at > x0 + EPS:
        plan.add(stage, True, (at, y0, at, y1), at - x0, note)
        plan.rests.append((x0, y0, at - kerf, y1))
        return (at, y0, x1, y1)
    if along == "y" and at > y0 + EPS:
        plan.add(stage, True, (x0, at, x1, at), at - y0, note)
        plan.rests.append((x0, y0, x1, at - kerf))
        return (x0, at, x1, y1)
    return metal


def _take_apart(
    plan: CutPlan,
    metal: Rect,
    x: float,
    y: float,
    block: Block,
    stage: int,
    name: str,
    kinds: Sequence[Kind],
    kerf: float,
) -> None:
    if block.kind >= 0:
        part = kinds[block.kind].part
        sides = (("x", x, x + block.width - kerf), ("y", y, y + block.height - kerf))
        # the shorter cut first: the longer one may be more than the tool can make before the other side is off
        upright_first = metal[3] - metal[1] <= metal[2] - metal[0]
        before = len(plan.cuts)
        for along, low, high in sides if upright_first else sides[::-1]:
            when = stage + 0.5 * (len(plan.cuts) > before)
            metal = trim_low(plan, metal, along, low, kerf, when, f"{part}: trim the edge, scrap")
            metal = _cut_off(plan, metal, along, high, kerf, when, f"{part}: lay aside, trimmed")
        return
    metal = trim_low(plan, metal, block.along, x if block.along == "x" else y, kerf, stage, "trim the edge, scrap")
    for number, part_block in enumerate(block.parts, start=1):
        size = part_block.width if block.along == "x" else part_block.height
        at = (x if block.along == "x" else y) + size - kerf
        label = f"{name}.{number}" if name else str(number)
        if _finished(metal, x, y, part_block, block.along, kerf):
            note = f"{kinds[part_block.kind].part}: lay aside"
        elif part_block.kind >= 0:
            note = f"{kinds[part_block.kind].part}: keep for trimming"
        else:
            note = f"strip {label}: keep on cutting"
        piece, rest = _split(metal, block.along, at, kerf)
        if rest is not None:
            line = (at, metal[1], at, metal[3]) if block.along == "x" else (metal[0], at, metal[2], at)
            plan.add(stage, False, line, size - kerf, note)
        if not (part_block.kind >= 0 and _finished(metal, x, y, part_block, block.along, kerf)):
            _take_apart(plan, piece, x, y, part_block, stage + 1, label, kinds, kerf)
        if rest is None:
            return
        metal = rest
        if block.along == "x":
            x += size
        else:
            y += size
    plan.rests.append(metal)


def _finished(metal: Rect, x: float, y: float, block: Block, along: str, kerf: float) -> bool:
    """Whether a blank needs no trim after it is cut off."""
    if block.kind < 0:
        return False
    if along == "x":
        return abs(metal[1] - y) < EPS and metal[3] < y + block.height - kerf + EPS
    return abs(metal[0] - x) < EPS and metal[2] < x + block.width - kerf + EPS


def _split(metal: Rect, along: str, at: float, kerf: float) -> tuple[Rect, Rect | None]:
    """Low piece and what is left beyond the kerf; None when the metal ends at the line."""
    x0, y0, x1, y1 = metal
    if along == "x":
        return (x0, y0, min(at, x1), y1), ((min(at + kerf, x1), y0, x1, y1) if at < x1 - EPS else None)
    return (x0, y0, x1, min(at, y1)), ((x0, min(at + kerf, y1), x1, y1) if at < y1 - EPS else None)


def _cut_off(plan: CutPlan, metal: Rect, along: str, at: float, kerf: float, stage: float, note: str) -> Rect:
    low, rest = _split(metal, along, at, kerf)
    if rest is not None:
        line = (at, metal[1], at, metal[3]) if along == "x" else (metal[0], at, metal[2], at)
        gauge = at - metal[0] if along == "x" else at - metal[1]
        plan.add(stage, False, line, gauge, note)
        plan.rests.append(rest)
    return low
