"""A drawing: a page or a true-size pattern of items on named layers, composed once, handed to any exporter.

``scale`` is paper size over real size (1 for true size); the items themselves are in the units of the page. Every layer
that the items name comes along in ``layers``, so that an exporter needs no table of its own.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from flatgen.core.points import Point
from flatgen.core.words import Units
from flatgen.page.items import (
    Anchor,
    Arc,
    Circle,
    Contour,
    Curve,
    Line,
    LinearDimension,
    OrdinateDimension,
    Pen,
    Raster,
    Run,
    Simple,
    Text,
    box_of,
)
from flatgen.page.lettering import Box

__all__ = [
    "Anchor",
    "Arc",
    "Box",
    "Circle",
    "Contour",
    "Curve",
    "Drawing",
    "Item",
    "Layer",
    "Line",
    "LineType",
    "LinearDimension",
    "OrdinateDimension",
    "Pen",
    "Raster",
    "Run",
    "Simple",
    "Text",
    "box_of",
    "extents",
]

Item = Simple | LinearDimension | OrdinateDimension


@dataclass(frozen=True, slots=True)
class LineType:
    """Dashes and gaps in turn, in multiples of the line width; empty is continuous. ``iso`` is the number of the basic
    type in ISO 128-2."""

    name: str
    iso: str
    pattern: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Layer:
    """One purpose on a drawing: name, what is drawn on it, line type, line width [mm], colour (0 to 255 each).

    color_index : the colour by number for DXF readers without true colours
    """

    name: str
    purpose: str
    line: LineType
    width: float
    color: tuple[int, int, int]
    color_index: int


@dataclass(frozen=True, slots=True)
class Drawing:
    """A page or a true-size pattern.

    size : width and height of the page [mm]
    origin : the page's low left corner in the items' axes; items lie between it and origin + size
    units : what the numbers in its texts are in, and the unit an exporter should write into its header
    for_machine : it is cut by: what was written is read back and compared before it is handed out
    stretch : what a printer's error asks for in x and y of this page, about its low left corner; paper formats only
    """

    title: str
    size: tuple[float, float]
    items: tuple[Item, ...]
    layers: tuple[Layer, ...] = ()
    units: Units = "mm"
    scale: float = 1.0
    origin: Point = (0.0, 0.0)
    description: str = ""
    properties: tuple[tuple[str, str], ...] = field(default=())
    stretch: tuple[float, float] = (1.0, 1.0)
    for_machine: bool = False


def extents(items: Iterable[Item]) -> Box:
    """Upright box round all items."""
    boxes = [item.box() for item in items]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)
