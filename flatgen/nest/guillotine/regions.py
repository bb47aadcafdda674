"""The clean rectangles of a sheet, and the cuts that clear them of what is spoilt. Lengths in mm."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from flatgen.model.shop import Sheet
from flatgen.nest.guillotine.block import EPS
from flatgen.nest.guillotine.cuts import CutPlan, Rect, halves, trim_low
from flatgen.nest.offcuts import area, worth_keeping

NO_METAL = (0.0, 0.0, 0.0, 0.0)
Edge = tuple[str, float, bool]  # direction, place, whether the bad area lies on the low side
CLEAR = {  # what becomes of the gauged piece and of the other one
    (True, True): "cut clear of the bad area; keep both for the next cuts",
    (True, False): "cut clear of the bad area; keep the gauged piece, the other is scrap",
    (False, True): "cut clear of the bad area; the gauged piece is scrap, keep the other",
}


@dataclass(frozen=True, slots=True)
class Region:
    """A clean rectangle of a sheet: the metal that it is cut from, and the part of it that blanks may use."""

    metal: Rect
    x: float
    y: float
    width: float
    height: float


Wanted = Callable[[int, Region], bool]


def regions_of(
    sheet: Sheet,
    plan: CutPlan,
    longest: float = float("inf"),
    metal: Rect | None = None,
    wanted: Wanted = lambda number, region: True,
) -> list[Region]:
    """Clean rectangles of a sheet, or of so much ``metal`` of it, cut apart along its bad areas by cuts of ``plan``.

    What is narrower than the smallest strip that the tool can hold is no use and is not cut any further. Cuts that only
    free rectangles that are not ``wanted`` (by number) are left out, and these have no metal of their own.
    """
    found: list[Region] = []
    _clean(sheet, metal or (0.0, 0.0, sheet.width, sheet.height), plan, longest, found, wanted)
    return found


def bad_rectangles(sheet: Sheet) -> list[Rect]:
    """The bad areas of a sheet by their corners."""
    return [(x, y, x + w, y + h) for x, y, w, h in sheet.bad_areas]


def clear_rests(plan: CutPlan, bads: list[Rect], longest: float, size: tuple[float, float]) -> None:
    """Cut what is left over and worth keeping clear of bad areas that still lie on it, in a margin say."""
    rests, plan.rests = plan.rests, []
    while rests:
        rest = rests.pop()
        here = [bad for bad in bads if overlaps(bad, rest)]
        if not here:
            plan.rests.append(rest)
            continue
        sides = [
            (halves(rest, along, at)[low], (along, at, low))
            for along, at, low in _edges(rest, rest, here, plan.kerf, longest, plan.smallest)
        ]
        sides = [entry for entry in sides if worth_keeping(entry[0], size)]
        if not sides:
            continue
        side, (along, at, low) = max(sides, key=lambda entry: (round(area(entry[0]), 3), entry[1]))
        plan.cut(99.0 + 1e-4 * len(plan.cuts), low, rest, along, at, CLEAR[not low, low])
        rests.append(side)


def square(region: Region, plan: CutPlan, longest: float) -> Rect:
    """Trim the near edges of a region's metal down to its usable part, as far as the cuts are not too long."""
    metal = region.metal
    for along, at in (("x", region.x), ("y", region.y)):
        size = metal[3] - metal[1] if along == "x" else metal[2] - metal[0]
        if size <= longest + EPS:
            metal = trim_low(plan, metal, along, at, 0, "square the edge, scrap")
    return metal


def part_off(
    plan: CutPlan, metal: Rect, ends: tuple[float, float], along: str, longest: float, size: tuple[float, float]
) -> Rect:
    """Cut off what lies beyond the ends of the strips while it is one piece, if it is the larger off-cut; what is kept.

    ends : right and upper end of all blanks, with the kerf; along : how strips lie, "x" side by side
    """
    i = 1 if along == "x" else 0  # the cut runs along the other axis
    across = "y" if along == "x" else "x"
    at = ends[i] - plan.kerf
    _, rest = halves(metal, across, at, 0.0, plan.kerf)
    _, other = halves(metal, along, ends[1 - i])
    length = metal[3 - i] - metal[1 - i]
    if length > longest + EPS or not worth_keeping(rest, size) or area(rest) <= area(other):
        return metal
    kept, rest = plan.cut(0.5, False, metal, across, at, "what holds the blanks: keep on cutting")
    plan.rests.append(rest)
    return kept


def _usable(sheet: Sheet, metal: Rect) -> Rect:
    m = sheet.margin
    return (max(metal[0], m), max(metal[1], m), min(metal[2], sheet.width - m), min(metal[3], sheet.height - m))


def overlaps(a: Rect, b: Rect) -> bool:
    """Whether two rectangles have metal in common."""
    return a[0] < b[2] - EPS and b[0] < a[2] - EPS and a[1] < b[3] - EPS and b[1] < a[3] - EPS


def _edges(metal: Rect, use: Rect, bads: list[Rect], kerf: float, longest: float, smallest: float) -> Iterator[Edge]:
    """Cuts along the edges of bad areas that the tool can make: one side at least it must be able to hold."""
    for bad in bads:
        for along, at, low in (("x", bad[0], False), ("x", bad[2], True), ("y", bad[1], False), ("y", bad[3], True)):
            i = 0 if along == "x" else 1
            short = metal[3 - i] - metal[1 - i] <= longest + EPS
            held = max(at - metal[i] - kerf * low, metal[i + 2] - at - kerf * (not low)) >= smallest - EPS
            if use[i] + EPS < at < use[i + 2] - EPS and short and held:
                yield along, at, low


def _clean(
    sheet: Sheet,
    metal: Rect,
    plan: CutPlan,
    longest: float,
    found: list[Region],
    wanted: Wanted,
) -> None:
    use, bads, smallest = _usable(sheet, metal), bad_rectangles(sheet), plan.smallest
    if min(use[2] - use[0], use[3] - use[1]) <= max(EPS, smallest - EPS):
        return
    here = [bad for bad in bads if overlaps(bad, use)]
    if not here:
        found.append(Region(metal, use[0], use[1], use[2] - use[0], use[3] - use[1]))
        return
    best: tuple[float, Edge] | None = None
    for edge in _edges(metal, use, here, plan.kerf, longest, smallest):
        clean = max(
            (area(side) for side in halves(use, edge[0], edge[1]) if not any(overlaps(b, side) for b in here)),
            default=0.0,
        )
        if best is None or clean > best[0] + EPS:
            best = (clean, edge)
    if best is None:
        return
    along, at, low = best[1]
    number = len(plan.cuts)
    before, beyond = plan.cut(-1.0 + 1e-4 * number, low, metal, along, at, "")
    useful = []
    first = len(found)
    for side in (before, beyond):
        had = len(found)
        _clean(sheet, side, plan, longest, found, wanted)
        useful.append(any(wanted(k, region) for k, region in enumerate(found[had:], had)))
    if not any(useful):
        del plan.cuts[number:]
        found[first:] = [replace(region, metal=NO_METAL) for region in found[first:]]
        return
    entry = plan.cuts[number]
    plan.cuts[number] = entry._replace(cut=replace(entry.cut, note=CLEAR[useful[0], useful[1]]))
