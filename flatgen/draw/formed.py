"""The formed part in isometric projection (ISO 5456-3), hidden lines removed.

Flats are carried by their frames, bends are swept about their inside radius. Every edge is sampled; a sample is hidden
when some surface lies before it, seen from the viewer, on both sides of the edge. Lengths mm.
"""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flatgen.core.points import Frame, Point, Point3, placed
from flatgen.develop.solid import Edge, Surface, solid, stations
from flatgen.model.blank import Blank
from flatgen.page.drawing import Box, Drawing, Item, Line, box_of, extents
from flatgen.page.layers import used

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SAMPLES = 110  # tests along an edge as long as the view


def formed_view(blank: Blank, size: float) -> list[Item]:
    """Visible edges on layer ``formed``, tangent edges on ``tangent``; the larger side is ``size`` [mm]."""
    runs, (x0, y0, x1, y1) = _visible_edges(blank)
    scale = size / max(x1 - x0, y1 - y0, 1e-9)

    def at(p: Point) -> Point:
        return ((p[0] - x0) * scale, (p[1] - y0) * scale)

    return [Line("tangent" if tangent else "formed", at(p), at(q)) for p, q, tangent in runs]


@lru_cache(maxsize=256)
def _visible_edges(blank: Blank) -> tuple[list[tuple[Point, Point, bool]], Box]:
    """Visible stretches on the projection, whether each is a tangent edge, and the box of all edges [mm]."""
    surfaces, edges = solid(blank)
    view = _view(blank)
    box = box_of(_project(view, p)[:2] for edge in edges for p in edge.points)
    step = max(box[2] - box[0], box[3] - box[1]) / SAMPLES
    cover = _Cover(surfaces, view, blank.thickness)
    pieces: list[tuple[Point3, Point3]] = []
    tangent: list[bool] = []
    for edge in (*edges, *_contours(blank, view)):
        seen = [_project(view, p) for p in edge.points]
        pieces += zip(seen, seen[1:], strict=False)
        tangent += [edge.tangent] * (len(seen) - 1)
    runs = [
        (start, end, thin)
        for stretches, thin in zip(cover.visible(pieces, step), tangent, strict=True)
        for start, end in stretches
    ]
    return runs, box


def formed_drawing(blank: Blank, title: str, size: float = 60.0) -> Drawing:
    """The formed view by itself, for a page that sets it beside text."""
    items = formed_view(blank, size)
    x0, y0, x1, y1 = extents(items)
    return Drawing(title, (x1 - x0 + 2.0, y1 - y0 + 2.0), tuple(items), used(items), origin=(x0 - 1.0, y0 - 1.0))


def _view(blank: Blank) -> Frame:
    """Rows: right, up, toward the viewer. Of four isometric views from above, the one that looks into the part."""
    best: tuple[float, Frame] | None = None
    for k in range(4):
        azimuth = math.radians(45.0 + 90.0 * k - 90.0)
        v = (math.cos(azimuth) * math.sqrt(2 / 3), math.sin(azimuth) * math.sqrt(2 / 3), math.sqrt(1 / 3))
        right = (-math.sin(azimuth), math.cos(azimuth), 0.0)
        up = (v[1] * right[2] - v[2] * right[1], v[2] * right[0] - v[0] * right[2], v[0] * right[1] - v[1] * right[0])
        frame: Frame = ((*right, 0.0), (*up, 0.0), (*v, 0.0))
        score = 0.0
        base = _centroid(blank, 0)
        for i in range(1, len(blank.faces)):
            c = _centroid(blank, i)
            toward = (c[0] - base[0]) * v[0] + (c[1] - base[1]) * v[1]
            score -= toward * (1.0 if c[2] >= base[2] else -1.0)
        if best is None or score > best[0] + 1e-6:
            best = (score, frame)
    assert best is not None
    return best[1]


def _centroid(blank: Blank, i: int) -> Point3:
    face = blank.faces[i]
    n = len(face.outline)
    return placed(
        face.frame, (math.fsum(v[0] for v in face.outline) / n, math.fsum(v[1] for v in face.outline) / n, 0.0)
    )


def _project(view: Frame, p: Point3) -> Point3:
    return placed(view, p)


def _contours(blank: Blank, view: Frame) -> list[Edge]:
    """Where a bend's surface turns away from the viewer: its outline as seen."""
    edges = []
    v = (view[2][0], view[2][1], view[2][2])
    for bend in blank.bends:
        signs = []
        steps = 60
        rows = stations(blank, bend, tuple(k / steps for k in range(steps + 1)))
        for frame, _ in rows:
            normal = (frame[0][2], frame[1][2], frame[2][2])
            signs.append(normal[0] * v[0] + normal[1] * v[1] + normal[2] * v[2])
        for k in range(steps):
            if (signs[k] > 0) != (signs[k + 1] > 0):
                frame, ends = rows[k]
                edges += [Edge(tuple(placed(frame, (*p, z)) for p in ends)) for z in (0.0, -blank.thickness)]
    return edges


class _Cover:
    """Tests samples of edges against all surfaces at once."""

    def __init__(self, surfaces: list[Surface], view: Frame, thickness: float) -> None:
        """Project the surfaces; leave out those seen edge-on."""
        self.slack = 0.2 * thickness
        self.nudge = 0.04 * thickness
        self.faces: list[tuple[Array, Array, tuple[float, float, float]]] = []
        for surface in surfaces:
            loops = [np.array([_project(view, p) for p in loop]) for loop in surface.loops]
            plane = _plane(loops[0])
            if plane is None:
                continue
            starts = np.concatenate([loop[:, :2] for loop in loops])
            ends = np.concatenate([np.roll(loop[:, :2], -1, axis=0) for loop in loops])
            self.faces.append((starts, ends, plane))
        self.boxes = np.array(
            [(*np.minimum(s, e).min(axis=0), *np.maximum(s, e).max(axis=0)) for s, e, _ in self.faces]
        )

    def visible(self, pieces: list[tuple[Point3, Point3]], step: float) -> list[list[tuple[Point, Point]]]:
        """The visible stretches of each straight piece of an edge, on the projection."""
        ends = np.array(pieces, dtype=float).reshape(-1, 2, 3)
        p, along = ends[:, 0], ends[:, 1] - ends[:, 0]
        span = np.hypot(along[:, 0], along[:, 1])
        counts = np.where(span < 1e-9, 0, np.maximum(3, np.ceil(span / step))).astype(int)
        piece = np.repeat(np.arange(len(pieces)), counts)
        first = np.cumsum(counts) - counts
        share = (np.arange(len(piece)) - first[piece] + 0.5) / counts[piece]
        samples = p[piece] + share[:, None] * along[piece]
        side = np.stack((-along[piece, 1], along[piece, 0]), axis=1) / span[piece, None] * self.nudge
        hidden = self._covered(samples, side) & self._covered(samples, -side)
        return [
            _stretches(pieces[k], [bool(one) for one in hidden[begin : begin + count]])
            for k, (begin, count) in enumerate(zip(first, counts, strict=True))
        ]

    def _covered(self, samples: Array, side: Array) -> Mask:
        """Of each sample, moved aside, whether some surface lies before it."""
        xy = samples[:, :2] + side
        order = np.argsort(xy[:, 0], kind="stable")
        xs, ys, depth = xy[order, 0], xy[order, 1], samples[order, 2] + self.slack
        covered = np.zeros(len(samples), dtype=bool)
        begins, ends = np.searchsorted(xs, self.boxes[:, 0]), np.searchsorted(xs, self.boxes[:, 2], side="right")
        for (starts, stops, (nx, ny, d)), (_, low, _, high), begin, end in zip(
            self.faces, self.boxes, begins, ends, strict=True
        ):
            x, y = xs[begin:end], ys[begin:end]
            near = (y >= low) & (y <= high) & ~covered[begin:end] & (nx * x + ny * y + d > depth[begin:end])
            test = np.nonzero(near)[0]
            if len(test):
                covered[begin + test] = _inside(np.stack((x[test], y[test]), axis=1), starts, stops)
        back = np.empty_like(covered)
        back[order] = covered
        return back


def _stretches(piece: tuple[Point3, Point3], hidden: list[bool]) -> list[tuple[Point, Point]]:
    """Runs of samples that are seen, as stretches of the piece."""
    (px, py, _), (qx, qy, _) = piece
    n = len(hidden)
    out: list[tuple[Point, Point]] = []
    begin: int | None = None
    for k in range(n + 1):
        if k < n and not hidden[k]:
            begin = k if begin is None else begin
        elif begin is not None:
            s, e = begin / n, k / n
            out.append(((px + s * (qx - px), py + s * (qy - py)), (px + e * (qx - px), py + e * (qy - py))))
            begin = None
    return out


def _plane(loop: Array) -> tuple[float, float, float] | None:
    """Depth as a function of the projected place, nx·x + ny·y + d; None when seen edge-on."""
    rolled = np.roll(loop, -1, axis=0)
    normal = np.cross(loop, rolled).sum(axis=0)  # Newell: twice the area, square to the plane
    if abs(normal[2]) < 1e-3 * float(np.linalg.norm(normal)) or abs(normal[2]) < 1e-12:
        return None
    center = loop.mean(axis=0)
    nx, ny = -normal[0] / normal[2], -normal[1] / normal[2]
    return float(nx), float(ny), float(center[2] - nx * center[0] - ny * center[1])


def _inside(points: Array, starts: Array, ends: Array) -> Mask:
    """Even-odd test of points against closed loops."""
    px, py = points[:, 0:1], points[:, 1:2]
    y0, y1 = starts[:, 1], ends[:, 1]
    spans = (y0 > py) != (y1 > py)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = starts[:, 0] + (py - y0) * (ends[:, 0] - starts[:, 0]) / (y1 - y0)
    odd: Mask = (spans & (px < x)).sum(axis=1) % 2 == 1
    return odd
