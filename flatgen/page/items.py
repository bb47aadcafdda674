"""What a drawing is made of: lines, arcs, circles, outlines and texts on named layers, in millimetres; y points up.

An item knows its box, its runs (straight or bulged pieces, one after the other), itself carried elsewhere, and how to
draw itself onto a pen; exporters, measuring and cutting are pens or walk the runs, and none asks what an item is.
Dimensions come as such, and broken down into lines, arrows and a text for formats that have none, in the proportions of
ISO 129-1 (from memory): the extension line starts a little off the feature and passes the dimension line by about eight
line widths; a closed arrow; the text above the line.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal, Protocol

from flatgen.core import arcs
from flatgen.core.outline import Outline
from flatgen.core.points import Point, add, along, distance, dot, left, sub, unit
from flatgen.page.lettering import ASCENT, DESCENT, Box, text_width

# of dimensions
GAP = 0.8
OVERRUN = 1.2
ARROW = 2.5
ABOVE = 0.7

Anchor = Literal["left", "middle", "right"]
Run = tuple[Point, Point, float]  # from, to, bulge
Carry = Callable[[Point], Point]
_BLANKS = dict.fromkeys((*range(32), 127, *range(128, 160)), " ")


class Pen(Protocol):
    """Takes items as they draw themselves; see ``page.pens`` for those that take dimensions as strokes."""

    def line(self, item: "Line") -> None:
        """Draw a straight line."""

    def arc(self, item: "Arc") -> None:
        """Draw an arc."""

    def circle(self, item: "Circle") -> None:
        """Draw a full circle."""

    def contour(self, item: "Contour") -> None:
        """Draw a curve of lines and arcs, or paint its inside."""

    def text(self, item: "Text") -> None:
        """Set a line of text."""

    def raster(self, item: "Raster") -> None:
        """Show a photograph."""

    def linear(self, item: "LinearDimension") -> None:
        """Draw a dimension between two points."""

    def ordinate(self, item: "OrdinateDimension") -> None:
        """Draw the distance of a feature from a datum."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    layer: str
    start: Point
    end: Point
    closed = False

    def runs(self) -> tuple[Run, ...]:
        """The line itself."""
        return ((self.start, self.end, 0.0),)

    def box(self) -> Box:
        """Upright box round it."""
        return box_of((self.start, self.end))

    def carried(self, at: Carry, scale: float = 1.0, turned: float = 0.0) -> "Line":
        """Elsewhere: where ``at`` puts its points, ``scale`` times as large, turned so far [deg]."""
        return Line(self.layer, at(self.start), at(self.end))

    def onto(self, pen: Pen) -> None:
        """Draw it."""
        pen.line(self)


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc, counter-clockwise from start to end angle [deg]."""

    layer: str
    center: Point
    radius: float
    start: float
    end: float
    closed = False

    @property
    def sweep(self) -> float:
        """Angle that it runs through; a full turn where both ends are one [deg]."""
        return (self.end - self.start) % 360.0 or 360.0

    def runs(self) -> tuple[Run, ...]:
        """Two halves, so that even a full turn has distinct ends."""
        a, b, c = (self._on(self.start + self.sweep * k / 2.0) for k in range(3))
        bulge = math.tan(math.radians(self.sweep) / 8.0)
        return (a, b, bulge), (b, c, bulge)

    def _on(self, angle: float) -> Point:
        a = math.radians(angle)
        return self.center[0] + self.radius * math.cos(a), self.center[1] + self.radius * math.sin(a)

    def box(self) -> Box:
        """Upright box round it."""
        return _box_of_runs(self.runs())

    def carried(self, at: Carry, scale: float = 1.0, turned: float = 0.0) -> "Arc":
        """Elsewhere: where ``at`` puts its points, ``scale`` times as large, turned so far [deg]."""
        start, end = self.start + turned, self.end + turned
        return replace(self, center=at(self.center), radius=self.radius * scale, start=start, end=end)

    def onto(self, pen: Pen) -> None:
        """Draw it."""
        pen.arc(self)


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    layer: str
    center: Point
    diameter: float
    closed = True

    def runs(self) -> tuple[Run, ...]:
        """Two half turns."""
        (x, y), r = self.center, self.diameter / 2.0
        return ((x + r, y), (x - r, y), 1.0), ((x - r, y), (x + r, y), 1.0)

    def box(self) -> Box:
        """Upright box round it."""
        (x, y), r = self.center, self.diameter / 2.0
        return x - r, y - r, x + r, y + r

    def carried(self, at: Carry, scale: float = 1.0, turned: float = 0.0) -> "Circle":
        """Elsewhere: where ``at`` puts its points, ``scale`` times as large."""
        return Circle(self.layer, at(self.center), self.diameter * scale)

    def onto(self, pen: Pen) -> None:
        """Draw it."""
        pen.circle(self)


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed curve of lines and arcs, or an open one; ``filled`` paints its inside with the layer's colour."""

    layer: str
    outline: Outline
    closed: bool = True
    filled: bool = False

    def runs(self) -> tuple[Run, ...]:
        """From corner to corner."""
        corners = self.outline
        following = (*corners[1:], corners[0]) if self.closed else corners[1:]
        return tuple((p[:2], q[:2], p[2]) for p, q in zip(corners, following, strict=False))

    def box(self) -> Box:
        """Upright box round it."""
        return _box_of_runs(self.runs())

    def carried(self, at: Carry, scale: float = 1.0, turned: float = 0.0) -> "Contour":
        """Elsewhere: where ``at`` puts its points."""
        outline = tuple([(*at((x, y)), bulge) for x, y, bulge in self.outline])
        return Contour(self.layer, outline, self.closed, self.filled)

    def onto(self, pen: Pen) -> None:
        """Draw it."""
        pen.contour(self)


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text: height of capitals, anchor on the baseline, angle counter-clockwise [deg].

    Line breaks and control characters become spaces: no file format takes them in a line of text.
    """

    layer: str
    at: Point
    text: str
    height: float
    anchor: Anchor = "left"
    angle: float = 0.0
    bold: bool = False

    def __post_init__(self) -> None:
        """Keep the text to one printable line."""
        object.__setattr__(self, "text", self.text.translate(_BLANKS))

    def runs(self) -> tuple[Run, ...]:
        """None: lettering has no line to follow."""
        return ()

    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Corners of the box that it fills, descenders included."""
        width = text_width(self.text, self.height, self.bold)
        left = {"left": 0.0, "middle": -width / 2.0, "right": -width}[self.anchor]
        cosine, sine = math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))
        low, high = -DESCENT * self.height, ASCENT * self.height

        def corner(x: float, y: float) -> Point:
            return (self.at[0] + x * cosine - y * sine, self.at[1] + x * sine + y * cosine)

        return (corner(left, low), corner(left + width, low), corner(left + width, high), corner(left, high))

    def box(self) -> Box:
        """Upright box round it."""
        return box_of(self.corners())

    def carried(self, at: Carry, scale: float = 1.0, turned: float = 0.0) -> "Text":
        """Elsewhere: at the place, turned so far [deg]; the height of lettering is the page's and stays."""
        return Text(self.layer, at(self.at), self.text, self.height, self.anchor, self.angle + turned, self.bold)

    def onto(self, pen: Pen) -> None:
        """Set it."""
        pen.text(self)


Curve = Line | Arc | Circle | Contour


@dataclass(frozen=True, slots=True)
class Raster:
    """A photograph as a JPEG file's bytes, upright in a box whose low left corner is ``at``; pages only show it."""

    layer: str
    at: Point
    size: tuple[float, float]
    jpeg: bytes
    closed = False

    def runs(self) -> tuple[Run, ...]:
        """None: nothing is cut by it."""
        return ()

    def box(self) -> Box:
        """Its box."""
        return self.at[0], self.at[1], self.at[0] + self.size[0], self.at[1] + self.size[1]

    def carried(self, at: Carry, scale: float = 1.0, turned: float = 0.0) -> "Raster":
        """Elsewhere, so many times as large; it stays upright."""
        return replace(self, at=at(self.at), size=(self.size[0] * scale, self.size[1] * scale))

    def onto(self, pen: Pen) -> None:
        """Draw it."""
        pen.raster(self)


Simple = Curve | Text | Raster


@dataclass(frozen=True, slots=True)
class LinearDimension:
    """A dimension between two points, its line through ``line_at``; angle of the measured direction [deg].

    view_scale : paper over real size of the view it belongs to; 0: the drawing's own
    """

    layer: str
    start: Point
    end: Point
    line_at: Point
    angle: float
    text: str
    height: float
    view_scale: float = 0.0

    def strokes(self) -> tuple[Simple, ...]:
        """Lines, arrows and text."""
        return _linear(self)

    def runs(self) -> tuple[Run, ...]:
        """None: its strokes have them."""
        return ()

    def box(self) -> Box:
        """Upright box round it."""
        return _box_round(self.strokes())

    def carried(self, at: Carry, scale: float = 1.0, turned: float = 0.0) -> "LinearDimension":
        """Elsewhere: where ``at`` puts its points, turned so far [deg]."""
        angle = self.angle + turned
        return replace(self, start=at(self.start), end=at(self.end), line_at=at(self.line_at), angle=angle)

    def onto(self, pen: Pen) -> None:
        """Draw it."""
        pen.linear(self)


@dataclass(frozen=True, slots=True)
class OrdinateDimension:
    """Distance of one feature from a datum along an axis, written at the end of a line from the feature.

    axis : the coordinate that is given; the line runs square to it, with a jog where ``end`` lies beside the feature
    """

    layer: str
    feature: Point
    end: Point
    axis: Literal["x", "y"]
    origin: Point
    text: str
    height: float

    def strokes(self) -> tuple[Simple, ...]:
        """Lines and text."""
        return _ordinate(self)

    def runs(self) -> tuple[Run, ...]:
        """None: its strokes have them."""
        return ()

    def box(self) -> Box:
        """Upright box round it."""
        return _box_round(self.strokes())

    def carried(self, at: Carry, scale: float = 1.0, turned: float = 0.0) -> "OrdinateDimension":
        """Elsewhere: where ``at`` puts its points."""
        return replace(self, feature=at(self.feature), end=at(self.end), origin=at(self.origin))

    def onto(self, pen: Pen) -> None:
        """Draw it."""
        pen.ordinate(self)


def _box_round(strokes: tuple[Simple, ...]) -> Box:
    boxes = [stroke.box() for stroke in strokes]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def arrow(layer: str, tip: Point, direction: Point, size: float = ARROW) -> Contour:
    """A filled arrow head with its tip at a point, pointing along a unit direction."""
    back = along(tip, direction, -size)
    side = left(direction)
    half = size / 6.0
    corners = (tip, along(back, side, half), along(back, side, -half))
    return Contour(layer, tuple((*p, 0.0) for p in corners), filled=True)


def _linear(d: LinearDimension) -> tuple[Simple, ...]:
    along_line = (math.cos(math.radians(d.angle)), math.sin(math.radians(d.angle)))
    feet = tuple(along(d.line_at, along_line, dot(sub(p, d.line_at), along_line)) for p in (d.start, d.end))
    items: list[Simple] = []
    for point, foot in zip((d.start, d.end), feet, strict=True):
        away = distance(point, foot)
        if away > GAP:
            u = unit(sub(foot, point))
            items.append(Line(d.layer, along(point, u, GAP), along(foot, u, OVERRUN)))
    span = distance(*feet)
    if span < 1e-9:
        return tuple(items)
    way = unit(sub(feet[1], feet[0]))
    width = text_width(d.text, d.height)
    inside = span >= 3.0 * ARROW
    turned = d.angle % 180.0
    angle = turned - 180.0 if turned > 90.0 + 1e-6 else turned
    reading = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    ends = list(feet)
    if inside:
        items += [arrow(d.layer, feet[0], (-way[0], -way[1])), arrow(d.layer, feet[1], way)]
    else:
        items += [arrow(d.layer, feet[0], way), arrow(d.layer, feet[1], (-way[0], -way[1]))]
        ends = [along(feet[0], way, -2.0 * ARROW), along(feet[1], way, 2.0 * ARROW)]
    if width <= span - 1.0:
        at = along(along(feet[0], way, span / 2.0), left(reading), ABOVE)
        items.append(Text(d.layer, at, d.text, d.height, "middle", angle))
    else:
        # no room between: the text stands on the line, drawn out beyond the end that reads last
        last = 1 if dot(way, reading) > 0 else 0
        out = 2.0 * ARROW
        ends[last] = along(feet[last], reading, out + width)
        items.append(
            Text(d.layer, along(along(feet[last], reading, out), left(reading), ABOVE), d.text, d.height, "left", angle)
        )
    items.append(Line(d.layer, ends[0], ends[1]))
    return tuple(items)


def _ordinate(d: OrdinateDimension) -> tuple[Simple, ...]:
    """Line from the feature, jogged where the text had to move aside, and the text in line with its end."""
    k = 1 if d.axis == "x" else 0  # the coordinate along which the line runs
    way = 1.0 if d.end[k] >= d.feature[k] else -1.0
    run: Point = (0.0, way) if k else (way, 0.0)
    start = along(d.feature, run, GAP)
    items: list[Simple] = []
    if abs(d.end[1 - k] - d.feature[1 - k]) < 1e-6:
        items.append(Line(d.layer, start, d.end))
    else:
        knee_far = along(d.end, run, -1.5)
        knee_near = along(d.feature, run, GAP + 1.0)
        items += [
            Line(d.layer, start, knee_near),
            Line(d.layer, knee_near, knee_far),
            Line(d.layer, knee_far, d.end),
        ]
    if k:
        at = add(along(d.end, run, ABOVE), (0.5 * d.height, 0.0))
        items.append(Text(d.layer, at, d.text, d.height, "left" if way > 0 else "right", 90.0))
    else:
        at = add(along(d.end, run, ABOVE), (0.0, -0.5 * d.height))
        items.append(Text(d.layer, at, d.text, d.height, "left" if way > 0 else "right"))
    return tuple(items)


def box_of(points: Iterable[Point]) -> Box:
    """Upright box round points."""
    listed = list(points)
    xs, ys = [p[0] for p in listed], [p[1] for p in listed]
    return min(xs), min(ys), max(xs), max(ys)


def _box_of_runs(runs: Iterable[Run]) -> Box:
    return box_of(point for p, q, bulge in runs for point in arcs.extremes(p, q, bulge))
