"""What it costs to bend at a radius other than the drawing's: outside sizes stay, the blank and its flats do not.

Lengths mm, angles deg.
"""

import math
from dataclasses import dataclass

from flatgen.core.bend import setback_factor
from flatgen.core.points import Point, cross, distance, sub, unit
from flatgen.model.blank import BendLine, Blank, BlankHole

HEAD_CLEAR = 0.76  # 0.03 in between a head's or washer's edge and the tangent line (common practice)


@dataclass(frozen=True, slots=True)
class NoseChange:
    """One bend at the nose's radius against the drawing's.

    shorter_blank : of the blank for this bend; shorter_flat : of each flat beside it, and of each hole to its tangent
    chamfer : leg of a 45 deg chamfer that a square-edged mate in the corner needs [mm]
    """

    radius: float
    drawing_radius: float
    shorter_blank: float
    shorter_flat: float
    chamfer: float


@dataclass(frozen=True, slots=True)
class CrowdedHole:
    """A fastener whose head or washer reaches the curve only at the larger radius: distances to its tangent [mm]."""

    hole: BlankHole
    distance: float
    at_drawing_radius: float
    needed: float


def nose_change(angle: float, drawing_radius: float, radius: float) -> NoseChange:
    """Changes of a bend when the outside sizes are held, from the drawing's radius to that of the nose.

    Notes
    -----
    Blank: dR (2 tan(a/2) − a); each flat: dR tan(a/2); the chamfer lets a square edge pass the corner: R (2 − √2).

    Examples
    --------
    From 1/8 to 1/4 in at 90 deg, in inches:

    >>> change = nose_change(90, 0.125, 0.25)
    >>> change.shorter_blank, change.shorter_flat, change.chamfer
    (0.054, 0.125, 0.146)
    """
    more = radius - drawing_radius
    factor = setback_factor(angle) if angle < 180.0 else 1.0
    return NoseChange(
        radius,
        drawing_radius,
        more * (2.0 * factor - math.radians(angle)),
        more * factor,
        radius * (2.0 - math.sqrt(2.0)),
    )


def crowded_holes(blank: Blank, bend: BendLine) -> tuple[CrowdedHole, ...]:
    """Fasteners beside a bend that were clear of its curve at the drawing's radius and are not at the real one.

    A head or washer is taken as twice the fastener's diameter across, and kept 0.03 in from the tangent line.
    """
    more = bend.bent.inside_radius - bend.bent.drawing_radius
    if more <= 0.0:
        return ()
    lost = nose_change(bend.angle, bend.bent.drawing_radius, bend.bent.inside_radius).shorter_flat
    found = []
    for side, face in enumerate((bend.parent, bend.child)):
        line = bend.tangents[side]
        for hole in blank.holes:
            if hole.hole.face != face or hole.hole.fastener is None:
                continue
            needed = hole.hole.fastener + HEAD_CLEAR
            now = away(line, hole.center)
            if now < needed <= now + lost:
                found.append(CrowdedHole(hole, now, now + lost, needed))
    return tuple(found)


def away(line: tuple[Point, Point], p: Point) -> float:
    """Distance of a point from a tangent line, square to it, or from its nearer end when it lies beside it [mm]."""
    start, end = line
    way = unit(sub(end, start))
    along = way[0] * (p[0] - start[0]) + way[1] * (p[1] - start[1])
    if 0.0 <= along <= distance(start, end):
        return abs(cross(way, sub(p, start)))
    return min(distance(p, start), distance(p, end))
