"""A drill template for many alike parts: a plate with pilot holes, three pins that the blank is pushed to, its hand.

Each blank is laid under it, against two pins at A and one at B, and its pilot holes are drilled through. A template of
a left hand is not that of a right one, and says so. Coordinates are the blank's. Lengths mm.
"""

from collections.abc import Iterable, Sequence

from flatgen.core.outline import rectangle
from flatgen.core.points import Point, distance
from flatgen.core.words import Units
from flatgen.develop.datum import DatumEdge, datum_edges
from flatgen.draw.machine import for_tool
from flatgen.draw.template import MARGIN, Template
from flatgen.draw.tiles import Layout, pages
from flatgen.model.blank import Blank, BlankHole
from flatgen.model.part import Part
from flatgen.model.shop import CuttingTool, Drill
from flatgen.page.drawing import Circle, Contour, Drawing, Item, Text, extents
from flatgen.page.layers import used
from flatgen.page.room import Room
from flatgen.units import format_length

MANY = 10  # pieces from which a plate pays, and up to some 25 without bushes; read in notes on drill plates
PIN = 4.0  # diameter of a pin [mm]
AROUND = 12.0  # plate beyond the blank [mm]
SIZE = 2.5
PILOTS = CuttingTool("drill template", "profile-cut", holes="pilot")


def wanted(part: Part, blank: Blank) -> bool:
    """Whether a template pays: enough pieces, with holes that are drilled in the flat, and a corner to lay them to."""
    many = part.kind == "part" and part.quantity >= MANY and not part.cut_from
    return many and any(not h.after_bending for h in blank.holes) and all(e.exists for e in datum_edges(blank))


def pilots(blank: Blank, drills: Iterable[Drill]) -> tuple[BlankHole, ...]:
    """The holes that are drilled in the flat, as pilots."""
    return tuple(hole for hole in for_tool(blank, PILOTS, tuple(drills)).holes if not hole.after_bending)


def pins(blank: Blank) -> tuple[Point, ...]:
    """Centres of the pins: two at A, as far apart as its edge allows, one at B, all outside the blank."""
    foot, left = datum_edges(blank)
    x0, x1 = _run(foot, 0)
    y0, y1 = _run(left, 1)
    inset = min(PIN, 0.2 * (x1 - x0))
    return (x0 + inset, -PIN / 2.0), (x1 - inset, -PIN / 2.0), (-PIN / 2.0, (y0 + y1) / 2.0)


def _run(edge: DatumEdge, axis: int) -> tuple[float, float]:
    """Where an edge's pieces begin and end; the longest piece alone for the one pin at B."""
    some = edge.pieces if axis == 0 else edge.pieces[:1]
    ends = [end[axis] for piece in some for end in piece]
    return min(ends), max(ends)


def drill_pattern(part: Part, blank: Blank, drills: Iterable[Drill], units: Units) -> Drawing:
    """The plate as a file to cut and drill."""
    items = tuple(_items(part, blank, tuple(drills), units, "outline"))
    x0, y0, x1, y1 = extents(items)
    size, title = (x1 - x0, y1 - y0), f"Drill template {part.name}"
    return Drawing(title, size, items, used(items), units, origin=(x0, y0), description="; ".join(_words(part)))


def drill_pages(
    own: Sequence[tuple[Part, Blank]], drills: Iterable[Drill], units: Units, layout: Layout
) -> tuple[Drawing, ...]:
    """All templates of a job on paper."""
    return pages([_template(part, blank, tuple(drills), units) for part, blank in own], layout)


def _template(part: Part, blank: Blank, drills: tuple[Drill, ...], units: Units) -> Template:
    items = tuple(_items(part, blank, drills, units, "template"))
    x0, y0, x1, y1 = extents(items)
    return Template(f"drill template {part.name}", items, (x0 - MARGIN, y0 - MARGIN, x1 + MARGIN, y1 + MARGIN))


def _words(part: Part) -> tuple[str, ...]:
    return (
        f"{part.name}: THIS SIDE UP",
        "plate as thick as the largest hole; push the blank to all three pins; try one on scrap first",
    )


def _items(part: Part, blank: Blank, drills: tuple[Drill, ...], units: Units, edge: str) -> list[Item]:
    wide, tall = blank.width + 2.0 * AROUND, blank.height + 2.0 * AROUND
    items: list[Item] = [Contour(edge, rectangle(-AROUND, -AROUND, wide, tall))]
    items += [Contour("margin", blank.outline)]
    items += [Circle("hole", at, PIN) for at in pins(blank)]
    holes = pilots(blank, drills)
    items += [Circle("hole", hole.center, hole.diameter) for hole in holes]
    room = Room(items)
    for diameter in sorted({hole.diameter for hole in holes}):
        alike = [hole for hole in holes if hole.diameter == diameter]
        first = min(alike, key=lambda hole: distance(hole.center, (0.0, 0.0)))
        label = first.label.split(",")[0] or format_length(diameter, units, unit=True)
        x, y = first.center
        choices = [Text("mark", (x + dx, y + dy), label, 2.0) for dx, dy in ((3, 0.5), (3, -3), (-9, 0.5), (-9, -3))]
        place = room.settle(choices)
        items += [place] if place else []
    for k, line in enumerate(_words(part)):
        items.append(Text("mark", (-AROUND, -AROUND - 4.0 - 4.0 * k), line, SIZE, bold=not k))
    return items
