"""Sizes of the part as the drawing gives them, areas and centroids of its pieces, and the proof that it folds back."""

import math
from collections.abc import Mapping, Sequence

from flatgen.core.arcs import STRAIGHT, cap_moments
from flatgen.core.clip import intersections
from flatgen.core.meets import clear
from flatgen.core.outline import Outline, area, box, is_circle, segments
from flatgen.core.points import Point, move, placed
from flatgen.develop.runs import edge_run
from flatgen.develop.setback import setback
from flatgen.errors import CannotMake
from flatgen.model.blank import BendLine, BentRadius, Blank, Dimension, FlatFace
from flatgen.model.part import Face, Part

FOLDS_BACK = 1e-6  # mm
NOTHING = 1e-6  # mm²


def described_dimensions(part: Part, bents: Mapping[str, BentRadius]) -> tuple[Dimension, ...]:
    """Sizes of each face across its bends, both to the outside and to the inside of the metal [mm]."""
    found = []
    for face in part.faces:
        for across, ends in _crossed(part, face).items():
            size = _extent(face, across)
            if size is None:
                continue
            outside = inside = size
            for bend_id, of_parent in ends:
                bend = part.bend(bend_id)
                back = setback(bend.angle, bents[bend_id].inside_radius, part.thickness)
                if (bend.measured_parent if of_parent else bend.measured_child) == "fold":
                    # the other skin of the fold lies one thickness in
                    inside -= part.thickness
                    continue
                outside += back.outside - back.of(bend, of_parent)
                inside += back.inside - back.of(bend, of_parent)
            if math.isfinite(outside):
                kind = "web" if len(ends) > 1 else "flange"
                found.append(
                    Dimension(face.id, kind, outside, inside, "xy"[across], ends=tuple(bend_id for bend_id, _ in ends))
                )
    return tuple(found)


def _crossed(part: Part, face: Face) -> dict[int, list[tuple[str, bool]]]:
    """Bends of a face by the axis (0 x, 1 y) that they stand across."""
    from flatgen.model.part import SKIRT_EDGES

    found: dict[int, list[tuple[str, bool]]] = {}
    seen: set[tuple[int, str]] = set()
    for bend in part.bends:
        for of_parent, owner, edge in ((True, bend.parent, bend.parent_edge), (False, bend.child, bend.child_edge)):
            if owner != face.id:
                continue
            if face.skirt is not None:
                axis = 1 if edge in (SKIRT_EDGES[0], SKIRT_EDGES[2]) else 0
            else:
                way = edge_run(face.outline, face.edge(edge)).direction
                if min(abs(way[0]), abs(way[1])) > 1e-9:
                    continue
                axis = 1 if abs(way[1]) < 1e-9 else 0
            # several bends on one edge end one size, not several
            if (axis, edge) not in seen:
                seen.add((axis, edge))
                found.setdefault(axis, []).append((bend.id, of_parent))
    return found


def _extent(face: Face, axis: int) -> float | None:
    if face.skirt is not None:
        return max(face.skirt.height_low, face.skirt.height_high) if axis == 1 else None
    extent = box(face.outline)
    return extent[2 + axis] - extent[axis]


def net_areas(
    faces: Sequence[FlatFace], bends: Sequence[BendLine], cutouts: Sequence[Outline]
) -> dict[str, tuple[float, Point]]:
    """Net area [mm²] and centroid [mm] by face and bend; an opening across a bend is shared out between them.

    Raises CannotMake where nothing is left.
    """
    found = {}
    boxed = [(cutout, box(cutout)) for cutout in cutouts]
    for key, outline in [(f.id, f.outline) for f in faces] + [(b.id, b.outline) for b in bends]:
        whole = box(outline)
        near = [cutout for cutout, extent in boxed if not clear(whole, extent, 0.0)]
        pieces = [(outline, 1.0)] + [(piece, -1.0) for piece in intersections(outline, near)]
        sizes = [(area(piece), piece, sign) for piece, sign in pieces]
        total = math.fsum(sign * size for size, _, sign in sizes)
        if total <= NOTHING:
            what = "its holes and openings leave" if area(outline) > NOTHING else "its bends leave"
            raise CannotMake(f'{what} nothing of "{key}"')
        moments = [(sign, _moments(piece, size)) for size, piece, sign in sizes]
        sums = [math.fsum(sign * moment[k] for sign, moment in moments) for k in range(2)]
        found[key] = (total, (sums[0] / total, sums[1] / total))
    return found


def _moments(outline: Outline, size: float) -> tuple[float, float]:
    """Area times centroid [mm³] of an outline of known area [mm²]; what lies between an arc and its chord is added."""
    if is_circle(outline):
        (x1, y1, _), (x2, y2, _) = outline
        return size * (x1 + x2) / 2.0, size * (y1 + y2) / 2.0
    mx = my = 0.0
    for (x1, y1), (x2, y2), bulge in segments(outline):
        w = x1 * y2 - x2 * y1
        mx += (x1 + x2) * w / 6.0
        my += (y1 + y2) * w / 6.0
        if abs(bulge) > STRAIGHT:
            x, y = cap_moments((x1, y1), (x2, y2), bulge)
            mx += x
            my += y
    return mx, my


def fold_back_error(part: Part, blank: Blank, bents: Mapping[str, BentRadius]) -> float:
    """Largest distance by which a formed part misses its description [mm].

    At each bend the measured lines of both faces are carried into space by their frames. Outside and inside lines of
    both faces must be the same line on the skin they belong to, which is so only when every flat, strip and frame agree
    with the drawing's sizes; lines measured to the tangent must stand a chord of the bend apart.
    """
    worst = 0.0
    for bend in part.bends:
        line = blank.bend(bend.id)
        radius = bents[bend.id].inside_radius
        angle = math.radians(line.angle)
        ends = []
        for of_parent, owner, edge in ((True, bend.parent, bend.parent_edge), (False, bend.child, bend.child_edge)):
            flat = blank.face(owner)
            measured = bend.measured_parent if of_parent else bend.measured_child
            tangent = line.tangents[0 if of_parent else 1]
            ends.append((flat, measured, tangent, owner, edge))
        kind = "outside" if {ends[0][1], ends[1][1]} <= {"outside", "inside"} and line.angle < 179.9 else "tangent"
        outer = -part.thickness if line.direction == "up" else 0.0
        spots = []
        for of_parent, (flat, _, tangent, _, _) in zip((True, False), ends, strict=True):
            out = 0.0 if kind == "tangent" else (radius + part.thickness) * math.tan(angle / 2.0)
            p, q = tangent
            d = math.dist(p, q)
            n = ((q[1] - p[1]) / d, -(q[0] - p[0]) / d)
            away = out if of_parent else -out
            for end in (p, q):
                at = (end[0] + away * n[0], end[1] + away * n[1])
                spots.append(placed(flat.frame, (at[0], at[1], outer)))
        chord = 2.0 * (radius + part.thickness) * math.sin(angle / 2.0) if kind == "tangent" else 0.0
        # the child's line may be shorter, or shifted along the bend, where the ends of the strip slant
        near, far = (placed(ends[0][0].frame, (*x, 0.0)) for x in line.tangents[0])
        way = [(b - a) / math.dist(near, far) for a, b in zip(near, far, strict=True)]
        for one, two in ((spots[0], spots[2]), (spots[1], spots[3])):
            gap = [b - a for a, b in zip(one, two, strict=True)]
            run = math.fsum(g * w for g, w in zip(gap, way, strict=True))
            worst = max(worst, abs(math.dist(gap, [run * w for w in way]) - chord))
        worst = max(worst, _off_description(part, blank, bend.id, bents))
    return worst


def _off_description(part: Part, blank: Blank, bend_id: str, bents: Mapping[str, BentRadius]) -> float:
    """How far the tangent lines lie from where the described edges and the setbacks say, in each face's own axes."""
    from flatgen.core.points import inverse

    bend, line = part.bend(bend_id), blank.bend(bend_id)
    backs = setback(bend.angle, bents[bend_id].inside_radius, part.thickness)
    worst = 0.0
    for of_parent, owner, edge, tangent in (
        (True, bend.parent, bend.parent_edge, line.tangents[0]),
        (False, bend.child, bend.child_edge, line.tangents[1]),
    ):
        back = backs.of(bend, of_parent)
        face = part.face(owner)
        home = inverse(blank.face(owner).motion)
        for end in tangent:
            p = move(home, end)
            if face.skirt is not None:
                if edge == "bend":
                    worst = max(worst, abs(p[1] - back))
                elif edge == "free" and face.skirt.height_low == face.skirt.height_high:
                    worst = max(worst, abs(face.skirt.height_low - p[1] - back))
                continue
            run = edge_run(face.outline, face.edge(edge))
            out = (p[0] - run.origin[0]) * run.outward[0] + (p[1] - run.origin[1]) * run.outward[1]
            worst = max(worst, abs(out + back))
    return worst
