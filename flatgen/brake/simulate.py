"""One stroke of the leaf, followed in steps: does the metal meet a tool or itself, by how much, and where.

The clamped side stands still; the free side first lies flat and is then carried round the nose by the leaf, over-bend
included. While the leaf is at an angle, the strip wrapped so far is the same share of the whole strip; the rest is
straight. Overlap of two convex sections is the least shift that would part them (the greatest of their separations
along either one's edge normals, negative when they overlap). Lengths mm, angles deg.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from flatgen.brake.section import Laid, Piece, convex_hull, strip_width
from flatgen.brake.tipping import Room, merged, tilt_out
from flatgen.brake.tools import Setting, fixed_tools, leaf_parts
from flatgen.core.points import Point

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

TOUCH = 0.05  # overlap less than this is contact, not collision
LOOK = 5.0  # gaps wider than this are not reported
ITSELF = "the part itself"
NOSE, BEAM, BED, LEAF = "nose bar", "clamping beam", "bed", "leaf"


@dataclass(frozen=True, slots=True)
class Contact:
    """Metal meets a tool (or the part itself): which, at what leaf angle, and how deep at the worst."""

    tool: str
    owner: str
    angle: float
    depth: float


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


def stroke(laid: Laid, setting: Setting, step: float = 4.0) -> Stroke:
    """Follow the leaf from flat to the over-bent angle."""
    import numpy as np

    angles = np.array(leaf_angles(setting.leaf_angle, step))
    still = _stack([piece.section for piece in laid.still])
    watch = _Watch(laid, setting)
    fixed = [(name, part) for name, parts in fixed_tools(setting) for part in parts]
    names, tools = [name for name, _ in fixed], _stack(part for _, part in fixed)
    watch.tools(names, tools, laid.still, still, np.zeros(len(laid.still)))
    if watch.worst is not None:
        return watch.result()  # it cannot even be laid in
    moving = _carried(laid, setting, angles)
    count = len(laid.moving)
    moving_flat = moving.reshape(-1, moving.shape[2], 2)
    turn = np.repeat(angles, count)
    watch.tools(names, tools, laid.moving, moving_flat, turn)
    leaf = _stack(leaf_parts(setting))
    names = [LEAF] * len(leaf)
    watch.tools(names, leaf, laid.moving, _seen_from_leaf(moving, setting, angles), turn)
    still_turning = np.broadcast_to(still, (len(angles), *still.shape))
    watch.tools(names, leaf, laid.still, _seen_from_leaf(still_turning, setting, angles), np.repeat(angles, len(still)))
    watch.itself(moving_flat, turn, still)
    return watch.result()


def _stack(sections: Iterable[Sequence[Point]]) -> "Array":
    """Convex sections as one array, short ones filled up with their last corner."""
    import numpy as np

    listed = list(sections)
    size = max((len(s) for s in listed), default=3)
    return np.array([[*s, *([s[-1]] * (size - len(s)))] for s in listed], dtype=float).reshape(len(listed), size, 2)


def _carried(laid: Laid, setting: Setting, angles: "Array") -> "Array":
    """Moving pieces at each angle: (angles, pieces, corners, 2).

    A point that lies x in front of the clamped tangent line and z over the bed is at C + turn(A)·(x - c, z - (R + T))
    once the length c of the strip is wrapped and the leaf stands at A.
    """
    import numpy as np

    flat = _stack([piece.section for piece in laid.moving])
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


def _seen_from_leaf(points: "Array", setting: Setting, angles: "Array") -> "Array":
    """Sections at each angle in the axes of the turning leaf, as one list."""
    import numpy as np

    hx, hz = setting.hinge
    x, z = points[..., 0] - hx, points[..., 1] - hz
    c, s = np.cos(np.radians(angles))[:, None, None], np.sin(np.radians(angles))[:, None, None]
    return np.stack([c * x + s * z, c * z - s * x], axis=-1).reshape(-1, points.shape[-2], 2)


def separation(first: "Array", second: "Array") -> "Array":
    """Signed gap of paired convex sections, counter-clockwise, (pairs, corners, 2) each; negative: overlap [mm]."""
    import numpy as np

    result = np.full(len(first), -np.inf)
    for a, b in ((first, second), (second, first)):
        edge = np.roll(a, -1, axis=1) - a
        size = np.hypot(edge[..., 0], edge[..., 1])
        real = size > 1e-9
        size = np.where(real, size, 1.0)
        nx, nz = edge[..., 1] / size, -edge[..., 0] / size
        own = nx * a[..., 0] + nz * a[..., 1]
        reach = (nx[:, :, None] * b[:, None, :, 0] + nz[:, :, None] * b[:, None, :, 1]).min(axis=2)
        gap = np.where(real, reach - own, -np.inf).max(axis=1)
        result = np.maximum(result, gap)
    return result


def _near(first: "Array", second: "Array") -> tuple["NDArray[np.intp]", "NDArray[np.intp]"]:
    """Pairs whose boxes come within ``LOOK``."""
    import numpy as np

    low_a, high_a = first.min(axis=1), first.max(axis=1)
    low_b, high_b = second.min(axis=1), second.max(axis=1)
    close = np.ones((len(first), len(second)), dtype=bool)
    for axis in (0, 1):
        close &= low_a[:, None, axis] <= high_b[None, :, axis] + LOOK
        close &= low_b[None, :, axis] <= high_a[:, None, axis] + LOOK
    i, j = np.nonzero(close)
    return i, j


class _Watch:
    """Gathers collisions and gaps of one stroke."""

    def __init__(self, laid: Laid, setting: Setting) -> None:
        self.laid = laid
        self.setting = setting
        self.worst: Contact | None = None
        self.gap = math.inf
        self.nearest = ""
        self.room = (-math.inf, math.inf)
        self.over: Contact | None = None  # worst contact with the beam beside the bend
        low, high = laid.joint
        ease = min(setting.brake.end_clearance, 0.2 * (high - low)) / 2.0
        self.needed = (low + ease, high - ease)

    def tools(self, names: Sequence[str], tools: "Array", pieces: Sequence[Piece], at: "Array", turn: "Array") -> None:
        """Compare pieces (listed once an angle) with the convex parts of tools."""
        i, j = _near(at, tools)
        if not len(i):
            return
        gaps = separation(at[i], tools[j])
        count = len(pieces)
        best: dict[tuple[int, str], tuple[float, float]] = {}
        for k, part, gap in zip(i.tolist(), j.tolist(), gaps.tolist(), strict=True):
            key = (k % count, names[part])
            if key not in best or gap < best[key][0]:
                best[key] = (gap, float(turn[k]))
        for (index, name), (gap, angle) in best.items():
            piece_at = pieces[index]
            if gap < -TOUCH:
                self._meets(name, piece_at, angle, -gap)
            elif gap < self.gap and not self._rests(name, piece_at):
                self.gap, self.nearest = max(gap, 0.0), name

    def _rests(self, name: str, piece: Piece) -> bool:
        """Whether touching is as it should be: metal lying on bed or leaf, clamped under the nose, wrapped round it."""
        low, high = min(z for _, z in piece.section), max(z for _, z in piece.section)
        flat = low > -TOUCH and high < self.setting.thickness + TOUCH
        if name in (BED, LEAF):
            return low > -TOUCH
        return flat and (piece in self.laid.still or piece.owner in self.laid.free_faces)

    def _meets(self, name: str, piece: Piece, angle: float, depth: float) -> None:
        contact = Contact(name, piece.owner, angle, depth)
        if name in (NOSE, BEAM):
            low, high = self.needed
            beside = piece.span[1] <= low or piece.span[0] >= high
            if beside and piece.kind == "arc":
                return  # the foot of a wall at the end: fingers may come as near as the wall itself lets them
            if piece.span[1] <= low:
                self.room = (max(self.room[0], piece.span[1]), self.room[1])
            elif piece.span[0] >= high:
                self.room = (self.room[0], min(self.room[1], piece.span[0]))
            else:
                self._keep(contact)
                return
            if name == BEAM and (self.over is None or depth > self.over.depth):
                self.over = contact
            return
        self._keep(contact)

    def _keep(self, contact: Contact) -> None:
        if self.worst is None or contact.depth > self.worst.depth:
            self.worst = contact

    def itself(self, moving: "Array", turn: "Array", still: "Array") -> None:
        """Compare moving pieces with those that stand still."""
        laid = self.laid
        if not laid.still or not laid.moving:
            return
        i, j = _near(moving, still)
        count = len(laid.moving)
        pairs = [
            (a, b)
            for a, b in zip(i.tolist(), j.tolist(), strict=True)
            if self._may_meet(laid.moving[a % count], laid.still[b])
        ]
        if not pairs:
            return
        first = [a for a, _ in pairs]
        second = [b for _, b in pairs]
        gaps = separation(moving[first], still[second])
        k = int(gaps.argmin())
        gap, angle = float(gaps[k]), float(turn[first[k]])
        if gap < -TOUCH:
            self._keep(Contact(ITSELF, laid.moving[first[k] % count].owner, angle, -gap))
        elif angle > 0 and gap < self.gap:
            self.gap, self.nearest = max(gap, 0.0), ITSELF

    def _may_meet(self, moving: Piece, still: Piece) -> bool:
        if moving.owner in self.laid.free_faces and still.owner in self.laid.clamped_faces:
            return False
        return min(moving.span[1], still.span[1]) - max(moving.span[0], still.span[0]) > TOUCH

    def result(self) -> Stroke:
        """The stroke, once all has been compared."""
        both = math.isfinite(self.room[0]) and math.isfinite(self.room[1])
        if self.worst is None and both and self.over is not None:
            # fingers pass between walls, the beam over them does not
            self.worst = self.over
        clearance = self.gap if self.gap < LOOK else None
        return Stroke(self.worst, self.room, clearance, self.nearest if clearance is not None else "")


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
    first, second = _stack(swept), _stack(tools)
    i, j = _near(first, second)
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
