"""Tabs in the plane of a face: metal added to a free edge of its flat. In the face's own axes, mm."""

import math

from flatgen.core.points import Point, along, cross, distance, dot, sub, unit
from flatgen.develop.runs import EdgeRun, FlatRun
from flatgen.errors import CannotMake
from flatgen.model.part import Part, Tab
from flatgen.said import said, size

ON = 1e-6


def with_tab(part: Part, tab: Tab, runs: tuple[FlatRun, ...], edge: EdgeRun, level: float) -> tuple[FlatRun, ...]:
    """Segments of a flat with a tab on one of them; CannotMake where no free straight run takes it.

    level : how far the edge as a whole is drawn in for bends on it [mm]
    """
    if tab.out <= 0.0 or tab.high - tab.low <= ON or 2.0 * tab.corner > tab.high - tab.low or tab.corner > tab.out:
        raise CannotMake(
            said(
                f'part "{part.id}": a tab on edge "{tab.edge}" of "{tab.face}" is ',
                size(tab.high - tab.low),
                " wide and ",
                size(tab.out),
                " long with corners of ",
                size(tab.corner),
                "; that encloses nothing",
            )
        )
    k = next(
        (k for k, run in enumerate(runs) if not run.bend and not run.bulge and _takes(run, edge, tab, level)), None
    )
    if k is not None:
        return (*runs[:k], *_spliced(runs[k], edge, tab), *runs[k + 1 :])
    raise CannotMake(
        said(
            f'part "{part.id}": the tab from ',
            size(tab.low),
            " to ",
            size(tab.high),
            f' does not lie on a free straight part of edge "{tab.edge}" of "{tab.face}"',
        )
    )


def _takes(run: FlatRun, edge: EdgeRun, tab: Tab, level: float) -> bool:
    """Whether a run lies on the edge's line, or as far inside as the edge is drawn in, and is long enough."""
    way = unit(sub(run.end, run.start))
    if abs(cross(way, edge.direction)) > 1e-9:
        return False
    if min(abs(distance_out(edge, run.start) + inside) for inside in (0.0, level)) > ON:
        return False
    low, high = sorted((edge.run_of(run.start), edge.run_of(run.end)))
    return low <= tab.low + ON and tab.high <= high + ON


def distance_out(edge: EdgeRun, p: Point) -> float:
    """How far a point lies outside an edge's line [mm]."""
    return dot(sub(p, edge.origin), edge.outward)


def _spliced(run: FlatRun, edge: EdgeRun, tab: Tab) -> list[FlatRun]:
    level = distance_out(edge, run.start)
    forward = edge.run_of(run.end) > edge.run_of(run.start)
    first, last = (tab.low, tab.high) if forward else (tab.high, tab.low)
    root, foot = edge.at(first, level), edge.at(last, level)
    near, far = edge.at(first, tab.out), edge.at(last, tab.out)
    points: list[tuple[Point, float]] = [(run.start, 0.0), (root, 0.0)]
    if tab.corner > 0.0:
        u = unit(sub(far, near))
        quarter = math.tan(math.pi / 8.0)
        points += [
            (along(near, edge.outward, -tab.corner), quarter),
            (along(near, u, tab.corner), 0.0),
            (along(far, u, -tab.corner), quarter),
            (along(far, edge.outward, -tab.corner), 0.0),
        ]
    else:
        points += [(near, 0.0), (far, 0.0)]
    points += [(foot, 0.0), (run.end, 0.0)]
    return [
        FlatRun(p, q, bulge) for (p, bulge), (q, _) in zip(points, points[1:], strict=False) if distance(p, q) > 1e-9
    ]
