"""Runs of lines and arcs from a DXF file (open DXF reference), in mm; block references are taken apart.

Lines and circular arcs stay what they are, old-style polylines too; ellipses and free curves become chords. Entities
drawn on the back (extrusion 0, 0, -1, as mirroring leaves them) are turned to the front.
"""

import math
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.core.arcs import bulge_of
from flatgen.core.outline import circle
from flatgen.errors import InputError, nearest

UNITS = {1: 25.4, 4: 1.0, 5: 10.0, 6: 1000.0, 2: 304.8}  # $INSUNITS
DEEPEST = 16  # blocks within blocks
FLAT = 0.01  # how far an outline may leave its plane [mm]
CHORD = 0.01  # mm
Run = list[tuple[float, float, float]]  # x, y, bulge; open unless first and last agree


def dxf_runs(path: Path, layer: str, factor: float | None) -> tuple[list[Run], list[str]]:
    """Runs on one layer ("": on all that are switched on), and the names of these layers.

    factor : mm in one unit of the file, in place of what it says itself
    """
    import ezdxf

    try:
        document = ezdxf.readfile(path)
    except (OSError, ezdxf.DXFError, ValueError) as error:
        raise InputError(f'"{path.name}" cannot be read as DXF: {error}') from None
    scale = factor or UNITS.get(int(document.header.get("$INSUNITS", 0)))
    if scale is None:
        raise InputError(f'"{path.name}" does not say its unit; give file_units')
    hidden = {entry.dxf.name for entry in document.layers if entry.is_off() or entry.is_frozen()} - {layer}
    _within_budget(document, path.name)
    entities = [(entity, on) for entity, on in _drawn(document.modelspace()) if on not in hidden]
    layers = sorted({on for _, on in entities})
    if layer and layer not in layers:
        raise InputError(f'"{path.name}" has nothing on layer "{layer}". {nearest(layer, layers)}')
    runs = [run for entity, on in entities if layer in ("", on) for run in _runs(entity, scale, path.name)]
    return [[(x * scale, y * scale, b) for x, y, b in run] for run in runs], layers


def _within_budget(document: Any, name: str) -> None:
    """Refuse a drawing whose blocks, taken apart with all their repeats, would come to very many pieces."""
    known: dict[str, int] = {}

    def pieces(entities: Iterable[Any], depth: int) -> int:
        found = 0
        for entity in entities:
            if entity.dxftype() != "INSERT":
                found += 1
                continue
            block = document.blocks.get(entity.dxf.name)
            if block is None or depth >= DEEPEST:
                continue
            if block.name not in known:
                known[block.name] = pieces(block, depth + 1)
            found += max(1, entity.mcount) * known[block.name]
            if found > budget.MOST_PIECES:
                break
        return found

    if pieces(document.modelspace(), 0) > budget.MOST_PIECES:
        raise InputError(f'"{name}" comes to more than {budget.MOST_PIECES} pieces with all its blocks')


def _drawn(entities: Iterable[Any], layer: str = "", depth: int = 0) -> Iterator[tuple[Any, str]]:
    """Entities with their layers, those of blocks among them; what a block has on layer 0 is on its reference's."""
    for entity in entities:
        on = layer if layer and entity.dxf.layer == "0" else entity.dxf.layer
        if entity.dxftype() != "INSERT":
            yield entity, on
        elif depth < DEEPEST:
            references = entity.multi_insert() if entity.mcount > 1 else (entity,)
            for reference in references:
                yield from _drawn(reference.virtual_entities(), on, depth + 1)


def _runs(entity: Any, scale: float, name: str) -> list[Run]:
    kind = entity.dxftype()
    if kind == "LINE":
        (x, y, z), (x2, y2, z2) = entity.dxf.start, entity.dxf.end
        _flat((z, z2), scale, name)
        return [[(x, y, 0.0), (x2, y2, 0.0)]]
    if kind in ("LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE"):
        back = _back(entity)
        if back is not None:
            run = _planar(entity, kind)
            if run is not None:
                return [[(-x, y, -b) for x, y, b in run] if back else run]
    if kind in ("LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE", "SPLINE", "ELLIPSE"):
        from ezdxf import path as paths

        points = list(paths.make_path(entity).flattening(CHORD / scale))
        _flat([p.z for p in points], scale, name)
        return [[(p.x, p.y, 0.0) for p in points]]
    return []


def _back(entity: Any) -> bool | None:
    """Whether an entity is drawn on the back; None where its plane is tilted."""
    x, y, z = entity.dxf.extrusion
    return None if math.hypot(x, y) > 1e-9 * abs(z) else z < 0.0


def _planar(entity: Any, kind: str) -> Run | None:
    """A run in the entity's own plane, lines and arcs as drawn; None for what has to be made chords."""
    if kind == "LWPOLYLINE":
        return _ring([(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")], entity.closed)
    if kind == "POLYLINE":
        if not entity.is_2d_polyline or entity.dxf.flags & 6:  # 2, 4: a curve fitted to its corners
            return None
        corners = [(*v.dxf.location.vec2, float(v.dxf.get("bulge", 0.0))) for v in entity.vertices]
        return _ring(corners, entity.is_closed)
    x, y, _ = entity.dxf.center
    if kind == "CIRCLE":
        return _ring(list(circle((x, y), 2.0 * entity.dxf.radius)), True)
    first, last = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
    r, sweep = entity.dxf.radius, (last - first) % math.tau
    (x1, y1), (x2, y2) = ((x + r * math.cos(a), y + r * math.sin(a)) for a in (first, last))
    return [(x1, y1, bulge_of(sweep)), (x2, y2, 0.0)]


def _ring(corners: Run, closed: bool) -> Run:
    return [*corners, corners[0]] if closed and corners else corners


def _flat(heights: Iterable[float], scale: float, name: str) -> None:
    heights = list(heights)
    if heights and (max(heights) - min(heights)) * scale > FLAT:
        raise InputError(f'"{name}" is drawn in space: a line leaves its plane; export the flat view of it')
