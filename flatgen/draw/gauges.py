"""Gauges for leaf and bend at true size: wedges to cut from paper, card or scrap.

A leaf gauge lies in the corner between bed and leaf, with the nose up and no sheet in. Two wedges tell whether a bend
is within its limits: one touches its legs at the ends only, one at the corner only. Every wedge's corner is relieved,
so that neither the hinge nor the bend's own radius lifts it. Lengths mm, angles deg.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from flatgen.core.outline import Outline, polygon
from flatgen.core.words import Units
from flatgen.draw.template import Template
from flatgen.draw.tiles import Layout, pages
from flatgen.model.plan import BrakePlan, Operation, Setup
from flatgen.page.drawing import Contour, Drawing, Item, Text, extents
from flatgen.page.layers import used
from flatgen.page.table import wrapped

STEP = 0.25  # leaf gauges come at every quarter degree
APART = 5.0  # leaf angles farther from one another than this are ranges of their own [deg]
EDGE, BODY = 45.0, 24.0  # length of a wedge's edges beyond what is cut off; depth of a wide one's body
NEXT, WIDE = 2.0, 178.0  # between the edges of wedges, and the most that a row of them is wide
LEAF_RELIEF = 3.0  # cut off along each edge at the corner
CLEAR = 1.0  # a bend's wedge keeps off the end of its radius
OBTUSE = 110.0  # a wider wedge is a strip along its edges, else it would have no body
GREATEST = 180.0 - 2.0  # a wider wedge is a straight edge
HEIGHT, NOTE, WORDS = 3.0, 2.2, 165.0
SITS = "nose up, no sheet in"
HOW = (
    "LEAF gauge: nose up, no sheet in. One edge on the bed, the other on the leaf, the cut corner at the hinge. Turn"
    " the leaf up until both edges touch along their whole length; set its stop there. It is the nearest quarter"
    " degree: it holds, not the figure beside its name; the first piece decides.",
    "BEND gauge: lay both wedges into the bend. Right: that of the smaller angle touches at the ends of the legs and"
    " shows light at the corner, that of the greater angle shows light at the ends only. Light at the ends under the"
    " smaller: too open. Light at the corner under the greater: too far.",
    "Glue to card or scrap, cut in the middle of the line. The DXF files are the same shapes.",
)


@dataclass(frozen=True, slots=True)
class Gauge:
    """One gauge: ``wedges`` are (name on it, angle between its edges), ``sits`` is written on them too."""

    name: str
    wedges: tuple[tuple[str, float], ...]
    sits: tuple[str, ...]
    relief: float


def leaf_gauge(leaf_angle: float) -> float:
    """The leaf gauge nearest to an angle.

    >>> leaf_gauge(94.1), leaf_gauge(93.4)
    (94.0, 93.5)
    """
    return round(leaf_angle / STEP) * STEP


def gauge_name(angle: float) -> str:
    """A gauge's name, to a tenth.

    >>> gauge_name(94.25), gauge_name(94.0)
    ('94.2', '94.0')
    """
    return f"{math.floor(angle * 10.0 + 1e-9) / 10.0:.1f}"


def leaf_gauge_name(leaf_angle: float) -> str:
    """The name of the leaf gauge nearest to an angle.

    >>> leaf_gauge_name(94.11)
    '94.0'
    """
    return gauge_name(leaf_gauge(leaf_angle))


def leaf_series(leaf_angles: Iterable[float]) -> tuple[float, ...]:
    """Every quarter degree over the range of leaf angles, and a step more at both ends, which a test bend may ask for.

    Angles that lie far from one another are ranges of their own.

    >>> leaf_series((62.7, 92.7, 93.1))
    (62.5, 62.75, 63.0, 92.5, 92.75, 93.0, 93.25)
    """
    steps = sorted({round(angle / STEP) for angle in leaf_angles})
    ends = [k for k, step in enumerate(steps) if k + 1 == len(steps) or (steps[k + 1] - step) * STEP > APART]
    found, first = [], 0
    for last in ends:
        found += [STEP * step for step in range(steps[first] - 1, steps[last] + 2)]
        first = last + 1
    return tuple(angle for angle in found if 0.0 < angle < GREATEST)


def gauges_of(plan: BrakePlan) -> tuple[Gauge, ...]:
    """Gauges for the leaf over the plan's range and for every bend angle with its limits, each once."""
    turned = [setup for setup in plan.setups if setup.stop_side != "squeeze"]
    found = [_leaf(angle) for angle in leaf_series(setup.overbend_to for setup in turned)]
    limits: dict[tuple[float, float], float] = {}
    for op in _measured(turned):
        key = (round(op.angle, 3), round(op.angle_tolerance, 3))
        limits[key] = max(limits.get(key, 0.0), op.released_radius)
    return (*found, *(_bend(angle, off, radius) for (angle, off), radius in sorted(limits.items())))


def _measured(setups: list[Setup]) -> Iterator[Operation]:
    """Bends whose angle is measured, which that of an open hem is not."""
    for setup in setups:
        for op in setup.operations:
            if op.gap is None and op.angle - op.angle_tolerance > 180.0 - GREATEST:
                yield op


def _leaf(angle: float) -> Gauge:
    name = gauge_name(angle)
    return Gauge(f"leaf-{name}", ((f"LEAF {name}", 180.0 - angle),), (f"leaf at {_exact(angle)}", SITS), LEAF_RELIEF)


def _bend(angle: float, off: float, radius: float) -> Gauge:
    """Wedges for the least and the greatest angle that pass; their corner keeps clear of the bend's inside radius."""
    wedges = tuple((f"BEND {_exact(one)}", 180.0 - one) for one in (angle - off, angle + off))
    relief = CLEAR + radius * math.tan(math.radians(angle + off) / 2.0)
    name = f"bend-{_exact(angle)[:-1]}" + ("" if off == 1.0 else f"-within-{_exact(off)[:-1]}")
    return Gauge(name, wedges, (f"bend {_exact(angle)} ±{_exact(off)}",), relief)


def _exact(angle: float) -> str:
    """An angle with as many places as it has, two at the most."""
    return f"{angle:.2f}".rstrip("0").removesuffix(".") + "°"


def wedge(angle: float, relief: float) -> Outline:
    """A wedge, its corner cut off, standing on that corner: both edges rise at half its angle from upright.

    relief : cut off along each edge from the corner, which is at 0, 0
    """
    half, leg = math.radians(angle) / 2.0, relief + EDGE
    right, left = (math.sin(half), math.cos(half)), (-math.sin(half), math.cos(half))
    corners = [(relief * right[0], relief * right[1]), (leg * right[0], leg * right[1])]
    if angle > OBTUSE:
        inward = (-math.cos(half), math.sin(half))
        corners.append((corners[1][0] + BODY * inward[0], corners[1][1] + BODY * inward[1]))
        corners.append((-corners[2][0], corners[2][1]))
    corners += [(leg * left[0], leg * left[1]), (relief * left[0], relief * left[1])]
    return polygon(corners)


def gauge_pages(gauges: Sequence[Gauge], layout: Layout) -> tuple[Drawing, ...]:
    """All gauges at true size on the shop's paper."""
    return pages(gauge_templates(gauges), layout)


def gauge_templates(gauges: Sequence[Gauge]) -> list[Template]:
    """Gauges on paper, and how they are used."""
    found = [_boxed("how to use them", _how())]
    for row in _rows([(name, angle, one) for one in gauges for name, angle in one.wedges]):
        found.append(_boxed(", ".join(name for name, _, _ in row), _laid(row, "template")))
    return found


def _rows(wedges: Sequence[tuple[str, float, Gauge]]) -> Iterator[list[tuple[str, float, Gauge]]]:
    """Pointed wedges in a row, as many as a page is wide; others alone."""
    row: list[tuple[str, float, Gauge]] = []
    for each in wedges:
        x0, _, x1, _ = extents(_laid([*row, each], "template"))
        if row and (max(angle for _, angle, _ in (*row, each)) > OBTUSE or x1 - x0 > WIDE):
            yield row
            row = []
        row.append(each)
    yield from [row] if row else []


def _how() -> list[Item]:
    lines = [line for text in HOW for line in wrapped(text, WORDS, NOTE)]
    return [Text("note", (0.0, -1.6 * NOTE * k), line, NOTE) for k, line in enumerate(lines)]


def _boxed(name: str, items: list[Item]) -> Template:
    return Template(name, tuple(items), extents(items))


def gauge_pattern(gauge: Gauge, units: Units) -> Drawing:
    """A gauge as a file to cut from scrap."""
    items = tuple(_laid([(name, angle, gauge) for name, angle in gauge.wedges], "outline"))
    x0, y0, x1, y1 = extents(items)
    size, title = (x1 - x0, y1 - y0), f"Gauge {gauge.name}"
    return Drawing(title, size, items, used(items), units, origin=(x0, y0), description="; ".join(gauge.sits))


def _laid(wedges: Sequence[tuple[str, float, Gauge]], layer: str) -> list[Item]:
    """Wedges one over the other; pointed ones beside each other, every second on its back, edge along edge."""
    shapes = [(name, angle, one.sits, wedge(angle, one.relief)) for name, angle, one in wedges]
    tall = max(y for *_, shape in shapes for _, y, _ in shape)
    half = math.radians(max(angle for _, angle, _, _ in shapes)) / 2.0
    pointed = 2.0 * half <= math.radians(OBTUSE)
    items: list[Item] = []
    for k, (name, angle, sits, shape) in enumerate(shapes):
        x, y = (k * (tall * math.tan(half) + NEXT / math.cos(half)), 0.0) if pointed else (0.0, -k * (tall + NEXT))
        turned = -1.0 if pointed and k % 2 else 1.0
        low = y if turned > 0 else y + tall
        items.append(Contour(layer, tuple((turned * px + x, low + turned * py, bulge) for px, py, bulge in shape)))
        words = (f"{_exact(angle)} between edges", *sits)
        base = low + turned * max(py for _, py, _ in shape)
        top = base - 1.5 * HEIGHT if turned > 0 else base + 0.5 * HEIGHT + 1.6 * NOTE * len(words)
        items.append(Text("mark", (x, top), name, HEIGHT, "middle", bold=True))
        for line, said in enumerate(words, 1):
            items.append(Text("mark", (x, top - 1.6 * NOTE * line), said, NOTE, "middle"))
    return items
