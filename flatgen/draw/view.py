"""The blank itself as drawn at true size, upper side to the reader: contours, bends, sight lines, hole centres.

Coordinates are the blank's; nothing here is lettered. Lengths mm.
"""

import math
from collections.abc import Iterable, Mapping

from flatgen.core.points import Point, along, distance, dot, left, sub, unit
from flatgen.model.blank import BendLine, Blank, BlankHole
from flatgen.model.blank import Line as Chord
from flatgen.model.part import Part
from flatgen.page.drawing import Circle, Contour, Item, Line, Text
from flatgen.page.items import arrow

Clamped = Mapping[str, str]  # bend id -> id of the face that lies under the nose
SAME_LINE = 0.25  # two sight lines nearer than this are one to a marker pen [mm]
TICK = 4.0
APART = 0.7  # lines that print nearer cannot be told apart [mm]
BENDS = ("bend-up", "bend-down", "tangent")


def cut_items(blank: Blank) -> list[Item]:
    """What is cut: outline, openings, round holes, those for after bending on a layer of their own; each curve once."""
    round_holes = {hole.cutout for hole in blank.holes}
    items: list[Item] = [Contour("outline", blank.outline)]
    items += [Contour("opening", c) for k, c in enumerate(blank.cutouts) if k not in round_holes]
    items += [Circle(hole_layer(hole), hole.center, hole.diameter) for hole in blank.holes]
    return items


def hole_layer(hole: BlankHole) -> str:
    """The layer of a hole: one that is drilled after bending is never cut into the flat."""
    return "hole-after-bending" if hole.after_bending else "hole"


def bend_items(blank: Blank) -> list[Item]:
    """Middles of the bends, up and down on layers of their own."""
    return [Line(f"bend-{bend.direction}", *bend.centerline) for bend in blank.bends]


def clamped_faces(part: Part, blank: Blank, clamped: Clamped | None = None) -> dict[str, str]:
    """Face under the nose for each bend: as planned, else the one that lies on another part, else the parent."""
    faces = {}
    for bend in blank.bends:
        planned = (clamped or {}).get(bend.id)
        mates = bend.child in part.mating and bend.parent not in part.mating
        faces[bend.id] = planned or (bend.child if mates else bend.parent)
    return faces


def sight_line(bend: BendLine, clamped: str) -> Chord:
    """The sight line for the side that is clamped."""
    return bend.sight_lines[1 if clamped == bend.child else 0]


def other_sight_line(bend: BendLine, clamped: str) -> Chord | None:
    """The sight line for the other side clamped, where it can be told from the first one."""
    line, other = sight_line(bend, clamped), sight_line(bend, bend.parent if clamped == bend.child else bend.child)
    return other if distance(line[0], other[0]) > SAME_LINE else None


def toward_clamped(bend: BendLine, clamped: str) -> Point:
    """Unit direction from a bend to the face that is clamped, square to the bend."""
    a, b = bend.tangents[0], bend.tangents[1]
    across = left(unit(sub(a[1], a[0])))
    to_parent = dot(sub(a[0], b[0]), across) > 0
    way = across if to_parent else (-across[0], -across[1])
    return way if clamped == bend.parent else (-way[0], -way[1])


def layout_items(blank: Blank, faces: Mapping[str, str]) -> list[Item]:
    """Tangent lines, the sight line of the clamped side full length, the other side's as ticks at its ends."""
    items: list[Item] = []
    for bend in blank.bends:
        items += [Line("tangent", *tangent) for tangent in bend.tangents]
        items.append(Line("sight", *sight_line(bend, faces[bend.id])))
        other = other_sight_line(bend, faces[bend.id])
        if other:
            span = distance(*other)
            way = unit(sub(other[1], other[0]))
            tick = min(TICK, span / 4.0)
            items.append(Line("sight", other[0], along(other[0], way, tick)))
            items.append(Line("sight", along(other[1], way, -tick), other[1]))
    return items


def told_apart(items: Iterable[Item], scale: float = 1.0) -> list[Item]:
    """Items without lines of bends that would print nearer to a sight line than the two can be told apart."""
    listed = list(items)
    sights = [item for item in listed if isinstance(item, Line) and item.layer == "sight"]
    return [
        item
        for item in listed
        if not isinstance(item, Line) or item.layer not in BENDS or not any(_near(item, one, scale) for one in sights)
    ]


def _near(line: Line, sight: Line, scale: float) -> bool:
    """Whether a line runs beside a sight line, hardly off it."""
    way, long = unit(sub(sight.end, sight.start)), distance(sight.start, sight.end)
    ends = [sub(p, sight.start) for p in (line.start, line.end)]
    along_it = sorted(dot(end, way) for end in ends)
    off = max(abs(dot(end, left(way))) for end in ends)
    return off * scale < APART and along_it[1] > 0.0 and along_it[0] < long


def center_items(blank: Blank, beyond: float = 1.0, least: float = 2.0) -> list[Item]:
    """Cross at each hole and each relief's hole, passing its edge a little [mm]."""
    items: list[Item] = []
    for hole in blank.drilled:
        arm = max(least, hole.diameter / 2.0 + beyond)
        x, y = hole.center
        items.append(Line("centre", (x - arm, y), (x + arm, y)))
        items.append(Line("centre", (x, y - arm), (x, y + arm)))
    return items


def grain_arrow(center: Point, angle: float, size: float, height: float = 2.0, *, beside: bool = False) -> list[Item]:
    """A two-headed arrow along the rolling direction [deg] with its word along it, or level to the right of it."""
    way = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    back = (-way[0], -way[1])
    a, b = along(center, way, -size / 2.0), along(center, way, size / 2.0)
    if beside:
        at = (max(a[0], b[0]) + 0.6 * height, center[1] - height / 2.0)
        word = Text("grain", at, "GRAIN", height, "left", 0.0, True)
    else:
        turned = 90.0 - (90.0 - angle) % 180.0  # read from the foot or from the right
        at = along(center, (-math.sin(math.radians(turned)), math.cos(math.radians(turned))), 0.5 * height)
        word = Text("grain", at, "GRAIN", height, "middle", turned, True)
    return [Line("grain", a, b), arrow("grain", a, back, size / 6.0), arrow("grain", b, way, size / 6.0), word]
