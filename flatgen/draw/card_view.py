"""The blank as a card shows it: datum edges thick, grain on the metal, one line a bend, ordinates from A and B.

The one line of a bend is the corrected sight line, with the way it is bent written on it and an arrow to the side that
lies under the nose. Paper millimetres at the scale of the view, the blank's datum corner at 0, 0.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Literal

from flatgen.core.outline import contains
from flatgen.core.points import along, distance, sub, unit
from flatgen.core.words import Units
from flatgen.develop.datum import datum_edges
from flatgen.draw.datum import datum_items
from flatgen.draw.flat_view import (
    Entry,
    beside_hole,
    edge_entries,
    face_names,
    is_level,
    opening_letter,
    ordinate_row,
    row_off,
)
from flatgen.draw.view import center_items, cut_items, grain_arrow, sight_line, toward_clamped
from flatgen.model.blank import BendLine, Blank, BlankHole, ReliefHole
from flatgen.page.drawing import Box, Drawing, Item, Line, Text, extents
from flatgen.page.items import arrow
from flatgen.page.layers import used
from flatgen.page.place import placed, spread
from flatgen.page.room import Room
from flatgen.units import format_length

FIGURE, LABEL, LEAST = 2.5, 3.0, 2.0
PITCH = 3.8
SAME = 0.02  # an edge and a line nearer than this are given once [mm]
ARROW = 7.0
BORDER = 1.0

Named = Callable[[float, Literal["x", "y"]], str]  # how an ordinate is written


def card_view(
    blank: Blank, faces: Mapping[str, str], units: Units, scale: float, named: Named | None = None
) -> Drawing:
    """The view; ``faces`` names the clamped face of each bend, ``named`` writes ordinates otherwise than as figures."""
    write: Named = named or (lambda value, axis: format_length(value, units))
    metal = placed([*cut_items(blank), *_datum_lines(blank)], scale, (0.0, 0.0))
    room = Room(metal)
    items: list[Item] = [*metal]

    def add(found: Iterable[Item]) -> None:
        for item in found:
            items.append(item)
            room.take(item)

    for bend in blank.bends:
        add(_sight(bend, faces[bend.id], scale))
    add(placed(center_items(blank, beyond=0.8 / scale, least=1.5 / scale), scale, (0.0, 0.0)))
    add(ordinates(blank, faces, scale, write))
    for bend in blank.bends:
        add(_bend_name(bend, faces[bend.id], scale, room))
    for hole in blank.drilled:
        add(_number(hole, scale, room))
    for letter, cutout in blank.openings:
        items += opening_letter(letter, cutout, scale, room)
    items += grain_on_metal(blank, scale, room)
    items += face_names(blank, scale, room)
    x0, y0, x1, y1 = extents(items)
    size = (x1 - x0 + 2.0 * BORDER, y1 - y0 + 2.0 * BORDER)
    return Drawing(
        f"{blank.part} blank", size, tuple(items), used(items), units, scale, origin=(x0 - BORDER, y0 - BORDER)
    )


def _datum_lines(blank: Blank) -> list[Item]:
    """The datum edges that are there."""
    return [Line("datum-edge", *piece) for edge in datum_edges(blank) if edge.exists for piece in edge.pieces]


def _sight(bend: BendLine, face: str, scale: float) -> list[Item]:
    """The line to work by, and arrows from it to the side that is clamped."""
    start, end = ((x * scale, y * scale) for x, y in sight_line(bend, face))
    items: list[Item] = [Line("sight", start, end)]
    u, way = unit(sub(end, start)), toward_clamped(bend, face)
    long = distance(start, end)
    reach = max(3.0, min(ARROW, long / 3.0))
    for share in (0.1, 0.9) if long > 30.0 else (0.25,):
        foot = along(start, u, long * share)
        tip = along(foot, way, reach)
        items += [Line("sight", foot, tip), arrow("sight", tip, way, 2.0)]
    return items


def _bend_name(bend: BendLine, face: str, scale: float, room: Room) -> list[Item]:
    """Name and way of a bend along its line, on the side that is free or the other."""
    start, end = ((x * scale, y * scale) for x, y in sight_line(bend, face))
    u = unit(sub(end, start))
    angle = math.degrees(math.atan2(u[1], u[0]))
    if not -89.0 < angle <= 91.0:
        u, angle = (-u[0], -u[1]), angle - math.copysign(180.0, angle)
    left_of = (-u[1], u[0])
    middle, long = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0), distance(start, end)
    text = f"{bend.id} {bend.direction.upper()}"
    choices = []
    for height in (LABEL, FIGURE):
        offs = [way * off - (height if way < 0 else 0.0) for off in (1.5, 3.0, 5.0, 8.0) for way in (1.0, -1.0)]
        for off in offs:
            for run in _runs(long):
                spot = along(along(middle, u, run), left_of, off)
                choices.append(Text("note", spot, text, height, "middle", angle, True))
    return _settled(choices, room)


def _runs(long: float) -> list[float]:
    """Places along a line, from its middle out."""
    return [0.0, *(way * k * long / 16.0 for k in range(1, 8) for way in (1.0, -1.0))]


def _settled(choices: Sequence[Text], room: Room, gap: float = 0.4) -> list[Item]:
    """The first text that touches nothing, else the first that lies over no other."""
    for lines in (True, False):
        for one in choices:
            if room.free(one.box(), gap if lines else 0.2, lines=lines):
                return [one]
    return []


def _number(hole: BlankHole | ReliefHole, scale: float, room: Room) -> list[Item]:
    """A hole's number beside it or, where the hole is large, in it."""
    r, center = hole.diameter / 2.0 * scale, (hole.center[0] * scale, hole.center[1] * scale)
    r = 0.4 if r > 6.0 else max(r, 1.5)
    sizes = [beside_hole(center, r, str(hole.number), high, (0.5, 1.5, 3.0), 0.7) for high in (FIGURE, LEAST)]
    return _settled([one for choices in sizes for one in choices], room, 0.2)


def grain_on_metal(blank: Blank, scale: float, room: Room) -> list[Item]:
    """The grain's arrow with its word on the metal, as large as finds room; of a tiny blank above it."""
    if blank.grain is None:
        return []
    width, height = blank.width * scale, blank.height * scale
    spots = [
        (width * i / 16.0, height * j / 16.0)
        for j in (8, 10, 6, 12, 4, 14, 2, 15, 1)
        for i in (8, 10, 6, 12, 4, 14, 2, 15, 1)
    ]
    found = (
        grain_arrow((x, y), blank.grain, size, letter, beside=beside)
        for lines in (True, False)
        for letter, size in ((FIGURE, 22.0), (FIGURE, 15.0), (FIGURE, 10.0), (LEAST, 10.0), (LEAST, 7.0), (LEAST, 5.0))
        for beside in (False, True)
        for x0, y0, x1, y1 in (extents(grain_arrow((0.0, 0.0), blank.grain, size, letter, beside=beside)),)
        for x, y in spots
        if room.free(box := (x + x0, y + y0, x + x1, y + y1), 0.5, lines=lines) and _on_metal(blank, box, scale)
    )
    marks = next(found, None) or grain_arrow((8.0, height + 8.0), blank.grain, 7.0, LEAST, beside=True)
    for item in marks:
        room.take(item)
    return marks


def _on_metal(blank: Blank, box: Box, scale: float) -> bool:
    corners = ((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3]))
    points = [(x / scale, y / scale) for x, y in corners]
    return all(contains(blank.outline, p) and not any(contains(c, p) for c in blank.cutouts) for p in points)


def ordinate_rows(blank: Blank, faces: Mapping[str, str], write: Named) -> tuple[list[Entry], list[Entry]]:
    """Edges and sight lines from B, along the foot, and from A, along the right side."""
    return _ordinate_row(blank, faces, 0, "x", write), _ordinate_row(blank, faces, 1, "y", write)


def _ordinate_row(
    blank: Blank, faces: Mapping[str, str], axis: int, name: Literal["x", "y"], write: Named
) -> list[Entry]:
    lines = _lines(blank, faces, axis, name, write)
    edges = [e for e in edge_entries(blank, axis, "mm") if not any(abs(e.place - x.place) <= SAME for x in lines)]
    return sorted([*(Entry(e.place, e.place, write(e.place, name)) for e in edges), *lines], key=_place)


def ordinates(blank: Blank, faces: Mapping[str, str], scale: float, write: Named) -> list[Item]:
    """Edges and sight lines along the foot from B and along the right side from A."""
    items: list[Item] = []
    foot, side = ordinate_rows(blank, faces, write)
    rows: dict[Literal["left", "right", "below", "above"], list[Entry]] = {"below": foot, "right": side}
    rows["above"], rows["left"] = [], []
    middles = {side: spread([e.place * scale for e in row], [PITCH] * len(row)) for side, row in rows.items()}
    for where, row in rows.items():
        items += ordinate_row(where, row, middles[where], row_off(where, rows, middles, blank, scale), blank, scale)
    marks = {"A": [e.place for e in rows["below"]], "B": [0.0]}
    items += datum_items(blank, scale, marks)
    return items


def _place(entry: Entry) -> float:
    return entry.place


def _lines(blank: Blank, faces: Mapping[str, str], axis: int, name: Literal["x", "y"], write: Named) -> list[Entry]:
    """Sight lines square to an axis, those in one line together."""
    found: dict[float, list[str]] = {}
    for bend in blank.bends:
        line = sight_line(bend, faces[bend.id])
        if is_level(line, axis):
            found.setdefault(round(line[0][axis], 4), []).append(bend.id)
    return [Entry(value, value, write(value, name), ", ".join(names)) for value, names in found.items()]
