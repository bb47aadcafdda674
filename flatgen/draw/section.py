"""Cross-sections of the formed part, square to its bends, with mould-line sizes.

A section follows a straight line over the blank: flats keep their lengths, each bend turns about its inside radius. The
size of a leg is its flat plus the setback at each bent end; at angles where the mould lines run away the flat between
tangents is given instead, and said so. Lengths mm, angles deg.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from flatgen.core.outline import Outline, segments
from flatgen.core.points import Point, add, along, cross, distance, dot, left, right, scale, sub, unit
from flatgen.draw.words import radius_note
from flatgen.model.blank import BendLine, Blank
from flatgen.page.drawing import Anchor, Box, Contour, Item, Line, LinearDimension, Text
from flatgen.page.room import Room
from flatgen.units import format_angle, format_length

HEIGHT, SMALL = 2.5, 2.0
LEVEL = 1e-6
RUNS_AWAY = 150.0  # from this angle on a leg is sized to its tangent line [deg]


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight of the section: its ends on the upper face, its direction, mould-line and inside size."""

    start: Point
    end: Point
    outside: float
    inside: float
    kind: str  # mould | tangent | tapered: a mould-line size that holds at this section only
    low_start: Point
    low_end: Point


@dataclass(frozen=True, slots=True)
class Section:
    """The profile, both faces closed into one outline; legs; bends with the middle of each arc.

    way, place : the section is square to this direction of the blank, so far along it [mm]
    """

    outline: Outline
    legs: tuple[Leg, ...]
    bends: tuple[tuple[BendLine, Point, Point], ...]  # bend, middle of its strip, unit direction to the outside
    way: Point = (1.0, 0.0)
    place: float = 0.0


def directions(blank: Blank) -> list[tuple[Point, tuple[BendLine, ...]]]:
    """Distinct directions of the bends with the bends that run that way."""
    groups: list[tuple[Point, list[BendLine]]] = []
    for bend in blank.bends:
        u = unit(sub(bend.centerline[1], bend.centerline[0]))
        for way, bends in groups:
            if abs(cross(way, u)) < 1e-6:
                bends.append(bend)
                break
        else:
            groups.append((u if (u[0], u[1]) > (-u[0], -u[1]) else (-u[0], -u[1]), [bend]))
    return [(way, tuple(bends)) for way, bends in groups]


def sections(blank: Blank) -> list[Section]:
    """A section for each direction of bends, along lines that between them cross every bend."""
    out = []
    for way, bends in directions(blank):
        rest = list(bends)
        while rest:
            place = _best_place(way, rest)
            crossed = [b for b in bends if _span(way, b)[0] - 1e-6 < place < _span(way, b)[1] + 1e-6]
            out.append(_section(blank, way, place, crossed))
            rest = [b for b in rest if b not in crossed]
    return out


def section_words(section: Section, units: str) -> str:
    """What a section is square to, and where it is cut when a size holds only there."""
    names = ", ".join(sorted((bend.id for bend, _, _ in section.bends), key=lambda name: (len(name), name)))
    text = f"square to {names}"
    if not any(leg.kind == "tapered" for leg in section.legs):
        return text
    for letter, along_it in (("B", section.way[0]), ("A", section.way[1])):
        if abs(along_it) > 1.0 - LEVEL:
            return f"{text}; here: {format_length(section.place * along_it, units, unit=True)} from {letter}"
    bend = section.bends[0][0]
    low, high = _span(section.way, bend)
    return f"{text}; here: {100.0 * (section.place - low) / (high - low):.0f} % along {bend.id}"


def _span(way: Point, bend: BendLine) -> tuple[float, float]:
    values = sorted(dot(p, way) for p in bend.centerline)
    return values[0], values[1]


def _best_place(way: Point, bends: list[BendLine]) -> float:
    """Where a line square to the bends crosses most of them."""
    ends = sorted(v for bend in bends for v in _span(way, bend))
    middles = [(a + b) / 2.0 for a, b in zip(ends, ends[1:], strict=False) if b - a > 1e-6]
    return max(middles, key=lambda m: sum(_span(way, b)[0] < m < _span(way, b)[1] for b in bends))


def _section(blank: Blank, way: Point, place: float, bends: list[BendLine]) -> Section:
    across = left(way)  # the section is walked this way over the blank
    ordered = sorted(bends, key=lambda bend: dot(bend.centerline[0], across))
    strips = [sorted(dot(tangent[0], across) for tangent in bend.tangents) for bend in ordered]
    low, high = _ends(blank, way, across, place, strips[0][0], strips[-1][1])
    marks = [low, *(v for strip in strips for v in strip), high]
    flats = [marks[k + 1] - marks[k] for k in range(0, len(marks), 2)]
    low2, high2 = _ends(blank, way, across, place + 0.5, strips[0][0], strips[-1][1])
    tapered = [abs(low - low2) > 1e-6, *[False] * (len(ordered) - 1), abs(high - high2) > 1e-6]
    longest = max(range(len(flats)), key=lambda k: flats[k])
    # the longest leg lies level, its upper side up
    turned = math.fsum(b.signed_angle for b in ordered[:longest])
    section = walk(flats, ordered, blank.thickness, -turned)
    legs = (replace(leg, kind="tapered" if t else leg.kind) for leg, t in zip(section.legs, tapered, strict=True))
    return replace(section, legs=tuple(legs), way=way, place=place)


def _ends(blank: Blank, way: Point, across: Point, place: float, first: float, last: float) -> tuple[float, float]:
    """Where the line leaves the metal below its first bend and above its last."""
    meets = []
    for p, q, _ in segments(blank.outline):
        a, b = dot(p, way) - place, dot(q, way) - place
        if (a <= 0.0) != (b <= 0.0):
            meets.append(dot(along(p, sub(q, p), a / (a - b)), across))
    below, above = [m for m in meets if m < first + 1e-6], [m for m in meets if m > last - 1e-6]
    return max(below, default=first), min(above, default=last)


def walk(flats: list[float], bends: list[BendLine], thickness: float, heading: float = 0.0) -> Section:
    """Section from the flats and the bends between them, in order, setting out along a heading [deg]; the upper face
    lies to the left of the walk."""
    here, heading = (0.0, 0.0), math.radians(heading)
    upper: list[tuple[float, float, float]] = []
    lower: list[tuple[float, float, float]] = []
    legs: list[Leg] = []
    marks: list[tuple[BendLine, Point, Point]] = []
    for k, flat in enumerate(flats):
        u = (math.cos(heading), math.sin(heading))
        down = right(u)
        end = along(here, u, flat)
        legs.append(_leg(here, end, down, thickness, flat, bends[k - 1 : k] if k else [], bends[k : k + 1]))
        upper.append((*here, 0.0))
        lower.append((*along(here, down, thickness), 0.0))
        here = end
        if k == len(bends):
            break
        bend = bends[k]
        r, angle = bend.bent.inside_radius, math.radians(bend.angle)
        up = bend.direction == "up"
        to_center = left(u) if up else down
        center = along(here, to_center, r if up else r + thickness)
        turn = angle if up else -angle
        bulge = math.tan(turn / 4.0)
        # the inner face of a hem that is closed has no arc
        if r > 0.0 or not up:
            upper.append((*here, bulge))
        if r > 0.0 or up:
            lower.append((*along(here, down, thickness), bulge))
        middle_way = _turned(scale(to_center, -1.0), turn / 2.0)
        marks.append((bend, along(center, middle_way, r + thickness / 2.0), middle_way))
        here = add(center, _turned(sub(here, center), turn))
        heading += turn
    upper.append((*here, 0.0))
    lower.append((*along(here, right((math.cos(heading), math.sin(heading))), thickness), 0.0))
    back = [(lower[i][0], lower[i][1], -lower[i - 1][2] if i else 0.0) for i in range(len(lower) - 1, -1, -1)]
    return Section((*upper, *back), tuple(legs), tuple(marks))


def _turned(v: Point, angle: float) -> Point:
    c, s = math.cos(angle), math.sin(angle)
    return (v[0] * c - v[1] * s, v[0] * s + v[1] * c)


def _leg(
    start: Point, end: Point, down: Point, thickness: float, flat: float, before: list[BendLine], after: list[BendLine]
) -> Leg:
    neighbours = before + after
    runs_away = any(b.angle >= RUNS_AWAY for b in neighbours)
    outside = inside = flat
    u = left(down)
    first, last = start, end
    if not runs_away:
        for bend, is_before in [(b, True) for b in before] + [(b, False) for b in after]:
            setback = (bend.bent.inside_radius + thickness) * math.tan(math.radians(bend.angle) / 2.0)
            outside += setback
            inside += setback - thickness * math.tan(math.radians(bend.angle) / 2.0)
            if is_before:
                first = along(first, u, -setback)
            else:
                last = along(last, u, setback)
    low = scale(down, thickness)
    return Leg(first, last, outside, inside, "tangent" if runs_away else "mould", add(first, low), add(last, low))


NONE: Mapping[tuple[str, str], str] = {}


def section_view(
    section: Section, view_scale: float, units: str, letters: Mapping[tuple[str, str], str] = NONE
) -> list[Item]:
    """Outline, size of each leg, angle and radius of each bend; paper mm, somewhere about the origin.

    letters : of the size across a face, (face, "y") or (face, "x"), and of its bend's angle, (face, "angle")
    """

    def at(p: Point) -> Point:
        return scale(p, view_scale)

    outline = tuple((*at((x, y)), b) for x, y, b in section.outline)
    items: list[Item] = [Contour("section", outline)]
    room = Room(items)
    middle = _middle(section, view_scale)
    for leg, face in zip(section.legs, _leg_faces(section), strict=True):
        letter = next((letters[face, way] for way in "yx" if (face, way) in letters), "")
        items.append(_leg_dimension(leg, at, view_scale, units, room, middle, letter))
    for bend, place, way in section.bends:
        letter = letters.get((bend.child, "angle"), "")
        text = f"{letter} {bend.id} {format_angle(bend.angle)} {radius_note(bend, units)}".lstrip()
        found = _bend_label(text, at(place), way, room)
        if found:
            items.append(found)
    for leg, face in zip(section.legs, _leg_faces(section), strict=True):
        items += _face_name(leg, face, at, room)
    return items


def _leg_faces(section: Section) -> list[str]:
    """The face of each leg, in order."""
    across = left(section.way)
    faces = [""]
    for bend, _, _ in section.bends:
        parent_first = dot(bend.tangents[0][0], across) < dot(bend.tangents[1][0], across)
        before, after = (bend.parent, bend.child) if parent_first else (bend.child, bend.parent)
        faces = [*(faces if any(faces) else [before]), after]
    return faces


def _face_name(leg: Leg, face: str, at: Callable[[Point], Point], room: Room) -> list[Item]:
    """The name of a leg's flat along it on either side, else with a leader."""
    start, end, low = at(leg.start), at(leg.end), at(leg.low_start)
    u = unit(sub(end, start))
    turned = 90.0 - (90.0 - math.degrees(math.atan2(u[1], u[0]))) % 180.0
    up = (-math.sin(math.radians(turned)), math.cos(math.radians(turned)))
    upper = dot(left(u), up) > 0
    above, below = (start, low) if upper else (low, start)
    long = distance(start, end)
    choices = [
        Text("mark", along(along(foot, u, long * share), up, off), face, SMALL, "middle", turned)
        for share in (0.5, 0.35, 0.65)
        for foot, off in ((above, 0.8), (below, -0.8 - SMALL), (above, 2.5), (below, -2.5 - SMALL))
    ]
    found = room.settle(choices)
    return [found] if found else room.led(along(start, u, long / 2.0), face, SMALL)


def _middle(section: Section, view_scale: float) -> Point:
    xs, ys = [v[0] for v in section.outline], [v[1] for v in section.outline]
    return ((min(xs) + max(xs)) / 2.0 * view_scale, (min(ys) + max(ys)) / 2.0 * view_scale)


def _leg_dimension(
    leg: Leg, at: Callable[[Point], Point], view_scale: float, units: str, room: Room, middle: Point, letter: str
) -> LinearDimension:
    start, end = at(leg.start), at(leg.end)
    u = unit(sub(end, start))
    angle = math.degrees(math.atan2(u[1], u[0]))
    text = f"{letter} {format_length(leg.outside, units)}".lstrip()
    if leg.kind == "tangent":
        text += " to tangent"
    elif leg.kind == "tapered":
        text += " here"
    away_from_middle = left(u) if dot(sub(start, middle), left(u)) > 0 else right(u)
    tried: list[tuple[LinearDimension, list[Box]]] = []
    for off in (7.0, 12.0, 17.0, 22.0, 28.0, 34.0, 40.0, 48.0, 56.0):
        for side in (away_from_middle, scale(away_from_middle, -1.0)):
            upper = dot(side, left(u)) > 0
            a, b = (start, end) if upper else (at(leg.low_start), at(leg.low_end))
            dimension = LinearDimension("dimension", a, b, along(a, side, off), angle, text, HEIGHT, view_scale)
            parts = dimension.strokes()
            boxes = [p.box() for p in parts if isinstance(p, Text)]
            if all(room.free(box, 0.6) for box in boxes) and _clear(parts, room):
                room.take(dimension)
                return dimension
            tried.append((dimension, boxes))
    # beside a very short leg every place has a line through it: then no text over another at least
    apart = (one for one, boxes in tried if all(room.free(box, 0.6, lines=False) for box in boxes))
    best = next(apart, tried[0][0])
    room.take(best)
    return best


def _clear(parts: tuple[Item, ...], room: Room) -> bool:
    """Whether the lines of a dimension run through no text that stands already."""
    lines = [p for p in parts if isinstance(p, Line)]
    return all(room.misses_boxes(line.start, line.end) for line in lines)


def _bend_label(text: str, place: Point, way: Point, room: Room) -> Text | None:
    choices = []
    for off in (2.0, 4.0, 7.0, 10.0, 14.0):
        for turn in (0.0, 40.0, -40.0, 180.0, 140.0, -140.0, 90.0, -90.0):
            v = _turned(way, math.radians(turn))
            spot = along(place, v, off + 1.5)
            anchor: Anchor = "left" if v[0] > 0.3 else "right" if v[0] < -0.3 else "middle"
            y = spot[1] - HEIGHT / 2.0 + v[1] * HEIGHT / 2.0
            choices.append(Text("note", (spot[0], y), text, HEIGHT, anchor))
    return room.settle(choices, 0.4)


def best_scale(section: Section, width: float, height: float) -> float:
    """Largest ISO 5455 scale at which the bare section stays within a size [mm]."""
    xs, ys = [v[0] for v in section.outline], [v[1] for v in section.outline]
    w, h = max(xs) - min(xs), max(ys) - min(ys)
    for s in (5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02):
        if w * s <= width and h * s <= height:
            return s
    return 0.01
