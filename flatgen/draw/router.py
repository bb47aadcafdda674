"""Router paths for a blank: the middle of the bit runs one bit radius off the edge; hold-down bridges are left uncut.

What the bit cannot reach (inside corners sharper than the bit, slots narrower than it) is reported, never cut away.
Bridges are 6 mm wide, on straight edges clear of corners and bends, two a part at least (common practice, no source).
Lengths mm.
"""

import math
from dataclasses import dataclass
from functools import cache, lru_cache

from flatgen.core import arcs
from flatgen.core.offset import inset, left_uncut, outset
from flatgen.core.outline import Outline, area, contains, distance_to, moved, perimeter, segments
from flatgen.core.points import Motion, Point, along, distance, left, move, sub, unit
from flatgen.core.words import Units, counted
from flatgen.kept import kept
from flatgen.model.blank import Blank, BlankHole, ReliefHole
from flatgen.model.finding import Finding, Severity
from flatgen.model.source import PRACTICE
from flatgen.page.drawing import Circle, Contour, Item, Line
from flatgen.said import joined, said, size, spot
from flatgen.units import format_length

PRACTISED = str(PRACTICE)
# rules of its own, as flatgen/checks/README.md lists them: severity, what they say, source
ROUTER_RULES = {
    "bit-corner": ("note", "The router's bit reaches into every inside corner.", PRACTISED),
    "hold-down": ("warn", "At least two hold-down bridges find a straight edge on a routed blank.", PRACTISED),
}
BRIDGE = 6.0
CLEAR = 3.0
EVERY = 250.0  # a bridge for so much of the outline, two at least [mm]
STEP = 1.0
TOUCHING = 1e-3


@dataclass(frozen=True, slots=True)
class RouterPlan:
    """Paths in cutting order (inside first), bridges as the straight stretches left out, what is left to the drill.

    missed : place on the edge that the bit does not reach, and how much metal stays there [mm]
    """

    closed: tuple[Outline, ...]
    open_runs: tuple[tuple[tuple[float, float, float], ...], ...]
    bridges: tuple[tuple[Point, Point], ...]
    drilled: tuple[tuple[Point, float], ...]
    missed: tuple[tuple[Point, float], ...]


@lru_cache(maxsize=64)
def router_plan(blank: Blank, bit: float, *, bridges: bool = True) -> RouterPlan:
    """Paths of a bit of a diameter round a blank and its openings."""
    radius = bit / 2.0
    closed: list[Outline] = []
    missed: list[tuple[Point, float]] = []
    small = [hole for hole in blank.drilled if not bit_passes(hole, bit) and not hole.after_bending]
    large = [blank.cutouts[hole.cutout] for hole in blank.holes if hole not in small and not hole.after_bending]
    for cutout in (*(outline for _, outline in blank.openings), *large):
        inner = inset(cutout, radius)
        closed += inner
        missed += left_uncut(cutout, inner, radius)
    outer = [curve for curve in outset(blank.outline, radius) if area(curve) > 0]
    missed += left_uncut(blank.outline, outer, radius)
    # a round relief is the drill's: nothing is left of it for the bit to get into
    round_ones = [(h.center, h.diameter / 2.0 + TOUCHING) for h in blank.reliefs if h in small and h.kind == "drilled"]
    missed = [(at, off) for at, off in missed if not any(distance(at, center) < r for center, r in round_ones)]
    runs: list[tuple[tuple[float, float, float], ...]] = []
    gaps: list[tuple[Point, Point]] = []
    for curve in outer:
        places = _bridge_places(blank, curve, bit) if bridges else []
        gaps += places
        if places:
            runs += _split(curve, places)
        else:
            closed.append(curve)
    drilled = tuple((hole.center, hole.diameter) for hole in small)
    return RouterPlan(tuple(closed), tuple(runs), tuple(gaps), drilled, tuple(missed))


def bit_passes(hole: BlankHole | ReliefHole, bit: float) -> bool:
    """Whether a bit [mm] cuts a hole; what is hardly wider than the bit is the drill's."""
    return hole.diameter > bit * 1.05


def missed_words(blank: Blank, bit: float, units: Units) -> str:
    """What the bit leaves in inside corners, nothing where it leaves nothing."""
    missed = kept(router_plan, blank, bit).missed
    if not missed:
        return ""
    most = max(off for _, off in missed)
    stays = (
        f"up to {format_length(most, units, unit=True)} stays"
        if math.isfinite(most)
        else "an opening is too small for it"
    )
    return (
        f"the {format_length(bit, units, unit=True)} bit does not reach {counted(len(missed), 'inside corner')},"
        f" {stays}: file by hand"
    )


def router_findings(part: str, bit: float, plan: RouterPlan) -> tuple[Finding, ...]:
    """What to file by hand, what the bit does not get into at all, and whether too few bridges found room.

    One finding each.
    """
    found = []
    corners = [(at, off) for at, off in plan.missed if math.isfinite(off)]
    closed = [at for at, off in plan.missed if not math.isfinite(off)]
    if corners:
        most = max(off for _, off in corners)
        text = said(
            "the bit of ",
            size(bit),
            f" does not reach {counted(len(corners), 'inside corner')}, up to ",
            size(most),
            " stays, at ",
            joined("; ", (spot(*at) for at, _ in corners)),
        )
        found.append(
            Finding("bit-corner", Severity.NOTE, part, "corners", most, 0.0, text, PRACTISED, todo="file by hand")
        )
    if closed:
        places = joined("; ", (spot(*at) for at in closed))
        count = counted(len(closed), "opening")
        shut = said("the bit of ", size(bit), f" does not get into {count}, at ", places)
        todo = "take a smaller bit, or cut it another way"
        found.append(Finding("bit-corner", Severity.WARN, part, "openings", bit, None, shut, PRACTISED, todo=todo))
    if plan.bridges and len(plan.bridges) < 2 or not plan.bridges and not plan.open_runs:
        few = "fewer than two hold-down bridges find a straight edge clear of corners and bends"
        number, todo = float(len(plan.bridges)), "hold it another way (screws in the waste, tape), and waive this"
        found.append(
            Finding("hold-down", Severity.WARN, part, "outline", number, 2.0, few, PRACTISED, "bridges", todo=todo)
        )
    return tuple(found)


def plan_items(plan: RouterPlan) -> list[Item]:
    """Paths, with a gap at each bridge, and drilled holes."""
    items: list[Item] = [Circle("hole", center, diameter) for center, diameter in plan.drilled]
    items += [Contour("router-path", curve) for curve in plan.closed]
    items += [Contour("router-path", run, closed=False) for run in plan.open_runs]
    return items


def laid(item: Item, motion: Motion) -> Item:
    """A line, circle or contour carried to its place on a sheet, other side up too."""
    if isinstance(item, Circle):
        return Circle(item.layer, move(motion, item.center), item.diameter)
    if isinstance(item, Line):
        return Line(item.layer, move(motion, item.start), move(motion, item.end))
    assert isinstance(item, Contour)
    if item.closed:
        return Contour(item.layer, moved(item.outline, motion))
    flip = motion[0] * motion[3] - motion[1] * motion[2] < 0
    return Contour(
        item.layer, tuple((*move(motion, v[:2]), -v[2] if flip else v[2]) for v in item.outline), closed=False
    )


def _bridge_places(blank: Blank, curve: Outline, bit: float) -> list[tuple[Point, Point]]:
    """Stretches of the path to leave out, spread evenly round it; the tab that stays is BRIDGE wide."""
    gap = BRIDGE + bit
    wanted = max(2, math.ceil(perimeter(blank.outline) / EVERY))
    total = perimeter(curve)
    choices: list[tuple[float, tuple[Point, Point], Point]] = []
    run_on = 0.0
    for p, q, bulge in segments(curve):
        size = arcs.length(p, q, bulge)
        if bulge == 0.0:
            u = unit(sub(q, p))
            room = size - gap - 2.0 * CLEAR
            for k in range(math.floor(room / STEP) + 1 if room >= 0.0 else 0):
                start = CLEAR + k * STEP
                ends = along(p, u, start), along(p, u, start + gap)
                choices.append((run_on + start + gap / 2.0, ends, u))
        run_on += size
    places: list[tuple[Point, Point]] = []
    taken: list[float] = []
    clear = cache(lambda ends, u: _clear(blank, ends, u, bit))
    for k in range(wanted):
        aim = (k + 0.5) * total / wanted
        free = [c for c in choices if all(_round_about(c[0], t, total) > 2.0 * gap for t in taken)]
        nearest = sorted((_round_about(at, aim, total), at, ends, u) for at, ends, u in free)
        best = next(((at, ends) for _, at, ends, u in nearest if clear(ends, u)), None)
        if best is None:
            break
        taken.append(best[0])
        places.append(best[1])
    return places


def _round_about(a: float, b: float, total: float) -> float:
    off = abs(a - b) % total
    return min(off, total - off)


def _clear(blank: Blank, ends: tuple[Point, Point], u: Point, bit: float) -> bool:
    """Whether the tab behind a gap lies on a straight edge clear of every bend strip and every corner of the blank."""
    inward = left(u)
    trim = bit / 2.0
    tab = (along(along(ends[0], u, trim), inward, trim), along(along(ends[1], u, -trim), inward, trim))
    for bend in blank.bends:
        for x in (*tab, ((tab[0][0] + tab[1][0]) / 2.0, (tab[0][1] + tab[1][1]) / 2.0)):
            if contains(bend.outline, x) or distance_to(bend.outline, x) < CLEAR:
                return False
    corners = [v[:2] for v in blank.outline]
    if any(distance(c, x) < CLEAR for c in corners for x in tab):
        return False
    return all(distance_to(blank.outline, x) < 1e-6 for x in tab)


def _split(curve: Outline, gaps: list[tuple[Point, Point]]) -> list[tuple[tuple[float, float, float], ...]]:
    """The path in open runs from the end of one gap to the start of the next."""
    runs: list[list[tuple[float, float, float]]] = [[]]
    for p, q, bulge in segments(curve):
        here = sorted(
            (arcs.share_of(p, q, 0.0, a), arcs.share_of(p, q, 0.0, b), a, b)
            for a, b in gaps
            if bulge == 0.0 and _on(p, q, a) and _on(p, q, b)
        )
        runs[-1].append((*p, bulge))
        for _, _, a, b in here:
            runs[-1].append((*a, 0.0))
            runs.append([(*b, 0.0)])
    runs[-1] += runs.pop(0) if len(runs) > 1 else []
    return [tuple(run) for run in runs]


def _on(p: Point, q: Point, x: Point) -> bool:
    return distance(arcs.nearest_point(p, q, 0.0, x), x) < 1e-6
