"""Closed outlines from a drawing file: DXF (``outline_dxf``) or SVG (W3C SVG 1.1). Lengths out in mm, y up.

Lines and circular arcs are taken as they are; ellipses and free curves become chords within 0.01 mm. The outline with
the largest area is the outer one.
"""

import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.core.arcs import bulge_of
from flatgen.core.meets import self_crossings
from flatgen.core.outline import Outline, area, box, contains, counter_clockwise, tidy
from flatgen.core.points import Point, distance
from flatgen.errors import InputError, nearest
from flatgen.read.outline_dxf import CHORD, Run, dxf_runs
from flatgen.said import spot

JOIN = 0.01  # ends nearer than this are one [mm]
MOST = 20_000  # pieces
MOST_CORNERS = 2000  # of an opening that is looked at for crossings, which takes the square of them
UNITS = {"mm": 1.0, "in": 25.4, "cm": 10.0}
SVG_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72.0, "pc": 25.4 / 6.0}


@dataclass(frozen=True, slots=True)
class _Source:
    """What is said of a file in errors: its name, its layers or groups, and whether its own y counts downward."""

    name: str
    layers: tuple[str, ...] = ()
    down: bool = False

    def at(self, point: Point) -> str:
        """A place as the file counts it."""
        return str(spot(point[0], -point[1] if self.down else point[1]))

    def choice(self) -> str:
        """What to try where more was read than was meant."""
        return f"; or take one layer alone: {', '.join(self.layers)}" if len(self.layers) > 1 else ""


def read_outlines(path: Path, layer: str = "", units: str = "") -> tuple[Outline, list[Outline]]:
    """Outer outline and the openings in it; InputError names the file and what it lacks.

    layer : only what lies on this layer of a DXF, or in the group with this id of an SVG; "": everything
    units : of the file's numbers; of an SVG, where it does not say
    """
    if units and units not in UNITS:
        raise InputError(f'"{units}" is not one of {", ".join(UNITS)}')
    if not path.exists():
        raise InputError(f'there is no file "{path.name}" beside this one')
    try:
        budget.content(path, budget.DRAWING)
    except InputError as error:
        raise InputError(f'"{path.name}": {error.message}') from None
    kind = path.suffix.lower()
    if kind not in (".dxf", ".svg"):
        raise InputError(f'"{path.name}" is neither a .dxf nor an .svg file')
    try:
        runs, layers = dxf_runs(path, layer, UNITS.get(units)) if kind == ".dxf" else _svg_runs(path, layer, units)
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
    source = _Source(path.name, () if layer else tuple(layers), kind == ".svg")
    loops = _closed(source, _once(runs))
    loops.sort(key=lambda loop: -area(loop))
    outer, inner = loops[0], loops[1:]
    _in_one_another(source, outer, inner)
    for opening in inner:
        crossing = self_crossings(opening) if len(opening) <= MOST_CORNERS else []
        if crossing:
            raise InputError(f'"{source.name}": an opening crosses itself at {source.at(crossing[0])}')
    return outer, inner


def _in_one_another(source: _Source, outer: Outline, inner: list[Outline]) -> None:
    """Raise InputError for an outline outside the outer one, and for one inside an opening."""
    boxes = [box(loop) for loop in inner]
    for k, loop in enumerate(inner):
        start = loop[0][:2]
        if not contains(outer, start):
            raise InputError(
                f'"{source.name}" has a second outline outside the largest one, at {source.at(start)}{source.choice()}'
            )
        for other, (x0, y0, x1, y1) in zip(inner[:k], boxes, strict=False):
            if x0 < start[0] < x1 and y0 < start[1] < y1 and contains(other, start):
                raise InputError(
                    f'"{source.name}" has an outline inside an opening, at {source.at(start)}, which would fall out;'
                    f" leave it out of the drawing{source.choice()}"
                )


def _once(runs: list[Run]) -> list[Run]:
    """The runs, each once: what is drawn twice upon itself is one line."""
    seen = set()
    kept = []
    for run in runs:
        sides = zip(run, run[1:], strict=False)
        key = frozenset(min(_side(p, q, p[2]), _side(q, p, -p[2])) for p, q in sides)
        if key not in seen:
            seen.add(key)
            kept.append(run)
    return kept


def _side(p: tuple[float, float, float], q: tuple[float, float, float], bulge: float) -> tuple[float, ...]:
    return tuple(round(x, 3) + 0.0 for x in (*p[:2], *q[:2], bulge))


def _closed(source: _Source, runs: list[Run]) -> list[Outline]:
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
                    f'"{source.name}": a line ends at {source.at(end)} and nothing goes on from there;'
                    f" close the outline{source.choice()}"
                )
            chain = chain[:-1] + _backward(rest.pop(k))
        loop = tidy(chain[:-1], JOIN / 10.0, waste=1.0)
        if abs(area(loop)) > 1e-6:
            loops.append(counter_clockwise(loop))
    if not loops:
        raise InputError(f'"{source.name}" has no outline that encloses anything')
    return loops


def _backward(run: Run) -> Run:
    n = len(run)
    return [(run[k][0], run[k][1], -run[k - 1][2] if k else 0.0) for k in range(n - 1, -1, -1)]


def _svg_runs(path: Path, layer: str, units: str) -> tuple[list[Run], list[str]]:
    import xml.etree.ElementTree as tree

    import svgelements

    try:
        root = tree.parse(path).getroot()
        _within_budget(path.name, root)
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
    groups = [element.id for element in picture.elements() if isinstance(element, svgelements.Group) and element.id]
    whole = picture
    if layer:
        whole = picture.get_element_by_id(layer)
        if whole is None:
            raise InputError(f'"{path.name}" has no group with the id "{layer}". {nearest(layer, groups)}')
    elements = whole.select() if isinstance(whole, svgelements.Group) else [whole]
    shapes = [element for element in elements if isinstance(element, svgelements.Shape)]
    subpaths = [sub for shape in shapes for sub in svgelements.Path(shape).as_subpaths()]
    runs = [_svg_run(svgelements, svgelements.Path(sub), factor) for sub in subpaths]
    return [run for run in runs if len(run) > 1], groups


def _within_budget(name: str, root: Any) -> None:
    """Refuse a picture whose references, taken apart, would come to very many pieces or never end."""
    by_id = {element.get("id"): element for element in root.iter() if element.get("id")}
    known: dict[Any, int] = {}

    def pieces(element: Any, open_ones: frozenset[Any]) -> int:
        if element in known:
            return known[element]
        if element in open_ones or len(open_ones) > budget.DEEPEST * 10:
            raise InputError(f'"{name}" refers to itself, or is nested too deep')
        inside = open_ones | {element}
        target = None
        if element.tag.rpartition("}")[2] == "use":
            link = next((value for key, value in element.attrib.items() if key.rpartition("}")[2] == "href"), "")
            target = by_id.get(link.removeprefix("#"))
        found = 1 + sum(pieces(child, inside) for child in element)
        found += pieces(target, inside) if target is not None else 0
        if found > budget.MOST_PIECES:
            raise InputError(f'"{name}" comes to more than {budget.MOST_PIECES} pieces with all its references')
        known[element] = found
        return found

    pieces(root, frozenset())


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
