"""A nest as a view: the sheet with its blanks in place, part marks, grain, margin, cuts with gauges, off-cuts.

At true size for the machine and the screen; to scale, with fewer words, for a sheet of paper (``sheet_views``).
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from flatgen.core.outline import moved, rectangle
from flatgen.core.points import move
from flatgen.core.words import Units
from flatgen.core.words import counted as counted_words
from flatgen.draw.nest_marks import counted, fitted, part_letters, piece_marks, pieces_of
from flatgen.draw.view import grain_arrow, hole_layer
from flatgen.model.blank import Blank
from flatgen.model.plan import Cut, Nest, Placement
from flatgen.page.drawing import Box, Circle, Contour, Drawing, Item, Line, Text, extents
from flatgen.page.layers import used
from flatgen.page.place import placed
from flatgen.page.room import Room
from flatgen.units import format_length

FINE = {"outline": "formed", "opening": "formed", "hole": "formed"}
OTHER_WAY = {"up": "down", "down": "up"}


def nest_drawing(nest: Nest, blanks: Mapping[str, Blank], units: Units) -> Drawing:
    """The sheet at true size; blanks by part id."""
    sheet = nest.sheet
    letter = max(3.0, min(12.0, 0.012 * max(sheet.width, sheet.height)))
    items = nest_view(nest, blanks, units, 1.0, letter)
    items += _heading(nest, units, letter, letters_used(nest, items))
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


def nest_view(
    nest: Nest,
    blanks: Mapping[str, Blank],
    units: str,
    scale: float,
    letter: float,
    within: Box | None = None,
) -> list[Item]:
    """Sheet and blanks to scale, its low corner at 0, 0; ``letter`` is the height of the larger letters on the page.

    within : where only a part of the sheet will be seen, that part: names of off-cuts and bad areas stand there, blanks
        are drawn in narrow lines, and there are no marks of parts and numbers of cuts
    """
    sheet = nest.sheet
    true: list[Item] = [Contour("sheet", rectangle(0.0, 0.0, sheet.width, sheet.height))]
    m = sheet.margin
    if m > 0:
        true.append(Contour("margin", rectangle(m, m, sheet.width - 2.0 * m, sheet.height - 2.0 * m)))
    true += [Contour("margin", rectangle(*area)) for area in sheet.bad_areas]
    for placement in nest.placements:
        true += _placed_blank(placement, blanks[placement.part], within is not None)
    true += [Line("cut", cut.start, cut.end) for cut in nest.cuts]
    true += [Contour("offcut", rectangle(o.x, o.y, o.width, o.height)) for o in nest.offcuts]
    items = placed(true, scale, (0.0, 0.0))
    room = Room(items)

    a, b, c, d = within or (0.0, 0.0, sheet.width, sheet.height)

    def scaled(x: float, y: float, width: float, height: float) -> Box:
        seen = (max(x, a), max(y, b), max(x, a, min(x + width, c)), max(y, b, min(y + height, d)))
        return (seen[0] * scale, seen[1] * scale, seen[2] * scale, seen[3] * scale)

    for area in sheet.bad_areas:
        items += fitted("margin", ("not usable",), scaled(*area), (letter, 0.5 * letter), room)
    for o in nest.offcuts:
        size = f"{format_length(o.width, units)} × {format_length(o.height, units, unit=True)}"
        box = scaled(o.x, o.y, o.width, o.height)
        # of one that is seen in part the name is enough; its size stands in the view of the whole sheet
        whole = (box[2] - box[0]) * (box[3] - box[1]) > 0.5 * o.width * o.height * scale**2
        name = f"off-cut {o.id}"
        words, least = ((f"{name}  {size}", name, o.id), 0.4) if whole else ((name, o.id), 0.6)
        items += fitted("offcut", words, box, (letter, least * letter), room)
    if within is not None:
        return items
    for cut in nest.cuts:
        items += _cut_mark(cut, units, scale, letter, room)
    shapes = {part: (blank.outline, blank.cutouts) for part, blank in blanks.items()}
    motions = [placement.motion for placement in nest.placements]
    return items + piece_marks(pieces_of(nest, shapes, motions, scale), letter, room)


def letters_used(nest: Nest, items: Iterable[Item]) -> dict[str, str]:
    """The parts that stand under their letter somewhere in a view."""
    words = {item.text.split(" ")[0].rstrip("*") for item in items if isinstance(item, Text) and item.layer == "mark"}
    return {part: letter for part, letter in part_letters(nest).items() if letter in words}


def _placed_blank(placement: Placement, blank: Blank, fine: bool) -> list[Item]:
    if fine:
        return [
            replace(item, layer=FINE.get(item.layer, item.layer)) for item in _placed_blank(placement, blank, False)
        ]
    motion = placement.motion
    round_holes = {hole.cutout for hole in blank.holes}
    items: list[Item] = [Contour("outline", moved(blank.outline, motion))]
    items += [Contour("opening", moved(c, motion)) for k, c in enumerate(blank.cutouts) if k not in round_holes]
    items += [Circle(hole_layer(hole), move(motion, hole.center), hole.diameter) for hole in blank.holes]
    for bend in blank.bends:
        # seen from the other side a bend up is a bend down
        direction = OTHER_WAY[bend.direction] if placement.mirrored else bend.direction
        start, end = (move(motion, p) for p in bend.centerline)
        items.append(Line(f"bend-{direction}", start, end))
    return items


def _cut_mark(cut: Cut, units: str, scale: float, letter: float, room: Room) -> list[Item]:
    """Order and gauge of a cut beside its line, where both or at least the order find room."""
    start, end = (cut.start[0] * scale, cut.start[1] * scale), (cut.end[0] * scale, cut.end[1] * scale)
    upright = abs(end[0] - start[0]) < abs(end[1] - start[1])
    low, high = sorted((start, end))
    for text in (f"{cut.order}: {format_length(cut.gauge, units)}", str(cut.order)):
        for height in (0.6 * letter, 0.45 * letter, 0.32 * letter):
            choices = []
            for share in (0.03, 0.5, 0.25, 0.75, 0.12, 0.88):
                x, y = low[0] + (high[0] - low[0]) * share, low[1] + (high[1] - low[1]) * share
                for side in (0.35, -1.35):
                    if upright:
                        choices.append(Text("cut", (x - side * height, y), text, height, "left", 90.0))
                    else:
                        choices.append(Text("cut", (x, y + side * height), text, height))
            found = room.settle(choices, 0.1 * height)
            if found:
                return [found]
    return []


def _heading(nest: Nest, units: str, letter: float, letters: Mapping[str, str]) -> list[Item]:
    sheet = nest.sheet
    lines = heading_lines(nest, units, letters)
    items: list[Item] = []
    arrow = max(20.0, 6.0 * letter)
    y = sheet.height + 0.7 * letter
    for k, text in enumerate(reversed(lines)):
        items.append(Text("note", (arrow + letter, y + k * 1.7 * letter), text, letter, bold=k == len(lines) - 1))
    return items + grain_arrow((arrow / 2.0, y + 2.6 * letter), sheet.grain, arrow, letter * 0.7)


def heading_lines(nest: Nest, units: str, letters: Mapping[str, str] | None = None) -> tuple[str, str, str]:
    """What sheet it is, how it is cut, what is on it; ``letters`` that stand for a part's mark before its name."""
    said = {part: f"{letter}: {part}" for part, letter in (letters or {}).items()}
    sheet = nest.sheet
    size = f"{format_length(sheet.width, units)} × {format_length(sheet.height, units, unit=True)}"
    kind = "remnant" if sheet.remnant else "sheet"
    share = f"{100.0 * nest.utilisation:.1f} % of the {kind} used"
    pieces = ", ".join(f"{said.get(part, part)} × {count}" for part, count in counted(nest).items())
    return (
        f"{sheet.id}  {nest.material}  T {format_length(nest.thickness, units, unit=True)}  {size}",
        f"{nest.method}, tool: {nest.tool}, {counted_words(len(nest.placements), 'piece')}, {share}",
        pieces,
    )
