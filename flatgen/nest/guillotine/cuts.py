"""A pattern as cuts stage by stage, with the gauge for each. Lengths mm.

The sheet is squared first; then every stage runs from its largest gauge to its smallest over all pieces on the table
(``order`` then mixes stages). A cut's line lies on the edge of the metal kept, its kerf in the waste.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from flatgen.core.points import Point
from flatgen.model.plan import Cut
from flatgen.nest.guillotine.block import EPS, Block
from flatgen.nest.kinds import Kind

FIRST = -1.0  # cuts whose key begins below this are made before all others, for what comes first
Rect = tuple[float, float, float, float]  # x0, y0, x1, y1


class Planned(NamedTuple):
    """A cut before it has its place: by what it is sorted, and how wide the rest beyond it is [mm]."""

    key: tuple[float, ...]
    cut: Cut
    rest: float


@dataclass(slots=True)
class CutPlan:
    """Cuts before they are put in order, and the rectangles that are left over.

    smallest : least metal that the hold-down can hold, 0: the shop does not say [mm]
    """

    last_stage: int = 99
    kerf: float = 0.0
    smallest: float = 0.0
    cuts: list[Planned] = field(default_factory=list)
    rests: list[Rect] = field(default_factory=list)

    def cut(self, stage: float, trim: bool, metal: Rect, along: str, at: float, note: str) -> tuple[Rect, Rect]:
        """Enter a cut of a piece of metal at a place along x or y; both pieces. Edge trims of a stage come first.

        A stage and a half is the second trim of a blank; what is printed never passes the last stage allowed, since
        trims to size are not counted as a stage of their own.
        """
        i = 0 if along == "x" else 1
        low, high = halves(metal, along, at, self.kerf if trim else 0.0, 0.0 if trim else self.kerf)
        # without the last digits' noise, by which equal gauges would differ and a piece's cuts change places
        gauge = round(at - metal[i], 9)
        start, end = ((at, metal[1]), (at, metal[3])) if i == 0 else ((metal[0], at), (metal[2], at))
        key = (stage, 0.0 if trim else 1.0, 0.0 if trim else -round(gauge, 4), float(len(self.cuts)))
        printed = max(0, min(int(stage), self.last_stage))
        self.cuts.append(Planned(key, Cut(0, start, end, gauge, printed, note, trim), high[i + 2] - high[i]))
        return low, high


def halves(rect: Rect, along: str, at: float, off_low: float = 0.0, off_high: float = 0.0) -> tuple[Rect, Rect]:
    """What lies below a line and beyond it, less what is lost on either side of it."""
    x0, y0, x1, y1 = rect
    if along == "x":
        return (x0, y0, max(x0, at - off_low), y1), (min(x1, at + off_high), y0, x1, y1)
    return (x0, y0, x1, max(y0, at - off_low)), (x0, min(y1, at + off_high), x1, y1)


def in_reach(block: Block, metal: Rect, longest: float) -> Block:
    """The pattern with a strip cut off across first, where its own first cuts would be too long for the tool."""
    across = metal[3] - metal[1] if block.along == "x" else metal[2] - metal[0]
    if block.kind >= 0 or across <= longest + EPS:
        return block
    return Block(block.width, block.height, along="y" if block.along == "x" else "x", parts=(block,))


def trim_low(plan: CutPlan, metal: Rect, along: str, at: float, stage: float, note: str) -> Rect:
    """Cut waste off the low side of a piece of metal; what is kept."""
    if at <= metal[0 if along == "x" else 1] + EPS:
        return metal
    waste, kept = plan.cut(stage, True, metal, along, at, note)
    plan.rests.append(waste)
    return kept


@dataclass(frozen=True, slots=True)
class TakenApart:
    """Patterns as cuts of a plan."""

    plan: CutPlan
    kinds: Sequence[Kind]

    def from_(self, metal: Rect, at: Point, block: Block, name: str = "", stage: int = 1) -> None:
        """Enter the cuts that take a pattern, its low corner there, out of a piece of metal lying on the table."""
        if block.kind >= 0:
            self._trimmed(metal, at, block, stage)
            return
        plan, i = self.plan, 0 if block.along == "x" else 1
        metal = trim_low(plan, metal, block.along, at[i], stage, "trim the edge, scrap")
        for number, part in enumerate(block.parts, start=1):
            size = (part.width, part.height)[i]
            end = at[i] + size - plan.kerf
            label = f"{name}.{number}" if name else str(number)
            done = part.kind >= 0 and _finished(metal, at, part, 1 - i, plan.kerf)
            note = f"strip {label}: keep on cutting"
            if part.kind >= 0:
                note = f"{self.kinds[part.kind].part}: {'lay aside' if done else 'keep for trimming'}"
            whole = end >= metal[i + 2] - EPS
            piece, rest = (metal, metal) if whole else plan.cut(stage, False, metal, block.along, end, note)
            if not done:
                self.from_(piece, at, part, label, stage + 1)
            if whole:
                return
            metal = rest
            at = (at[0] + size, at[1]) if i == 0 else (at[0], at[1] + size)
        plan.rests.append(metal)

    def _trimmed(self, metal: Rect, at: Point, block: Block, stage: int) -> None:
        """The cuts that trim a blank, the shorter first: the longer may be more than the tool can make before it."""
        plan, part = self.plan, self.kinds[block.kind].part
        sides = (("x", at[0], at[0] + block.width - plan.kerf), ("y", at[1], at[1] + block.height - plan.kerf))
        upright_first = metal[3] - metal[1] <= metal[2] - metal[0]
        before = len(plan.cuts)
        for along, low, high in sides if upright_first else sides[::-1]:
            when = stage + 0.5 * (len(plan.cuts) > before)
            metal = trim_low(plan, metal, along, low, when, f"{part}: trim the edge, scrap")
            if high < metal[2 if along == "x" else 3] - EPS:
                metal, rest = plan.cut(when, False, metal, along, high, f"{part}: lay aside, trimmed")
                plan.rests.append(rest)


def _finished(metal: Rect, at: Point, block: Block, i: int, kerf: float) -> bool:
    """Whether a blank needs no trim across the cut that frees it."""
    size = (block.width, block.height)[i]
    return abs(metal[i] - at[i]) < EPS and metal[i + 2] < at[i] + size - kerf + EPS
