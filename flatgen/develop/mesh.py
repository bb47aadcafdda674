"""The formed part as a closed solid of triangles: upper and lower skin, edges, bends as cylinder patches.

The blank's linework (edge, openings, tangent lines and lines that part each bend into slices) is noded once, so that
pieces on both sides of a line share its points; each cell is cut into triangles and every point carried to space by its
face's frame or its bend's cylinder. The skins then join by their numbers alone. Lengths mm.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from flatgen.core.outline import area, flatten, reach
from flatgen.core.points import Point, Point3, along, dot, placed, right, sub, unit
from flatgen.develop.fold import on_bend
from flatgen.errors import CannotMake
from flatgen.model.blank import BendLine, Blank

GRID = 1e-6  # points nearer than this are one [mm]
LEAST_REGION = 1e-3  # a flat or bend smaller than this may be lost [mm²]
Triangle = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Mesh:
    """Points in space and triangles over them, counter-clockwise as seen from outside; ``owners`` names the face or
    bend of each triangle."""

    points: tuple[Point3, ...]
    triangles: tuple[Triangle, ...]
    owners: tuple[str, ...]


def formed_solid(blank: Blank, tolerance: float = 0.02) -> Mesh:
    """The formed part as a closed solid; chords of arcs and bends stay within the tolerance [mm].

    Raises CannotMake for a blank that overlaps itself.
    """
    flat, cells, owners = _skin(blank, tolerance)
    where = _Carrier(blank)
    points = [where.at(owner, p, 0.0) for p, owner in flat] + [
        where.at(owner, p, -blank.thickness) for p, owner in flat
    ]
    n = len(flat)
    triangles: list[Triangle] = []
    names: list[str] = []
    rims: dict[tuple[int, int], str] = {}
    for (a, b, c), owner in zip(cells, owners, strict=True):
        triangles += [(a, b, c), (n + a, n + c, n + b)]
        names += [owner, owner]
        for edge in ((a, b), (b, c), (c, a)):
            if (edge[1], edge[0]) in rims:
                del rims[edge[1], edge[0]]
            else:
                rims[edge] = owner
    for (a, b), owner in rims.items():
        triangles += [(a, n + a, n + b), (a, n + b, b)]
        names += [owner, owner]
    return Mesh(tuple(points), tuple(triangles), tuple(names))


@dataclass(slots=True)
class _Carrier:
    """Carries points of the blank to where they stand when formed."""

    blank: Blank

    def at(self, owner: str, p: Point, z: float) -> Point3:
        for face in self.blank.faces:
            if face.id == owner:
                return placed(face.frame, (*p, z))
        bend = next(b for b in self.blank.bends if f"bend {b.id}" == owner)
        return on_bend(bend, self.blank.thickness, self.blank.face(bend.parent).frame, p, z)


def _skin(blank: Blank, tolerance: float) -> tuple[list[tuple[Point, str]], list[Triangle], list[str]]:
    """Points of the blank, each with a face or bend that carries it; triangles; the face or bend of each triangle."""
    import shapely
    from shapely import strtree

    outer = _ring(flatten(blank.outline, tolerance))
    rings = [_ring(flatten(cutout, tolerance)) for cutout in blank.cutouts]
    lines = [outer, *rings]
    for bend in blank.bends:
        lines += [shapely.LineString(line) for line in _slices(bend, blank.thickness, tolerance)]
    metal = shapely.Polygon(outer)
    if not metal.is_valid:
        raise CannotMake(f'part "{blank.part}": its blank overlaps itself and has no formed solid')
    metal = metal.difference(shapely.union_all([shapely.Polygon(ring) for ring in rings]))
    noded = shapely.union_all(
        shapely.set_precision(shapely.MultiLineString(lines), GRID, mode="pointwise"), grid_size=GRID
    )
    cells = [c for c in shapely.get_parts(shapely.polygonize([noded])) if c.area > GRID]
    shapely.prepare(metal)
    kept = [cell for cell in cells if shapely.contains(metal.buffer(1e-4), cell.representative_point())]
    regions = [(f.id, f.outline) for f in blank.faces] + [(f"bend {b.id}", b.outline) for b in blank.bends]
    shapes = [shapely.Polygon(flatten(outline, tolerance)) for _, outline in regions]
    tree = strtree.STRtree(shapes)
    owned = [(cell, regions[int(tree.nearest(cell.representative_point()))][0]) for cell in kept]
    found = _triangles(owned)
    lost = [name for name, outline in regions if name not in found[2] and area(outline) > LEAST_REGION]
    if lost:
        raise CannotMake(f'part "{blank.part}": {" and ".join(lost)} cannot be told from their neighbours in the solid')
    return found


def _triangles(cells: Iterable[tuple[Any, str]]) -> tuple[list[tuple[Point, str]], list[Triangle], list[str]]:
    """Cells cut into triangles that share their points; each point and triangle with the face or bend of its cell."""
    import shapely

    numbers: dict[Point, int] = {}
    points: list[tuple[Point, str]] = []
    triangles: list[Triangle] = []
    owners: list[str] = []
    for cell, owner in cells:
        for piece in shapely.get_parts(shapely.constrained_delaunay_triangles(cell)):
            corners = []
            for x, y in piece.exterior.coords[:3]:
                key = (round(x, 6), round(y, 6))
                if key not in numbers:
                    numbers[key] = len(points)
                    points.append((key, owner))
                corners.append(numbers[key])
            a, b, c = corners
            if len({a, b, c}) < 3:
                continue
            triangles.append((a, b, c) if piece.exterior.is_ccw else (a, c, b))
            owners.append(owner)
    return points, triangles, owners


def _ring(points: Iterable[Point]) -> Any:
    import shapely

    return shapely.LinearRing(list(points))


def _slices(bend: BendLine, thickness: float, tolerance: float) -> list[tuple[Point, Point]]:
    """Lines across the blank along a bend: its tangents and those between them, a little past the strip's ends.

    Past them by more than an arc there stands off its chords, or the line would end short of the blank's edge.
    """
    (p, q), _ = bend.tangents
    u = unit(sub(q, p))
    n = right(u)
    outer = bend.bent.inside_radius + thickness
    step = 2.0 * math.acos(max(0.5, 1.0 - tolerance / outer))
    count = max(1, math.ceil(math.radians(bend.angle) / step))
    lines = []
    for k in range(count + 1):
        out = bend.bent.allowance * k / count
        lines += _across(bend, p, u, n, out, 2.0 * tolerance)
    return lines


def _across(bend: BendLine, p: Point, u: Point, n: Point, out: float, past: float) -> list[tuple[Point, Point]]:
    """The line parallel to the bend at a distance from the parent's tangent, as long as the strip is there."""
    import shapely

    strip = shapely.Polygon(
        [(x, y) for x, y, _ in bend.outline] if not any(b for *_, b in bend.outline) else flatten(bend.outline, 1e-3)
    )
    # reliefs may have cut the strip far back from the tangent's own ends
    low, high = (end - dot(p, u) for end in reach(bend.outline, u))
    start = (p[0] + out * n[0], p[1] + out * n[1])
    line = shapely.LineString([along(start, u, low - 1.0), along(start, u, high + 1.0)])
    # the strip a little larger, so that its own two sides are not lost to rounding
    cut = line.intersection(strip.buffer(past, join_style="mitre"))
    return [(c.coords[0], c.coords[-1]) for c in shapely.get_parts(cut) if c.geom_type == "LineString" and c.length > 0]
