"""A drawing: lines, arcs, circles, outlines, texts and dimensions on named layers, in millimetres.

Composed once, handed to any exporter. Y points up. ``scale`` is paper size over real size (1 for true size); the items
themselves are in the units of the page.
"""

from dataclasses import dataclass, field
from typing import Literal

from flatgen.core.outline import Outline
from flatgen.core.points import Point

Anchor = Literal["left", "middle", "right"]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    layer: str
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc, counter-clockwise from start to end angle [deg]."""

    layer: str
    center: Point
    radius: float
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    layer: str
    center: Point
    diameter: float


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed curve of lines and arcs, or an open one; ``filled`` paints its inside with the layer's colour."""

    layer: str
    outline: Outline
    closed: bool = True
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text: height of capitals, anchor on the baseline, angle counter-clockwise [deg]."""

    layer: str
    at: Point
    text: str
    height: float
    anchor: Anchor = "left"
    angle: float = 0.0
    bold: bool = False


@dataclass(frozen=True, slots=True)
class LinearDimension:
    """A dimension between two points, its line through ``line_at``; angle of the measured direction [deg]."""

    layer: str
    start: Point
    end: Point
    line_at: Point
    angle: float
    text: str
    height: float


Item = Line | Arc | Circle | Contour | Text | LinearDimension


@dataclass(frozen=True, slots=True)
class Group:
    """Items that belong together; an exporter that can, keeps them as a named group."""

    name: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A page or a true-size pattern.

    size : width and height of the page [mm]; items lie within (0, 0) to size
    units : what the numbers in its texts are in, and the unit an exporter should write into its header
    """

    title: str
    size: tuple[float, float]
    items: tuple[Item, ...]
    units: Literal["in", "mm"] = "mm"
    scale: float = 1.0
    origin: Point = (0.0, 0.0)
    description: str = ""
    properties: tuple[tuple[str, str], ...] = field(default=())
