"""The formed part in isometric projection (ISO 5456-3), hidden lines removed.

Flats are carried by their frames, bends are swept about their inside radius. Every edge is sampled; a sample is hidden
when some surface lies before it, seen from the viewer, on both sides of the edge. Lengths mm.
"""

import math
from functools import lru_cache
from typing import Any

from flatgen.core.points import Frame, Point, Point3, placed
from flatgen.develop.solid import Edge, Surface, solid, stations
from flatgen.model.blank import Blank
from flatgen.page.drawing import Box, Drawing, Item, Line, box_of, extents
from flatgen.page.layers import used

SAMPLES = 110  # tests along an edge as long as the view


def formed_view(blank: Blank, size: float) -> list[Item]:
    """Visible edges on layer ``formed``, tangent edges on ``tangent``; the larger side is ``size`` [mm]."""
    runs, (x0, y0, x1, y1) = _visible_edges(blank)
    scale = size / max(x1 - x0, y1 - y0, 1e-9)

    def at(p: Point) -> Point:
        return ((p[0] - x0) * scale, (p[1] - y0) * scale)

    return [Line("tangent" if tangent else "formed", at(p), at(q)) for p, q, tangent in runs]


@lru_cache(maxsize=4)
def _visible_edges(blank: Blank) -> tuple[list[tuple[Point, Point, bool]], Box]:
    """Visible stretches on the projection, whether each is a tangent edge, and the box of all edges [mm]."""
    surfaces, edges = solid(blank)
    view = _view(blank)
    box = box_of(_project(view, p)[:2] for edge in edges for p in edge.points)
    step = max(box[2] - box[0], box[3] - box[1]) / SAMPLES
    cover = _Cover(surfaces, view, blank.thickness)
    runs = []
    for edge in (*edges, *_contours(blank, view)):
        for p, q in zip(edge.points, edge.points[1:], strict=False):
            for start, end in cover.visible(_project(view, p), _project(view, q), step):
                runs.append((start, end, edge.tangent))
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
        import numpy as np

        self.slack = 0.2 * thickness
        self.nudge = 0.04 * thickness
        self.faces: list[tuple[Any, Any, Any]] = []
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

    def visible(self, a: Point3, b: Point3, step: float) -> list[tuple[Point, Point]]:
        """The visible stretches of a straight edge, on the projection."""
        import numpy as np

        p, q = np.array(a), np.array(b)
        span = float(np.hypot(*(q[:2] - p[:2])))
        if span < 1e-9:
            return []
        n = max(3, math.ceil(span / step))
        shares = (np.arange(n) + 0.5) / n
        samples = p + shares[:, None] * (q - p)
        side = np.array((-(q[1] - p[1]), q[0] - p[0])) / span * self.nudge
        hidden = self._covered(samples, side) & self._covered(samples, -side)
        out: list[tuple[Point, Point]] = []
        begin: int | None = None
        for k in range(n + 1):
            if k < n and not hidden[k]:
                begin = k if begin is None else begin
            elif begin is not None:
                s, e = p + begin / n * (q - p), p + k / n * (q - p)
                out.append(((float(s[0]), float(s[1])), (float(e[0]), float(e[1]))))
                begin = None
        return out

    def _covered(self, samples: Any, side: Any) -> Any:
        import numpy as np

        xy = samples[:, :2] + side
        low, high = xy.min(axis=0), xy.max(axis=0)
        boxes = self.boxes
        near = (boxes[:, 0] <= high[0]) & (boxes[:, 2] >= low[0]) & (boxes[:, 1] <= high[1]) & (boxes[:, 3] >= low[1])
        covered = np.zeros(len(samples), dtype=bool)
        for i in np.nonzero(near)[0]:
            starts, ends, (nx, ny, d) = self.faces[i]
            before = nx * xy[:, 0] + ny * xy[:, 1] + d > samples[:, 2] + self.slack
            test = before & ~covered
            if test.any():
                covered[test] = _inside(xy[test], starts, ends)
        return covered


def _plane(loop: Any) -> tuple[float, float, float] | None:
    """Depth as a function of the projected place, nx·x + ny·y + d; None when seen edge-on."""
    import numpy as np

    rolled = np.roll(loop, -1, axis=0)
    normal = np.cross(loop, rolled).sum(axis=0)  # Newell: twice the area, square to the plane
    if abs(normal[2]) < 1e-3 * float(np.linalg.norm(normal)) or abs(normal[2]) < 1e-12:
        return None
    center = loop.mean(axis=0)
    nx, ny = -normal[0] / normal[2], -normal[1] / normal[2]
    return float(nx), float(ny), float(center[2] - nx * center[0] - ny * center[1])


def _inside(points: Any, starts: Any, ends: Any) -> Any:
    """Even-odd test of points against closed loops."""
    import numpy as np

    px, py = points[:, 0:1], points[:, 1:2]
    y0, y1 = starts[:, 1], ends[:, 1]
    spans = (y0 > py) != (y1 > py)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = starts[:, 0] + (py - y0) * (ends[:, 0] - starts[:, 0]) / (y1 - y0)
    return (spans & (px < x)).sum(axis=1) % 2 == 1
