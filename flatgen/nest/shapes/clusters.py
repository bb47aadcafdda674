"""Blanks laid into one another: pairs and short rows of equal blanks that fill their common rectangle well.

A row keeps its blanks in a regular step, which is also the easiest to cut. Lengths in mm.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flatgen.core.points import Point
from flatgen.model.plan import Piece
from flatgen.nest.kinds import Kind, Member, Turn, allowed_turns, net_area, single_kind
from flatgen.nest.shapes.polygons import grown, laid_points, slabs, slide

SLABS = 96  # slices that a blank is taken as when the height of the second of a pair is sought
TRIED = 6  # heights then tried exactly
GAIN = 0.97  # a cluster must take this share of its blanks' own rectangles, or less
LONGEST = 3  # most pairs in a row


@dataclass(frozen=True, slots=True)
class Cluster:
    """Equal blanks in fixed places, low corner at 0, 0: (rotation, mirrored, x, y) of each, and the common size."""

    places: tuple[tuple[float, bool, float, float], ...]
    width: float
    height: float


def is_rectangle(piece: Piece) -> bool:
    """Whether the outline fills its rectangle all but a hundredth."""
    turn = single_kind(piece, 0, 0.0, 1).turns[:1]
    metal = net_area(piece) + math.fsum(net_area(Piece("", c, (), 1, None)) for c in piece.cutouts)
    return bool(turn) and metal > 0.99 * turn[0].width * turn[0].height


def clusters_of(piece: Piece, grain: float, gap: float) -> list[Cluster]:
    """The clusters worth having, the largest first."""
    ways = allowed_turns(piece, grain)
    shapes = {way: _at_origin(laid_points(piece.outline, *way)) for way in ways}
    alone = min((w + gap) * (h + gap) for _, _, w, h in shapes.values())
    best: tuple[float, Cluster] | None = None
    for first in _distinct(ways):
        for second in ways:
            for upright in (False, True):
                found = _pair(first, second, shapes, gap, upright)
                if found is not None and (best is None or found[0] < best[0] - 1e-6):
                    best = found
    if best is None or best[0] > GAIN * 2.0 * alone:
        return []
    chain = [best[1]]
    for _ in range(LONGEST - 1):
        longer = _longer(chain[-1], best[1], piece, gap)
        if longer is None:
            break
        chain.append(longer)
    kept = [best[1]]
    for cluster in chain[1:]:
        if _each(cluster, gap) < 0.985 * _each(kept[-1], gap):
            kept.append(cluster)
    return kept[::-1]


def cluster_kind(piece: Piece, index: int, cluster: Cluster, grain: float, many: int) -> Kind:
    """A cluster as a kind of its own, in every turn that all its blanks may take."""
    allowed = allowed_turns(piece, grain)
    turns: list[Turn] = []
    for quarter in (0, 1, 2, 3):
        angle = 90.0 * quarter
        members, ok = [], True
        for rotation, mirrored, x, y in cluster.places:
            turned = (rotation + angle) % 360.0
            ok = ok and any(m == mirrored and abs((r - turned + 180) % 360 - 180) < 1e-6 for r, m in allowed)
            # the cluster's low corner goes to 0, 0 again after the turn
            at = {
                0: (x, y),
                1: (cluster.height - y, x),
                2: (cluster.width - x, cluster.height - y),
                3: (y, cluster.width - x),
            }[quarter]
            members.append(Member(index, turned, mirrored, *at))
        width, height = (cluster.width, cluster.height) if quarter % 2 == 0 else (cluster.height, cluster.width)
        if ok and not any(abs(t.width - width) < 1e-6 and abs(t.height - height) < 1e-6 for t in turns):
            turns.append(Turn(width, height, tuple(members)))
    return Kind(piece.part, tuple(turns), many, net_area(piece) * len(cluster.places))


def _each(cluster: Cluster, gap: float) -> float:
    return (cluster.width + gap) * (cluster.height + gap) / len(cluster.places)


Way = tuple[float, bool]
Shape = tuple[list[Point], Point, float, float]  # points from low corner, shift of the origin, width, height


def _distinct(ways: Sequence[Way]) -> list[Way]:
    """Ways to lay the first blank: turns of the whole cluster come later, so one a quarter is enough."""
    quarters: dict[tuple[float, bool], Way] = {}
    for rotation, mirrored in ways:
        quarters.setdefault((round(rotation % 90.0, 6), mirrored), (rotation, mirrored))
    return list(quarters.values())


def _at_origin(points: list[Point]) -> Shape:
    x0, y0 = min(x for x, _ in points), min(y for _, y in points)
    placed = [(x - x0, y - y0) for x, y in points]
    return placed, (-x0, -y0), max(x for x, _ in placed), max(y for _, y in placed)


def _swapped(points: Sequence[Point]) -> list[Point]:
    return [(y, x) for x, y in points]


def _pair(first: Way, second: Way, shapes: dict[Way, Shape], gap: float, upright: bool) -> tuple[float, Cluster] | None:
    """The pair of least rectangle when the second blank comes from the right (or from above)."""
    a, a_shift, a_width, a_height = shapes[first]
    b, b_shift, b_width, b_height = shapes[second]
    if upright:
        a, b = _swapped(a), _swapped(b)
        a_width, a_height, b_width, b_height = a_height, a_width, b_height, b_width
    wall = grown(a, gap)
    best: tuple[float, float, float] | None = None
    for lift in _good_lifts(wall, b, (a_width, a_height), (b_width, b_height), gap):
        shift = max(slide([wall], [b], lift), -b_width)
        width = max(a_width, shift + b_width) - min(0.0, shift)
        height = max(a_height, lift + b_height) - min(0.0, lift)
        size = (width + gap) * (height + gap)
        if best is None or size < best[0] - 1e-6:
            best = (size, shift, lift)
    if best is None:
        return None
    size, shift, lift = best
    dx, dy = (lift, shift) if upright else (shift, lift)
    if upright:
        a_width, a_height, b_width, b_height = a_height, a_width, b_height, b_width
    x0, y0 = min(0.0, dx), min(0.0, dy)
    places = (
        (*first, a_shift[0] - x0, a_shift[1] - y0),
        (*second, b_shift[0] + dx - x0, b_shift[1] + dy - y0),
    )
    return size, Cluster(places, max(a_width, dx + b_width) - x0, max(a_height, dy + b_height) - y0)


def _good_lifts(
    wall: list[Point], b: list[Point], a_size: tuple[float, float], b_size: tuple[float, float], gap: float
) -> list[float]:
    """Heights of the second blank that look best when both are taken as slabs, and the two in line with the first."""
    step = max(a_size[1], b_size[1]) / SLABS
    low = min(y for _, y in wall)
    right = slabs([(x, y - low) for x, y in wall], step, 1)
    left = slabs(b, step, -1)
    scores = []
    for start in range(-len(left) // 2, len(right)):
        # slab k of the second lies at start + k of the wall's slabs
        first, last = max(0, start), min(len(right), start + len(left))
        if last <= first:
            continue
        lift = low + start * step
        shift = float(np.max(right[first:last] - left[first - start : last - start]))
        width = max(a_size[0], shift + b_size[0]) - min(0.0, shift)
        height = max(a_size[1], lift + b_size[1]) - min(0.0, lift)
        scores.append(((width + gap) * (height + gap), lift))
    best = [lift for _, lift in sorted(scores)[:TRIED]]
    return [*best, 0.0, a_size[1] - b_size[1]]


def _longer(row: Cluster, pair: Cluster, piece: Piece, gap: float) -> Cluster | None:
    """The row with one more pair at its end, along the side where it adds least."""
    best: tuple[float, Cluster] | None = None
    for upright in (False, True):
        fixed = [grown(points, gap) for points in _points(row, piece)]
        moving = _points(pair, piece)
        if upright:
            fixed, moving = [_swapped(p) for p in fixed], [_swapped(p) for p in moving]
        shift = slide(fixed, moving, 0.0)
        if shift <= 0.0:
            continue
        dx, dy = (0.0, shift) if upright else (shift, 0.0)
        places = row.places + tuple((r, m, x + dx, y + dy) for r, m, x, y in pair.places)
        longer = Cluster(places, max(row.width, pair.width + dx), max(row.height, pair.height + dy))
        if best is None or _each(longer, gap) < best[0]:
            best = (_each(longer, gap), longer)
    return best[1] if best is not None else None


def _points(cluster: Cluster, piece: Piece) -> list[list[Point]]:
    return [
        [(px + x, py + y) for px, py in laid_points(piece.outline, rotation, mirrored)]
        for rotation, mirrored, x, y in cluster.places
    ]
