"""Pictures of one part beside the fields that describe it: its flat and its sections, letters and faults on them.

Paper millimetres about the blank's datum corner, to ``Flat.scale``.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flatgen.core.points import Point, add, along, left, move, scale, sub, unit
from flatgen.develop.drawn import drawn_outlines
from flatgen.draw.datum import datum_items
from flatgen.draw.faults import fault_items
from flatgen.draw.flat_view import (
    PITCH,
    Entry,
    Side,
    edge_entries,
    face_names,
    hole_entries,
    hole_number,
    is_level,
    opening_letter,
    ordinate_row,
    overall,
    row_off,
)
from flatgen.draw.section import best_scale, section_view, section_words, sections
from flatgen.draw.view import bend_items, center_items, cut_items
from flatgen.draw.words import bend_words
from flatgen.model.blank import Blank, FlatFace
from flatgen.model.finding import Finding
from flatgen.model.part import Part
from flatgen.page.drawing import Drawing, Item, Line, Text
from flatgen.page.items import arrow
from flatgen.page.place import framed, placed, spread
from flatgen.page.room import Room

LARGE = 130.0  # of the flat's longer side on the picture
SMALL = 48.0  # where it is one of many
SECTION, SMALL_SECTION = 70.0, 24.0
HEIGHT = 3.5  # of a letter
EDGE = 3.0  # round a picture: a screen's letters may be wider than paper's


@dataclass(frozen=True, slots=True)
class Letter:
    """A size by its letter: along x or y of a face, its bend's ``angle``, or its ``corner``."""

    letter: str
    face: str
    way: str


@dataclass(frozen=True, slots=True)
class Flat:
    """The picture of the flat, and where its faces and their edges lie on it, for choosing one by pointing at it."""

    drawing: Drawing
    scale: float
    faces: tuple[tuple[str, tuple[Point, ...]], ...]
    edges: tuple[tuple[str, str, Point, Point], ...]  # face, edge, its ends


def flat_picture(
    part: Part,
    blank: Blank,
    units: str,
    letters: Iterable[Letter],
    faults: Sequence[Sequence[Finding]],
    *,
    plain: bool = False,
) -> Flat:
    """The flat with ordinates, the letters of its sizes, and what is wrong where it is wrong, numbered by its cause.

    plain : without figures, to choose a profile by
    """
    size = (SMALL if plain else LARGE) / max(blank.width, blank.height)
    items = _bare(blank, size) if plain else _flat(blank, size, units)
    room = Room(items)
    for one in letters:
        items += _letter_items(one, blank, size, room)
    items += fault_items(faults, blank, size, room)
    faces = tuple((face.id, tuple(scale(v[:2], size) for v in face.outline)) for face in blank.faces)
    return Flat(framed(items, "in" if units == "in" else "mm", EDGE), size, faces, tuple(_edges(part, blank, size)))


def _bare(blank: Blank, size: float) -> list[Item]:
    items = placed(cut_items(blank) + bend_items(blank), size, (0.0, 0.0))
    return items + face_names(blank, size, Room(items))


def _flat(blank: Blank, size: float, units: str) -> list[Item]:
    """The blank with its bends, no lines of the brake: ordinates of edges below and right, of holes above and left."""
    items = placed(cut_items(blank) + bend_items(blank), size, (0.0, 0.0))
    items += placed(center_items(blank, beyond=0.8 / size, least=1.2 / size), size, (0.0, 0.0))
    room = Room(items)
    rows: dict[Side, list[Entry]] = {
        "below": edge_entries(blank, 0, units) + _bends(blank, 0, units),
        "right": edge_entries(blank, 1, units) + _bends(blank, 1, units),
        "above": hole_entries(blank, 0, units),
        "left": hole_entries(blank, 1, units),
    }
    middles = {side: spread([e.place * size for e in row], [PITCH] * len(row)) for side, row in rows.items()}
    for side, entries in rows.items():
        items += ordinate_row(side, entries, middles[side], row_off(side, rows, middles, blank, size), blank, size)
    items += overall(blank, size, units, items)
    items += datum_items(blank, size, {"A": [e.place for e in rows["below"]], "B": [e.place for e in rows["left"]]})
    for hole in blank.drilled:
        items += hole_number(hole, size, room)
    for letter, cutout in blank.openings:
        items += opening_letter(letter, cutout, size, room)
    return items + face_names(blank, size, room)


def _bends(blank: Blank, axis: int, units: str) -> list[Entry]:
    """A note level with each bend that runs square to an axis; one that runs askew has its note to the right."""
    notes: dict[tuple[float, str], list[str]] = {}
    for bend in blank.bends:
        if is_level(bend.centerline, axis) or (axis == 1 and not is_level(bend.centerline, 0)):
            text = bend_words(bend, units).removeprefix(bend.id)
            notes.setdefault((round(max(p[axis] for p in bend.centerline), 3), text), []).append(bend.id)
    return [Entry(place, None, f"{', '.join(ids)}{text}") for (place, text), ids in notes.items()]


def section_pictures(
    blank: Blank, units: str, letters: Iterable[Letter], *, plain: bool = False
) -> tuple[tuple[Drawing, str], ...]:
    """Every section, letters before the sizes and angles that they stand for, with what it is square to."""
    wide = SMALL_SECTION if plain else SECTION
    known = {(one.face, one.way): one.letter for one in letters}
    found = []
    for section in sections(blank):
        items = section_view(section, best_scale(section, wide, wide), units, known)
        found.append((framed(items, "in" if units == "in" else "mm", EDGE), section_words(section, units)))
    return tuple(found)


def _edges(part: Part, blank: Blank, size: float) -> Iterable[tuple[str, str, Point, Point]]:
    for name, (outline, names) in drawn_outlines(part).items():
        motion = blank.face(name).motion
        ends = [scale(move(motion, v[:2]), size) for v in outline]
        for k, edge in enumerate(names):
            yield name, edge, ends[k], ends[(k + 1) % len(ends)]


def _letter_items(one: Letter, blank: Blank, size: float, room: Room) -> list[Item]:
    """A line with arrows across the face and the letter on it, or the letter at a corner or beside a bend."""
    face = blank.face(one.face)
    if one.way == "angle":
        bend = next((b for b in blank.bends if b.child == one.face), None)
        return _beside(one.letter, [scale(p, size) for p in bend.centerline], room) if bend else []
    if one.way == "corner":
        round_ = [v for v in face.outline if v[2]] or face.outline
        return _beside(one.letter, [scale(v[:2], size) for v in round_], room)
    way = unit(sub(move(face.motion, (1.0, 0.0) if one.way == "x" else (0.0, 1.0)), move(face.motion, (0.0, 0.0))))
    return _measure(one.letter, face, way, size, room)


def _measure(letter: str, face: FlatFace, way: Point, size: float, room: Room) -> list[Item]:
    """The line where the letter finds room; without room the letter lies over what is there."""
    side = left(way)
    runs = [v[0] * way[0] + v[1] * way[1] for v in face.outline]
    offs = [v[0] * side[0] + v[1] * side[1] for v in face.outline]
    low, high = min(runs) * size, max(runs) * size
    first: list[Item] = []
    for share in (0.3, 0.7, 0.2, 0.8, 0.4, 0.6, 0.12, 0.88):
        off = (min(offs) + share * (max(offs) - min(offs))) * size
        at = add(scale(way, low), scale(side, off))
        for part in (0.5, 0.35, 0.65, 0.25, 0.75):
            spot = along(at, way, part * (high - low))
            text = Text("dimension", (spot[0], spot[1] - HEIGHT / 2.0), letter, HEIGHT, "middle", bold=True)
            end = add(scale(way, high), scale(side, off))
            items = _arrows(at, end, spot, way, text)
            first = first or items
            if room.free(text.box(), 0.5):
                for item in items:
                    room.take(item)
                return items
    return first


def _arrows(start: Point, end: Point, spot: Point, way: Point, text: Text) -> list[Item]:
    gap, tip = 0.75 * HEIGHT, min(2.0, 0.2 * math.dist(start, end))
    items: list[Item] = [text]
    for p, out in ((start, scale(way, -1.0)), (end, way)):
        near = along(spot, out, gap)
        if math.dist(p, spot) > gap + tip:
            items.append(Line("dimension", near, p))
        items.append(arrow("dimension", p, out, tip))
    return items


def _beside(letter: str, spots: Sequence[Point], room: Room) -> list[Item]:
    """A letter near one of several places."""
    choices = [
        Text("dimension", (x + dx, y + dy - HEIGHT / 2.0), letter, HEIGHT, "middle", bold=True)
        for away in (3.5, 5.0, 7.0)
        for x, y in reversed(spots)
        for dx, dy in ((away, away), (-away, away), (away, -away), (-away, -away), (away, 0.0), (-away, 0.0))
    ]
    found = room.settle(choices)
    return [found or choices[0]]
