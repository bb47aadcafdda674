"""A nest at true size: the sheet with its blanks in place, part marks, grain, margin, cuts with gauges, off-cuts."""

from collections.abc import Mapping
from typing import Literal

from flatgen.core.outline import bounds, moved, rectangle
from flatgen.core.points import MIRROR_X, STILL, Motion, Point, after, move, shifted, turned
from flatgen.draw.layers import used
from flatgen.draw.view import grain_arrow
from flatgen.model.blank import Blank
from flatgen.model.drawing import Circle, Contour, Drawing, Item, Line, Text
from flatgen.model.lettering import extents, text_width
from flatgen.model.plan import Cut, Nest, Placement
from flatgen.units import format_length

LARGEST = 18.0  # part marks at true size [mm]
SMALLEST = 2.0


def placement_motion(placement: Placement) -> Motion:
    """Motion that carries a blank to its place on the sheet."""
    first = MIRROR_X if placement.mirrored else STILL
    return after(shifted(placement.x, placement.y), after(turned(placement.rotation), first))


def nest_drawing(nest: Nest, blanks: Mapping[str, Blank], units: Literal["in", "mm"]) -> Drawing:
    """The sheet at true size; blanks by part id."""
    sheet = nest.sheet
    letter = max(3.0, min(12.0, 0.012 * max(sheet.width, sheet.height)))
    items: list[Item] = [Contour("sheet", rectangle(0.0, 0.0, sheet.width, sheet.height))]
    m = sheet.margin
    if m > 0:
        items.append(Contour("margin", rectangle(m, m, sheet.width - 2.0 * m, sheet.height - 2.0 * m)))
    for x, y, w, h in sheet.bad_areas:
        items.append(Contour("margin", rectangle(x, y, w, h)))
        items += _fitted("margin", "not usable", (x, y, x + w, y + h), letter)
    for placement in nest.placements:
        items += _placed_blank(placement, blanks[placement.part])
    for cut in nest.cuts:
        items.append(Line("cut", cut.start, cut.end))
    items += _cut_marks(nest, units, letter)
    for offcut in nest.offcuts:
        box = (offcut.x, offcut.y, offcut.x + offcut.width, offcut.y + offcut.height)
        items.append(Contour("offcut", rectangle(offcut.x, offcut.y, offcut.width, offcut.height)))
        size = f"{format_length(offcut.width, units)} × {format_length(offcut.height, units, unit=True)}"
        items += _fitted("offcut", f"{offcut.id}  {size}", box, letter)
    items += _heading(nest, units, letter)
    x0, y0, x1, y1 = extents(items)
    edge = letter
    return Drawing(
        title=f"Nest {sheet.id}",
        size=(x1 - x0 + 2.0 * edge, y1 - y0 + 2.0 * edge),
        items=tuple(items),
        layers=used(items),
        units=units,
        origin=(x0 - edge, y0 - edge),
        description=f"{nest.material}, {format_length(nest.thickness, units, unit=True)}, {nest.method}",
        properties=(("sheet", sheet.id), ("material", nest.material), ("method", nest.method)),
    )


def _placed_blank(placement: Placement, blank: Blank) -> list[Item]:
    motion = placement_motion(placement)
    outline = moved(blank.outline, motion)
    round_holes = {hole.cutout for hole in blank.holes}
    items: list[Item] = [Contour("outline", outline)]
    items += [Contour("opening", moved(c, motion)) for k, c in enumerate(blank.cutouts) if k not in round_holes]
    items += [Circle("hole", move(motion, hole.center), hole.diameter) for hole in blank.holes]
    for bend in blank.bends:
        # seen from the other side a bend up is a bend down
        direction = bend.direction if not placement.mirrored else {"up": "down", "down": "up"}[bend.direction]
        start, end = (move(motion, p) for p in bend.centerline)
        items.append(Line(f"bend-{direction}", start, end))
    mark = f"{placement.part}-{placement.copy}" + (" (turned over)" if placement.mirrored else "")
    return items + _fitted("mark", mark, bounds([outline]), LARGEST)


def _fitted(layer: str, text: str, box: tuple[float, float, float, float], largest: float) -> list[Item]:
    """Text in the middle of a box, along its longer side, as large as fits; nothing where it would be too small."""
    x0, y0, x1, y1 = box
    long, short = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
    height = min(largest, 0.25 * short, 0.8 * long / text_width(text, 1.0))
    if height < SMALLEST:
        return []
    upright = y1 - y0 > x1 - x0
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    at = (middle[0] + 0.4 * height, middle[1]) if upright else (middle[0], middle[1] - 0.4 * height)
    return [Text(layer, at, text, height, "middle", 90.0 if upright else 0.0)]


def _cut_marks(nest: Nest, units: str, letter: float) -> list[Item]:
    """Order and gauge of each cut, at the end of its line, outside the sheet where the line reaches the edge."""
    items: list[Item] = []
    for cut in nest.cuts:
        items += _cut_mark(cut, units, letter)
    return items


def _cut_mark(cut: Cut, units: str, letter: float) -> list[Item]:
    upright = abs(cut.end[0] - cut.start[0]) < abs(cut.end[1] - cut.start[1])
    text = f"{cut.order}: {format_length(cut.gauge, units)}"
    span = max(abs(cut.end[0] - cut.start[0]), abs(cut.end[1] - cut.start[1]))
    height = max(SMALLEST, min(letter * 0.6, 0.5 * span / text_width(text, 1.0)))
    low: Point = min(cut.start, cut.end)
    if upright:
        return [Text("cut", (low[0] - 0.3 * height, low[1] + height), text, height, angle=90.0)]
    return [Text("cut", (low[0] + height, low[1] + 0.3 * height), text, height)]


def _heading(nest: Nest, units: str, letter: float) -> list[Item]:
    sheet = nest.sheet
    size = f"{format_length(sheet.width, units)} × {format_length(sheet.height, units, unit=True)}"
    head = f"{sheet.id}  {nest.material}  T {format_length(nest.thickness, units, unit=True)}  {size}"
    counted: dict[str, int] = {}
    for placement in nest.placements:
        counted[placement.part] = counted.get(placement.part, 0) + 1
    pieces = ", ".join(f"{part} × {count}" for part, count in counted.items())
    kind = "remnant" if sheet.remnant else "sheet"
    share = f"{100.0 * nest.utilisation:.1f} % of the {kind} used"
    lines = (head, f"{nest.method} with {nest.tool}, {len(nest.placements)} pieces, {share}", pieces)
    items: list[Item] = []
    arrow = max(20.0, 6.0 * letter)
    y = sheet.height + 0.7 * letter
    for k, text in enumerate(reversed(lines)):
        items.append(Text("note", (arrow + letter, y + k * 1.7 * letter), text, letter, bold=k == len(lines) - 1))
    items += grain_arrow((arrow / 2.0, y + 2.6 * letter), sheet.grain, arrow)
    items.append(Text("grain", (arrow / 2.0, y), "GRAIN", letter * 0.7, "middle"))
    return items
