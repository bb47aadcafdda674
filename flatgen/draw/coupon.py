"""Cards of coupons: the strip with its check lines, mark and grain, what to set, boxes for what is measured."""

from collections.abc import Iterable, Mapping, Sequence

from flatgen.core.points import Point, after, along, distance, left, shifted, sub, turned, unit
from flatgen.core.words import UNIT_NAMES, Units, counted
from flatgen.draw.setting_words import figure_row
from flatgen.draw.view import bend_items, clamped_faces, cut_items, grain_arrow, layout_items, told_apart
from flatgen.draw.words import material_line
from flatgen.model.blank import Blank
from flatgen.model.part import Part
from flatgen.model.plan import Setup
from flatgen.page.content import Beside, Cell, Entry, Facts, Picture, Step, Steps, Subject, Table
from flatgen.page.drawing import Drawing, Item, Line, Text, extents
from flatgen.page.flow import on_paper, pages
from flatgen.page.layers import used
from flatgen.page.place import carried
from flatgen.units import format_angle, format_length

CHECK_LINE = {"in": 0.25 * 25.4, "mm": 6.0}  # of the scribed check lines from each end of the strip
HEADS = ("no.", "T, 3 places", "L", "leaf", "angle", "A", "B", "R inside", "stop", "crack")
SHARES = (0.06, 0.16, 0.11, 0.09, 0.09, 0.11, 0.11, 0.1, 0.1, 0.07)
ROW, PAGE = 6.4, 180.0
STEPS = (
    "Mark each strip with coupon, number, sheet and grain. File both ends square, take the burr off.",
    "Scribe the check lines (on a coupon only, never on a part). Measure thickness at three places, length L at "
    "both edges.",
    "Set stop, leaf and set-back, clamp leg A against the back stop, note the stop as it stands, bend, release.",
    "Measure legs A and B to the outside, at both ends of the bend, and the angle from flat. At other than 90 deg "
    "the legs run to the mould point, where the outer faces would meet. Leg less the check line's distance is what you "
    "measure to the check line: the two must agree.",
    "Look for cracks with a 10x glass. Enter all with: flatgen coupon record.",
)
LAST = "Make again and print anew: the rest is then laid on what is left of the sheets, by the shop's own figures."
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
    cuts: Sequence[str],
    where: Mapping[str, str],
    paper_name: str = "letter",
    setups: Iterable[Setup] = (),
) -> tuple[Drawing, ...]:
    """Part 1 of a packet: cards of all coupons of a job, several a page, how to go about it first.

    cuts : what to cut of which sheets; ``where`` : the same of each coupon
    """
    todo = (*(f"Cut {cut}." for cut in cuts), *STEPS, LAST)
    setting = {op.part: setup for setup in setups for op in setup.operations}
    steps = Subject(
        "test-bends",
        "PART 1: TEST BENDS FIRST",
        (Steps(tuple(map(Step, todo))),),
        side=f"sizes in {UNIT_NAMES[units]}",
        under="Cards, settings and sheets that say PROVISIONAL with a strip's name may change when it is recorded.",
        whole=False,
    )
    cards = [coupon_subject(part, blanks[part.id], units, where[part.id], setting.get(part.id)) for part in parts]
    return pages([steps, *cards], on_paper(paper_name, job, units, FOOT))


def coupon_subject(part: Part, blank: Blank, units: Units, where: str, setup: Setup | None = None) -> Subject:
    """The card of a coupon: its strip at true size, what to set, a row of boxes for each piece.

    setup : the setting of the brake that bends it, where one does
    """
    (line,) = blank.bends
    strip = _strip(part, blank, units)
    legs = {size.where: format_length(size.outside, units) for size in blank.dimensions if size.kind == "flange"}
    facts = (
        ("from", where),
        ("shear", f"{format_length(blank.width, units)} × {format_length(blank.height, units, unit=True)}"),
        ("nose", f"{line.bent.nose}, radius {format_length(line.bent.inside_radius, units, unit=True)}"),
        ("bend", f"{format_angle(line.angle)} from flat"),
        *(() if setup else (("leaf", f"about {format_angle(line.overbend_to)}"),)),
        ("legs", f"about {', '.join(f'{name} {size}' for name, size in legs.items())}"),
        ("deduction so far", f"{format_length(line.bent.deduction, units)} ({line.bent.method})"),
    )
    pieces = range(part.first, part.first + part.quantity)
    rows: list[tuple[Cell, ...]] = [
        (str(k), *(Entry(f"coupon/{part.id}/{k}/{h}", f"{h}, piece {k}", tall=ROW) for h in HEADS[1:])) for k in pieces
    ]
    picture = Picture(strip, f"{part.id}: strip with bend line, check lines and grain", true=True, tall=strip.size[1])
    return Subject(
        f"card-{part.id}",
        f"{part.id} {part.title}",
        (
            Beside(((strip.size[0], (picture,)), (PAGE - strip.size[0], (Facts(facts),)))),
            *((figure_row(setup, units),) if setup else ()),
            Table("Measured", HEADS, tuple(rows), shares=SHARES),
        ),
        side=counted(part.quantity, "strip"),
        under=material_line(part, blank, units),
        whole=False,
    )


def _strip(part: Part, blank: Blank, units: Units) -> Drawing:
    """The strip at true size, laid across the page, with its grain and the check lines' distance."""
    items = cut_items(blank) + told_apart(bend_items(blank) + layout_items(blank, clamped_faces(part, blank)))
    items += coupon_marks(blank, units)
    lying = carried(items, after(shifted(blank.height, 0.0), turned(90.0)))
    middle = blank.width / 2.0
    (line,) = blank.bends
    a_low = min(y for face in blank.faces if face.id == line.parent for _, y, _ in face.outline) < 1.0
    names = ("B", "A") if a_low else ("A", "B")
    for name, share in zip(names, (0.17, 0.78), strict=True):
        lying.append(Text("mark", (share * blank.height, middle - 2.0), name, 4.0, "middle"))
    if blank.grain is not None:
        lying += grain_arrow((0.33 * blank.height, middle), blank.grain + 90.0, min(10.0, 0.7 * blank.width))
    said = f"check lines {format_length(CHECK_LINE[units], units, unit=True)} from the ends"
    lying.append(Text("note", (0.0, -4.0), said, 2.0))
    x0, y0, x1, y1 = extents(lying)
    return Drawing(part.id, (x1 - x0, y1 - y0), tuple(lying), used(lying), units, origin=(x0, y0))


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
