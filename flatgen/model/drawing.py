"""A drawing: lines, arcs, circles, outlines, texts and dimensions on named layers, in millimetres.

Composed once, handed to any exporter. Y points up. ``scale`` is paper size over real size (1 for true size); the items
themselves are in the units of the page. Every layer that the items name comes along in ``layers``, so that an exporter
needs no table of its own.
"""

from dataclasses import dataclass, field
from typing import Literal

from flatgen.core.outline import Outline
from flatgen.core.points import Point

Anchor = Literal["left", "middle", "right"]
_BLANKS = dict.fromkeys((*range(32), 127, *range(128, 160)), " ")


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


Simple = Line | Arc | Circle | Contour | Text
Item = Simple | LinearDimension | OrdinateDimension


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
    units: Literal["in", "mm"] = "mm"
    scale: float = 1.0
    origin: Point = (0.0, 0.0)
    description: str = ""
    properties: tuple[tuple[str, str], ...] = field(default=())
    stretch: tuple[float, float] = (1.0, 1.0)
    for_machine: bool = False

    def layer(self, name: str) -> Layer:
        """The layer with this name."""
        return next(layer for layer in self.layers if layer.name == name)
