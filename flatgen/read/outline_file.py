"""Closed outlines from a drawing file: DXF (open DXF reference) or SVG (W3C SVG 1.1). Lengths out in mm, y up.

Lines and circular arcs are taken as they are; ellipses and free curves become chords within 0.01 mm. The outline with
the largest area is the outer one.
"""

import math
import re
from pathlib import Path
from typing import Any

from flatgen.core.arcs import bulge_of
from flatgen.core.outline import Outline, area, circle, contains, counter_clockwise, tidy
from flatgen.core.points import distance
from flatgen.errors import InputError, nearest

CHORD = 0.01
JOIN = 0.01  # ends nearer than this are one [mm]
MOST = 20_000  # pieces
UNITS = {"mm": 1.0, "in": 25.4, "cm": 10.0}
SVG_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72.0, "pc": 25.4 / 6.0}
DXF_UNITS = {1: 25.4, 4: 1.0, 5: 10.0, 6: 1000.0, 2: 304.8}  # $INSUNITS
Run = list[tuple[float, float, float]]  # x, y, bulge; open unless first and last agree


def read_outlines(path: Path, layer: str = "", units: str = "") -> tuple[Outline, list[Outline]]:
    """Outer outline and the openings in it; InputError names the file and what it lacks.

    layer : only what lies on this layer of a DXF, or in the group with this id of an SVG; "": everything
    units : of the file's numbers where it does not say
    """
    if units and units not in UNITS:
        raise InputError(f'"{units}" is not one of {", ".join(UNITS)}')
    if not path.is_file():
        raise InputError(f'there is no file "{path.name}" beside this one')
    readers = {".dxf": _dxf_runs, ".svg": _svg_runs}
    if path.suffix.lower() not in readers:
        raise InputError(f'"{path.name}" is neither a .dxf nor an .svg file')
    try:
        runs = readers[path.suffix.lower()](path, layer, units)
    except InputError:
        raise
    except (ArithmeticError, AttributeError, LookupError, StopIteration, TypeError, ValueError) as error:
        # both parsers answer a damaged file with whatever breaks first
        raise InputError(f'"{path.name}" is damaged and cannot be read as {path.suffix[1:].upper()}') from error
    if not runs:
        where = f' on layer "{layer}"' if layer else ""
        raise InputError(f'"{path.name}" has no lines, arcs or circles{where}')
    if len(runs) > MOST:
        raise InputError(f'"{path.name}" has {len(runs)} pieces; at most {MOST} are read')
    loops = _closed(path, runs)
    loops.sort(key=lambda loop: -area(loop))
    outer, inner = loops[0], loops[1:]
    for loop in inner:
        if not contains(outer, loop[0][:2]):
            x, y = loop[0][:2]
            raise InputError(f'"{path.name}" has a second outline outside the largest one, at {x:.2f}, {y:.2f} mm')
    return outer, inner


def _closed(path: Path, runs: list[Run]) -> list[Outline]:
    """Runs joined end to end into closed outlines."""
    loops: list[Outline] = []
    rest = [run for run in runs if len(run) > 1]
    while rest:
        chain = rest.pop(0)
        while distance(chain[0][:2], chain[-1][:2]) > JOIN:
            end = chain[-1][:2]
            k = next((k for k, r in enumerate(rest) if distance(r[0][:2], end) <= JOIN), None)
            if k is not None:
                chain = chain[:-1] + rest.pop(k)
                continue
            k = next((k for k, r in enumerate(rest) if distance(r[-1][:2], end) <= JOIN), None)
            if k is None:
                raise InputError(
                    f'"{path.name}": a line ends at {end[0]:.3f}, {end[1]:.3f} mm and nothing goes on from there;'
                    " close the outline"
                )
            chain = chain[:-1] + _backward(rest.pop(k))
        loop = tidy(chain[:-1], JOIN / 10.0, waste=1.0)
        if abs(area(loop)) > 1e-6:
            loops.append(counter_clockwise(loop))
    if not loops:
        raise InputError(f'"{path.name}" has no outline that encloses anything')
    return loops


def _backward(run: Run) -> Run:
    n = len(run)
    return [(run[k][0], run[k][1], -run[k - 1][2] if k else 0.0) for k in range(n - 1, -1, -1)]


def _dxf_runs(path: Path, layer: str, units: str) -> list[Run]:
    import ezdxf
    from ezdxf import path as paths

    try:
        document = ezdxf.readfile(path)
    except (OSError, ezdxf.DXFError, ValueError) as error:
        raise InputError(f'"{path.name}" cannot be read as DXF: {error}') from None
    declared = DXF_UNITS.get(int(document.header.get("$INSUNITS", 0)))
    if declared is None and not units:
        raise InputError(f'"{path.name}" does not say its unit; give file_units')
    factor = UNITS[units] if units else declared or 1.0
    layers = {entity.dxf.layer for entity in document.modelspace()}
    if layer and layer not in layers:
        raise InputError(f'"{path.name}" has nothing on layer "{layer}". {nearest(layer, layers)}')
    runs: list[Run] = []
    for entity in document.modelspace():
        if layer and entity.dxf.layer != layer:
            continue
        kind = entity.dxftype()
        if kind == "LWPOLYLINE":
            run = [(x, y, b) for x, y, b in entity.get_points("xyb")]
            runs.append(run + [run[0]] if entity.closed and run else run)
        elif kind == "LINE":
            (x, y, _), (x2, y2, _) = entity.dxf.start, entity.dxf.end
            runs.append([(x, y, 0.0), (x2, y2, 0.0)])
        elif kind == "ARC":
            sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0)
            start, end = entity.start_point, entity.end_point
            runs.append([(start.x, start.y, bulge_of(sweep)), (end.x, end.y, 0.0)])
        elif kind == "CIRCLE":
            loop = circle((entity.dxf.center.x, entity.dxf.center.y), 2.0 * entity.dxf.radius)
            runs.append([*loop, loop[0]])
        elif kind in ("POLYLINE", "SPLINE", "ELLIPSE"):
            points = paths.make_path(entity).flattening(CHORD / factor)
            runs.append([(p.x, p.y, 0.0) for p in points])
    return [[(x * factor, y * factor, b) for x, y, b in run] for run in runs]


def _svg_runs(path: Path, layer: str, units: str) -> list[Run]:
    import xml.etree.ElementTree as tree

    import svgelements

    try:
        root = tree.parse(path).getroot()
        picture = svgelements.SVG.parse(str(path), reify=True)
    except (OSError, tree.ParseError, ValueError) as error:
        raise InputError(f'"{path.name}" cannot be read as SVG: {error}') from None
    if not isinstance(picture, svgelements.SVG):
        raise InputError(f'"{path.name}" cannot be read as SVG: its root is no svg element')
    physical = re.fullmatch(r"\s*[\d.eE+-]+\s*(mm|cm|in|pt|pc)\s*", root.get("width", ""))
    if physical is None and not units:
        raise InputError(f'"{path.name}" has no width in mm or in, so its scale is not known; give file_units')
    if physical:
        # the parser's own pixels a unit, so that its rounding of 96 / 25.4 cancels out
        unit = physical.group(1)
        factor = SVG_UNITS[unit] / float(svgelements.Length(f"1{unit}").value(ppi=96))
    else:
        factor = UNITS[units]
    runs: list[Run] = []
    for element in picture.elements():
        if not isinstance(element, svgelements.Shape) or (layer and not _within_group(element, layer)):
            continue
        for sub in svgelements.Path(element).as_subpaths():
            runs.append(_svg_run(svgelements, svgelements.Path(sub), factor))
    return [run for run in runs if len(run) > 1]


def _within_group(element: Any, group: str) -> bool:
    return group in (element.values.get("id"), *(element.values.get("attributes") or {}).values())


def _svg_run(kinds: Any, path: Any, factor: float) -> Run:
    """One subpath; y is turned up, which turns every arc round."""
    run: Run = []

    def to(point: Any, bulge: float = 0.0) -> None:
        if run:
            run[-1] = (*run[-1][:2], bulge)
        run.append((point.x * factor, -point.y * factor, 0.0))

    for piece in path:
        if isinstance(piece, kinds.Move):
            to(piece.end)
        elif isinstance(piece, kinds.Line | kinds.Close):
            if piece.end is not None:
                to(piece.end)
        elif isinstance(piece, kinds.Arc) and abs(piece.rx - piece.ry) < 1e-6 * piece.rx:
            # halves, so that no piece turns by a full circle
            middle = piece.point(0.5)
            bulge = bulge_of(-piece.sweep / 2.0)
            to(middle, bulge)
            to(piece.end, bulge)
        else:
            steps = max(4, math.ceil(math.sqrt(piece.length(error=1e-3) * factor / (8.0 * CHORD))) * 4)
            for k in range(1, steps + 1):
                to(piece.point(k / steps))
    return run
