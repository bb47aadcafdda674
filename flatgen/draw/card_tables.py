"""Figures of a card as tables: corners of the outline and of openings, sight lines, holes, each from edges B and A.

A rounded corner is given as the trade marks it out: the sharp corner, and the radius that rounds it. Lengths mm.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from flatgen.core import arcs
from flatgen.core.outline import Outline, is_circle, segments
from flatgen.core.points import Point, along, cross, distance, dot, sub, unit
from flatgen.draw.flat_view import is_level
from flatgen.draw.view import sight_line
from flatgen.model.blank import Blank, BlankHole, ReliefHole
from flatgen.model.shop import Drill
from flatgen.page.content import Table
from flatgen.units import format_length

Write = Callable[[float], str]
ROWS = 16  # of a table before it goes on in another: short ones fill a page better
HALF = math.radians(179.0)  # an arc that turns further has no sharp corner
TANGENT = 1e-4
SAME = 0.005
CORNER_HEADS = ("", "from B", "from A", "then")
HOLE_HEADS = ("no.", "drill", "from B", "from A", "what")
LINE_HEADS = ("sight line", "from B", "from A", "to, from B", "from A", "nose on")


def corner_tables(blank: Blank, units: str) -> list[Table]:
    """Corners of the outline, anticlockwise from the one nearest to the datum corner, then those of openings."""

    def write(mm: float) -> str:
        return format_length(mm, units)

    holes = [(hole.number, hole.center, hole.diameter / 2.0) for hole in blank.drilled]
    corners = [] if corner_words(blank, units) else corner_rows("c", blank.outline, write, holes)
    found = parted("Corners of the outline, anticlockwise", CORNER_HEADS, corners)
    rows = [row for name, cutout in blank.openings for row in corner_rows(f"{name} c", cutout, write, ())]
    return found + parted("Openings", CORNER_HEADS, rows)


def corner_words(blank: Blank, units: str) -> str:
    """What is to be done to the sheared rectangle, where that says the outline: nothing, or four equal corners."""
    runs, w, h = list(segments(blank.outline)), blank.width, blank.height
    size = Outlined(tuple((x, y) for x, y, _ in blank.outline), w, h)
    if all(abs(bulge) <= arcs.STRAIGHT for *_, bulge in runs):
        if len(runs) == 4 and size.all_at(0.0, 0.0):
            return "Check that it is square and to size"
        corner = next(((x, y) for x, y in size.points if x > SAME and abs(y) < SAME and x < w / 2.0), (0.0, 0.0))
        other = next((y for x, y in size.points if abs(x) < SAME and SAME < y < h / 2.0), 0.0)
        if len(runs) == 8 and corner[0] and other and size.all_at(corner[0], other):
            across, up = (format_length(v, units) for v in (corner[0], other))
            return f"Clip all four corners {across} along A, {up} along B"
        return ""
    radii = {round(arcs.arc_of(*run).radius, 4) for run in runs if abs(run[2]) > arcs.STRAIGHT}
    if len(runs) != 8 or len(radii) != 1 or not all(_is_fillet(runs, k, ()) for k in range(8) if abs(runs[k][2]) > 0):
        return ""
    (radius,) = radii
    return f"Round all four corners R {format_length(radius, units)}" if size.all_at(radius, radius) else ""


@dataclass(frozen=True, slots=True)
class Outlined:
    """Corners of an outline in a rectangle of a size."""

    points: tuple[Point, ...]
    width: float
    height: float

    def all_at(self, across: float, up: float) -> bool:
        """Whether the corners are those of the rectangle with so much taken off each of its own."""
        xs, ys = (0.0, self.width), (0.0, self.height)
        wanted = [(x + (across if x == 0.0 else -across), y) for x in xs for y in ys]
        wanted += [(x, y + (up if y == 0.0 else -up)) for x in xs for y in ys]
        near = all(min(distance(p, q) for q in wanted) < SAME for p in self.points)
        return near and all(min(distance(p, q) for p in self.points) < SAME for q in wanted)


def corner_rows(
    letter: str, outline: Outline, write: Write, holes: Iterable[tuple[int, Point, float]]
) -> list[tuple[str, ...]]:
    """Corners in order: place, and what leads to the next one; nothing said: a straight line.

    holes : number, centre and radius of drilled holes whose edge the outline may follow
    """
    if is_circle(outline):
        (x1, y1, _), (x2, _, _) = outline
        return [
            (letter.removesuffix(" c"), write((x1 + x2) / 2.0), write(y1), f"round, diameter {write(abs(x2 - x1))}")
        ]
    drilled = tuple(holes)
    runs = list(segments(outline))
    count = len(runs)
    found: list[tuple[Point, str]] = []
    for k, (p, q, bulge) in enumerate(runs):
        if _is_fillet(runs, k, drilled):
            arc = arcs.arc_of(p, q, bulge)
            u = unit(sub(p, runs[k - 1][0]))
            sharp = along(p, u, arc.radius * math.tan(abs(arcs.sweep_of(bulge)) / 2.0))
            found.append((sharp, f"rounded R {write(arc.radius)}"))
        elif not _is_fillet(runs, (k - 1) % count, drilled):
            found.append((p, _arc_words(p, q, bulge, write, drilled)))
    return [(f"{letter}{k}", write(p[0]), write(p[1]), what) for k, (p, what) in enumerate(found, 1)]


def _is_fillet(runs: Sequence[tuple[Point, Point, float]], k: int, holes: Sequence[tuple[int, Point, float]]) -> bool:
    """Whether a run is an arc that rounds the corner of the two straight lines beside it."""
    p, q, bulge = runs[k]
    before, after = runs[k - 1], runs[(k + 1) % len(runs)]
    if abs(bulge) <= arcs.STRAIGHT or max(abs(before[2]), abs(after[2])) > arcs.STRAIGHT:
        return False
    arc = arcs.arc_of(p, q, bulge)
    if abs(arcs.sweep_of(bulge)) > HALF or _hole_of(arc.center, arc.radius, holes):
        return False
    ways = (unit(sub(before[1], before[0])), unit(sub(after[1], after[0])))
    spokes = (unit(sub(p, arc.center)), unit(sub(q, arc.center)))
    turn = 1.0 if bulge > 0 else -1.0
    return all(
        abs(dot(way, spoke)) < TANGENT and cross(spoke, way) * turn > 0 for way, spoke in zip(ways, spokes, strict=True)
    )


def _hole_of(center: Point, radius: float, holes: Iterable[tuple[int, Point, float]]) -> int:
    return next((n for n, c, r in holes if distance(c, center) < 1e-3 and abs(r - radius) < 1e-3), 0)


def _arc_words(p: Point, q: Point, bulge: float, write: Write, holes: Sequence[tuple[int, Point, float]]) -> str:
    if abs(bulge) <= arcs.STRAIGHT:
        return ""
    arc = arcs.arc_of(p, q, bulge)
    hole = _hole_of(arc.center, arc.radius, holes)
    if hole and bulge < 0:
        return f"edge of hole {hole}"
    way = "" if bulge > 0 else "hollow, "
    return f"{way}R {write(arc.radius)} about {write(arc.center[0])}, {write(arc.center[1])}"


def line_tables(blank: Blank, faces: Mapping[str, str], units: str) -> list[Table]:
    """The lines of skew bends from end to end, and the face under the nose."""
    rows = []
    for bend in blank.bends:
        if any(is_level(sight_line(bend, faces[bend.id]), axis) for axis in (0, 1)):
            continue  # its ordinate says where it is
        ends = [format_length(v, units) for p in sight_line(bend, faces[bend.id]) for v in p]
        rows.append((f"{bend.id} {bend.direction.upper()}", *ends, faces[bend.id]))
    return parted("Skew sight lines", LINE_HEADS, rows)


def hole_tables(blank: Blank, drills: Sequence[Drill], units: str) -> list[Table]:
    """What is drilled, by number."""
    rows = []
    for hole in blank.drilled:
        place = (format_length(v, units) for v in hole.center)
        rows.append((str(hole.number), drill_name(hole, units), *place, hole_use(hole, drills)))
    return parted("Holes", HOLE_HEADS, rows)


def drill_name(hole: BlankHole | ReliefHole, units: str) -> str:
    """The drill, else the hole's diameter."""
    return hole.label or format_length(hole.diameter, units)


def hole_use(hole: BlankHole | ReliefHole, drills: Iterable[Drill]) -> str:
    """Pilot or final, before or after bending."""
    if isinstance(hole, ReliefHole):
        return "relief, first"
    when = "AFTER bending" if hole.after_bending else ""
    fastener = hole.hole.fastener
    row = next((d for d in drills if fastener is not None and abs(d.diameter - fastener) < 0.04), None)
    if row is not None and abs(row.pilot - hole.diameter) < 0.01 < abs(row.final - hole.diameter):
        return ", ".join(filter(None, (f"pilot, final {row.final_label} when fitted", when)))
    return ", ".join(filter(None, ("final", when)))


def parted(title: str, heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> list[Table]:
    """A table, or several as long as each other; figures to the right, names and words to the left.

    A last column that says one thing in all rows goes into the title.
    """
    if not rows:
        return []
    said = {row[-1] for row in rows}
    if len(said) == 1 and heads[-1] in ("what", "then"):
        heads, rows, words = heads[:-1], [row[:-1] for row in rows], said.pop()
        title = f"{title}: all {words}" if words and len(rows) > 1 else f"{title}: {words}" if words else title
    count = -(-len(rows) // ROWS)
    share = -(-len(rows) // count)
    figures = tuple(k for k, head in enumerate(heads) if "from" in head)
    return [
        Table(
            title if k == 0 else f"{title}, continued",
            heads,
            tuple(rows[k * share : (k + 1) * share]),
            figures,
            shown=True,
        )
        for k in range(count)
    ]
