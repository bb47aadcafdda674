"""A nose bar as a working drawing: section at true size, how it is made, its contour template and radius gauges.

Side view: x from the nose tip backward, y up from the clamped face; the arc is an arc. Lengths mm, angles deg. Sources
stand beside the figures that are not derived here.
"""

import math
from dataclasses import dataclass

from flatgen.core.outline import Outline, moved
from flatgen.core.points import Point
from flatgen.core.words import Units
from flatgen.draw.template import MARGIN, Template
from flatgen.model.shop import RUN_OUT, Brake, NoseBar
from flatgen.page.content import Beside, Content, Facts, Fold, Heading, Picture, Step, Steps, Subject, Words
from flatgen.page.drawing import Circle, Contour, Drawing, Item, Line, LinearDimension, Text, extents
from flatgen.page.layers import used
from flatgen.units import format_length

STRAIGHT = 0.003 * 25.4  # over the whole bar; from memory
SCREWS = 3.5 * 25.4  # between screws; from memory, 3 to 4 in
END = 25.4  # first screw from an end; common practice, no source
TALL = 40.0  # of a section drawn, what stands higher is broken off
SIZE = 2.5
SIDE, SIDE_TALL = 100.0, 16.0  # of the bar seen from the front, on the page
CAUTIONS = (
    "Bolt on no bar while a hand is under the beam. Clamp the work, keep fingers off file and wheel, wear eye"
    " protection.",
    "Heat bows a long bar: braze or weld in short stitches far apart, away from the sheet side, let it cool between"
    " them, file true afterwards. A guard or a counterweight that was taken off goes back on before the first bend.",
    "The bar must be harder than the sheet: cold-drawn or ground rod for aluminium; try 4130 and stainless on scrap"
    " first.",
)
SOURCES = (
    "Facets of a filed round: derived; the method: read in an old book of model making. Ground rod holds ±.0005 in on"
    " its diameter (a stockist's table) and copies its seat. Screws, straightness, run-out: from memory. Heat: welding"
    " notes, read."
)
TIP = "The tip stands forward of the old one by as much as was added: set the beam back by that."
LAST = (
    "Prove it: radius gauge at both ends and the middle, light through it less than .001 in; a test strip before any"
    " part."
)


@dataclass(frozen=True, slots=True)
class Drawn:
    """What is drawn: a bar of this radius, made so; ``wrap`` of a shoe over it."""

    brake: Brake
    nose: NoseBar
    made: str  # on hand | rod | machined | wrap
    wrap: float = 0.0

    @property
    def radius(self) -> float:
        """Radius that the sheet is bent over [mm]."""
        return self.nose.radius + self.wrap

    @property
    def arc(self) -> float:
        """Angle that the round must run through, from the clamped face to the front face [deg]."""
        return 180.0 - self.nose.front_angle

    @property
    def length(self) -> float:
        """Of the whole bar [mm]."""
        return self.nose.length or self.brake.length


def section(radius: float, nose: NoseBar) -> Outline:
    """The bar's section: foot, round, front face, body; clockwise from where the foot ends in the round."""
    turned = math.radians(180.0 - nose.front_angle)
    x, y = radius - radius * math.sin(turned), radius - radius * math.cos(turned)
    depth, height = max(nose.depth, 3.0 * radius), max(min(nose.height, TALL), 3.0 * radius)
    slope = math.tan(math.radians(nose.front_angle)) if nose.front_angle < 90.0 else math.inf
    back = min(x + (height - y) / slope, 0.5 * depth) if math.isfinite(slope) else x
    face = (back, y + (back - x) * slope) if math.isfinite(slope) else (x, height)
    corners = [face, (face[0], height), (depth, height), (depth, 0.0)]
    # a corner that lies on the one before has no side of its own
    rest = [p for k, p in enumerate(corners) if k == 0 or math.dist(p, corners[k - 1]) > 1e-6]
    return ((radius, 0.0, -math.tan(turned / 4.0)), (x, y, 0.0), *((*p, 0.0) for p in rest))


def seat(radius: float, nose: NoseBar) -> tuple[Outline, Point]:
    """A body whose front is a half-round seat for a rod, open toward the middle of the arc, and the rod's centre."""
    whole, turned = section(radius, nose), math.radians(180.0 - nose.front_angle)
    middle = -math.pi / 2.0 - turned / 2.0  # direction of the middle of the free round, seen from its centre
    low, high = (
        (radius + radius * math.cos(middle + way), radius + radius * math.sin(middle + way))
        for way in (math.pi / 2.0, -math.pi / 2.0)
    )
    face, slope = whole[1][:2], math.radians(nose.front_angle)
    up = (face[0] + radius * math.cos(slope), face[1] + radius * math.sin(slope))
    rest = [corner for corner in whole[2:] if corner[1] > up[1] or corner[0] > up[0] + 1e-6]
    return ((2.0 * radius, 0.0, 0.0), (*low, 1.0), (*high, 0.0), (*up, 0.0), *rest), (radius, radius)


def contour_template(drawn: Drawn) -> Outline:
    """A card whose notch is the bar's contour: held against its end it shows where metal is still to come off."""
    shape = section(drawn.radius, drawn.nose)
    x, y = shape[2][:2]
    reach = drawn.radius + 12.0
    top = max(y, drawn.radius) + 10.0
    around = ((x, top, 0.0), (-12.0, top, 0.0), (-12.0, -12.0, 0.0), (reach, -12.0, 0.0))
    return ((reach, 0.0, 0.0), shape[0], shape[1], (x, y, 0.0), *around)


def radius_gauge(radius: float) -> tuple[Outline, Outline]:
    """Hollow quarter for the bar's edge, and full quarter for the inside of a bend, each on a tab."""
    bulge, tab = math.tan(math.pi / 8.0), radius + 14.0
    hollow = ((0.0, radius, bulge), (radius, 0.0, 0.0), (tab, 0.0, 0.0), (tab, -12.0, 0.0), (-12.0, -12.0, 0.0),
              (-12.0, tab, 0.0), (0.0, tab, 0.0))  # fmt: skip
    full = ((0.0, radius, bulge), (radius, 0.0, 0.0), (tab, 0.0, 0.0), (tab, tab, 0.0), (0.0, tab, 0.0))
    return hollow, full


def nose_subject(drawn: Drawn, units: Units) -> Subject:
    """The working drawing on a page."""

    def size(mm: float) -> str:
        return format_length(mm, units, unit=True)

    radius, length = drawn.radius, drawn.length
    screws = max(2, math.ceil((length - 2.0 * END) / SCREWS) + 1)
    facts = (
        ("radius", size(radius)),
        ("round over", f"{drawn.arc:.0f}°, so that the leaf may go to {drawn.arc - 2.5:.0f}°"),
        ("length", f"{size(length)}, the last {size(RUN_OUT)} at each end not to bend on"),
        ("straight within", f"{size(STRAIGHT)} over its length (from memory)"),
        ("holes", f"{screws}, the first {size(END)} from an end, then every {size((length - 2 * END) / (screws - 1))}"),
        ("edges", "broken, none sharp toward the sheet; foot and round without a nick that catches a nail"),
    )
    true, side = _section_picture(drawn, units), _side_picture(drawn, screws, units)
    alt = "the bar from the front: length, run-out at both ends, screws"
    views: tuple[tuple[Content, ...], ...] = (
        (Picture(true, "section of the bar, true size", true=True, caption="section, true size"),),
        (Picture(side, alt, true=True, caption="from the front, shortened"), *(Words(text) for text in _held(drawn))),
    )
    contents: list[Content] = [
        Facts(facts),
        Beside(((true.size[0] + 6.0, views[0]), (SIDE + 12.0, views[1]))),
        Heading("How"),
        Steps(tuple(Step(text) for text in _steps(drawn, units))),
        *(Words(text, "caution") for text in CAUTIONS),
        Fold("Where this comes from", (Words(SOURCES),)),
    ]
    name = drawn.nose.name + (f" with a wrap of {size(drawn.wrap)}" if drawn.wrap else "")
    return Subject(
        "nose", f"NOSE BAR {name}", tuple(contents), side=f"R {size(radius)}", under=f"brake {drawn.brake.name}"
    )


def _steps(drawn: Drawn, units: Units) -> tuple[str, ...]:
    radius = drawn.radius

    def size(mm: float, finer: int = 0) -> str:
        return format_length(mm, units, places=(3 if units == "in" else 2) + finer, unit=True)

    if drawn.made == "rod":
        return (
            f"Take ground round rod of {size(2.0 * radius)} diameter; measure it with a micrometer.",
            f"Mill, plane or file a half-round seat {size(radius)} deep along the bar's edge, or have it done; in"
            " hardwood or aluminium it will do for thin sheet.",
            "Bed the rod in epoxy, with a screw through its end at both ends; it copies its seat, so clamp it to a"
            " straight bar until it is hard.",
            TIP,
            LAST,
        )
    if drawn.made == "wrap":
        return (
            f"Fold a shoe of sheet {size(drawn.wrap)} thick round the bar's edge, foot and front; leaves one over the"
            " other count together. Hold it by screws behind the beam, never under the sheet.",
            f"Set back: the bare tip {size(drawn.wrap)} farther than for the bare bar; open the clamp by as much.",
            LAST,
        )
    leg = (2.0 - math.sqrt(2.0)) * radius
    return (
        f"Scribe the contour on both ends by the template. File a chamfer of 45° with legs of {size(leg)} off the"
        " square edge, along its whole length.",
        f"Halve its two edges, then halve again: what stands above the round is then {size(_facet(radius, 2), 1)}, then"
        f" {size(_facet(radius, 4), 1)}. Emery on a block takes the last.",
        f"Lean the front face back to {drawn.nose.front_angle:.0f}° from the bed, so that the round runs on past the"
        " over-bend.",
        TIP,
        LAST,
    )


def _facet(radius: float, facets: int) -> float:
    """How far the edges of facets round a quarter stand above it [mm].

    Each facet touches the round in its middle and ends half a facet's angle further on: R/cos(half) - R.

    >>> round(_facet(0.125, 1), 3), round(_facet(0.125, 2), 4), round(_facet(0.125, 4), 4)
    (0.01, 0.0024, 0.0006)
    """
    half = math.radians(45.0 / facets) / 2.0
    return radius / math.cos(half) - radius


def _section_picture(drawn: Drawn, units: Units) -> Drawing:
    radius, nose = drawn.radius, drawn.nose
    outline = section(radius, nose)
    items: list[Item] = [Contour("section", outline)]
    if drawn.made == "rod":
        body, center = seat(radius, nose)
        items = [Contour("section", body), Circle("section", center, 2.0 * radius)]
    if drawn.made == "wrap":
        items.append(Contour("formed", moved(section(nose.radius, nose), (1.0, 0.0, 0.0, 1.0, drawn.wrap, drawn.wrap))))
    deep, high = max(x for x, _, _ in outline), max(y for _, y, _ in outline)
    tall = f"{format_length(max(high, nose.height), units)}{', broken off' if nose.height > high else ''}"
    items += [
        LinearDimension("dimension", (0.0, 0.0), (deep, 0.0), (0.0, -8.0), 0.0, format_length(deep, units), SIZE),
        LinearDimension("dimension", (deep, 0.0), (deep, high), (deep + 8.0, 0.0), 90.0, tall, SIZE),
        Text("dimension", (-2.0, radius), f"R {format_length(radius, units)}", SIZE, "right"),
        Text("dimension", (outline[2][0] - 2.0, outline[2][1]), f"{nose.front_angle:.0f}°", SIZE, "right"),
    ]
    x0, y0, x1, y1 = extents(items)
    return Drawing("section", (x1 - x0, y1 - y0), tuple(items), used(items), units, origin=(x0, y0))


def _held(drawn: Drawn) -> tuple[str, ...]:
    """How what is bent over is held to the bar or the beam; how straight it must be, and how that is seen."""
    straight = "Straight: sight along it, then a straightedge on its foot and on its front, a feeler in between."
    if drawn.made == "rod":
        return ("Rod: bedded in its seat, a countersunk screw through each end of it, within the run-out.", straight)
    if drawn.made == "wrap":
        return ("Wrap: screws through its back edge into the bar's back, none where the sheet is clamped.", straight)
    return ("Screws from behind into the beam, heads flush, none in the foot or the round.", straight)


def _side_picture(drawn: Drawn, screws: int, units: Units) -> Drawing:
    """The bar from the front, shortened: its round below, where it may not be bent on, its screws."""

    def size(mm: float) -> str:
        return format_length(mm, units)

    scale, x1, y1 = SIDE / drawn.length, SIDE, SIDE_TALL
    off, first, pitch = max(6.0, RUN_OUT * scale), max(9.0, END * scale), (drawn.length - 2.0 * END) / (screws - 1)
    round_top = 5.0 if drawn.made != "machined" else 3.0
    items: list[Item] = [
        Contour("section", ((0.0, 0.0, 0.0), (x1, 0.0, 0.0), (x1, y1, 0.0), (0.0, y1, 0.0))),
        Line("tangent", (0.0, round_top), (x1, round_top)),
    ]
    for x, way in ((0.0, 1.0), (x1, -1.0)):
        items += [Line("stop", (x + way * off, 0.0), (x + way * off, round_top + 2.0))]
        items += [
            Line("stop", (x + way * off * k / 4.0, 0.0), (x + way * off * (k + 1) / 4.0, round_top)) for k in range(4)
        ]
        if drawn.made == "rod":
            items.append(Circle("hole", (x + way * off / 2.0, round_top / 2.0), 2.0))
    apart = (x1 - 2.0 * first) / (screws - 1)
    items += [Circle("hole", (first + apart * k, 0.7 * y1), 2.2) for k in range(screws)]

    def across(start: float, end: float, at: float, text: str) -> Item:
        return LinearDimension("dimension", (start, 0.0), (end, 0.0), (start, at), 0.0, text, SIZE)

    items += [
        across(0.0, x1, -16.0, f"{size(drawn.length)}, straight within {size(STRAIGHT)}"),
        across(off, x1 - off, -8.0, f"{size(drawn.length - 2.0 * RUN_OUT)} to bend on"),
        Text("dimension", (0.0, y1 + 2.0), f"first screw {size(END)} from the end, then every {size(pitch)}", SIZE),
    ]
    x0, y0, x2, y2 = extents(items)
    return Drawing("from the front", (x2 - x0, y2 - y0), tuple(items), used(items), units, origin=(x0, y0))


def nose_templates(drawn: Drawn, units: Units) -> tuple[tuple[str, Drawing, Template], ...]:
    """Contour template and both radius gauges: name, file to cut, and the same on paper at true size."""
    hollow, full = radius_gauge(drawn.radius)
    words = f"R {format_length(drawn.radius, units, unit=True)}"
    shapes = (
        ("contour", contour_template(drawn), f"contour, {words}"),
        ("gauge-for-the-bar", hollow, words),
        ("gauge-for-the-bend", full, words),
    )
    return tuple((name, *_pattern(name, outline, text, units)) for name, outline, text in shapes)


def _pattern(name: str, outline: Outline, text: str, units: Units) -> tuple[Drawing, Template]:
    def items(layer: str) -> tuple[Item, ...]:
        x0, y0, _, _ = extents([Contour(layer, outline)])
        return Contour(layer, outline), Text("mark", (x0, y0 - 4.0), text, SIZE)

    cut = items("outline")
    x0, y0, x1, y1 = extents(cut)
    pattern = Drawing(name, (x1 - x0, y1 - y0), cut, used(cut), units, origin=(x0, y0), description=text)
    box = (x0 - MARGIN, y0 - MARGIN, x1 + MARGIN, y1 + MARGIN)
    return pattern, Template(name, items("template"), box)
