"""A drawing as DXF: contours as closed polylines with true arcs, dimensions as dimensions.

A drawing to scale is written at true size, its frame enlarged with it, so that every measurement taken from the file is
the part's. Numbers are in the drawing's units, which the header names.
"""

import logging
import math
from collections.abc import Sequence
from io import StringIO
from pathlib import Path
from typing import Any

from flatgen.core.points import Point
from flatgen.output.disk import put
from flatgen.page.drawing import (
    Arc,
    Circle,
    Contour,
    Drawing,
    Layer,
    Line,
    LinearDimension,
    OrdinateDimension,
    Raster,
    Text,
    extents,
)
from flatgen.write.read_back import check_read_back

MM = {"mm": 1.0, "in": 25.4}
# lineweights that the format knows, in hundredths of a millimetre
WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211)
STYLE = "flatgen"


def write(drawing: Drawing, path: Path, version: str = "R2010") -> None:
    """Write a new file of a drawing; ``version`` is R2010 or R12. Equal drawings give equal files."""
    put(path, as_bytes((drawing,), version))


def as_bytes(drawings: Sequence[Drawing], version: str = "R2010") -> bytes:
    """The bytes of the file of one drawing; of one that is cut by they are read back first and compared."""
    (drawing,) = drawings
    text = as_text(drawing, version)
    if drawing.for_machine:
        check_read_back(text, drawing)
    return text.encode("cp1252" if version == "R12" else "utf-8", "dxfreplace")


def as_text(drawing: Drawing, version: str = "R2010") -> str:
    """The text of the DXF file."""
    import ezdxf
    from ezdxf import options

    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # times and identifiers out of the content
    log = logging.getLogger("ezdxf")
    level = log.level
    if version == "R12":
        log.setLevel(logging.ERROR)  # it warns that R12 has no place for the unit in its header, which we know
    try:
        document = ezdxf.new(version, units=1 if drawing.units == "in" else 4)
        _build(document, drawing, version)
        for kind in sorted(document.entitydb.dxf_types_in_use()):  # the library takes them as a set comes
            document.classes.add_class(kind)
        stream = StringIO()
        document.write(stream)
        return stream.getvalue()
    finally:
        options.write_fixed_meta_data_for_testing = fixed
        log.setLevel(level)


def _build(document: Any, drawing: Drawing, version: str) -> None:
    factor = 1.0 / (drawing.scale * MM[drawing.units])
    header = document.header
    if version != "R12":
        header["$MEASUREMENT"] = 0 if drawing.units == "in" else 1
    header["$LUNITS"] = 2
    header["$LUPREC"] = 4 if drawing.units == "in" else 3
    header["$LTSCALE"] = 1.0
    low = (drawing.origin[0] * factor, drawing.origin[1] * factor)
    high = (low[0] + drawing.size[0] * factor, low[1] + drawing.size[1] * factor)
    drawn = [edge * factor for edge in extents(drawing.items)] if drawing.items else [*low, *high]
    # written from the model space, but from the header where the low corner is 0, 0
    header["$EXTMIN"], header["$EXTMAX"] = (*drawn[:2], 0.0), (*drawn[2:], 0.0)
    document.modelspace().reset_extents((*drawn[:2], 0.0), (*drawn[2:], 0.0))
    document.modelspace().reset_limits(low, high)
    if version != "R12":
        for name, value in (("title", drawing.title), *drawing.properties):
            header.custom_vars.append(name, value)
    document.styles.add(STYLE, font="arial.ttf")
    for layer in drawing.layers:
        _add_layer(document, layer, factor, version)
    _add_dimension_style(document, factor)
    space = document.modelspace()
    pen = _DxfPen(space, drawing, factor, version)
    for item in drawing.items:
        item.onto(pen)
    center = ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0)
    document.set_modelspace_vport(max(high[1] - low[1], (high[0] - low[0]) * 0.6), center)


def _add_layer(document: Any, layer: Layer, factor: float, version: str) -> None:
    line = "Continuous"
    if layer.line.pattern:
        line = f"{layer.line.name}-{layer.line.iso}"
        if line not in document.linetypes:
            dashes = [
                (length if k % 2 == 0 else -length) * layer.width * factor
                for k, length in enumerate(layer.line.pattern)
            ]
            document.linetypes.add(
                line,
                pattern=[math.fsum(abs(d) for d in dashes), *dashes],
                description=f"ISO 128-2 type {layer.line.iso} {layer.line.name}",
            )
    entry = document.layers.add(layer.name, color=layer.color_index, linetype=line)
    if version != "R12":
        entry.dxf.lineweight = min(WEIGHTS, key=lambda w: abs(w - layer.width * 100.0))
        entry.description = layer.purpose


def _add_dimension_style(document: Any, factor: float) -> None:
    style = document.dimstyles.add(STYLE)
    style.dxf.dimtxsty = STYLE
    for name, value in (("dimasz", 2.5), ("dimexe", 1.2), ("dimexo", 0.8), ("dimgap", 0.7), ("dimtxt", 2.5)):
        style.dxf.set(name, value * factor)
    style.dxf.dimtad = 1  # text above the line, along it
    style.dxf.dimtih = 0
    style.dxf.dimtoh = 0
    style.dxf.dimlunit = 2
    style.dxf.dimdec = 3
    style.dxf.dimzin = 0
    style.dxf.dimtix = 0


class _DxfPen:
    """Adds items to a space, each as the entity that the format has for it."""

    def __init__(self, space: Any, drawing: Drawing, factor: float, version: str) -> None:
        self.space, self.drawing, self.factor, self.version = space, drawing, factor, version

    def _at(self, p: Point) -> Point:
        return (p[0] * self.factor, p[1] * self.factor)

    def line(self, item: Line) -> None:
        self.space.add_line(self._at(item.start), self._at(item.end), dxfattribs={"layer": item.layer})

    def arc(self, item: Arc) -> None:
        where = {"layer": item.layer}
        self.space.add_arc(self._at(item.center), item.radius * self.factor, item.start, item.end, dxfattribs=where)

    def circle(self, item: Circle) -> None:
        where = {"layer": item.layer}
        self.space.add_circle(self._at(item.center), item.diameter / 2.0 * self.factor, dxfattribs=where)

    def contour(self, item: Contour) -> None:
        where = {"layer": item.layer}
        corners = [(*self._at((x, y)), bulge) for x, y, bulge in item.outline]
        if item.filled and len(corners) <= 4:
            self.space.add_solid([c[:2] for c in corners], dxfattribs=where)
        elif self.version == "R12":
            self.space.add_polyline2d(corners, format="xyb", close=item.closed, dxfattribs=where)
        else:
            self.space.add_lwpolyline(corners, format="xyb", close=item.closed, dxfattribs=where)

    def text(self, item: Text) -> None:
        _add_text(self.space, item, self.factor)

    def raster(self, item: Raster) -> None:
        """A photograph is not for this format."""

    def linear(self, item: LinearDimension) -> None:
        _add_dimension(self.space, item, self.drawing, self.factor)

    def ordinate(self, item: OrdinateDimension) -> None:
        _add_dimension(self.space, item, self.drawing, self.factor)


def _add_text(space: Any, item: Text, factor: float) -> None:
    from ezdxf.enums import TextEntityAlignment

    alignment = {
        "left": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "right": TextEntityAlignment.RIGHT,
    }[item.anchor]
    text = space.add_text(
        item.text.replace("%%", "% %"),  # two in a row would start a control code
        height=item.height * factor,
        rotation=item.angle,
        dxfattribs={"layer": item.layer, "style": STYLE},
    )
    text.set_placement((item.at[0] * factor, item.at[1] * factor), align=alignment)


def _add_dimension(space: Any, item: LinearDimension | OrdinateDimension, drawing: Drawing, factor: float) -> None:
    def at(p: Point) -> Point:
        return (p[0] * factor, p[1] * factor)

    override: dict[str, Any] = {"dimtxt": item.height * factor}
    where = {"layer": item.layer}
    if isinstance(item, LinearDimension):
        if item.view_scale:
            override["dimlfac"] = drawing.scale / item.view_scale
        # where the text stands beyond its line, it is to stand there in the file as well
        (text,) = (part for part in item.strokes() if isinstance(part, Text))
        corners = text.corners()
        middle = ((corners[0][0] + corners[2][0]) / 2.0, (corners[0][1] + corners[2][1]) / 2.0)
        dimension = space.add_linear_dim(
            base=at(item.line_at),
            p1=at(item.start),
            p2=at(item.end),
            angle=item.angle,
            text=item.text,
            location=None if text.anchor == "middle" else at(middle),
            dimstyle=STYLE,
            override=override,
            dxfattribs=where,
        )
    else:
        offset = (item.end[0] - item.feature[0], item.end[1] - item.feature[1])
        dimension = space.add_ordinate_dim(
            feature_location=at(item.feature),
            offset=at(offset),
            dtype=1 if item.axis == "x" else 0,
            origin=at(item.origin),
            text=item.text,
            dimstyle=STYLE,
            override=override | {"dimtad": 0},  # the text stands beyond the end of its line
            dxfattribs=where,
        )
    dimension.render()
