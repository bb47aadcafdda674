"""How much room lettering takes: widths of its letters, and boxes round texts.

Widths are in thousandths of the type size, from the metrics that PDF readers have built in for Helvetica (ISO 32000-1,
9.6.2.2: the standard 14 fonts); Liberation Sans, which is printed, has the same, and its own for rarer letters. Its
capitals are 4 % lower than those of the metrics, which is left so: texts keep their width. Lengths mm.
"""

import functools
import math
from collections.abc import Iterable

from flatgen.core import arcs
from flatgen.core.points import Point
from flatgen.model.drawing import Arc, Circle, Contour, Item, Line, LinearDimension, OrdinateDimension, Text
from flatgen.model.typeface import printable, widths

CAP_HEIGHT = 0.718  # of the type size
DESCENT = 0.29  # below the baseline, of the height of capitals
ASCENT = 1.02

_PLAIN = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 "
    "278 584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 "
    "667 944 667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 "
    "556 333 500 278 556 500 722 500 500 500 334 260 334 584 "
)
_BOLD = (
    "278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 333 "
    "333 584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 "
    "667 944 667 667 611 333 278 333 584 556 333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 "
    "611 389 556 333 611 556 778 556 556 500 389 280 389 584 "
)
WIDTHS = {
    bold: {chr(32 + i): int(w) for i, w in enumerate(text.split())} for bold, text in ((False, _PLAIN), (True, _BOLD))
}
for _table in WIDTHS.values():
    _table.update({"°": 400, "±": 549, "×": 584, "Ø": 778, "·": 333, "½": 834, "¼": 834, "¾": 834})
OTHER_WIDTH = 722  # a letter that nobody knows: a wide one, so that nothing is squeezed

Box = tuple[float, float, float, float]


def text_width(text: str, height: float, bold: bool = False) -> float:
    """Width of a line of text with capitals of a height [mm]."""
    table = WIDTHS[bold]
    return sum(table.get(c) or _rare_width(c, bold) for c in text) / 1000.0 * height / CAP_HEIGHT


@functools.cache
def _rare_width(letter: str, bold: bool) -> float:
    """Width of a letter beyond the usual, as the page will show it [thousandths of the type size]."""
    return sum(widths(bold).get(c, OTHER_WIDTH) for c in printable(letter) if c != "\n")


def text_corners(text: Text) -> tuple[Point, Point, Point, Point]:
    """Corners of the box that a text fills, descenders included."""
    width = text_width(text.text, text.height, text.bold)
    left = {"left": 0.0, "middle": -width / 2.0, "right": -width}[text.anchor]
    cosine, sine = math.cos(math.radians(text.angle)), math.sin(math.radians(text.angle))
    low, high = -DESCENT * text.height, ASCENT * text.height

    def corner(x: float, y: float) -> Point:
        return (text.at[0] + x * cosine - y * sine, text.at[1] + x * sine + y * cosine)

    return (corner(left, low), corner(left + width, low), corner(left + width, high), corner(left, high))


def text_box(text: Text) -> Box:
    """Upright box round a text: least and greatest x and y."""
    return box_of(text_corners(text))


def box_of(points: Iterable[Point]) -> Box:
    """Upright box round points."""
    listed = list(points)
    xs, ys = [p[0] for p in listed], [p[1] for p in listed]
    return min(xs), min(ys), max(xs), max(ys)


def item_box(item: Item) -> Box:
    """Upright box round one item."""
    if isinstance(item, Text):
        return text_box(item)
    if isinstance(item, Line):
        return box_of((item.start, item.end))
    if isinstance(item, Circle):
        r = item.diameter / 2.0
        return (item.center[0] - r, item.center[1] - r, item.center[0] + r, item.center[1] + r)
    if isinstance(item, Arc):
        sweep = (item.end - item.start) % 360.0 or 360.0
        marks = [item.start, item.start + sweep]
        marks += [a for a in range(-720, 1081, 90) if item.start < a < item.start + sweep]
        cx, cy = item.center
        return box_of(
            (cx + item.radius * math.cos(math.radians(a)), cy + item.radius * math.sin(math.radians(a))) for a in marks
        )
    if isinstance(item, Contour):
        pairs = list(zip(item.outline, (*item.outline[1:], item.outline[0]), strict=True))
        runs = pairs if item.closed else pairs[:-1]
        return box_of(e for a, b in runs for e in arcs.extremes(a[:2], b[:2], a[2]))
    from flatgen.model.dimension_strokes import strokes

    assert isinstance(item, LinearDimension | OrdinateDimension)
    return extents(strokes(item))


def extents(items: Iterable[Item]) -> Box:
    """Upright box round all items."""
    boxes = [item_box(item) for item in items]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)
