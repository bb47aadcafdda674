"""One stroke of the leaf, followed in steps: does the metal meet a tool or itself, by how much, and where.

The clamped side stands still; the free side first lies flat and is then carried round the nose by the leaf, over-bend
included. While the leaf is at an angle, the strip wrapped so far is the same share of the whole strip; the rest is
straight. Lengths mm, angles deg.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flatgen.brake.meets import BEAM, BED, LEAF, LOOK, NOSE, TOUCH, Contact, Met, Watch, near, separation, stack
from flatgen.brake.section import Known, Laid, Piece, convex_hull, strip_width
from flatgen.brake.tipping import Room, merged, tilt_out
from flatgen.brake.tools import Setting, fixed_tools, leaf_parts
from flatgen.core.points import Point

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stroke:
    """What a stroke of the leaf comes to.

    contact : the worst collision, None when the stroke is free
    room : stretch along the bend that the nose bar may fill, infinite where a side is open
    clearance : least gap to a tool or to itself, None when more than ``LOOK``
    """

    contact: Contact | None
    room: tuple[float, float]
    clearance: float | None
    nearest: str

    @property
    def free(self) -> bool:
        """Whether nothing is in the way."""
        return self.contact is None

    @property
    def walled(self) -> bool:
        """Whether walls stand at both ends, so that only a nose of fitting width goes between."""
        return math.isfinite(self.room[0]) and math.isfinite(self.room[1])


def leaf_angles(end: float, step: float) -> list[float]:
    """Leaf angles from flat to the end in equal steps no larger than the one given."""
    count = max(1, math.ceil(end / step))
    return [end * k / count for k in range(count + 1)]


def stroke(laid: Laid, setting: Setting, step: float = 4.0, known: Known | None = None) -> Stroke:
    """Follow the leaf from flat to the over-bent angle; what is ``known`` of the blank is not compared again."""
    angles = np.array(leaf_angles(setting.leaf_angle, step))
    turning = (setting.radius, setting.thickness, setting.leaf_angle, setting.whole_angle, step)
    watch = Watch(laid, setting, turning, known or Known())
    fixed, hinge = fixed_tools(setting), setting.hinge
    still = [lump for lump in laid.lumps if not lump.moving]
    moving = [lump for lump in laid.lumps if lump.moving]

    def standing(pieces: Sequence[Piece]) -> Array:
        return stack(piece.section for piece in pieces)[None]

    def carried_at(pieces: Sequence[Piece]) -> Array:
        return _carried(pieces, laid, setting, angles)

    def seen(pieces: Sequence[Piece]) -> Array:
        return _seen_from_leaf(carried_at(pieces), setting, angles)

    def seen_standing(pieces: Sequence[Piece]) -> Array:
        flat = standing(pieces)[0]
        return _seen_from_leaf(np.broadcast_to(flat, (len(angles), *flat.shape)), setting, angles)

    met = watch.tools(fixed, still, standing, np.zeros(1), "still")
    if met.worst is None:  # else it cannot even be laid in
        leaf = [(LEAF, leaf_parts(setting))]
        met = met.also(watch.tools(fixed, moving, carried_at, angles, "carried"))
        met = met.also(watch.tools(leaf, moving, seen, angles, ("carried", hinge)))
        met = met.also(watch.tools(leaf, still, seen_standing, angles, ("still", hinge)))
        met = met.also(watch.itself(carried_at, angles))
    return _stroke(met)


def _stroke(met: Met) -> Stroke:
    worst, both = met.worst, math.isfinite(met.room[0]) and math.isfinite(met.room[1])
    if worst is None and both:
        worst = met.over  # fingers pass between walls, the beam over them does not
    clearance = max(met.gap, 0.0) if met.gap < LOOK else None
    return Stroke(worst, met.room, clearance, met.nearest if clearance is not None else "")


def _carried(pieces: Sequence[Piece], laid: Laid, setting: Setting, angles: Array) -> Array:
    """Pieces that the leaf carries at each angle: (angles, pieces, corners, 2).

    A point that lies x in front of the clamped tangent line and z over the bed is at C + turn(A)·(x - c, z - (R + T))
    once the length c of the strip is wrapped and the leaf stands at A.
    """
    flat = stack(piece.section for piece in pieces)
    wrapped = strip_width(laid.fold.lead) * angles / setting.whole_angle
    x = flat[None, :, :, 0] - wrapped[:, None, None]
    z = flat[None, :, :, 1] - (setting.radius + setting.thickness)
    c, s = np.cos(np.radians(angles))[:, None, None], np.sin(np.radians(angles))[:, None, None]
    return np.stack([c * x - s * z, s * x + c * z + setting.radius + setting.thickness], axis=-1)


def carried(laid: Laid, setting: Setting, angle: float, *, released: bool = False) -> list[Piece]:
    """Moving pieces with the leaf at one angle; ``released``: bent to that angle and left, the whole strip wrapped."""
    wrapped = strip_width(laid.fold.lead) * (1.0 if released else angle / setting.whole_angle)
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    high = setting.radius + setting.thickness
    pieces = []
    for piece in laid.moving:
        points = []
        for x, z in piece.section:
            dx, dz = x - wrapped, z - high
            points.append((c * dx - s * dz, s * dx + c * dz + high))
        pieces.append(Piece(piece.owner, piece.kind, tuple(points), piece.span))
    return pieces


def wrapped_strip(laid: Laid, setting: Setting, angle: float, *, released: bool = False) -> list[Piece]:
    """The strip being bent, with the leaf at one angle: the arc wrapped so far and what is still straight."""
    radius, t, center = setting.radius, setting.thickness, setting.radius + setting.thickness
    steps = max(1, math.ceil(angle / 15.0))
    name = laid.fold.lead.id
    pieces: list[Piece] = []
    for k in range(steps):
        quad = []
        for turned, r in ((k, radius + t), (k + 1, radius + t), (k + 1, radius), (k, radius)):
            a = math.radians(angle * turned / steps)
            quad.append((r * math.sin(a), center - r * math.cos(a)))
        pieces.extend(Piece(name, "arc", tuple(convex_hull(quad)), span) for span in laid.strips)
    rest = strip_width(laid.fold.lead) * (0.0 if released else 1.0 - angle / setting.whole_angle)
    if rest > 1e-6:
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        flat = [(0.0, -center), (rest, -center), (rest, -radius), (0.0, -radius)]
        quad = [(c * x - s * z, s * x + c * z + center) for x, z in flat]
        pieces.extend(Piece(name, "strip", tuple(quad), span) for span in laid.strips)
    return pieces


def _seen_from_leaf(points: Array, setting: Setting, angles: Array) -> Array:
    """Sections at each angle in the axes of the turning leaf."""
    hx, hz = setting.hinge
    x, z = points[..., 0] - hx, points[..., 1] - hz
    c, s = np.cos(np.radians(angles))[:, None, None], np.sin(np.radians(angles))[:, None, None]
    return np.stack([c * x + s * z, c * z - s * x], axis=-1)


@dataclass(frozen=True, slots=True)
class WayOut:
    """How a part leaves the brake: to the front, endways, or tipped by ``tilt``, positive with its front up [deg]."""

    how: Literal["front", "endways", "tipped"]
    tilt: float = 0.0


def way_out(laid: Laid, setting: Setting, room: tuple[float, float]) -> WayOut | None:
    """How the part leaves the brake after the stroke, under the lifted nose; None: no way was found."""
    lift = setting.brake.largest_opening
    angle = laid.fold.lead.angle
    metal = [*laid.still, *carried(laid, setting, angle, released=True)]
    metal += wrapped_strip(laid, setting, angle, released=True)
    fixed = fixed_tools(setting)
    lifted = [
        (name, tuple((x, z + lift) for x, z in part)) for name, parts in fixed if name in (NOSE, BEAM) for part in parts
    ]
    inside = [p for p in metal if p.span[0] < room[1] - TOUCH and p.span[1] > room[0] + TOUCH]
    swept = [convex_hull([*p.section, *((x + 400.0, z) for x, z in p.section)]) for p in inside]
    standing = [part for name, parts in fixed if name not in (NOSE, BEAM) for part in parts]
    tools = [*(part for _, part in lifted), *(part for name, parts in fixed if name == BED for part in parts)]
    first, second = stack(swept), stack(tools)
    i, j = near(first, second)
    if not len(i) or float(separation(first[i], second[j]).min()) >= -TOUCH:
        return WayOut("front")
    if not (math.isfinite(room[0]) and math.isfinite(room[1])):
        return WayOut("endways")
    hx, hz = setting.hinge
    standing += [tuple((x + hx, z + hz) for x, z in part) for part in leaf_parts(setting)]
    beside = [p for p in metal if p not in inside]
    beam = [part for name, part in lifted if name == BEAM]
    rooms = (
        Room(_sections(inside), merged([*(part for _, part in lifted), *standing])),
        Room(_sections(beside), merged([*beam, *standing])),
    )
    corners = [point for p in metal for point in p.section]
    reach = max(math.hypot(x, z) for x, z in corners) + setting.radius
    tilt = tilt_out(rooms, reach)
    return None if tilt is None else WayOut("tipped", tilt)


def _sections(pieces: Sequence[Piece]) -> frozenset[tuple[Point, ...]]:
    """Sections of pieces for the search of a tilt: a bend as one, those that are convex together joined."""
    found = [piece.section for piece in pieces if piece.kind == "face"]
    bends: dict[str, list[Point]] = {}
    for piece in pieces:
        if piece.kind != "face":
            bends.setdefault(piece.owner, []).extend(piece.section)
    return merged([*found, *(tuple(convex_hull(points)) for points in bends.values())])
