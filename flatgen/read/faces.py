"""The base face of a part: a rectangle, an outline from its corners, an outline from a drawing file."""

from typing import Any

from flatgen.core.arcs import nearest_point
from flatgen.core.outline import Outline, bounds, moved, rectangle, segments
from flatgen.core.points import distance, shifted
from flatgen.errors import InputError
from flatgen.model.part import CornerKind, Cutout, Face, Hole
from flatgen.read.builder import Builder
from flatgen.read.keys import Table
from flatgen.read.outline_file import read_outlines
from flatgen.read.outlines import checked_face, points_face
from flatgen.read.sentences import at_least_0, shown
from flatgen.said import said, size

RECTANGLE_EDGES = ("bottom", "right", "top", "left")
WAYS = ("size", "points", "outline")


def add_faces(b: Builder) -> None:
    """The base; every other flat must be a flange."""
    base = b.profile.values["base"]
    for name, values in b.profile.values["face"].items():
        table = Table(b.profile.file, values, ("face", name), b.profile.units, f'face "{name}"')
        if name != base:
            raise InputError(
                f'only the base "{base}" is a face of its own; every other flat is a flange',
                file=table.file.path,
                line=table.file.line_of(table.path),
                where=table.name,
            )
        with b.at(table):
            given = [way for way in WAYS if way in values]
            if len(given) != 1:
                raise InputError(f"a face has one of {', '.join(WAYS)}; here is {' and '.join(given) or 'none'}")
            with b.at(table, given[0]):
                b.faces[name] = _face(b, table, name, values)
            note_shape(b, name, values)
        if values.get("mates"):
            b.mates.append(name)


def _face(b: Builder, table: Table, name: str, values: dict[str, Any]) -> Face:
    if "size" in values:
        width, height = b.scope.point(values["size"])
        if width <= 0 or height <= 0:
            raise InputError(said("the face is ", shown(width), " by ", shown(height), "; both must be more than 0"))
        return Face(name, rectangle(0.0, 0.0, width, height), RECTANGLE_EDGES)
    if "points" in values:
        return points_face(name, values["points"], tuple(values.get("edges", ())), b.scope)
    return _file_face(b, table, name, values)


def _file_face(b: Builder, table: Table, name: str, values: dict[str, Any]) -> Face:
    path = table.file.path.parent / str(values["outline"])
    outer, inner = read_outlines(path, str(values.get("layer", "")), str(values.get("file_units", "")))
    x0, y0, _, _ = bounds([outer])
    home = shifted(-x0, -y0)
    outer, inner = moved(outer, home), [moved(loop, home) for loop in inner]
    face = checked_face(name, outer, tuple(str(k + 1) for k in range(len(outer))))
    edges = list(face.edges)
    for edge, place in dict(values.get("edges_at", {})).items():
        with b.at(table, "edges_at"):
            edges[_edge_near(face.outline, b.scope.point(place), edge)] = edge
            if len(set(edges)) != len(edges):
                raise InputError(f'two edges would be called "{edge}"')
    for loop in inner:
        radius = _circle_radius(loop)
        if radius is None:
            b.cutouts.append(Cutout(name, loop, ""))
        else:
            left, low, right, high = bounds([loop])
            label = f"{2.0 * radius:.3f} mm" if b.order.units == "mm" else f"{2.0 * radius / 25.4:.4f} in"
            b.holes.append(Hole(name, ((left + right) / 2.0, (low + high) / 2.0), 2.0 * radius, label))
    return Face(name, face.outline, tuple(edges))


def _edge_near(outline: Outline, place: tuple[float, float], name: str) -> int:
    near = [distance(place, nearest_point(p, q, bulge, place)) for p, q, bulge in segments(outline)]
    best = min(range(len(near)), key=near.__getitem__)
    if near[best] > 1.0:
        raise InputError(
            said(
                f'no edge of the outline lies within 1 mm of the place given for "{name}"; the nearest is ',
                size(near[best]),
                " away (the outline's low corner is 0, 0)",
            )
        )
    return best


def _circle_radius(loop: Outline) -> float | None:
    """Radius of an outline that is a full circle, else None."""
    x0, y0, x1, y1 = bounds([loop])
    center, radius = ((x0 + x1) / 2.0, (y0 + y1) / 2.0), (x1 - x0) / 2.0
    round_all = all(bulge > 0 and abs(distance((x, y), center) - radius) < 1e-6 for x, y, bulge in loop)
    return radius if round_all and abs((y1 - y0) / 2.0 - radius) < 1e-6 else None


def note_shape(b: Builder, name: str, values: dict[str, Any]) -> None:
    """Keep how the free corners of a face are shaped until all bends are known."""
    kinds: tuple[tuple[str, CornerKind], ...] = (("corner_round", "round"), ("corner_clip", "clip"))
    for key, kind in kinds:
        if key in values:
            size = at_least_0(b.scope.length(values[key]), key)
            if size > 0:
                if name in b.rounded:
                    raise InputError("corners are rounded or clipped; give corner_round or corner_clip, not both")
                b.rounded[name] = (kind, size)
