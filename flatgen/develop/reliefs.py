"""Relief cuts at the ends of bends, as outlines to be taken from the blank. In the axes of the bend's parent face, mm.

A square-ended or round-ended one lies beside the bend's end and reaches ``depth`` past the parent's tangent line. A
drilled one is centred on the tangent line at the bend's end; where that end is the corner of the flat, this is the
crossing of the inside tangent lines, as a folded box wants it (FAA-H-8083-31, ch. 4, folding a box).
"""

from collections.abc import Iterable
from dataclasses import dataclass

from shapely.geometry import MultiPoint, Polygon

from flatgen.core.outline import Outline, circle, counter_clockwise, distance_to, polygon
from flatgen.core.points import Point
from flatgen.develop.flats import Flat
from flatgen.develop.runs import EdgeRun, edge_run
from flatgen.model.part import Bend, Relief

LEAST_METAL = 0.25  # between two cuts: a scribed line is as wide, and no sheet is as thin [mm]


@dataclass(frozen=True, slots=True)
class ReliefCut:
    """One cut of a relief, in face axes; ``center`` of the hole that is drilled for it, None for a square end."""

    outline: Outline
    center: Point | None


def relief_cuts(relief: Relief, bend: Bend, flat: Flat, setback: float) -> list[ReliefCut]:
    """The cuts of one relief, in face axes; ``setback`` reaches from the described edge to the tangent."""
    run = edge_run(flat.outline, flat.edges.index(bend.parent_edge))
    low, high = flat.spans[bend.id]
    found = []
    for end, away in ((low, -1.0), (high, 1.0)):
        if relief.ends == ("high" if away < 0 else "low"):
            continue
        if relief.kind == "drilled":
            center = run.at(end, -setback)
            found.append(ReliefCut(circle(center, relief.width), center))
        # nothing to cut where it is measured to the tangent without depth, or no edge is left for a slot to lie in
        elif setback + relief.depth > 1e-6 and _reaches(flat, run, end, away, (-setback, 0.0)):
            stands = setback > 0.0 and _reaches(flat, run, end, away, (0.0,))
            found.append(_beside(run, end, away, setback, relief, stands=stands))
    return found


def _reaches(flat: Flat, run: EdgeRun, end: float, away: float, levels: tuple[float, ...]) -> bool:
    """Whether the flat has an edge beside the bend's end at one of these heights over the described edge."""
    return any(
        (run.run_of(p) - end) * away > 1e-6
        for segment in flat.runs
        for p in (segment.start, segment.end)
        if any(abs(_height(run, p) - level) < 1e-6 for level in levels)
    )


def _height(run: EdgeRun, p: Point) -> float:
    return (p[0] - run.origin[0]) * run.outward[0] + (p[1] - run.origin[1]) * run.outward[1]


def _beside(run: EdgeRun, end: float, away: float, setback: float, relief: Relief, *, stands: bool) -> ReliefCut:
    """Slot of the relief's width just beyond the bend's end, from the described edge to its depth past the tangent.

    Where metal ``stands`` beside the bend, the straight sides of a round-ended one reach the tangent at the least:
    above a round end that begins earlier a slit without width would be left.
    """
    deep, width = -(setback + relief.depth), relief.width
    near, far = end, end + away * width
    if relief.kind == "square-ended":
        return ReliefCut(polygon([run.at(near, 0.0), run.at(near, deep), run.at(far, deep), run.at(far, 0.0)]), None)
    bottom = min(0.0, deep + width / 2.0, -setback if stands else 0.0)
    deep = min(deep, bottom - width / 2.0)
    p, q = run.at(near, bottom), run.at(far, bottom)
    # the round end bulges into the face: its sense depends on which way the axes and the end look
    turn = 1.0 if _clockwise(p, q, run.at((near + far) / 2.0, deep)) else -1.0
    outline = ((*run.at(near, 0.0), 0.0), (*p, turn), (*q, 0.0), (*run.at(far, 0.0), 0.0))
    return ReliefCut(outline, run.at((near + far) / 2.0, bottom))


def _clockwise(p: Point, q: Point, apex: Point) -> bool:
    """Whether the apex lies to the right of p -> q, so that the arc over it runs counter-clockwise."""
    return (q[0] - p[0]) * (apex[1] - p[1]) - (q[1] - p[1]) * (apex[0] - p[0]) < 0


def joined(one: Outline, two: Outline, corners: Iterable[Point]) -> Outline | None:
    """What lies between two reliefs at a corner of their flat, where less than ``LEAST_METAL`` would part them.

    Cut away with both: else a scrap of metal would hang at the corner by a whisker.
    """
    gap = Polygon([v[:2] for v in one]).distance(Polygon([v[:2] for v in two]))
    if not 0.0 < gap < LEAST_METAL:
        return None
    corner = min(corners, key=lambda c: max(distance_to(one, c), distance_to(two, c)))
    hull = MultiPoint([corner, *(v[:2] for v in (*one, *two))]).convex_hull
    return counter_clockwise(polygon(list(hull.exterior.coords)[:-1]))
