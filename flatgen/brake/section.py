"""A part at any state of its bending, seen along one bend: convex pieces in the plane square to that bend.

``Body`` is the part with some bends made and the rest flat; ``lay`` puts a body on the brake for the next bend. Section
axes: x forward from the clamped tangent line, z up from the bed's top, y along the bend to the operator's right. The
metal is split into convex slabs; each is seen as its projection on the section and the stretch of y that it fills, so
that walls standing at the ends of a bend are known as such. Lengths mm, angles deg.
"""

import math
from collections.abc import Callable, Collection, Hashable, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Any

from flatgen.core.outline import flatten
from flatgen.core.points import (
    FLAT_FRAME,
    Frame,
    Motion,
    Point,
    Point3,
    cross,
    dot,
    frame_about,
    frame_after,
    placed,
    sub,
    unit,
)
from flatgen.develop.strokes import Fold, tangent_of
from flatgen.model.blank import BendLine, Blank, FlatFace, Line

ARC_STEP = 22.5  # a made bend is shown by chords of at most this sweep
FLAT = 1e-6  # a corner that turns by less than this area is none [mm²]
CHORD = 0.3  # rounded corners of faces are seen as chords within this


@dataclass(frozen=True, slots=True)
class Slab:
    """A convex lump of metal in the body's axes; owner is the face or bend that it belongs to."""

    owner: str
    kind: str  # face | strip | arc
    points: tuple[Point3, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """A slab seen along the bend: convex counter-clockwise section, and the stretch it fills along the bend."""

    owner: str
    kind: str
    section: tuple[Point, ...]
    span: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Lump:
    """All metal of one face or bend where it lies for a stroke; its key tells the same place of another state apart.

    moving : carried by the leaf, else under or behind the nose
    """

    owner: str
    key: Hashable
    moving: bool
    pieces: tuple[Piece, ...]


@dataclass
class Known:
    """What was found of one blank, whatever the brake: bends from a face to every other, metal by its place, what of
    it meets what."""

    ways: dict[str, dict[str, frozenset[str]]] = field(default_factory=dict)
    lumps: dict[Hashable, Lump] = field(default_factory=dict)
    met: dict[Hashable, dict[Hashable, Any]] = field(default_factory=dict)


class Body:
    """A blank with the bends in ``made`` at their full angle and all others flat."""

    def __init__(self, blank: Blank, made: Collection[str]) -> None:
        """Fold the blank, its first face left where it lies."""
        self.blank = blank
        self.made = frozenset(made)
        self.frames = self._frames()

    def _frames(self) -> dict[str, Frame]:
        frames: dict[str, Frame] = {self.blank.faces[0].id: FLAT_FRAME}
        todo = [self.blank.faces[0].id]
        while todo:
            face = todo.pop()
            for bend in self.blank.bends:
                if face not in (bend.parent, bend.child):
                    continue
                other = bend.child if face == bend.parent else bend.parent
                if other in frames:
                    continue
                frames[other] = frames[face]
                if bend.id in self.made:
                    frames[other] = frame_after(frames[face], across(bend, face, self.blank.thickness))
                todo.append(other)
        return frames

    @property
    def slabs(self) -> list[Slab]:
        """All metal as convex slabs."""
        faces = [slab for face in self.blank.faces for slab in self.of_face(face)]
        return [*faces, *(slab for bend in self.blank.bends for slab in self.of_bend(bend))]

    def of_face(self, face: FlatFace) -> list[Slab]:
        """The metal of a face as convex slabs."""
        frame, skins = self.frames[face.id], (0.0, -self.blank.thickness)
        parts = convex_parts(flatten(face.outline, CHORD))
        return [Slab(face.id, "face", tuple(placed(frame, (*p, z)) for p in part for z in skins)) for part in parts]

    def of_bend(self, bend: BendLine) -> list[Slab]:
        """The metal of a bend: a strip while it is flat, an arc in chords when it is made."""
        frame, t = self.frames[bend.parent], self.blank.thickness
        near, far = bend.tangents
        if bend.id not in self.made:
            points = [placed(frame, (*p, z)) for p in (*near, *far) for z in (0.0, -t)]
            return [Slab(bend.id, "strip", tuple(points))]
        steps = max(1, math.ceil(bend.angle / ARC_STEP))
        rings = [_ring(bend, k / steps, t) for k in range(steps + 1)]
        pairs = zip(rings, rings[1:], strict=False)
        return [Slab(bend.id, "arc", tuple(placed(frame, p) for p in (*first, *second))) for first, second in pairs]


def across(bend: BendLine, near: str, thickness: float, angle: float | None = None) -> Frame:
    """Motion of the face beyond a bend when it is made to an angle, the near face staying in the blank's plane.

    The strip's width is taken up by the arc, so the face first moves one strip width toward the near tangent line and
    then turns about the arc's centre: R above the upper side for a bend up, R + T below it for a bend down.
    """
    turned = bend.angle if angle is None else angle
    line = tangent_of(bend, near)
    far = bend.tangents[1] if near == bend.parent else bend.tangents[0]
    w, width = _way(line, far)
    up = bend.direction == "up"
    height = bend.bent.inside_radius if up else -(bend.bent.inside_radius + thickness)
    axis = (w[1], -w[0], 0.0)  # w x z
    turn = frame_about((*line[0], height), axis, turned if up else -turned)
    shift: Frame = (
        (1.0, 0.0, 0.0, -w[0] * width),
        (0.0, 1.0, 0.0, -w[1] * width),
        (0.0, 0.0, 1.0, 0.0),
    )
    return frame_after(turn, shift)


def _way(near: Line, far: Line) -> tuple[Point, float]:
    """Unit vector square to the near line toward the far one, and their distance."""
    u = unit(sub(near[1], near[0]))
    normal = (-u[1], u[0])
    width = dot(sub(far[0], near[0]), normal)
    return (normal, width) if width >= 0 else ((-normal[0], -normal[1]), -width)


def _ring(bend: BendLine, share: float, t: float) -> list[Point3]:
    """The four corners of the strip's cross-cut at a share of its angle, in the parent's plane."""
    near, far = bend.tangents
    w, _ = _way(near, far)
    turned = math.radians(bend.angle * share)
    inside = bend.bent.inside_radius
    ends = [_between(near[0], near[1], far, k, share) for k in (0, 1)]
    points: list[Point3] = []
    for radius, center in ((inside, inside), (inside + t, inside)):
        out = radius * math.sin(turned)
        z = center - radius * math.cos(turned)
        for end in ends:
            if bend.direction == "up":
                points.append((end[0] + w[0] * out, end[1] + w[1] * out, z))
            else:
                points.append((end[0] + w[0] * out, end[1] + w[1] * out, -t - z))
    return points


def _between(a: Point, b: Point, far: Line, end: int, share: float) -> Point:
    """Foot on the near line of the strip's end at a share of its width (ends of the two lines may differ)."""
    own = a if end == 0 else b
    # the far line's matching end is the one nearer along the bend
    u = unit(sub(b, a))
    others = sorted(far, key=lambda p: dot(sub(p, a), u))
    other = others[end]
    along = dot(sub(own, a), u) * (1 - share) + dot(sub(other, a), u) * share
    return (a[0] + u[0] * along, a[1] + u[1] * along)


def convex_parts(points: Sequence[Point]) -> list[list[Point]]:
    """A simple polygon as convex parts: itself when it is nearly so, else triangles."""
    hull = convex_hull(points)
    if _area(hull) <= _area(points) * 1.01 + 1e-9:
        return [hull]
    from shapely import constrained_delaunay_triangles
    from shapely.geometry import Polygon

    triangles = constrained_delaunay_triangles(Polygon(points)).geoms
    return [convex_hull(list(t.exterior.coords)[:3]) for t in triangles]


def _area(points: Sequence[Point]) -> float:
    return 0.5 * abs(math.fsum(cross(p, q) for p, q in zip(points, (*points[1:], points[0]), strict=True)))


def convex_hull(points: Sequence[Point]) -> list[Point]:
    """Corners of the convex hull, counter-clockwise."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered
    hull: list[Point] = []
    for run in (ordered, ordered[::-1]):
        start = len(hull)
        for p in run:
            while len(hull) >= start + 2:
                ax, ay = hull[-2]
                bx, by = hull[-1]
                turn = (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)
                onward = (bx - ax) * (p[0] - bx) + (by - ay) * (p[1] - by)
                # a corner between two that are the same but for rounding is a corner all the same
                if turn > FLAT or (turn > -FLAT and onward < -FLAT):
                    break
                hull.pop()
            hull.append(p)
        hull.pop()
    return hull


@dataclass(frozen=True)
class Laid:
    """A body on the brake, ready for one stroke of the leaf.

    lumps : the metal but for the strip that is bent, as it lies before the stroke
    strips : stretches along the bend that are bent; ``joints`` : of these, where both sides have metal
    lies : blank axes to the bench seen from above
    seat : carries the body's axes to the section's (x, y, z)
    """

    fold: Fold
    clamped_hub: bool
    upper_side_up: bool
    lumps: tuple[Lump, ...]
    strips: tuple[tuple[float, float], ...]
    joints: tuple[tuple[float, float], ...]
    clamped_faces: frozenset[str]
    free_faces: frozenset[str]
    origin: Point
    way: Point  # blank direction from clamped to free
    along: Point  # blank direction of y
    lies: Motion
    seat: Frame

    @cached_property
    def still(self) -> tuple[Piece, ...]:
        """Pieces under and behind the nose."""
        return tuple(piece for lump in self.lumps if not lump.moving for piece in lump.pieces)

    @cached_property
    def moving(self) -> tuple[Piece, ...]:
        """Pieces that the leaf carries, as they lie before the stroke."""
        return tuple(piece for lump in self.lumps if lump.moving for piece in lump.pieces)

    @property
    def span(self) -> tuple[float, float]:
        """From the first to the last bent metal along the bend."""
        return min(a for a, _ in self.strips), max(b for _, b in self.strips)

    @property
    def joint(self) -> tuple[float, float]:
        """The stretch that the nose must hold: where both sides of the bend have metal, mitred ends left out."""
        return min(a for a, _ in self.joints), max(b for _, b in self.joints)


def lay(body: Body, fold: Fold, clamp_hub: bool, known: Known | None = None) -> Laid:
    """The body on the brake with one side of the fold under the nose, turned so that the bend goes up."""
    blank, lead = body.blank, fold.lead
    clamped_set, free_set = (fold.hub, fold.tabs) if clamp_hub else (fold.tabs, fold.hub)
    near_face = lead.parent if lead.parent in clamped_set else lead.child
    near = tangent_of(lead, near_face)
    far = lead.tangents[1] if near_face == lead.parent else lead.tangents[0]
    w, width = _way(near, far)
    up = lead.direction == "up"
    # z x x = y: with the upper side up the bend's y is the way turned a quarter counter-clockwise
    y = (-w[1], w[0]) if up else (w[1], -w[0])
    origin = near[0]
    frame = body.frames[near_face]
    ox, oy, oz = placed(frame, (*origin, 0.0))
    lift = blank.thickness if up else 0.0
    seat = _seat(frame, (w, y, 1.0 if up else -1.0), (ox, oy, oz), lift)
    lumps = _lumps(body, fold, near_face, free_set, seat, known or Known())
    strips = tuple(_stretch(bend, origin, y) for bend in fold.bends)
    joints = tuple(_joint(bend, origin, y) for bend in fold.bends)
    faces = {b.id: (b.parent, b.child) for b in fold.bends}
    beside = {face for pair in faces.values() for face in pair}
    lies = _seen_from_above(origin, w, y)
    return Laid(
        fold,
        clamp_hub,
        up,
        lumps,
        strips,
        joints,
        frozenset(beside & clamped_set),
        frozenset(beside & free_set),
        origin,
        w,
        y,
        lies,
        seat,
    )


def _lumps(body: Body, fold: Fold, near: str, free: frozenset[str], seat: Frame, known: Known) -> tuple[Lump, ...]:
    """The metal beside the strip, face by face and bend by bend: where it lies depends on the bends up to it only."""
    ways = known.ways.setdefault(near, {}) or _ways_from(body.blank, near, known.ways[near])

    def lump(owner: str, kind: str, up_to: frozenset[str], moving: bool, slabs: Callable[[], list[Slab]]) -> Lump:
        key = (fold.lead.id, near, kind, owner, up_to & body.made)
        if key not in known.lumps:
            known.lumps[key] = Lump(owner, key, moving, _seen(slabs(), seat))
        return known.lumps[key]

    faces = [lump(f.id, "face", ways[f.id], f.id in free, partial(body.of_face, f)) for f in body.blank.faces]
    bends = [b for b in body.blank.bends if b.id not in fold.ids]
    return (
        *faces,
        *(lump(b.id, "bend", ways[b.parent] | {b.id}, b.parent in free, partial(body.of_bend, b)) for b in bends),
    )


def _ways_from(blank: Blank, face: str, ways: dict[str, frozenset[str]]) -> dict[str, frozenset[str]]:
    """The bends between a face and every other."""
    ways[face] = frozenset()
    todo = [face]
    while todo:
        here = todo.pop()
        for bend in blank.bends:
            for one, other in ((bend.parent, bend.child), (bend.child, bend.parent)):
                if one == here and other not in ways:
                    ways[other] = ways[here] | {bend.id}
                    todo.append(other)
    return ways


def _seen(slabs: Sequence[Slab], seat: Frame) -> tuple[Piece, ...]:
    """Slabs seen along the bend."""
    pieces = []
    for slab in slabs:
        seated = [placed(seat, point) for point in slab.points]
        ys = [y for _, y, _ in seated]
        hull = convex_hull([(x, z) for x, _, z in seated])
        pieces.append(Piece(slab.owner, slab.kind, tuple(hull), (min(ys), max(ys))))
    return tuple(pieces)


def _seat(frame: Frame, axes: tuple[Point, Point, float], at: Point3, lift: float) -> Frame:
    """Motion of the body onto the brake: blank directions w, y and z (through a face's frame) become x, y and z."""
    w, y, z = axes
    rows = []
    for d in ((*w, 0.0), (*y, 0.0), (0.0, 0.0, z)):
        row = [math.fsum(frame[i][k] * d[k] for k in range(3)) for i in range(3)]
        rows.append((row[0], row[1], row[2], -math.fsum(r * o for r, o in zip(row, at, strict=True))))
    rows[2] = (*rows[2][:3], rows[2][3] + lift)
    return (rows[0], rows[1], rows[2])


def _stretch(bend: BendLine, origin: Point, y: Point) -> tuple[float, float]:
    ends = [dot(sub(p, origin), y) for line in bend.tangents for p in line]
    return min(ends), max(ends)


def _joint(bend: BendLine, origin: Point, y: Point) -> tuple[float, float]:
    lines = [sorted(dot(sub(p, origin), y) for p in line) for line in bend.tangents]
    return max(a for a, _ in lines), min(b for _, b in lines)


def _seen_from_above(origin: Point, way: Point, y: Point) -> Motion:
    """Blank to the bench seen from above by the operator: right is y, up the page is away from him (against way)."""
    ex = -dot(origin, y)
    ey = dot(origin, way)
    return (y[0], -way[0], y[1], -way[1], ex, ey)


def strip_width(bend: BendLine) -> float:
    """Width of the strip between its tangent lines [mm]."""
    return _way(*bend.tangents)[1]
