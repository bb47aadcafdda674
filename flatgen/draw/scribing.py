"""The scribing table: layout without a printer, every point as x and y from the two datum edges.

Rows can be had as texts alone, for a screen or a list, or as framed sheets with a sketch that shows which corner is
which. Only cut lines and centres are scribed or punched; bend and sight lines are marked with a pen. Lengths mm.
"""

from collections.abc import Callable, Mapping
from typing import Literal

from flatgen.core import arcs
from flatgen.core.outline import Outline, segments
from flatgen.core.points import Point
from flatgen.core.words import Units
from flatgen.develop.datum import datum_note
from flatgen.draw.datum import datum_items
from flatgen.draw.frame import BLOCK_WIDTH, Title, block_height, frame_items, title_items
from flatgen.draw.pack import block, pack_pages
from flatgen.draw.view import Clamped, bend_items, clamped_faces, cut_items, sight_line
from flatgen.errors import CannotMake
from flatgen.model.blank import Blank, BlankHole, ReliefHole
from flatgen.model.part import Part
from flatgen.page.drawing import Anchor, Drawing, Item, Text
from flatgen.page.layers import used
from flatgen.page.paper import PAPERS, READING, frame_box
from flatgen.page.place import placed
from flatgen.page.room import Room
from flatgen.page.table import paragraph, table, wrapped
from flatgen.units import format_fraction, format_length

Writing = Literal["decimal", "64ths", "tenths"]
Row = tuple[str, str, str, str]
HEADS = ("Point", "x from B", "y from A", "What")
ROWS = 16  # of one block: short ones fill a page better
SKETCH = 105.0


def writer(writing: Writing, units: str) -> Callable[[float], str]:
    """How the shop writes a length: decimals of the job's unit, 64ths of an inch with the remainder in thousandths, or
    tenths of a millimetre.

    >>> writer("64ths", "in")(95.456858), writer("tenths", "in")(95.456858), writer("decimal", "in")(95.456858)
    ('3 49/64 -.007', '95.5', '3.758')
    """
    if writing == "64ths":
        return format_fraction
    if writing == "tenths":
        return lambda mm: format_length(mm, "mm", places=1)
    return lambda mm: format_length(mm, units)


def scribing_rows(blank: Blank, faces: Mapping[str, str], write: Callable[[float], str]) -> list[tuple[str, list[Row]]]:
    """Rows under headings: corners of the outline in order, holes, openings, bends."""
    groups = [("OUTLINE, corners in order", _curve("", blank.outline, write))]
    holes = [
        (str(hole.number), write(hole.center[0]), write(hole.center[1]), _drilling(hole, write))
        for hole in blank.drilled
    ]
    if holes:
        groups.append(("HOLES, centres", holes))
    for letter, cutout in blank.openings:
        groups.append((f"OPENING {letter}", _curve(letter, cutout, write)))
    bends = []
    for bend in blank.bends:
        lines = [("tangent", bend.tangents[0]), ("tangent", bend.tangents[1])]
        lines.append((f"sight line, clamp {faces[bend.id]}", sight_line(bend, faces[bend.id])))
        for what, ends in lines:
            for point, end in zip(ends, ("from", "to"), strict=True):
                bends.append((bend.id, write(point[0]), write(point[1]), f"{what}, {end}"))
    if bends:
        groups.append(("BENDS, marked with a pen", bends))
    return groups


def _drilling(hole: BlankHole | ReliefHole, write: Callable[[float], str]) -> str:
    """How a hole is marked and drilled; a punch mark near a bend would crack it."""
    ways = "pen mark" if hole.after_bending else "punch"
    return f"{hole.label or write(hole.diameter)}: {ways}, {hole.remark or 'drill'}"


def _curve(letter: str, outline: Outline, write: Callable[[float], str]) -> list[Row]:
    rows = []
    for k, (p, q, bulge) in enumerate(segments(outline)):
        what = "line"
        if abs(bulge) > arcs.STRAIGHT:
            arc = arcs.arc_of(p, q, bulge)
            way = "" if bulge > 0 else " hollow"
            what = f"arc{way} R {write(arc.radius)} about {write(arc.center[0])}, {write(arc.center[1])}"
        name = f"{letter}{k + 1}" if letter else f"C{k + 1}"
        rows.append((name, write(p[0]), write(p[1]), f"{what} to the next"))
    return rows


def scribing_sheets(
    part: Part,
    blank: Blank,
    units: Units,
    *,
    writing: Writing = "decimal",
    owner: str = "",
    clamped: Clamped | None = None,
) -> tuple[Drawing, ...]:
    """The table on framed sheets of the home printer's paper, as many as it takes."""
    write = writer(writing, units)
    groups = scribing_rows(blank, clamped_faces(part, blank, clamped), write)
    blocks = [block(_sketch(blank)), block(_notes(blank, writing, units))]
    for head, rows in groups:
        for k in range(0, len(rows), ROWS):
            blocks.append(
                block(table(head if k == 0 else f"{head}, continued", HEADS, rows[k : k + ROWS], left=(0, 3)))
            )
    sheet = PAPERS[READING[units][0]]
    page = frame_box(sheet)
    title_box = (page[2] - BLOCK_WIDTH, page[1], page[2], page[1] + block_height(0))
    laid = pack_pages(blocks, page, [title_box])
    if laid is None:
        raise CannotMake(f'part "{part.id}": its scribing table does not fit on a sheet')
    drawings = []
    for k, items in enumerate(laid):
        title = Title(
            title=part.handed_title,
            number=part.id,
            owner=owner,
            revision=part.revision,
            document="Scribing table",
            reference=part.drawing,
            sheet=k + 1,
            sheets=len(laid),
        )
        every = [*frame_items(sheet), *title_items(sheet, title, ()), *items]
        size = (sheet.height, sheet.width)
        drawings.append(Drawing(f"{part.id} scribing table", size, tuple(every), used(every), units))
    return tuple(drawings)


def _sketch(blank: Blank) -> list[Item]:
    """The blank, small, with the numbers of its corners and the letters of its openings."""
    scale = min(SKETCH / blank.width, 75.0 / blank.height)
    items = placed([*cut_items(blank), *bend_items(blank)], scale, (0.0, 0.0))
    items += datum_items(blank, scale)
    items.append(Text("datum", (blank.width * scale / 2.0, -9.0), "datum edge A: y = 0", 2.2, "middle"))
    items.append(Text("datum", (-8.0, blank.height * scale / 2.0), "datum edge B: x = 0", 2.2, "middle", 90.0))
    room = Room(items)
    for k, (x, y, _) in enumerate(blank.outline):
        items += _named(f"C{k + 1}", (x * scale, y * scale), room)
    for letter, cutout in blank.openings:
        items += _named(f"{letter}1", (cutout[0][0] * scale, cutout[0][1] * scale), room)
    return items


def _named(text: str, at: Point, room: Room) -> list[Item]:
    x, y = at
    choices = []
    for away in (1.0, 2.5, 4.0):
        spots: tuple[tuple[float, float, Anchor], ...] = (
            (away, away, "left"),
            (-away, away, "right"),
            (-away, -away - 1.8, "right"),
            (away, -away - 1.8, "left"),
        )
        choices += [Text("note", (x + dx, y + dy), text, 1.8, anchor) for dx, dy, anchor in spots]
    found = room.settle(choices, 0.15)
    return [found] if found else []


def _notes(blank: Blank, writing: Writing, units: str) -> list[Item]:
    unit = {"64ths": "64ths of an inch with the rest in thousandths", "tenths": "millimetres"}.get(
        writing, "inches" if units == "in" else "millimetres"
    )
    texts = (
        f"Sizes in {unit}, all from the two datum edges, none from edge to edge.",
        "Scribe only what is cut away. Mark bends, sight lines and part marks with a fine pen; no pencil on aluminium.",
        "Punch lightly, and only where a hole takes the mark away.",
        *filter(None, [datum_note(blank)]),
    )
    lines = [(line, False) for text in texts for line in wrapped(text, 80.0)]
    return paragraph([("HOW TO USE THIS TABLE", True), *lines])
