"""A sheet that was begun: what has come off it after so many cuts, and what is left of it with its true shape.

Cuts of a shear or saw go from edge to edge, in the nest's order; of a tool that follows outlines each piece is a cut.
Lengths mm, a rectangle as x, y, length, width from the sheet's corner.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from flatgen.core.outline import Outline, bounds, moved
from flatgen.model.plan import Cut, Nest, Offcut, Placement
from flatgen.model.shop import CUTTING_METHODS, Sheet

Rect = tuple[float, float, float, float]
NEAR = 0.2  # a cut and an edge nearer than this are one [mm]
REST = "/"  # between the mark of a begun sheet and the number of a piece of it


@dataclass(frozen=True, slots=True)
class Rest:
    """A rectangle of a begun sheet with what is still to be cut from it; of a routed sheet the whole, less ``gone``."""

    rect: Rect
    placements: tuple[Placement, ...]
    cuts: tuple[Cut, ...] = ()
    offcuts: tuple[Offcut, ...] = ()
    gone: tuple[Rect, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetState:
    """A sheet after some cuts: pieces and off-cuts that are off, rectangles of scrap, what is left to cut from."""

    off: tuple[Placement, ...]
    offcuts: tuple[Offcut, ...]
    scrap: tuple[Rect, ...]
    rests: tuple[Rest, ...]


def cutting_order(nest: Nest) -> tuple[Placement, ...]:
    """Pieces of a nest in the order in which a tool that follows outlines cuts them: test bends first, then by part."""
    first = {part: k for k, part in enumerate(dict.fromkeys((*nest.first, *(p.part for p in nest.placements))))}
    return tuple(sorted(nest.placements, key=lambda one: (first[one.part], one.copy)))


def last_cut(nest: Nest) -> int:
    """Number of the last cut of a nest; of outlines the number of pieces; 1 where nothing is to be cut."""
    return max((cut.order for cut in nest.cuts), default=1) if CUTTING_METHODS[nest.method] else len(nest.placements)


def state(nest: Nest, outlines: Mapping[str, Outline], done: int, kerf: float = 0.0) -> SheetState:
    """The sheet of a nest after its cuts up to number ``done``; 0: nothing is cut yet."""
    if not CUTTING_METHODS[nest.method]:
        return _routed(nest, outlines, done)
    if done and not nest.cuts:  # the sheet as it came is the blank
        return SheetState(nest.placements, nest.offcuts, (), ())
    boxes = {id(p): box_of(p, outlines) for p in nest.placements}
    metals: list[Rect] = [(0.0, 0.0, nest.sheet.width, nest.sheet.height)]
    scrap: list[Rect] = []
    for cut in nest.cuts:
        if cut.order > done:
            continue
        axis = _axis(cut)
        metal = min((m for m in metals if _through(m, cut)), key=lambda m: m[2] * m[3])
        metals.remove(metal)
        low, lost, high = _split(metal, axis, cut.start[axis], -kerf if cut.trim else kerf)
        scrap += [r for r in (lost,) if _is_metal(r)]
        metals += [r for r in (low, high) if _is_metal(r)]
    off: list[Placement] = []
    offcuts: list[Offcut] = []
    rests: list[Rest] = []
    later = [cut for cut in nest.cuts if cut.order > done]
    for metal in metals:
        inside = tuple(p for p in nest.placements if _holds(metal, boxes[id(p)]))
        kept = tuple(o for o in nest.offcuts if _holds(metal, (o.x, o.y, o.width, o.height)))
        cuts = tuple(cut for cut in later if _within(metal, cut))
        if cuts or (not done and (inside or kept)):
            rests.append(Rest(metal, inside, cuts, kept))
        elif inside:
            off += inside
        elif kept:
            offcuts += kept
        else:
            scrap.append(metal)
    return SheetState(tuple(off), tuple(offcuts), tuple(scrap), tuple(rests))


def _routed(nest: Nest, outlines: Mapping[str, Outline], done: int) -> SheetState:
    """Pieces come off in the order of the list; what is left is the sheet with the boxes of those pieces gone."""
    order = cutting_order(nest)
    off, still = order[:done], order[done:]
    sheet = (0.0, 0.0, nest.sheet.width, nest.sheet.height)
    if not still and done:
        return SheetState(off, nest.offcuts, (), ())
    gone = tuple(box_of(p, outlines) for p in off)
    return SheetState(off, (), (), (Rest(sheet, still, (), nest.offcuts, gone),))


def box_of(placement: Placement, outlines: Mapping[str, Outline]) -> Rect:
    """The rectangle that a placed blank takes up."""
    x0, y0, x1, y1 = bounds([moved(outlines[placement.part], placement.motion)])
    return x0, y0, x1 - x0, y1 - y0


def _axis(cut: Cut) -> int:
    return 0 if abs(cut.end[0] - cut.start[0]) < abs(cut.end[1] - cut.start[1]) else 1


def _through(metal: Rect, cut: Cut) -> bool:
    k = _axis(cut)
    middle = (cut.start[1 - k] + cut.end[1 - k]) / 2.0
    at = cut.start[k]
    return metal[k] - NEAR < at < metal[k] + metal[k + 2] + NEAR and (
        metal[1 - k] <= middle <= metal[1 - k] + metal[3 - k]
    )


def _within(metal: Rect, cut: Cut) -> bool:
    return _through(metal, cut) and all(
        metal[k] - NEAR < p[k] < metal[k] + metal[k + 2] + NEAR for p in (cut.start, cut.end) for k in (0, 1)
    )


def _split(metal: Rect, axis: int, at: float, kerf: float) -> tuple[Rect, Rect, Rect]:
    """Below the cut, lost in it, beyond it."""
    start, end = metal[axis], metal[axis] + metal[axis + 2]
    a, b = sorted((at, at + kerf))
    a, b = min(max(a, start), end), min(max(b, start), end)
    return _to(metal, axis, start, a), _to(metal, axis, a, b), _to(metal, axis, b, end)


def _to(metal: Rect, axis: int, low: float, high: float) -> Rect:
    x, y, width, height = metal
    return (low, y, high - low, height) if axis == 0 else (x, low, width, high - low)


def _is_metal(rect: Rect) -> bool:
    return min(rect[2], rect[3]) > 1e-6


def _holds(metal: Rect, box: Rect) -> bool:
    """Whether the middle of a box lies on a piece of metal."""
    x, y = box[0] + box[2] / 2.0, box[1] + box[3] / 2.0
    return metal[0] <= x <= metal[0] + metal[2] and metal[1] <= y <= metal[1] + metal[3]


def rest_sheets(mark: str, sheet: Sheet, rests: Iterable[Rest]) -> tuple[Sheet, ...]:
    """What is left of a begun sheet as stock for other pieces, each rectangle with a name of its own."""
    return tuple(
        replace(
            sheet,
            id=f"{mark}{REST}{k}",
            width=rest.rect[2],
            height=rest.rect[3],
            copies=1,
            cost=None,
            remnant=True,
            bad_areas=tuple(_areas(rest, sheet.bad_areas)),
        )
        for k, rest in enumerate(rests, 1)
    )


def _areas(rest: Rest, bad: Iterable[Rect]) -> Iterable[Rect]:
    """What must be kept clear of on a rest, from its own corner."""
    x, y, width, height = rest.rect
    for area in (*bad, *rest.gone):
        x0, y0 = max(area[0], x), max(area[1], y)
        x1, y1 = min(area[0] + area[2], x + width), min(area[1] + area[3], y + height)
        if x1 - x0 > NEAR and y1 - y0 > NEAR:
            yield x0 - x, y0 - y, x1 - x0, y1 - y0


def rest_nests(mark: str, nest: Nest, rests: Iterable[Rest]) -> tuple[Nest, ...]:
    """The same layout on what is left: a nest a rectangle, cuts with the numbers that they had."""
    found = []
    for sheet, rest in zip(rest_sheets(mark, nest.sheet, rests), rests, strict=True):
        x, y = rest.rect[:2]
        placements = tuple(replace(p, x=p.x - x, y=p.y - y) for p in rest.placements)
        cuts = tuple(
            replace(
                cut,
                start=(cut.start[0] - x, cut.start[1] - y),
                end=(cut.end[0] - x, cut.end[1] - y),
            )
            for cut in rest.cuts
        )
        offcuts = tuple(replace(o, x=o.x - x, y=o.y - y) for o in rest.offcuts)
        first = tuple(part for part in nest.first if any(p.part == part for p in placements))
        found.append(replace(nest, sheet=sheet, placements=placements, cuts=cuts, offcuts=offcuts, first=first))
    return tuple(found)
