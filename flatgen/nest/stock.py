"""Stock as the nesters see it: what a sheet costs, in which order sheets are taken, and the clean rectangles on them.

Lengths in mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.model.shop import Sheet
from flatgen.nest.block import EPS
from flatgen.nest.cuts import CutPlan, Rect, trim_low


@dataclass(frozen=True, slots=True)
class Region:
    """A clean rectangle of a sheet: the metal that it is cut from, and the part of it that blanks may use."""

    metal: Rect
    x: float
    y: float
    width: float
    height: float


def rank_of(sheet: Sheet) -> int:
    """0 remnants, 1 on hand, 2 to buy."""
    return 0 if sheet.remnant else (2 if sheet.copies is None else 1)


def prices(sheets: Sequence[Sheet]) -> tuple[float, ...]:
    """What each sheet counts for: its cost, 0 for a remnant; sheets without a price count by area.

    Where some sheets have a price and others not, the dearest price by area stands in for the missing ones.
    """
    known = [s.cost / (s.width * s.height) for s in sheets if s.cost is not None and not s.remnant]
    rate = max(known) if known else 1.0
    return tuple(0.0 if s.remnant else (s.cost if s.cost is not None else rate * s.width * s.height) for s in sheets)


def regions_of(
    sheet: Sheet, plan: CutPlan | None = None, kerf: float = 0.0, longest: float = float("inf")
) -> list[Region]:
    """Clean rectangles of a sheet, cut apart along the edges of its bad areas; ``plan`` receives those cuts."""
    plan = plan if plan is not None else CutPlan()
    bads = [(x, y, x + w, y + h) for x, y, w, h in sheet.bad_areas]
    found: list[Region] = []
    _clean(sheet, (0.0, 0.0, sheet.width, sheet.height), bads, plan, kerf, longest, found)
    return found


def square(region: Region, plan: CutPlan, kerf: float, longest: float) -> Rect:
    """Trim the near edges of a region's metal down to its usable part, as far as the cuts are not too long."""
    metal = region.metal
    for along, at in (("x", region.x), ("y", region.y)):
        size = metal[3] - metal[1] if along == "x" else metal[2] - metal[0]
        if size <= longest + EPS:
            metal = trim_low(plan, metal, along, at, kerf, 0, "square the edge, scrap")
    return metal


def _usable(sheet: Sheet, metal: Rect) -> Rect:
    m = sheet.margin
    return (max(metal[0], m), max(metal[1], m), min(metal[2], sheet.width - m), min(metal[3], sheet.height - m))


def _overlaps(a: Rect, b: Rect) -> bool:
    return a[0] < b[2] - EPS and b[0] < a[2] - EPS and a[1] < b[3] - EPS and b[1] < a[3] - EPS


def _clean(
    sheet: Sheet, metal: Rect, bads: list[Rect], plan: CutPlan, kerf: float, longest: float, found: list[Region]
) -> None:
    use = _usable(sheet, metal)
    if use[2] - use[0] <= EPS or use[3] - use[1] <= EPS:
        return
    here = [bad for bad in bads if _overlaps(bad, use)]
    if not here:
        found.append(Region(metal, use[0], use[1], use[2] - use[0], use[3] - use[1]))
        return
    best: tuple[float, str, float, bool] | None = None
    for bad in here:
        for along, at, low in (("x", bad[0], False), ("x", bad[2], True), ("y", bad[1], False), ("y", bad[3], True)):
            i = 0 if along == "x" else 1
            if not use[i] + EPS < at < use[i + 2] - EPS:
                continue
            if metal[3 - i] - metal[1 - i] > longest + EPS:
                continue
            clean = max(
                (
                    (side[2] - side[0]) * (side[3] - side[1])
                    for side in _halves(use, along, at, 0.0, 0.0)
                    if not any(_overlaps(b, side) for b in here)
                ),
                default=0.0,
            )
            if best is None or clean > best[0] + EPS:
                best = (clean, along, at, low)
    if best is None:
        return
    _, along, at, low = best
    before, beyond = _halves(metal, along, at, kerf if low else 0.0, 0.0 if low else kerf)
    line = (at, metal[1], at, metal[3]) if along == "x" else (metal[0], at, metal[2], at)
    gauge = at - (metal[0] if along == "x" else metal[1])
    plan.add(-1.0 + 1e-4 * len(plan.cuts), low, line, gauge, "cut clear of the bad area; keep both for the next cuts")
    for side in (before, beyond):
        _clean(sheet, side, bads, plan, kerf, longest, found)


def _halves(rect: Rect, along: str, at: float, off_low: float, off_high: float) -> tuple[Rect, Rect]:
    x0, y0, x1, y1 = rect
    if along == "x":
        return (x0, y0, max(x0, at - off_low), y1), (min(x1, at + off_high), y0, x1, y1)
    return (x0, y0, x1, max(y0, at - off_low)), (x0, min(y1, at + off_high), x1, y1)
