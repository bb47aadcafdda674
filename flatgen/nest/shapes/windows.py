"""Room inside other blanks' rectangles: openings, notches and the corners beside slanting edges, as small sheets that
come with their host. Lengths mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from flatgen.core.points import Motion, after, inverse, move, shifted, turned
from flatgen.model.plan import Piece
from flatgen.nest.guillotine.greedy import Bin, Filled, fill
from flatgen.nest.guillotine.knapsacks import Rules
from flatgen.nest.kinds import Kind, Member, Turn
from flatgen.nest.shapes.polygons import grown, laid_points

MOST = 4  # rooms looked for in one host
LINES = 14  # most trial lines each way for the edges of a room

Rect = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Window:
    """A usable rectangle inside a host's rectangle, as the host lies in its first turn."""

    host: int
    x: float
    y: float
    width: float
    height: float


def windows_of(pieces: Sequence[Piece], hosts: Sequence[Kind], gap: float, least: tuple[float, float]) -> list[Window]:
    """Rooms of all hosts that take at least a rectangle of sides ``least`` (short, long) in one direction [mm]."""
    found = []
    for number, kind in enumerate(hosts):
        if kind.turns:
            found += [
                Window(number, x0, y0, x1 - x0, y1 - y0) for x0, y0, x1, y1 in _rooms(pieces, kind.turns[0], gap, least)
            ]
    return found


def _rooms(pieces: Sequence[Piece], turn: Turn, gap: float, least: tuple[float, float]) -> list[Rect]:
    from shapely.geometry import Polygon, box
    from shapely.ops import unary_union

    metal: list[Any] = []
    spare = turn.width * turn.height
    for m in turn.members:
        piece = pieces[m.piece]
        outer = [(x + m.x, y + m.y) for x, y in laid_points(piece.outline, m.rotation, m.mirrored)]
        solid: Any = Polygon(grown(outer, gap))
        spare -= Polygon(outer).area
        for cutout in piece.cutouts:
            edge = [(x + m.x, y + m.y) for x, y in laid_points(cutout, m.rotation, m.mirrored, opening=True)]
            opening: Any = Polygon(edge)
            spare += opening.area
            if opening.area > least[0] * least[1]:
                solid = solid.difference(opening.buffer(-gap * 1.0025, quad_segs=12) if gap else opening)
        metal.append(solid)
    if spare < least[0] * least[1]:
        return []
    free: Any = box(0.0, 0.0, turn.width, turn.height).difference(unary_union(metal))
    rooms: list[Rect] = []
    while len(rooms) < MOST:
        best: Rect | None = None
        for part in getattr(free, "geoms", [free]):
            rect = _largest_rectangle(part, least) if part.geom_type == "Polygon" else None
            if rect is not None and (best is None or _size(rect) > _size(best) + 1e-6):
                best = rect
        if best is None:
            break
        rooms.append(best)
        free = free.difference(box(best[0] - gap, best[1] - gap, best[2] + gap, best[3] + gap))
    return rooms


def _size(rect: Rect) -> float:
    return (rect[2] - rect[0]) * (rect[3] - rect[1])


def _largest_rectangle(shape: Any, least: tuple[float, float]) -> Rect | None:
    """The largest upright rectangle with its edges on the shape's corners or on a few lines between them."""
    from shapely.geometry import box
    from shapely.prepared import prep

    x0, y0, x1, y1 = shape.bounds
    if min(x1 - x0, y1 - y0) < least[0] or max(x1 - x0, y1 - y0) < least[1]:
        return None
    points = list(shape.exterior.coords)[:-1]
    xs, ys = _lines([p[0] for p in points]), _lines([p[1] for p in points])
    room = prep(shape.buffer(1e-6))
    best, found = least[0] * least[1] - 1e-6, None
    for i, low in enumerate(xs):
        for high in reversed(xs[i + 1 :]):
            if (high - low) * (y1 - y0) <= best + 1e-6:
                break
            for j, bottom in enumerate(ys):
                for top in reversed(ys[j + 1 :]):
                    size = (high - low) * (top - bottom)
                    if size <= best + 1e-6:
                        break
                    short, long = sorted((high - low, top - bottom))
                    if short < least[0] or long < least[1]:
                        break
                    if room.contains(box(low, bottom, high, top)):
                        best, found = size, (low, bottom, high, top)
    return found


def _lines(values: Sequence[float]) -> list[float]:
    """The values, or where there are too many as many lines evenly between the first and the last."""
    some = sorted({round(v, 6) for v in values})
    if len(some) <= LINES:
        return some
    return [some[0] + (some[-1] - some[0]) * k / (LINES - 1) for k in range(LINES)]


def fill_windows(
    windows: Sequence[Window],
    pieces: Sequence[Piece],
    hosts: Sequence[Kind],
    every_turn: Sequence[Sequence[Turn]],
    demand: Sequence[int],
    gap: float,
) -> tuple[dict[int, list[list[Member]]], list[int]]:
    """What lies in each window, one entry a host, and what is left of the demand.

    every_turn : all turns that each host may take on any sheet; blanks inside lie only so that they stay allowed then.
    Hosts do not lie in one another. The largest windows are filled first.
    """
    left = list(demand)
    inside: dict[int, list[list[Member]]] = {number: [] for number in range(len(windows))}
    taken_as_host = {window.host for window in windows}
    order = sorted(range(len(windows)), key=lambda n: (-windows[n].width * windows[n].height, n))
    for number in order:
        window = windows[number]
        base = hosts[window.host].turns[0].members[0].rotation
        angles = {round((turn.members[0].rotation - base) % 360.0, 6) for turn in every_turn[window.host]}
        kinds = tuple(
            replace(
                kind,
                turns=tuple(
                    turn
                    for turn in kind.turns
                    if turn.width <= window.width + 1e-6
                    and turn.height <= window.height + 1e-6
                    and all(not m.mirrored and _stays(pieces[m.piece], m.rotation, angles) for m in turn.members)
                )
                if index not in taken_as_host
                else (),
            )
            for index, kind in enumerate(hosts)
        )
        size = (window.width + gap, window.height + gap)
        bin_ = Bin(number, (size,), None, 0.0, kinds, 0)
        worth = [max((t.width * t.height for t in kind.turns), default=0.0) for kind in kinds]
        copies = hosts[window.host].demand
        while copies > 0:
            filled, rest = fill(bin_, left, gap, Rules(stages=99), worth)
            used = [a - b for a, b in zip(left, rest, strict=True)]
            if not any(used):
                break
            repeat = min(copies, *(a // u for a, u in zip(left, used, strict=True) if u))
            left = [a - u * repeat for a, u in zip(left, used, strict=True)]
            inside[number] += [members_of(filled, bin_, [(window.x, window.y)])] * repeat
            copies -= repeat
    return inside, left


def _stays(piece: Piece, rotation: float, angles: set[float]) -> bool:
    if piece.rotations is None:
        return True
    return all(
        any(abs((rotation + angle - r + 180.0) % 360.0 - 180.0) < 1e-6 for r in piece.rotations) for angle in angles
    )


def members_of(filled: Filled, bin_: Bin, corners: Sequence[tuple[float, float]]) -> list[Member]:
    """Every blank of a sheet in its place."""
    return [
        replace(m, x=m.x + x, y=m.y + y) for _, turn, x, y in groups_on(filled, bin_, corners) for m in turn.members
    ]


def groups_on(
    filled: Filled, bin_: Bin, corners: Sequence[tuple[float, float]]
) -> list[tuple[int, Turn, float, float]]:
    """Every kind laid on a sheet: (kind, turn, x and y of its low corner)."""
    from flatgen.nest.guillotine.block import leaves, tidy

    found = []
    for (cx, cy), block in zip(corners, filled.blocks, strict=True):
        if block is not None:
            for kind, turn, x, y in leaves(tidy(block)):
                found.append((kind, bin_.kinds[kind].turns[turn], cx + x, cy + y))
    return found


def carried(members: Sequence[Member], first: Turn, turn: Turn, x: float, y: float) -> list[Member]:
    """Blanks inside a host as they come to lie when the host lies in a turn with its low corner at x, y."""
    start, end = first.members[0], turn.members[0]
    angle = end.rotation - start.rotation
    to: Motion = after(shifted(end.x + x, end.y + y), turned(angle % 360.0))
    motion = after(to, inverse(shifted(start.x, start.y)))
    found = []
    for m in members:
        px, py = move(motion, (m.x, m.y))
        found.append(replace(m, x=px, y=py, rotation=(m.rotation + angle) % 360.0))
    return found
