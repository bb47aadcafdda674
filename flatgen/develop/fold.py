"""The blank put back into space: a frame for each flat, the formed size, the proof against the description.

Frames carry (x, y, 0) of the blank to the formed part, base face in place. Lengths mm, angles deg.
"""

import math
from collections.abc import Iterator, Mapping

from flatgen.core.outline import reach
from flatgen.core.points import FLAT_FRAME, Frame, Point, Point3, dot, frame_after, placed, right, sub, unit
from flatgen.model.blank import BendLine, FlatFace


def bend_frame(bend: BendLine, thickness: float) -> Frame:
    """Motion that forms the bend: carries the child's flat from its place in the blank, the parent staying flat.

    The tangent lines on the upper side come to stand 2·R·sin(a/2) apart for up, 2·(R+T)·sin(a/2) for down.
    """
    (p, q), _ = bend.tangents
    u = unit(sub(q, p))
    n = right(u)
    angle = math.radians(bend.angle)
    sign = 1.0 if bend.direction == "up" else -1.0
    radius = bend.bent.inside_radius + (0.0 if bend.direction == "up" else thickness)
    c, s = math.cos(angle), math.sin(angle) * sign
    rows = (
        (u[0] * u[0] + c * n[0] * n[0], u[0] * u[1] + c * n[0] * n[1], -s * n[0]),
        (u[1] * u[0] + c * n[1] * n[0], u[1] * u[1] + c * n[1] * n[1], -s * n[1]),
        (s * n[0], s * n[1], c),
    )
    start = (p[0] + bend.bent.allowance * n[0], p[1] + bend.bent.allowance * n[1], 0.0)
    reach = radius * math.sin(angle)
    target = (p[0] + reach * n[0], p[1] + reach * n[1], sign * radius * (1.0 - math.cos(angle)))
    result = []
    for row, goal in zip(rows, target, strict=True):
        result.append((*row, goal - math.fsum(a * b for a, b in zip(row, start, strict=True))))
    return (result[0], result[1], result[2])


def frames(base: str, bends: tuple[BendLine, ...], thickness: float) -> dict[str, Frame]:
    """Frame of each face by id."""
    found: dict[str, Frame] = {base: FLAT_FRAME}
    for bend in bends:
        found[bend.child] = frame_after(found[bend.parent], bend_frame(bend, thickness))
    return found


def on_bend(bend: BendLine, thickness: float, parent: Frame, p: Point, z: float) -> Point3:
    """Where a point of a bend's strip ends up when formed; z from -thickness (lower skin) to 0 (upper skin)."""
    (start, end), _ = bend.tangents
    u = unit(sub(end, start))
    away = sub(p, start)
    turned = math.radians(bend.angle) * dot(away, right(u)) / bend.bent.allowance
    return _turned(bend, thickness, parent, (dot(away, u), turned, z))


def _turned(bend: BendLine, thickness: float, parent: Frame, at: tuple[float, float, float]) -> Point3:
    """A point of a bend's metal, by its run along the first tangent line, the angle turned and its depth."""
    (start, end), _ = bend.tangents
    u = unit(sub(end, start))
    n = right(u)
    run, phi, z = at
    sign = 1.0 if bend.direction == "up" else -1.0
    center = sign * (bend.bent.inside_radius + (0.0 if bend.direction == "up" else thickness))
    radius = abs(center - z)
    out = radius * math.sin(phi)
    flat = (start[0] + run * u[0] + out * n[0], start[1] + run * u[1] + out * n[1])
    return placed(parent, (flat[0], flat[1], center - sign * radius * math.cos(phi)))


def bend_extremes(bend: BendLine, thickness: float, parent: Frame) -> Iterator[Point3]:
    """Points of a bend's two skins that can be the farthest in some axis direction."""
    (start, end), _ = bend.tangents
    u = unit(sub(end, start))
    n = right(u)
    angle = math.radians(bend.angle)
    runs = [dot(sub((x, y), start), u) for x, y, _ in bend.outline]
    phis = {0.0, angle}
    sign = 1.0 if bend.direction == "up" else -1.0
    for row in parent:
        # a coordinate runs as sin(phi)·(row·n) - sign·cos(phi)·row_z: level where its derivative is nought
        phi = math.atan2(row[0] * n[0] + row[1] * n[1], -sign * row[2])
        phis |= {f for f in (phi, phi + math.pi, phi - math.pi) if 0.0 < f < angle}
    for run in (min(runs), max(runs)):
        for phi in sorted(phis):
            for z in (0.0, -thickness):
                yield _turned(bend, thickness, parent, (run, phi, z))


def formed_size(
    faces: tuple[FlatFace, ...], bends: tuple[BendLine, ...], thickness: float
) -> tuple[float, float, float]:
    """Size over the outside of the formed part in the base face's axes [mm]."""
    where = {face.id: face.frame for face in faces}
    low, high = [math.inf] * 3, [-math.inf] * 3
    for face in faces:
        for k, (a, b, c, shift) in enumerate(face.frame):
            least, most = reach(face.outline, (a, b))
            skins = (shift, shift - c * thickness)
            low[k] = min(low[k], least + min(skins))
            high[k] = max(high[k], most + max(skins))
    for bend in bends:
        for p in bend_extremes(bend, thickness, where[bend.parent]):
            for k in range(3):
                low[k], high[k] = min(low[k], p[k]), max(high[k], p[k])
    return (high[0] - low[0], high[1] - low[1], high[2] - low[2])


def center_of_gravity(
    faces: tuple[FlatFace, ...], bends: tuple[BendLine, ...], thickness: float, areas: Mapping[str, tuple[float, Point]]
) -> Point3:
    """Centre of gravity of the formed part [mm]; ``areas`` gives net area and centroid by face or bend id.

    Each flat weighs at mid-thickness of its centroid. A strip's metal is spread evenly over its angle at mid-thickness.
    """
    where = {face.id: face.frame for face in faces}
    total, sums = 0.0, [0.0, 0.0, 0.0]

    def weigh(area: float, p: Point3) -> None:
        nonlocal total
        total += area
        for k in range(3):
            sums[k] += area * p[k]

    for face in faces:
        area, (x, y) = areas[face.id]
        weigh(area, placed(face.frame, (x, y, -thickness / 2.0)))
    for bend in bends:
        area, center = areas[bend.id]
        (start, end), _ = bend.tangents
        u = unit(sub(end, start))
        n = right(u)
        run = dot(sub(center, start), u)
        # the middle of an arc, from the means of sine and cosine over its angle
        angle = math.radians(bend.angle)
        sign = 1.0 if bend.direction == "up" else -1.0
        middle = sign * (bend.bent.inside_radius + (0.0 if sign > 0 else thickness))
        radius = abs(middle + thickness / 2.0)
        out = radius * (1.0 - math.cos(angle)) / angle
        flat = (start[0] + run * u[0] + out * n[0], start[1] + run * u[1] + out * n[1])
        weigh(area, placed(where[bend.parent], (*flat, middle - sign * radius * math.sin(angle) / angle)))
    return (sums[0] / total, sums[1] / total, sums[2] / total)
