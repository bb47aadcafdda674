"""What the metal meets while the leaf turns: each lump against each tool, and against the other lumps.

Overlap of two convex sections is the least shift that would part them (the greatest of their separations along either
one's edge normals, negative when they overlap). What is found is kept by where a lump lies and which tool it was
compared with, since most states of a part, and most brakes, share them. Lengths mm, angles deg.
"""

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flatgen.brake.section import Known, Laid, Lump, Piece
from flatgen.brake.tools import Setting, Shape
from flatgen.core.points import Point

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
class Met:
    """What a comparison comes to.

    worst : the deepest collision; ``over`` : the deepest with the beam beside the bend, over which fingers do not pass
    room : stretch along the bend that is left to the nose bar
    gap, nearest : least gap to a tool that the metal does not rest on, below nothing where it touches
    """

    worst: Contact | None = None
    over: Contact | None = None
    room: tuple[float, float] = (-math.inf, math.inf)
    gap: float = math.inf
    nearest: str = ""

    def also(self, other: "Met") -> "Met":
        """Both together."""
        near = other if other.gap < self.gap else self
        room = (max(self.room[0], other.room[0]), min(self.room[1], other.room[1]))
        return Met(_deeper(self.worst, other.worst), _deeper(self.over, other.over), room, near.gap, near.nearest)


NOTHING = Met()


def _deeper(one: Contact | None, other: Contact | None) -> Contact | None:
    return other if other is not None and (one is None or other.depth > one.depth) else one


def stack(sections: Iterable[Sequence[Point]]) -> Array:
    """Convex sections as one array, short ones filled up with their last corner."""
    listed = list(sections)
    size = max((len(s) for s in listed), default=3)
    return np.array([[*s, *([s[-1]] * (size - len(s)))] for s in listed], dtype=float).reshape(len(listed), size, 2)


def separation(first: Array, second: Array) -> Array:
    """Signed gap of paired convex sections, counter-clockwise, (pairs, corners, 2) each; negative: overlap [mm]."""
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


def near(first: Array, second: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs whose boxes come within ``LOOK``."""
    low_a, high_a = first.min(axis=1), first.max(axis=1)
    low_b, high_b = second.min(axis=1), second.max(axis=1)
    close = np.ones((len(first), len(second)), dtype=bool)
    for axis in (0, 1):
        close &= low_a[:, None, axis] <= high_b[None, :, axis] + LOOK
        close &= low_b[None, :, axis] <= high_a[:, None, axis] + LOOK
    i, j = np.nonzero(close)
    return i, j


class Watch:
    """Compares the lumps of one stroke with tools and with one another.

    turning : what says how a lump moves with the leaf
    """

    def __init__(self, laid: Laid, setting: Setting, turning: Hashable, known: Known) -> None:
        """Nothing compared yet in this stroke."""
        self.laid, self.setting, self.known, self.turning = laid, setting, known, turning
        low, high = laid.joint
        ease = min(setting.brake.end_clearance, 0.2 * (high - low)) / 2.0
        self.needed = (low + ease, high - ease)

    def tools(
        self,
        tools: Sequence[tuple[str, Shape]],
        lumps: Sequence[Lump],
        at: Callable[[Sequence[Piece]], Array],
        angles: Array,
        place: Hashable,
    ) -> Met:
        """Lumps, at each angle (angles, pieces, corners, 2), against tools; ``place`` says where these stand."""
        kept = [self.known.met.setdefault((place, self.turning, self.needed, tool), {}) for tool in tools]
        new = [lump for lump in lumps if any(lump.key not in one for one in kept)]
        if new:
            missing = [k for k, one in enumerate(kept) if any(lump.key not in one for lump in new)]
            found = self._compare([tools[k] for k in missing], new, at, angles)
            for k, name in ((k, tools[k][0]) for k in missing):
                for n, lump in enumerate(new):
                    kept[k][lump.key] = self._judged(name, lump, found.get((name, n), {}))
        together = NOTHING
        for one in kept:
            for lump in lumps:
                met: Met = one[lump.key]
                if met is not NOTHING:
                    together = together.also(met)
        return together

    def _compare(
        self,
        tools: Sequence[tuple[str, Shape]],
        lumps: Sequence[Lump],
        at: Callable[[Sequence[Piece]], Array],
        angles: Array,
    ) -> dict[tuple[str, int], dict[int, tuple[float, float]]]:
        """Least gap and the angle where it is, of each piece near a tool, by tool and lump."""
        owners = [(n, k) for n, lump in enumerate(lumps) for k in range(len(lump.pieces))]
        names = [name for name, parts in tools for _ in parts]
        swept = at([piece for lump in lumps for piece in lump.pieces])
        first, second = swept.reshape(-1, swept.shape[2], 2), stack(part for _, parts in tools for part in parts)
        i, j = near(first, second)
        best: dict[tuple[str, int], dict[int, tuple[float, float]]] = {}
        if not len(i):
            return best
        for row, part, gap in zip(i.tolist(), j.tolist(), separation(first[i], second[j]).tolist(), strict=True):
            turned, piece = divmod(row, len(owners))
            lump, k = owners[piece]
            own = best.setdefault((names[part], lump), {})
            if k not in own or gap < own[k][0]:
                own[k] = (gap, float(angles[turned]))
        return best

    def _judged(self, name: str, lump: Lump, found: dict[int, tuple[float, float]]) -> Met:
        """What the gaps between the pieces of a lump and a tool mean."""
        together = NOTHING
        for k, (gap, angle) in found.items():
            piece = lump.pieces[k]
            if gap < -TOUCH:
                together = together.also(self._meets(name, piece, Contact(name, piece.owner, angle, -gap)))
            elif not self._rests(name, piece, lump):
                together = together.also(Met(gap=gap, nearest=name))
        return together

    def _rests(self, name: str, piece: Piece, lump: Lump) -> bool:
        """Whether touching is as it should be: metal lying on bed or leaf, clamped under the nose, wrapped round it."""
        low, high = min(z for _, z in piece.section), max(z for _, z in piece.section)
        flat = low > -TOUCH and high < self.setting.thickness + TOUCH
        if name in (BED, LEAF):
            return low > -TOUCH
        return flat and (not lump.moving or piece.owner in self.laid.free_faces)

    def _meets(self, name: str, piece: Piece, contact: Contact) -> Met:
        low, high = self.needed
        beside = piece.span[1] <= low or piece.span[0] >= high
        if name not in (NOSE, BEAM) or not beside:
            return Met(contact)
        if piece.kind == "arc":
            return NOTHING  # the foot of a wall at the end: fingers may come as near as the wall itself lets them
        room = (piece.span[1], math.inf) if piece.span[1] <= low else (-math.inf, piece.span[0])
        return Met(over=contact if name == BEAM else None, room=room)

    def itself(self, at: Callable[[Sequence[Piece]], Array], angles: Array) -> Met:
        """Moving lumps, at each angle, against those that stand still."""
        kept = self.known.met.setdefault(("itself", self.turning), {})
        still = [lump for lump in self.laid.lumps if not lump.moving]
        pairs = [(a, b) for a in self.laid.lumps if a.moving for b in still]
        new = [pair for pair in pairs if (pair[0].key, pair[1].key) not in kept]
        if new:
            found = self._compare_lumps(new, at, angles)
            for a, b in new:
                kept[a.key, b.key] = found.get((a.key, b.key))
        met = [one for a, b in pairs if (one := kept[a.key, b.key]) is not None]
        if not met:
            return NOTHING
        gap, angle, owner = min(met, key=lambda one: one[0])
        if gap < -TOUCH:
            return Met(Contact(ITSELF, owner, angle, -gap))
        return Met(gap=gap, nearest=ITSELF) if angle > 0.0 else NOTHING

    def _compare_lumps(
        self, pairs: Sequence[tuple[Lump, Lump]], at: Callable[[Sequence[Piece]], Array], angles: Array
    ) -> dict[tuple[Hashable, Hashable], tuple[float, float, str]]:
        """Least gap of pairs of lumps, the angle where it is, and what moves there."""
        moving = list({a.key: a for a, _ in pairs}.values())
        fixed = list({b.key: b for _, b in pairs}.values())
        wanted = {(a.key, b.key) for a, b in pairs}
        over = [(lump, piece) for lump in moving for piece in lump.pieces]
        under = [(lump, piece) for lump in fixed for piece in lump.pieces]
        swept, still = at([piece for _, piece in over]), stack(piece.section for _, piece in under)
        first = swept.reshape(-1, swept.shape[2], 2)
        i, j = near(first, still)
        rows = [
            (a, b)
            for a, b in zip(i.tolist(), j.tolist(), strict=True)
            if (over[a % len(over)][0].key, under[b][0].key) in wanted
            and self._may_meet(over[a % len(over)][1], under[b][1])
        ]
        found: dict[tuple[Hashable, Hashable], tuple[float, float, str]] = {}
        if not rows:
            return found
        gaps = separation(first[[a for a, _ in rows]], still[[b for _, b in rows]]).tolist()
        for (a, b), gap in zip(rows, gaps, strict=True):
            turned, piece = divmod(a, len(over))
            key = (over[piece][0].key, under[b][0].key)
            if key not in found or gap < found[key][0]:
                found[key] = (gap, float(angles[turned]), over[piece][1].owner)
        return found

    def _may_meet(self, moving: Piece, still: Piece) -> bool:
        if moving.owner in self.laid.free_faces and still.owner in self.laid.clamped_faces:
            return False
        return min(moving.span[1], still.span[1]) - max(moving.span[0], still.span[0]) > TOUCH
