"""A drawing as SVG at true size: viewBox in millimetres, one titled group a layer, arcs as arcs.

A point (x, y) of the drawing is (x, -y) in the file, since the format counts downward; nothing is moved or scaled.
"""

import math
from pathlib import Path
from typing import Any

from flatgen.core.arcs import STRAIGHT, sweep_of
from flatgen.core.points import Point, distance
from flatgen.model.dimension_strokes import simply
from flatgen.model.drawing import (
    Arc,
    Circle,
    Contour,
    Drawing,
    Item,
    Layer,
    Line,
    Simple,
    Text,
)
from flatgen.model.lettering import CAP_HEIGHT, text_width
from flatgen.output.disk import put
from flatgen.output.single import SVG_MARK

FONTS = "Helvetica, Arial, 'Liberation Sans', sans-serif"


def write(drawing: Drawing, path: Path) -> None:
    """Write a new file of a drawing; equal drawings give equal files."""
    put(path, as_text(drawing))


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


def path_data(outline: tuple[tuple[float, float, float], ...], closed: bool = True) -> str:
    """Path commands of an outline of lines and arcs."""
    parts = [f"M{_at(outline[0][:2])}"]
    following = (*outline[1:], outline[0]) if closed else outline[1:]
    for (x, y, bulge), (x2, y2, _) in zip(outline, following, strict=False):
        parts.append(_segment((x, y), (x2, y2), bulge))
    return "".join(parts) + ("Z" if closed else "")


def shape_data(item: Line | Circle | Arc | Contour) -> str:
    """Path commands of anything but lettering; a full circle is two half turns."""
    if isinstance(item, Line):
        return f"M{_at(item.start)}L{_at(item.end)}"
    if isinstance(item, Arc):
        return path_data(_open_arc(item), closed=False)
    if isinstance(item, Contour):
        return path_data(item.outline, item.closed)
    (x, y), r = item.center, item.diameter / 2.0
    return path_data(((x - r, y, 1.0), (x + r, y, 1.0)))


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
    for item in items:
        for simple in simply(item):
            group.add(_element(document, simple, color))
    return group


def _element(document: Any, item: Simple, color: str) -> Any:
    if isinstance(item, Text):
        return _text(document, item, color)
    if isinstance(item, Circle):
        return document.circle(center=(number(item.center[0]), number(-item.center[1])), r=number(item.diameter / 2.0))
    element = document.path(d=shape_data(item))
    if isinstance(item, Contour) and item.filled:
        element["fill"] = color
        element["stroke"] = "none"
    return element


def _open_arc(item: Arc) -> tuple[tuple[float, float, float], ...]:
    sweep = math.radians((item.end - item.start) % 360.0 or 360.0)
    start = math.radians(item.start)
    corners = []
    for k in range(3):  # two halves, so that even a full turn has distinct ends
        angle = start + sweep * k / 2.0
        corners.append(
            (
                item.center[0] + item.radius * math.cos(angle),
                item.center[1] + item.radius * math.sin(angle),
                math.tan(sweep / 8.0),
            )
        )
    return tuple(corners)


def _text(document: Any, item: Text, color: str) -> Any:
    x, y = number(item.at[0]), number(-item.at[1])
    attributes: dict[str, Any] = {
        "insert": (x, y),
        "font_family": FONTS,
        "font_size": number(item.height / CAP_HEIGHT),
        "fill": color,
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
    return document.text(item.text, **attributes)
