"""Whether a part that cannot be drawn straight to the front is tipped out of the brake: lifted, tilted, pulled.

A search in the plane across the bend: every place and tilt of the part on a grid is free or not, and what can be
reached from where it lies is filled from there, tilt by tilt. The part is rigid, the nose lifted as far as it goes, the
leaf down. Separate convex sections have an edge normal of one of them along which they do not overlap; since a shift of
the part changes this in proportion, all places of a tilt are judged at once. Lengths mm, angles deg.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flatgen.brake.section import convex_hull
from flatgen.core.points import Point

STEP = 2.5
TILT = 3.0
TILTS = (30.0, 60.0, 81.0)  # a knack that needs less is looked for first
HAIR = 0.05  # of area that joining sections may add [mm²]
Section = tuple[Point, ...]
ALLOWED = 1.25  # half a step: a path so much too narrow lies between the places of the grid, and sheet gives as much


@dataclass(frozen=True, slots=True)
class Room:
    """Convex sections of metal, and the convex sections of tools that they must keep clear of."""

    metal: frozenset[Section]
    tools: frozenset[Section]


@lru_cache(maxsize=256)
def tilt_out(rooms: tuple[Room, ...], reach: float) -> float | None:
    """The tilt by which the part comes out to the front, positive with its front up [deg]; None when none does.

    reach : how far the part goes forward until all of it is in front of the nose
    """
    grid = _Grid(rooms, reach)
    for most in TILTS:
        for sign in (1, -1):
            if grid.leads_out(sign * round(most / TILT)):
                return sign * most
    return None


def merged(sections: Iterable[Sequence[Point]]) -> frozenset[Section]:
    """The same area in fewer convex sections: those that are convex together are joined."""
    return _joined(frozenset(tuple((round(x, 3), round(z, 3)) for x, z in section) for section in sections))


@lru_cache(maxsize=1024)
def _joined(sections: frozenset[Section]) -> frozenset[Section]:
    parts, k = sorted(sections), 0
    while k < len(parts):
        for other in range(k + 1, len(parts)):
            hull = convex_hull([*parts[k], *parts[other]])
            if _area(hull) <= _area(parts[k]) + _area(parts[other]) + HAIR:
                parts[k] = tuple(hull)
                del parts[other]
                k = -1
                break
        k += 1
    return frozenset(parts)


def _area(section: Sequence[Point]) -> float:
    pairs = zip(section, [*section[1:], section[0]], strict=True)
    return 0.5 * abs(math.fsum(a[0] * b[1] - a[1] * b[0] for a, b in pairs))


class _Grid:
    """Places of the part, tilt by tilt; each tilt is looked at when it is first asked for."""

    def __init__(self, rooms: tuple[Room, ...], reach: float) -> None:
        self.rooms = rooms
        self.steps = math.ceil(reach / STEP)
        xs, zs = _places(self.steps)
        self.shape = (len(xs), len(zs))
        self.start = (4, self.steps)
        self.tilts: dict[int, NDArray[np.bool_]] = {}

    def leads_out(self, farthest: int) -> bool:
        """Whether the front is reached with no more tilt than so many steps, one way.

        Only tilts that are reached on the way are looked at.
        """
        way = 1 if farthest > 0 else -1
        seen = np.zeros((abs(farthest) + 1, *self.shape), dtype=bool)
        seen[(0, *self.start)] = self.free(0)[self.start]
        free = np.zeros_like(seen)
        free[0] = self.free(0)
        looked = 0
        while True:
            grown = seen.copy()
            for axis in range(3):
                ahead, behind = [slice(None)] * 3, [slice(None)] * 3
                ahead[axis], behind[axis] = slice(1, None), slice(None, -1)
                grown[tuple(ahead)] |= seen[tuple(behind)]
                grown[tuple(behind)] |= seen[tuple(ahead)]
            if looked < abs(farthest) and grown[looked + 1].any():
                looked += 1
                free[looked] = self.free(way * looked)
            grown &= free
            if grown[:, -1, :].any():
                return True
            if (grown == seen).all():
                return False
            seen = grown

    def free(self, tilt: int) -> NDArray[np.bool_]:
        """Places where the part meets nothing at a tilt."""
        found = self.tilts.get(tilt)
        if found is None:
            found = np.ones(self.shape, dtype=np.bool_)
            for room in self.rooms:
                for section in room.metal:
                    for tool in room.tools:
                        found &= _apart(section, tilt, tool, self.steps)
            self.tilts[tilt] = found
        return found


@lru_cache(maxsize=16)
def _places(steps: int) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """The places of a grid along x and z: so many steps forward, and as many up and down."""
    return np.arange(-4, steps + 3, dtype=np.float64) * STEP, np.arange(-steps, steps + 1, dtype=np.float64) * STEP


@lru_cache(maxsize=4096)
def _apart(section: Section, tilt: int, tool: Section, steps: int) -> NDArray[np.bool_]:
    """Places where a tilted section is clear of a tool; kept, since states of a part have most of their metal alike."""
    piece, other = _turned(section, tilt * TILT), np.array(tool)
    xs, zs = _places(steps)
    apart = np.ones((len(xs), len(zs)), dtype=np.bool_)
    low, high = other.min(axis=0) - piece.max(axis=0), other.max(axis=0) - piece.min(axis=0)
    across = slice(*np.searchsorted(xs, (low[0], high[0]), "left"))
    up = slice(*np.searchsorted(zs, (low[1], high[1]), "left"))
    # a shift along an edge's normal lessens the gap that the normal sees by as much
    ways = np.concatenate((_normals(piece), -_normals(other)))
    gap = (ways @ other.T).min(axis=1) - (ways @ piece.T).max(axis=1)
    seen = (ways[:, :1] * xs[across])[:, :, None] + (ways[:, 1:] * zs[up])[:, None, :]
    apart[across, up] = (seen < (gap + ALLOWED)[:, None, None]).any(axis=0)
    return apart


def _turned(section: Sequence[Point], angle: float) -> NDArray[np.float64]:
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return np.array([(c * x - s * z, s * x + c * z) for x, z in section])


def _normals(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Outward unit normals of a counter-clockwise section."""
    edges = np.roll(corners, -1, axis=0) - corners
    sizes = np.hypot(edges[:, 0], edges[:, 1])
    edges, sizes = edges[sizes > 1e-9], sizes[sizes > 1e-9, None]
    return np.stack((edges[:, 1], -edges[:, 0]), axis=1) / sizes
