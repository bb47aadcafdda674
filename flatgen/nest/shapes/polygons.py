"""Blanks as polygons that err on the safe side: the metal never lies outside, an opening never inside. Lengths mm."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

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


def grown(points: Sequence[Point], by: float) -> list[Point]:
    """The polygon with everything nearer to it than ``by``, never less [mm]."""
    from shapely.geometry import Polygon

    if by <= 0.0:
        return list(points)
    # the buffer's arcs are chords of the true ones: a hair more makes up for it
    shape: Any = Polygon(points).buffer(by * 1.0025, quad_segs=12)
    return list(shape.exterior.coords)[:-1]


def profile(points: Sequence[Point], heights: Any, side: int) -> Any:
    """Greatest x of a polygon at each height (side 1), or least (side -1); minus infinity (times side) beyond it."""
    p = np.array(points)
    q = np.roll(p, -1, axis=0)
    low, high = np.minimum(p[:, 1], q[:, 1]), np.maximum(p[:, 1], q[:, 1])
    y = np.asarray(heights)[:, None]
    rise = q[:, 1] - p[:, 1]
    level = np.abs(rise) < 1e-12
    share = (y - p[:, 1]) / np.where(level, 1.0, rise)
    x = p[:, 0] + np.clip(share, 0.0, 1.0) * (q[:, 0] - p[:, 0])
    x = np.where(level, np.maximum(side * p[:, 0], side * q[:, 0]), side * x)
    inside = (y >= low - 1e-9) & (y <= high + 1e-9)
    return side * np.where(inside, x, -np.inf).max(axis=1)


def slide(fixed: Sequence[Sequence[Point]], moving: Sequence[Sequence[Point]], lift: float) -> float:
    """How far right polygons must be moved, lifted by ``lift``, to clear fixed ones when they come from the right [mm].

    Minus infinity when they pass each other.
    """
    ys = [y for points in fixed for _, y in points] + [y + lift for points in moving for _, y in points]
    heights = np.unique(np.round(ys, 9))
    right = np.max([profile(points, heights, 1) for points in fixed], axis=0)
    left = np.min([profile([(x, y + lift) for x, y in points], heights, -1) for points in moving], axis=0)
    both = np.isfinite(right) & np.isfinite(left)
    return float(np.max(right[both] - left[both])) if both.any() else -math.inf


def slabs(points: Sequence[Point], step: float, side: int) -> Any:
    """Greatest (side 1) or least (side -1) x of a polygon within each slab of height ``step`` from y 0 up [mm]."""
    count = max(1, math.ceil(max(y for _, y in points) / step - 1e-9))
    edges = profile(points, np.arange(count + 1) * step, side)
    found = side * np.maximum(side * edges[:-1], side * edges[1:])
    p = np.array(points)
    inside = np.clip((p[:, 1] / step).astype(int), 0, count - 1)
    for k, x in zip(inside, p[:, 0], strict=True):
        found[k] = side * max(side * found[k], side * x)
    return found
