"""Blanks as rectangles: which sizes a blank takes when it is laid in each of the ways it may lie. Lengths mm."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.core.outline import Outline, area, bounds, flatten, moved
from flatgen.core.points import laying
from flatgen.model.plan import Piece


@dataclass(frozen=True, slots=True)
class Member:
    """A blank: which piece, how it is laid, and where its origin comes to lie."""

    piece: int
    rotation: float
    mirrored: bool
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Turn:
    """One way to lay a blank: the rectangle that it fills, and the blank from the low corner of that."""

    width: float
    height: float
    member: Member


@dataclass(frozen=True, slots=True)
class Kind:
    """A blank as a rectangle: its turns."""

    part: str
    turns: tuple[Turn, ...]


def net_area(piece: Piece) -> float:
    """Metal in one blank: outline less its openings [mm²]."""
    return abs(area(piece.outline)) - math.fsum(abs(area(cutout)) for cutout in piece.cutouts)


def allowed_turns(piece: Piece, grain: float) -> list[tuple[float, bool]]:
    """Rotations and mirrorings that a piece may take on a sheet whose rolling direction lies at ``grain`` [deg].

    The piece's own list is for a sheet with the grain along its width. A mirrored blank has its grain at the mirrored
    angle, so it turns the other way. Free pieces get quarter turns here.
    """
    free = piece.rotations is None
    angles: Sequence[float] = (0.0, 90.0, 180.0, 270.0) if piece.rotations is None else piece.rotations
    turn_by = 0.0 if free else grain
    found = [((angle + turn_by) % 360.0, False) for angle in angles]
    if piece.may_mirror:
        found += [((turn_by - angle) % 360.0, True) for angle in angles]
    return list(dict.fromkeys(found))


def turn_of(outline: Outline, rotation: float, mirrored: bool, index: int = 0) -> Turn:
    """The rectangle that an outline fills when laid this way."""
    x0, y0, x1, y1 = bounds([moved(outline, laying(rotation, mirrored))])
    return Turn(x1 - x0, y1 - y0, Member(index, rotation, mirrored, -x0, -y0))


def held_kinds(pieces: Sequence[Piece], grain: float, narrowest: float) -> list[Kind]:
    """The pieces as kinds by their number, in those turns of which no side is narrower than the tool can hold."""
    kinds = []
    for index, piece in enumerate(pieces):
        turns = [t for t in rectangle_turns(piece, grain, index) if min(t.width, t.height) >= narrowest - 1e-6]
        kinds.append(Kind(piece.part, tuple(turns)))
    return kinds


def rectangle_turns(piece: Piece, grain: float, index: int = 0) -> tuple[Turn, ...]:
    """Turns of a piece that differ as rectangles; a piece free of grain may also lie on its smallest rectangle."""
    ways = allowed_turns(piece, grain)
    if piece.rotations is None:
        angle = _smallest_rectangle(piece.outline)
        if angle is not None:
            ways += [(angle, False), ((angle + 90.0) % 360.0, False)]
    turns: list[Turn] = []
    for rotation, mirrored in ways:
        turn = turn_of(piece.outline, rotation, mirrored, index)
        if not any(abs(t.width - turn.width) < 1e-6 and abs(t.height - turn.height) < 1e-6 for t in turns):
            turns.append(turn)
    return tuple(turns)


def _smallest_rectangle(outline: Outline) -> float | None:
    """Rotation that lays a slanting blank into a rectangle at least a hundredth smaller, or None [deg]."""
    points = flatten(outline, 0.05)
    plain = turn_of(outline, 0.0, False)
    best, found = 0.99 * plain.width * plain.height, None
    for (ax, ay), (bx, by) in zip(points, points[1:] + points[:1], strict=True):
        if math.hypot(bx - ax, by - ay) < 5.0:
            continue
        angle = -math.degrees(math.atan2(by - ay, bx - ax)) % 360.0
        turn = turn_of(outline, angle, False)
        if turn.width * turn.height < best - 1e-6:
            best, found = turn.width * turn.height, angle
    return found
