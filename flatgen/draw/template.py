"""A full-size paper template of one blank: edges, prick marks, bends with sight lines, and what must be known of it.

Coordinates are the blank's, its datum corner at 0, 0. Lengths mm.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from flatgen.core.points import Point, along, distance, dot, sub, unit
from flatgen.core.words import Units
from flatgen.develop.datum import datum_note
from flatgen.develop.develop import mirrored
from flatgen.draw.card_view import grain_on_metal
from flatgen.draw.datum import datum_items
from flatgen.draw.flat_view import beside_hole, face_names
from flatgen.draw.view import (
    Clamped,
    bend_items,
    clamped_faces,
    cut_items,
    grain_arrow,
    sight_line,
    told_apart,
    toward_clamped,
)
from flatgen.draw.words import LINE_NOTE, part_head, short_bend_note
from flatgen.model.blank import BendLine, Blank, BlankHole, ReliefHole
from flatgen.model.part import Part
from flatgen.page.drawing import Box, Circle, Item, Line, Text, extents
from flatgen.page.items import arrow
from flatgen.page.lettering import text_width
from flatgen.page.room import Room
from flatgen.page.table import wrapped
from flatgen.units import format_length

HEIGHT = 2.5
PRICK = 1.0  # diameter of the ring round the point to prick through
LONG_PAPER = 203.2  # paper parts longer than 8 in are to be checked after gluing (common practice)
LEAST_CAPTION = 75.0
MOST_CAPTION = 120.0
MARGIN = 4.0
MOST_MARK = 90.0  # length of a part's name on it, so that it stays on one tile


@dataclass(frozen=True, slots=True)
class Template:
    """What goes onto paper for one blank, the box that it takes, and what is said of it, set where there is room."""

    part: str
    items: tuple[Item, ...]
    box: Box
    caption: tuple[Item, ...] = ()


def turned_over(blank: Blank) -> Blank:
    """The blank as seen from its lower side: mirrored, up and down exchanged."""
    other = {"up": "down", "down": "up"}
    flipped = mirrored(blank)
    return replace(flipped, bends=tuple(replace(b, direction=other[b.direction]) for b in flipped.bends))


def template(
    part: Part, blank: Blank, units: Units, *, mirror: bool = False, clamped: Clamped | None = None
) -> Template:
    """The template of a blank; mirrored it is glued to the lower side."""
    faces = clamped_faces(part, blank, clamped)
    shown = turned_over(blank) if mirror else blank
    edges: list[Item] = [replace(item, layer="template") for item in cut_items(shown)]
    items = [*edges, *_bends(shown, faces), *datum_items(blank, 1.0, mirrored=mirror)]
    room = Room(items)
    for hole in shown.drilled:
        items += _prick(hole)
    for item in items[len(edges) :]:
        room.take(item)
    for hole in shown.drilled:
        items += _drill(hole, units, room)
    for bend in shown.bends:
        items += _bend_text(shown, bend, faces[bend.id], units, room)
    items += _inside_mark(part, shown, mirror, room)
    items += face_names(shown, 1.0, room)
    x0, y0, x1, y1 = extents(items)
    box = (x0 - MARGIN, y0 - MARGIN, x1 + MARGIN, y1 + MARGIN)
    return Template(part.id, tuple(items), box, tuple(_caption(part, shown, faces, units, mirror)))


def _bends(blank: Blank, faces: Mapping[str, str]) -> list[Item]:
    """Tangents, the sight line to work by and an arrow to the side that is clamped; the middle as ticks only."""
    items: list[Item] = []
    for bend, middle in zip(blank.bends, bend_items(blank), strict=True):
        assert isinstance(middle, Line)
        items += [Line("tangent", *tangent) for tangent in bend.tangents]
        start, end = sight_line(bend, faces[bend.id])
        items.append(Line("sight", start, end))
        u = unit(sub(end, start))
        tick = min(5.0, distance(start, end) / 5.0)
        items.append(Line(middle.layer, middle.start, along(middle.start, u, tick)))
        items.append(Line(middle.layer, along(middle.end, u, -tick * _same(middle, u)), middle.end))
        way = toward_clamped(bend, faces[bend.id])
        for share in (0.12, 0.88):
            foot = along(start, u, distance(start, end) * share)
            tip = along(foot, way, 7.0)
            items += [Line("sight", foot, tip), arrow("sight", tip, way, 2.0)]
    return told_apart(items)


def _same(line: Line, u: Point) -> float:
    return 1.0 if dot(sub(line.end, line.start), u) > 0 else -1.0


def _prick(hole: BlankHole | ReliefHole) -> list[Item]:
    """Cross with an open centre, and a small ring round the point to prick through."""
    x, y = hole.center
    reach = max(3.0, hole.diameter / 2.0 + 1.5)
    items: list[Item] = [Circle("centre", hole.center, PRICK)]
    for dx, dy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        items.append(Line("note", (x + dx * PRICK / 2, y + dy * PRICK / 2), (x + dx * reach, y + dy * reach)))
    return items


def _drill(hole: BlankHole | ReliefHole, units: str, room: Room) -> list[Item]:
    text = f"{hole.number}: {hole.label or format_length(hole.diameter, units)}"
    if hole.after_bending:
        text += " AFTER BENDING"
    r = max(hole.diameter / 2.0, 2.2)
    found = room.settle(beside_hole(hole.center, r, text, 2.0, (0.3, 2.0, 4.0), 0.7), 0.2)
    return [found] if found else []


def _bend_text(blank: Blank, bend: BendLine, face: str, units: str, room: Room) -> list[Item]:
    """The bend's note along its line, on the side that is clamped or the other, where there is room."""
    (x0, y0), (x1, y1) = bend.centerline
    level = abs(x1 - x0) >= abs(y1 - y0)
    angle = 0.0 if level else 90.0
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    way = toward_clamped(bend, face)
    along_line = unit(sub((x1, y1), (x0, y0)))
    items: list[Item] = []
    for text, size in (
        (f"{short_bend_note(bend, units)}, clamp {face}", 2.5),
        (f"{bend.id} {bend.direction.upper()}", 2.5),
    ):
        choices = []
        for off in (9.0, -9.0, 12.0, -12.0, 16.0, -16.0, 21.0, -21.0):
            for run in (0.0, 8.0, -8.0, 16.0, -16.0):
                spot = along(along(middle, way, off), along_line, run)
                spot = (spot[0], spot[1] - size / 2.0) if level else (spot[0] + size / 2.0, spot[1])
                choices.append(Text("note", spot, text, size, "middle", angle, True))
        found = room.settle([c for c in choices if _inside(c, bend, level, blank)], 0.3)
        if found:
            return [found]
    return items


def _inside(text: Text, bend: BendLine, level: bool, blank: Blank) -> bool:
    k = 0 if level else 1
    box = text.box()
    low, high = sorted(p[k] for p in bend.centerline)
    within = 0.0 < box[0] and 0.0 < box[1] and box[2] < blank.width and box[3] < blank.height
    return within and low < box[k] and box[k + 2] < high


def _inside_mark(part: Part, blank: Blank, mirror: bool, room: Room) -> list[Item]:
    """Part mark and grain arrow on the template itself, where they find room."""
    items: list[Item] = []
    mark = f"{part.name}{' MIRRORED' if mirror else ''}"
    w, h = blank.width, blank.height
    spots = [(w * i / 12.0, h * j / 16.0) for j in (8, 12, 4, 14, 2, 10, 6, 15, 1) for i in (6, 4, 8, 3, 9, 2, 10)]
    sizes = [size for size in (5.0, 3.5, 2.5, 2.0) if size == 2.0 or text_width(mark, size, True) <= MOST_MARK]
    ways = [(size, angle) for size in sizes for angle in (0.0, 90.0)]
    for size, angle in ways:
        choices = [Text("mark", spot, mark, size, "middle", angle, True) for spot in spots]
        found = room.settle((one for one in choices if _holds(blank, one.box())), 0.6)
        if found:
            items.append(found)
            break
    return items + grain_on_metal(blank, 1.0, room)


def _holds(blank: Blank, box: Box) -> bool:
    return 0.0 < box[0] and 0.0 < box[1] and box[2] < blank.width and box[3] < blank.height


def _caption(part: Part, blank: Blank, faces: Mapping[str, str], units: str, mirror: bool) -> list[Item]:
    width = min(MOST_CAPTION, max(LEAST_CAPTION, blank.width))
    side = "MIRRORED: glue to the lower side" if mirror else "THIS SIDE UP: glue to the upper side"
    material = f"{part.material.name}, T {format_length(blank.thickness, units, unit=True)}, {part.quantity} off"
    revision = f", revision {part.revision}" if part.revision else ""
    drawing = f", drawing {part.drawing}" if part.drawing else ""
    size = f"{format_length(blank.width, units)} × {format_length(blank.height, units, unit=True)}"
    texts = [f"{material}{drawing}{revision}. {side}."]
    texts += [f"{short_bend_note(bend, units)}, sight line for {faces[bend.id]} clamped." for bend in blank.bends]
    texts.append(
        f"Must measure {size} over all. {LINE_NOTE} Bend and sight lines are marked with a pen, never scribed."
    )
    texts += filter(None, [datum_note(turned_over(blank) if mirror else blank)])
    if max(blank.width, blank.height) > LONG_PAPER:
        texts.append("Longer than 8 in: paper swells with damp. Check the glued-up size, or lay out from the card.")
    items: list[Item] = []
    y = -6.5
    arrow_room = 0.0
    if blank.grain is not None:
        items += grain_arrow((8.0, y - 6.0), blank.grain, 14.0, 2.2)
        arrow_room = 19.0
    lines = [(line, True) for line in wrapped(part_head(part), width - arrow_room, 3.0, True)]
    lines += [(line, False) for text in texts for line in wrapped(text, width - arrow_room, 2.2)]
    for text, bold in lines:
        items.append(Text("note", (arrow_room, y), text, 3.0 if bold else 2.2, bold=bold))
        y -= 3.9
    return items
