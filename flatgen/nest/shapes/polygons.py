"""Blanks as polygons that err on the safe side: the metal never lies outside, an opening never inside. Lengths mm."""

import math

from flatgen.core import arcs
from flatgen.core.outline import Outline, counter_clockwise, moved, segments
from flatgen.core.points import Point, laying

CHORD = 0.03  # how far a polygon may stray from an arc [mm]


def safe_points(outline: Outline, *, opening: bool = False, tolerance: float = CHORD) -> list[Point]:
    """Corners of a polygon about a counter-clockwise outline, or within it for an opening."""
    points: list[Point] = []
    for p, q, bulge in segments(counter_clockwise(outline)):
        points.append(p)
        if abs(bulge) < arcs.STRAIGHT:
            continue
        if (bulge > 0) == opening:
            points += arcs.chords(p, q, bulge, tolerance)[:-1]
            continue
        arc = arcs.arc_of(p, q, bulge)
        # tangents at the ends of n equal pieces of the arc meet outside it, at radius / cos(half a piece)
        half = math.acos(max(0.5, arc.radius / (arc.radius + tolerance)))
        count = max(1, math.ceil(abs(arc.sweep) / (2.0 * half)))
        out = arc.radius / math.cos(abs(arc.sweep) / (2.0 * count))
        for k in range(count):
            angle = arc.start + arc.sweep * (k + 0.5) / count
            points.append((arc.center[0] + out * math.cos(angle), arc.center[1] + out * math.sin(angle)))
    return points


def laid_points(outline: Outline, rotation: float, mirrored: bool, *, opening: bool = False) -> list[Point]:
    """The safe polygon of an outline laid one way about its own origin."""
    return safe_points(moved(counter_clockwise(outline), laying(rotation, mirrored)), opening=opening)
