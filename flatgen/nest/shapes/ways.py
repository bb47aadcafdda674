"""Blanks in every way that they may lie, as convex parts for laying true shapes. Lengths mm, angles deg."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from flatgen.core.outline import Outline, area, bounds
from flatgen.core.points import Point
from flatgen.model.plan import Piece
from flatgen.nest.kinds import Member, allowed_turns, net_area, rectangle_turns, turn_of
from flatgen.nest.shapes.late_acceptance import Shapes, Unit
from flatgen.nest.shapes.lattice import Masks, laid
from flatgen.nest.shapes.no_fit_polygon import convex_parts, twice_area
from flatgen.nest.shapes.pairs import pairs_of, row_of
from flatgen.nest.shapes.polygons import laid_points

MOST_PARTS = 12  # convex parts of a blank; one of more is taken a little larger and plainer
GROWN = 1.06  # but its area no more than this times
Ring = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """All pieces in all their ways, from the low corner, and the shapes of these."""

    ways: tuple[Member, ...]
    shapes: Shapes


def choice_of(pieces: Sequence[Piece], grain: float, gap: float, step: float) -> Choice:
    """Every way to lay the pieces on a sheet with this grain, alone and in pairs, on a lattice of this step."""
    least = _least(pieces, grain)
    ways: list[Member] = []
    parts: list[tuple[Ring, ...]] = []
    by_piece: list[list[int]] = []
    for number, piece in enumerate(pieces):
        start = len(ways)
        for member, rings in _ways(piece, number, grain, gap, step, least):
            ways.append(member)
            parts.append(rings)
        by_piece.append(list(range(start, len(ways))))
    areas = [net_area(piece) for piece in pieces]
    masks = Masks([laid(p, gap) for p in parts], step)
    return Choice(tuple(ways), _shapes(masks, by_piece, pieces, areas, gap))


def _shapes(
    masks: Masks, by_piece: Sequence[Sequence[int]], pieces: Sequence[Piece], areas: Sequence[float], gap: float
) -> Shapes:
    """Single blanks in any way and in each way alone, and where it pays, pairs and rows of pairs."""
    groups = [masks.group(((way, 0, 0),)) for way in range(len(masks.ways))]
    units = [Unit(number, tuple(ways)) for number, ways in enumerate(by_piece)]
    for number, ways in enumerate(by_piece):
        if len(ways) > 1:
            units += [Unit(number, (way,)) for way in ways]
        if pieces[number].quantity < 2 or is_rectangle(pieces[number]):
            continue
        pairs = pairs_of(masks, ways, gap)
        rows = [row for row in (row_of(masks, pair, gap) for pair in pairs[:2]) if row is not None]
        for together in (pairs, rows):
            size = len(together[0].parts) if together else 0
            if 0 < size <= pieces[number].quantity:
                units.append(Unit(number, tuple(range(len(groups), len(groups) + len(together))), size))
                groups += together
    unit_of = {group: n for n, unit in enumerate(units) for group in unit.groups}
    return Shapes(masks, groups, units, areas, [unit_of[group] for group in range(len(groups))])


def is_rectangle(piece: Piece) -> bool:
    """Whether the outline fills its rectangle all but a hundredth."""
    turn = turn_of(piece.outline, 0.0, False)
    return abs(area(piece.outline)) > 0.99 * turn.width * turn.height


def _least(pieces: Sequence[Piece], grain: float) -> tuple[float, float]:
    """Smallest short and smallest long side of the pieces' rectangles."""
    sizes = [sorted((t.width, t.height)) for n, p in enumerate(pieces) for t in rectangle_turns(p, grain, n)]
    return (min((s[0] for s in sizes), default=0.0), min((s[1] for s in sizes), default=0.0))


def _ways(
    piece: Piece, number: int, grain: float, gap: float, step: float, least: tuple[float, float]
) -> Iterator[tuple[Member, tuple[Ring, ...]]]:
    """The ways of one blank that differ, with the convex parts of each."""
    holes = tuple(c for c in piece.cutouts if _takes(c, gap, least))
    known = set()
    for rotation, mirrored in _turns(piece, grain, number):
        parts, key, (x, y) = _placed(piece, rotation, mirrored, holes, gap, step)
        if key not in known:
            known.add(key)
            yield Member(number, rotation, mirrored, x, y), parts


def _placed(
    piece: Piece, rotation: float, mirrored: bool, holes: tuple[Outline, ...], gap: float, step: float
) -> tuple[tuple[Ring, ...], tuple[Any, ...], Point]:
    """Convex parts from the low corner, what tells equal ways, and where the blank's origin comes to lie."""
    outer = laid_points(piece.outline, rotation, mirrored)
    x0, y0 = min(x for x, _ in outer), min(y for _, y in outer)
    rings = [outer, *(laid_points(c, rotation, mirrored, opening=True) for c in holes)]
    at_zero = [tuple((x - x0, y - y0) for x, y in ring) for ring in rings]
    key = tuple(frozenset((round(x, 5), round(y, 5)) for x, y in ring) for ring in at_zero)
    parts, (dx, dy) = plain_parts(at_zero[0], tuple(at_zero[1:]), gap, step)
    return parts, key, (dx - x0, dy - y0)


def _turns(piece: Piece, grain: float, number: int) -> list[tuple[float, bool]]:
    """What the piece may take; one free of grain also lies on its smallest rectangle, in every quarter of that."""
    ways = allowed_turns(piece, grain)
    if piece.rotations is None:
        for turn in rectangle_turns(piece, grain, number):
            member = turn.member
            ways += [((member.rotation + quarter) % 360.0, member.mirrored) for quarter in (0.0, 90.0, 180.0, 270.0)]
    return list(dict.fromkeys(ways))


def _takes(cutout: Outline, gap: float, least: tuple[float, float]) -> bool:
    """Whether an opening could take the smallest of the blanks."""
    x0, y0, x1, y1 = bounds([cutout])
    short, long = sorted((x1 - x0 - 2.0 * gap, y1 - y0 - 2.0 * gap))
    return short >= least[0] - 1e-6 and long >= min(least) - 1e-6 and long > 0.0


@lru_cache(maxsize=4096)
def plain_parts(outer: Ring, holes: tuple[Ring, ...], gap: float, step: float) -> tuple[tuple[Ring, ...], Point]:
    """Convex parts with their low corner at 0, 0, and how far that moved the shape.

    A shape of very many parts is taken larger by half a step or more, its notches narrower than the gap closed.
    """
    parts = convex_parts(outer, holes)
    if len(parts) <= MOST_PARTS:
        return parts, (0.0, 0.0)
    most = GROWN * _area(parts)
    for by in (0.125 * step, 0.25 * step, 0.5 * step, step, 2.0 * step):
        rings = outward(outer, holes, gap, by)
        trial = convex_parts(*rings) if rings is not None else ()
        if _area(trial) > most:
            break
        if 0 < len(trial) < len(parts):
            parts = trial
        if len(parts) <= MOST_PARTS:
            break
    x0, y0 = min(x for part in parts for x, _ in part), min(y for part in parts for _, y in part)
    return tuple(tuple((x - x0, y - y0) for x, y in part) for part in parts), (-x0, -y0)


def _area(parts: Sequence[Ring]) -> float:
    return math.fsum(0.5 * twice_area(part) for part in parts)


def outward(outer: Ring, holes: tuple[Ring, ...], gap: float, by: float) -> tuple[Ring, tuple[Ring, ...]] | None:
    """A plainer polygon about the metal, at most twice ``by`` larger; None where that would not hold all of it."""
    from shapely.geometry import Polygon, box
    from shapely.geometry.polygon import orient

    metal: Any = Polygon(outer, holes)
    if not metal.is_valid:
        return None
    wide = metal.buffer(0.5 * gap + by, quad_segs=4).buffer(-0.5 * gap, quad_segs=4).simplify(0.9 * by)
    wide = wide.intersection(box(*metal.bounds))  # so that a blank as large as its sheet still lies on it
    if wide.geom_type != "Polygon" or not wide.covers(metal):
        return None
    wide = orient(wide, 1.0)
    return tuple(wide.exterior.coords[:-1]), tuple(tuple(ring.coords[:-1]) for ring in wide.interiors)
