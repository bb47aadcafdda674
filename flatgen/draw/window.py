"""What of a drawing is seen through a rectangular window: lines and arcs cut at its edges, arcs kept as arcs.

Texts are moved in whole where their middle is in the window, left out where it is not. Lengths mm.
"""

import math
from collections.abc import Iterable
from dataclasses import replace

from flatgen.core import arcs
from flatgen.core.points import Point
from flatgen.page.drawing import Box, Contour, Item, Text


def seen(items: Iterable[Item], window: Box, core: Box) -> list[Item]:
    """Items cut to a window; ``core`` is the part of it whose texts belong to it and not to a neighbour."""
    out: list[Item] = []
    for item in items:
        if isinstance(item, Text):
            out += _text(item, window, core)
            continue
        box = item.box()
        if box[2] < window[0] or box[0] > window[2] or box[3] < window[1] or box[1] > window[3]:
            continue
        if window[0] <= box[0] and window[1] <= box[1] and box[2] <= window[2] and box[3] <= window[3]:
            out.append(item)
            continue
        out += _cut(item, window)
    return out


def _cut(item: Item, window: Box) -> list[Item]:
    if isinstance(item, Contour) and item.filled:  # arrow heads and the like are whole or not there
        x, y = item.outline[0][:2]
        return [item] if window[0] <= x <= window[2] and window[1] <= y <= window[3] else []
    return [
        Contour(item.layer, ((*p, bulge), (*q, 0.0)), closed=False)
        for run in item.runs()
        for p, q, bulge in pieces(*run, window)
    ]


def pieces(p: Point, q: Point, bulge: float, window: Box) -> list[tuple[Point, Point, float]]:
    """The parts of a segment inside a window."""
    shares = {0.0, 1.0}
    for k in (0, 1):
        for edge in (window[k], window[k + 2]):
            shares.update(_meets(p, q, bulge, k, edge))
    marks = sorted(s for s in shares if 0.0 <= s <= 1.0)
    out = []
    for a, b in zip(marks, marks[1:], strict=False):
        if b - a < 1e-12:
            continue
        x, y = arcs.point_at(p, q, bulge, (a + b) / 2.0)
        if window[0] <= x <= window[2] and window[1] <= y <= window[3]:
            ends = arcs.point_at(p, q, bulge, a), arcs.point_at(p, q, bulge, b)
            out.append((*ends, arcs.sub_bulge(bulge, a, b)))
    return out


def _meets(p: Point, q: Point, bulge: float, k: int, edge: float) -> list[float]:
    """Shares along a segment at which a coordinate has a value."""
    if abs(bulge) < arcs.STRAIGHT:
        return [(edge - p[k]) / (q[k] - p[k])] if p[k] != q[k] else []
    arc = arcs.arc_of(p, q, bulge)
    off = edge - arc.center[k]
    if abs(off) >= arc.radius:
        return []
    other = math.sqrt(arc.radius**2 - off**2)
    points = [(edge, arc.center[1] + s * other) if k == 0 else (arc.center[0] + s * other, edge) for s in (1, -1)]
    return [arcs.share_of(p, q, bulge, x) for x in points]


def _text(item: Text, window: Box, core: Box) -> list[Item]:
    x0, y0, x1, y1 = item.box()
    cx, cy = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    if not (core[0] <= cx < core[2] and core[1] <= cy < core[3]):
        return []
    dx = max(0.0, window[0] - x0) - max(0.0, x1 - window[2])
    dy = max(0.0, window[1] - y0) - max(0.0, y1 - window[3])
    return [replace(item, at=(item.at[0] + dx, item.at[1] + dy))]
