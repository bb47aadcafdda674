"""Reads a DXF that will be cut by back, as a stranger would, and holds it against the drawing it was written from.

Numbers are compared in the file's unit to a millionth of a millimetre; contours by every corner and bulge.
"""

from io import StringIO
from typing import Any

from flatgen.core.outline import Outline, bounds
from flatgen.page.drawing import Circle, Contour, Drawing, Item, Line, Text

NEAR = 1e-6  # [mm]
MM = {1: 25.4, 4: 1.0}  # by the number of the unit in the file's header


def check_read_back(text: str, drawing: Drawing) -> None:
    """Raise RuntimeError (our mistake) where the file says anything else than the drawing: curve, layer, unit, extent.

    Entities stand in the order of the drawing's items.
    """
    import ezdxf

    document = ezdxf.read(StringIO(text))
    unit = {"in": 25.4, "mm": 1.0}[drawing.units]
    stated = document.header.get("$INSUNITS", 0)
    if MM.get(stated, unit) != unit:  # R12 has no place for the unit
        raise RuntimeError(f"{drawing.title}: the file's header names another unit")
    space = document.modelspace()
    entities = list(space)
    if len(entities) != len(drawing.items):
        raise RuntimeError(f"{drawing.title}: {len(entities)} entities read back, {len(drawing.items)} were drawn")
    for entity, item in zip(entities, drawing.items, strict=True):
        if not _same(entity, item, unit):
            raise RuntimeError(f"{drawing.title}: {entity.dxftype()} on {entity.dxf.layer} is not what was drawn")
    allowed = {layer.name: layer.color_index for layer in drawing.layers}
    for entity in entities:
        layer = entity.dxf.layer
        if layer not in allowed or document.layers.get(layer).color != allowed[layer] or entity.dxf.color != 256:
            raise RuntimeError(f'{drawing.title}: layer "{layer}" reads back otherwise than it was drawn')
    _check_extent(document, drawing, unit)


def _check_extent(document: Any, drawing: Drawing, unit: float) -> None:
    if any(isinstance(item, Text) for item in drawing.items):
        return  # how wide letters are is for the reader's font
    curves = [curve for entity in document.modelspace() if (curve := _curve(entity, unit))]
    low, high = (document.header[name] for name in ("$EXTMIN", "$EXTMAX"))
    stated = [v * unit for v in (*low[:2], *high[:2])]
    if max(abs(a - b) for a, b in zip(stated, bounds(curves), strict=True)) > NEAR:
        raise RuntimeError(f"{drawing.title}: the extents in the file's header are not those of what it holds")


def _curve(entity: Any, unit: float) -> Outline:
    """A line, circle or contour of the file as an outline [mm]."""
    kind, dxf = entity.dxftype(), entity.dxf
    if kind == "LINE":
        return tuple((p.x * unit, p.y * unit, 0.0) for p in (dxf.start, dxf.end))
    if kind == "CIRCLE":
        x, y, r = dxf.center.x * unit, dxf.center.y * unit, dxf.radius * unit
        return ((x - r, y, 1.0), (x + r, y, 1.0))
    if kind == "LWPOLYLINE":
        return tuple((x * unit, y * unit, bulge) for x, y, bulge in entity.get_points("xyb"))
    if kind == "POLYLINE":
        return tuple(
            (v.dxf.location.x * unit, v.dxf.location.y * unit, v.dxf.get("bulge", 0.0)) for v in entity.vertices
        )
    return ()


def _same(entity: Any, item: Item, unit: float) -> bool:
    """Whether an entity is the item: kind, layer, every corner and bulge."""
    kind = entity.dxftype()
    if entity.dxf.layer != item.layer:
        return False
    if isinstance(item, Text):
        return bool(kind == "TEXT" and entity.dxf.text == item.text.replace("%%", "% %"))
    if isinstance(item, Circle):
        (x, y), r = item.center, item.diameter / 2.0
        wanted: Outline = ((x - r, y, 1.0), (x + r, y, 1.0))
        alike = kind == "CIRCLE"
    elif isinstance(item, Line):
        wanted = ((*item.start, 0.0), (*item.end, 0.0))
        alike = kind == "LINE"
    else:
        assert isinstance(item, Contour)
        wanted = item.outline
        alike = kind in ("LWPOLYLINE", "POLYLINE") and entity.is_closed == item.closed
    found = _curve(entity, unit)
    return (
        alike
        and len(found) == len(wanted)
        and all(abs(a - b) <= NEAR for p, q in zip(found, wanted, strict=True) for a, b in zip(p, q, strict=True))
    )
