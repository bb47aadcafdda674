"""Coupon sheets: the strip with its check lines, mark and grain, what to set, and boxes for what is measured."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from flatgen.core.points import Point, along, distance, left, sub, unit
from flatgen.core.words import Units
from flatgen.draw.form import Block, Column, body_width, lines, pages, space, table_blocks
from flatgen.draw.view import bend_items, clamped_faces, cut_items, grain_arrow, layout_items
from flatgen.draw.words import material_line
from flatgen.model.blank import Blank
from flatgen.model.part import Part
from flatgen.page.drawing import Drawing, Item, Line, Text
from flatgen.page.layers import used
from flatgen.page.paper import paper
from flatgen.page.place import placed
from flatgen.units import format_angle, format_length

CHECK_LINE = {"in": 0.25 * 25.4, "mm": 6.0}  # of the scribed check lines from each end of the strip
STEPS = (
    "1. Mark each strip with coupon, number, sheet and grain. File both ends square, take the burr off.",
    "2. Scribe the check lines (on a coupon only, never on a part). Measure thickness at three places, length L at "
    "both edges.",
    "3. Set the nose back, clamp leg A against the back stop, note the stop, bend to the leaf angle, release.",
    "4. Measure legs A and B to the outside, at both ends of the bend, and the angle from flat. At other than 90 deg "
    "the legs run to the mould point, where the outer faces would meet. Leg less the check line's distance is what you "
    "measure to the check line: the two must agree.",
    "5. Look for cracks with a 10x glass. Enter all with: flatgen coupon record.",
)
FOOT = (
    "Keep hands clear of leaf and clamp; wear eye protection; edges are sharp. A coupon speaks for its own sheet only."
)


def coupon_marks(blank: Blank, units: str, mark: str = "") -> list[Item]:
    """What a coupon's blank carries beside its contours: a check line near each end, its mark."""
    (line,) = blank.bends
    items: list[Item] = []
    inset = CHECK_LINE[units]
    for face in blank.faces:
        near = line.tangents[0] if face.id == line.parent else line.tangents[1]
        corners = [(x, y) for x, y, _ in face.outline]
        ends = sorted(corners, key=lambda p: -_away(p, near))[:2]
        inward = unit(sub(_foot(ends[0], near), ends[0]))
        a, b = (along(end, inward, inset) for end in ends)
        items.append(Line("scribe", a, b))
    if mark:
        items.append(
            Text("mark", (blank.width / 2.0, 0.18 * blank.height), mark, min(4.0, 0.12 * blank.width), "middle")
        )
    return items


def _away(point: Point, chord: tuple[Point, Point]) -> float:
    return distance(point, _foot(point, chord))


def _foot(point: Point, chord: tuple[Point, Point]) -> Point:
    """Where the perpendicular from a point meets the line through a chord."""
    normal = left(unit(sub(chord[1], chord[0])))
    off = sub(point, chord[0])
    return along(point, normal, -(off[0] * normal[0] + off[1] * normal[1]))


def coupon_pages(
    job: str,
    parts: Iterable[Part],
    blanks: Mapping[str, Blank],
    units: Units,
    paper_name: str = "letter",
) -> tuple[Drawing, ...]:
    """A sheet for all coupons of a job: for each combination the strip, the settings, a row for each piece."""
    sheet = paper(paper_name)
    width = body_width(sheet)
    blocks: list[Block] = [lines(STEPS, width), space(3.0)]
    for part in parts:
        blocks += _coupon_blocks(part, blanks[part.id], units, width)
    unit_name = "inches" if units == "in" else "mm"
    return pages("Coupons (test bends)", f"{job}  ·  sizes in {unit_name}", blocks, sheet, units, FOOT)


def _coupon_blocks(part: Part, blank: Blank, units: str, width: float) -> list[Block]:
    (line,) = blank.bends
    turned = _strip(part, blank, units)
    settings = [
        material_line(part, blank, units),
        f"{line.bent.nose}, radius {format_length(line.bent.inside_radius, units, unit=True)}; wanted "
        f"{format_angle(line.angle)} from flat; leaf to about {format_angle(line.overbend_to)}; "
        f"deduction so far {format_length(line.bent.deduction, units, unit=True)} ({line.bent.method})",
    ]
    heads = ("No.", "T (3 places)", "L", "Leaf", "Angle", "A", "B", "R inside", "Stop", "Crack")
    shares = (0.06, 0.16, 0.11, 0.09, 0.09, 0.11, 0.11, 0.1, 0.1, 0.07)
    columns = [Column(head, share * width) for head, share in zip(heads, shares, strict=True)]
    rows = [(f"{k}", *("" for _ in heads[1:])) for k in range(part.first, part.first + part.quantity)]
    return [
        lines([f"{part.id}  {part.title}"], width, 3.0, bold=True, keep=True),
        lines(settings, width, 2.2, keep=True),
        space(1.5, keep=True),
        Block(tuple(turned), blank.width + 8.0, keep=True),
        *(replace(row, keep=True) for row in table_blocks(columns, rows, least=8.0)),
        space(6.0),
    ]


def _strip(part: Part, blank: Blank, units: str) -> list[Item]:
    """The strip at true size, laid across the page, with its grain beside it."""
    from flatgen.core.points import after, shifted, turned
    from flatgen.page.place import carried

    items = [*cut_items(blank), *bend_items(blank), *layout_items(blank, clamped_faces(part, blank))]
    items += coupon_marks(blank, units)
    lying = carried(items, after(shifted(blank.height, 0.0), turned(90.0)))
    middle = blank.width / 2.0
    (line,) = blank.bends
    a_low = min(y for face in blank.faces if face.id == line.parent for _, y, _ in face.outline) < 1.0
    names = ("B", "A") if a_low else ("A", "B")
    for name, share in zip(names, (0.22, 0.78), strict=True):
        lying.append(Text("mark", (share * blank.height, middle - 2.0), name, 4.0, "middle"))
    out = placed(lying, 1.0, (0.0, 3.0))
    if blank.grain is not None:
        center = (blank.height + 22.0, 3.0 + middle + 3.0)
        out += grain_arrow(center, blank.grain + 90.0, 16.0)
        out.append(Text("grain", (center[0], center[1] - 13.0), "GRAIN", 2.2, "middle"))
    words = (
        "full lines near the ends: check lines,",
        f"{format_length(CHECK_LINE[units], units, unit=True)} from each end",
    )
    for k, text in enumerate(words):
        out.append(Text("note", (blank.height + 38.0, 3.0 + middle + 1.0 - 4.0 * k), text, 2.2))
    return out


def coupon_pattern(part: Part, blank: Blank, units: Units) -> Drawing:
    """A coupon's blank at true size for the cutter, with bend, check lines, mark and grain; datum corner at 0, 0."""
    items: list[Item] = [*cut_items(blank), *bend_items(blank), *coupon_marks(blank, units, part.mark or part.id)]
    if blank.grain is not None:
        items += grain_arrow((blank.width / 2.0, 0.75 * blank.height), blank.grain, 0.5 * blank.width)
    return Drawing(
        title=f"{part.id} {part.title}",
        size=(blank.width + 10.0, blank.height + 10.0),
        items=tuple(items),
        layers=used(items),
        units=units,
        origin=(-5.0, -5.0),
        description=material_line(part, blank, units),
        properties=(("part", part.id), ("material", part.material.name), ("quantity", str(part.quantity))),
    )
