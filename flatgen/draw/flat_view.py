"""The blank as a view on a sheet: to scale, ordinates from the datum corner, overall sizes, bend notes, hole numbers.

Paper millimetres, the blank's datum corner at 0, 0. Ordinates of holes stand above and to the left, those of edges and
bends below and to the right, so that the two never share a row; texts in a row are spread until none touches another.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from flatgen.core.outline import Outline, bounds, contains, segments
from flatgen.core.points import Point, sub
from flatgen.draw.datum import datum_items
from flatgen.draw.view import bend_items, center_items, cut_items, layout_items, sight_line, told_apart
from flatgen.draw.words import short_bend_note
from flatgen.model.blank import BendLine, Blank, BlankHole, ReliefHole
from flatgen.page.drawing import Anchor, Box, Item, LinearDimension, OrdinateDimension, Text, extents
from flatgen.page.items import ABOVE
from flatgen.page.lettering import text_width
from flatgen.page.place import placed, spread
from flatgen.page.room import ANYWHERE, Room
from flatgen.units import format_length

HEIGHT = 2.5
PITCH = 3.6  # of texts in a row of ordinates
OFF = 10.0  # from the blank's edge to the texts
SAME = 0.005  # ordinates nearer than this are one [mm]
Side = Literal["left", "right", "below", "above"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of text in a row of ordinates; without ``size`` it is a note that only belongs near a place."""

    place: float  # along the row, in blank coordinates
    size: float | None
    text: str
    label: str = ""  # what the size belongs to, written after it


def flat_view(
    blank: Blank, faces: Mapping[str, str], scale: float, units: str, *, hole_ordinates: bool = True
) -> list[Item]:
    """The view; ``faces`` names the clamped face for each bend."""
    true = cut_items(blank) + told_apart(layout_items(blank, faces) + bend_items(blank), scale)
    true += center_items(blank, beyond=0.8 / scale, least=1.2 / scale)
    items = placed(true, scale, (0.0, 0.0))
    room = Room(items)
    rows: dict[Side, list[Entry]] = {
        "below": _merged(edge_entries(blank, 0, units), _bend_entries(blank, faces, 0, units)),
        "right": _merged(edge_entries(blank, 1, units), _bend_entries(blank, faces, 1, units)),
        "above": hole_entries(blank, 0, units) if hole_ordinates else [],
        "left": hole_entries(blank, 1, units) if hole_ordinates else [],
    }
    middles = {
        side: spread([e.place * scale for e in entries], [PITCH] * len(entries)) for side, entries in rows.items()
    }
    for side, entries in rows.items():
        items += ordinate_row(side, entries, middles[side], row_off(side, rows, middles, blank, scale), blank, scale)
    items += overall(blank, scale, units, items)
    marks = {"A": [e.place for e in rows["below"]], "B": [e.place for e in rows["left"]]}
    for item in datum_items(blank, scale, marks):
        items.append(item)
        room.take(item)
    for hole in blank.drilled:
        items += hole_number(hole, scale, room)
    for letter, cutout in blank.openings:
        items += opening_letter(letter, cutout, scale, room)
    items += face_names(blank, scale, room)
    return items


def unique(values: Iterable[float]) -> list[float]:
    """Values in order, those that are one to the eye once."""
    out: list[float] = []
    for value in sorted(values):
        if not out or value - out[-1] > SAME:
            out.append(value)
    return out


def edge_entries(blank: Blank, axis: int, units: str) -> list[Entry]:
    """Edges square to an axis and sharp corners; the places where a rounded corner begins are left to its radius."""
    values = [0.0, blank.width if axis == 0 else blank.height]
    runs = list(segments(blank.outline))
    for k, (p, q, bulge) in enumerate(runs):
        if bulge == 0.0 and abs(q[axis] - p[axis]) < 1e-6:
            values.append(p[axis])
        if bulge == 0.0 and runs[k - 1][2] == 0.0:
            values.append(p[axis])
    return [Entry(v, v, format_length(v, units)) for v in unique(values)]


def hole_entries(blank: Blank, axis: int, units: str) -> list[Entry]:
    """Centres of all that is drilled."""
    return [Entry(v, v, format_length(v, units)) for v in unique(hole.center[axis] for hole in blank.drilled)]


def _merged(edges: list[Entry], bends: list[Entry]) -> list[Entry]:
    """Edges and bends in one row; an edge that lies on a tangent is given once."""
    sizes = [entry.place for entry in bends if entry.size is not None]
    return [e for e in edges if not any(abs(e.place - size) <= 0.02 for size in sizes)] + bends


def is_level(line: tuple[Point, Point], axis: int) -> bool:
    """Whether a line runs square to an axis, 0: x, 1: y."""
    return abs(sub(line[1], line[0])[axis]) < 1e-6


def _bend_entries(blank: Blank, faces: Mapping[str, str], axis: int, units: str) -> list[Entry]:
    """Tangents, sight line and note of each bend that runs square to an axis; a skew bend has its note to the right.

    Bends in one line, made alike, share their rows.
    """
    alike: dict[tuple[float | str, ...], list[BendLine]] = {}
    entries = []
    for bend in blank.bends:
        if is_level(bend.centerline, axis):
            low, high = sorted(tangent[0][axis] for tangent in bend.tangents)
            sight = sight_line(bend, faces[bend.id])[0][axis]
            note = short_bend_note(bend, units).removeprefix(bend.id)
            places = (round(low, 4), round(sight, 4), round(high, 4))
            alike.setdefault((*places, note), []).append(bend)
        elif axis == 1 and not is_level(bend.centerline, 0):
            entries.append(_skew_note(bend, faces[bend.id], units))
    for key, bends in alike.items():
        low, sight, high = (float(place) for place in key[:3])
        names = ", ".join(bend.id for bend in bends)
        clamped = {faces[bend.id] for bend in bends}
        clamp = f"clamp {clamped.pop()}" if len(clamped) == 1 else "clamp: see BENDS"
        lines = ((low, "tangent"), (sight, f"sight line, {clamp}"), (high, "tangent"))
        entries += [Entry(v, v, format_length(v, units), f"{names} {what}") for v, what in lines]
        entries.append(Entry(high + 0.01, None, f"{names}{key[3]}"))
    return entries


def _skew_note(bend: BendLine, face: str, units: str) -> Entry:
    ends = [", ".join(format_length(v, units) for v in p) for p in sight_line(bend, face)]
    text = f"{short_bend_note(bend, units)} (skew: sight line from {ends[0]} to {ends[1]})"
    return Entry(max(p[1] for p in bend.centerline), None, text)


def row_off(
    side: Side, rows: Mapping[Side, list[Entry]], middles: Mapping[Side, list[float]], blank: Blank, scale: float
) -> float:
    """How far a row stands off the blank: long rows jog further, so that their lines stay apart.

    A row below or above that is longer than the blank passes beyond the ends of the columns beside it.
    """
    shift = max((abs(m - e.place * scale) for m, e in zip(middles[side], rows[side], strict=True)), default=0.0)
    off = OFF + min(12.0, 0.25 * shift)
    if side in ("left", "right") or not middles[side]:
        return off
    clear = OFF - PITCH
    columns: list[float] = []
    if max(middles[side]) > blank.width * scale + clear:
        columns += middles["right"]
    if min(middles[side]) < -clear:
        columns += middles["left"]
    beyond = [m - blank.height * scale if side == "above" else -m for m in columns]
    return max(off, max(beyond, default=0.0) + PITCH)


def ordinate_row(
    side: Side, entries: list[Entry], middles: list[float], off: float, blank: Blank, scale: float
) -> list[Item]:
    """A row of ordinates beside the view, each with a line to where it belongs; ``middles`` are the texts' places."""
    axis: Literal["x", "y"] = "x" if side in ("below", "above") else "y"
    edge = {"left": 0.0, "below": 0.0, "right": blank.width * scale, "above": blank.height * scale}[side]
    out = edge + off if side in ("right", "above") else edge - off
    items: list[Item] = []
    for entry, middle in zip(entries, middles, strict=True):
        feature = (entry.place * scale, edge) if axis == "x" else (edge, entry.place * scale)
        end = (middle, out) if axis == "x" else (out, middle)
        if entry.size is not None:
            items.append(OrdinateDimension("dimension", feature, end, axis, (0.0, 0.0), entry.text, HEIGHT))
            if entry.label:
                after = ABOVE + text_width(entry.text, HEIGHT) + 2.5
                items.append(_note_beside(side, end, entry.label, after, bold=False))
        else:
            items.append(_note_beside(side, end, entry.text, ABOVE, bold=True))
    return items


def _note_beside(side: Side, end: Point, text: str, away: float, *, bold: bool) -> Text:
    anchor: Anchor = "left" if side in ("right", "above") else "right"
    x, y = end
    if side in ("below", "above"):
        at, angle = (x + 0.5 * HEIGHT, y + (away if side == "above" else -away)), 90.0
    else:
        at, angle = (x + (away if side == "right" else -away), y - 0.5 * HEIGHT), 0.0
    return Text("note", at, text, HEIGHT, anchor, angle, bold)


def overall(blank: Blank, scale: float, units: str, items: list[Item]) -> list[Item]:
    """The blank's two overall sizes, beyond what is drawn already."""
    x0, y0, _, _ = extents(items)
    width, height = blank.width * scale, blank.height * scale
    return [
        LinearDimension(
            "dimension",
            (0.0, y0),
            (width, y0),
            (0.0, y0 - 5.0),
            0.0,
            f"{format_length(blank.width, units)} overall",
            HEIGHT,
        ),
        LinearDimension(
            "dimension",
            (x0, 0.0),
            (x0, height),
            (x0 - 5.0, 0.0),
            90.0,
            f"{format_length(blank.height, units)} overall",
            HEIGHT,
        ),
    ]


def hole_number(hole: BlankHole | ReliefHole, scale: float, room: Room) -> list[Item]:
    """The number beside its hole, where it touches nothing; else it follows from the order of numbering."""
    r, center = hole.diameter / 2.0 * scale, (hole.center[0] * scale, hole.center[1] * scale)
    found = room.settle(beside_hole(center, 0.3 if r > 6.0 else r, str(hole.number), 2.0, (0.5, 1.5), 1.2), 0.15)
    return [found] if found else []


def beside_hole(
    center: Point, radius: float, text: str, height: float, offs: Iterable[float], level: float
) -> list[Text]:
    """Places for a text about a hole, so far off its edge: at its corners first, then level with it, over and under."""
    choices = []
    for away in (radius + off for off in offs):
        near, far = 0.8 * away, away + level
        spots: tuple[tuple[float, float, Anchor], ...] = (
            (near, near, "left"),
            (-near, near, "right"),
            (near, -near - height, "left"),
            (-near, -near - height, "right"),
            (far, -height / 2.0, "left"),
            (-far, -height / 2.0, "right"),
            (0.0, far, "middle"),
            (0.0, -far - height, "middle"),
        )
        choices += [Text("note", (center[0] + dx, center[1] + dy), text, height, anchor) for dx, dy, anchor in spots]
    return choices


def opening_letter(letter: str, cutout: Outline, scale: float, room: Room) -> list[Item]:
    """The letter of an opening inside it, or beside it where it is small."""
    x0, y0, x1, y1 = (v * scale for v in bounds([cutout]))
    x, y, height = (x0 + x1) / 2.0, (y0 + y1) / 2.0, 2.5
    spots = [(x, y), (x, y1 + 3.0), (x, y0 - 3.0), (x1 + 2.5, y), (x0 - 2.5, y)]
    choices = [Text("note", (cx, cy - height / 2.0), letter, height, "middle", bold=True) for cx, cy in spots]
    found = room.settle(choices, 0.2)
    return [found] if found else []


def face_names(blank: Blank, scale: float, room: Room) -> list[Item]:
    """Name of each flat on it, along it where it is narrow, else beside it with a leader."""
    items: list[Item] = []
    for face in blank.faces:
        outline = tuple((x * scale, y * scale, bulge) for x, y, bulge in face.outline)
        items += name_on(outline, face.id, room)
    return items


def name_on(
    outline: Outline, name: str, room: Room, within: Box = ANYWHERE, over: Sequence[Outline] = ()
) -> list[Item]:
    """A name on an outline of the page where it finds room, else with a leader; ``over``: what lies on top of it."""
    found = named_on(outline, name, room)
    if found or not name:
        return found
    spots = [p for p in _spots(outline) if contains(outline, p) and not any(contains(one, p) for one in over)]
    clear_first = sorted(spots, key=lambda p: not room.free((*p, *p), 0.4))
    led = (room.led(p, name, 2.0, within) for p in clear_first[:6])
    return next(filter(None, led), [])


def named_on(outline: Outline, name: str, room: Room) -> list[Item]:
    """A name on an outline of the page, level or upright, where it finds room."""
    box = bounds([outline])
    for height in (2.5, 2.0):
        level = [Text("mark", (x, y - height / 2.0), name, height, "middle") for x, y in _spots(outline)]
        upright = [Text("mark", (x + height / 2.0, y), name, height, "middle", 90.0) for x, y in _spots(outline)]
        found = room.settle((one for one in (*level, *upright) if _in(one.box(), box)), 0.6)
        if found:
            return [found]
    return []


def _spots(outline: Outline) -> list[Point]:
    """Places on an outline, from its middle out."""
    x0, y0, x1, y1 = bounds([outline])
    cx, cy, w, h = (x0 + x1) / 2.0, (y0 + y1) / 2.0, (x1 - x0) / 8.0, (y1 - y0) / 8.0
    return [(cx + i * w, cy + j * h) for j in (0, 1, -1, 2, -2, 3, -3) for i in (0, 1, -1, 2, -2, 3, -3)]


def _in(box: Box, other: Box) -> bool:
    return other[0] < box[0] and other[1] < box[1] and box[2] < other[2] and box[3] < other[3]
