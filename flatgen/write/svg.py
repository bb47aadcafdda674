"""A drawing as SVG at true size: viewBox in millimetres, one titled group a layer, arcs as arcs.

A point (x, y) of the drawing is (x, -y) in the file, since the format counts downward; nothing is moved or scaled.
"""

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from flatgen.core.arcs import STRAIGHT, sweep_of
from flatgen.core.outline import Outline
from flatgen.core.points import Point, distance
from flatgen.output.disk import put
from flatgen.output.single import SVG_MARK
from flatgen.page.drawing import Circle, Contour, Curve, Drawing, Item, Layer, Text
from flatgen.page.lettering import CAP_HEIGHT, text_width
from flatgen.page.pens import StrokePen

FONTS = "Helvetica, Arial, 'Liberation Sans', sans-serif"


def write(drawing: Drawing, path: Path) -> None:
    """Write a new file of a drawing; equal drawings give equal files."""
    put(path, as_bytes((drawing,)))


def as_bytes(drawings: Sequence[Drawing]) -> bytes:
    """The bytes of the file of one drawing."""
    (drawing,) = drawings
    return as_text(drawing).encode("utf-8")


def as_text(drawing: Drawing) -> str:
    """The text of the SVG file."""
    import svgwrite

    width, height = drawing.size
    document = svgwrite.Drawing(
        size=(f"{number(width)}mm", f"{number(height)}mm"),
        viewBox=f"{number(drawing.origin[0])} {number(-drawing.origin[1] - height)} {number(width)} {number(height)}",
        debug=False,
    )
    document.set_desc(title=drawing.title, desc=drawing.description or None)
    for layer in drawing.layers:
        items = [item for item in drawing.items if item.layer == layer.name]
        document.add(_group(document, layer, items))
    body: str = document.tostring()
    return f'<?xml version="1.0" encoding="utf-8"?>\n{SVG_MARK}\n{body}\n'


def number(value: float) -> str:
    """A coordinate to a tenth of a nanometre without trailing zeros."""
    text = f"{value:.7f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path_data(outline: Outline, closed: bool = True) -> str:
    """Path commands of an outline of lines and arcs."""
    return shape_data(Contour("", outline, closed))


def shape_data(item: Curve) -> str:
    """Path commands of a curve."""
    runs = item.runs()
    start = f"M{_at(runs[0][0])}" if runs else ""
    return start + "".join(_segment(*run) for run in runs) + ("Z" if item.closed else "")


def _at(p: Point) -> str:
    return f"{number(p[0])},{number(-p[1])}"


def _segment(p: Point, q: Point, bulge: float) -> str:
    if abs(bulge) < STRAIGHT:
        return f"L{_at(q)}"
    radius = number(distance(p, q) * (1.0 + bulge * bulge) / (4.0 * abs(bulge)))
    large = 1 if abs(sweep_of(bulge)) > math.pi else 0
    # turning over turns a counter-clockwise arc into one with falling angle
    return f"A{radius},{radius} 0 {large} {0 if bulge > 0 else 1} {_at(q)}"


def _group(document: Any, layer: Layer, items: list[Item]) -> Any:
    color = "#{:02x}{:02x}{:02x}".format(*layer.color)
    attributes = {
        "id": layer.name,
        "fill": "none",
        "stroke": color,
        "stroke_width": number(layer.width),
        "stroke_linejoin": "round",
    }
    if layer.line.pattern:
        attributes["stroke_dasharray"] = " ".join(number(d * layer.width) for d in layer.line.pattern)
    group = document.g(**attributes)
    group.set_desc(title=f"{layer.name}: {layer.purpose}")
    pen = _SvgPen(document, group, color)
    for item in items:
        item.onto(pen)
    return group


class _SvgPen(StrokePen):
    """Adds items to a group: curves as paths, full circles as circles, texts."""

    def __init__(self, document: Any, group: Any, color: str) -> None:
        self.document, self.group, self.color = document, group, color

    def curve(self, item: Curve) -> None:
        self.group.add(self.document.path(d=shape_data(item)))

    def circle(self, item: Circle) -> None:
        middle = (number(item.center[0]), number(-item.center[1]))
        self.group.add(self.document.circle(center=middle, r=number(item.diameter / 2.0)))

    def contour(self, item: Contour) -> None:
        element = self.document.path(d=shape_data(item))
        if item.filled:
            element["fill"], element["stroke"] = self.color, "none"
        self.group.add(element)

    def text(self, item: Text) -> None:
        x, y = number(item.at[0]), number(-item.at[1])
        attributes: dict[str, Any] = {
            "insert": (x, y),
            "font_family": FONTS,
            "font_size": number(item.height / CAP_HEIGHT),
            "fill": self.color,
            "stroke": "none",
        }
        if item.anchor != "left":
            attributes["text_anchor"] = "middle" if item.anchor == "middle" else "end"
        if item.bold:
            attributes["font_weight"] = "bold"
        if item.angle:
            attributes["transform"] = f"rotate({number(-item.angle)} {x} {y})"
        if item.text:
            # whichever of the fonts is there, the text takes the room that was laid out for it
            attributes["textLength"] = number(text_width(item.text, item.height, item.bold))
        self.group.add(self.document.text(item.text, **attributes))
