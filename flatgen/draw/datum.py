"""Datum edges A and B as marked on a blank: a triangle that stands on the edge, and its letter. Paper millimetres."""

from collections.abc import Mapping, Sequence

from flatgen.core.points import Point
from flatgen.develop.datum import DatumEdge, datum_edges
from flatgen.model.blank import Blank
from flatgen.page.drawing import Contour, Item, Line, Text

HEIGHT = 2.2
NOTHING_THERE: Mapping[str, Sequence[float]] = {}


def datum_items(
    blank: Blank, scale: float, marks: Mapping[str, Sequence[float]] = NOTHING_THERE, *, mirrored: bool = False
) -> list[Item]:
    """The marks of both edges; where there is no edge, the side of the sheared rectangle as a thin line too.

    marks : for each letter where lines end at the edge, which the mark keeps clear of, in blank coordinates
    mirrored : the blank is drawn as seen from its lower side
    """
    items: list[Item] = []
    for edge in datum_edges(blank):
        start, end = edge.pieces[0]
        tip, way = datum_spot(edge, marks.get(edge.letter, ())), (0.0, -1.0) if edge.letter == "A" else (-1.0, 0.0)
        if mirrored:
            start, end, tip = ((blank.width - x, y) for x, y in (start, end, tip))
            way = (-way[0], way[1])
        if not edge.exists:
            items.append(Line("datum", _scaled(start, scale), _scaled(end, scale)))
        items += _mark(_scaled(tip, scale), way, edge.letter)
    return items


def datum_spot(edge: DatumEdge, marks: Sequence[float] = ()) -> Point:
    """Where the mark of a datum edge stands on it: in the middle of the widest gap between ``marks``."""
    axis = 0 if edge.letter == "A" else 1
    gaps = []
    for piece in edge.pieces:
        low, high = piece[0][axis], piece[1][axis]
        stops = sorted([low, high, *(mark for mark in marks if low < mark < high)])
        gaps += [(b - a, (a + b) / 2.0) for a, b in zip(stops, stops[1:], strict=False)]
    run = max(gaps)[1]
    return (run, 0.0) if axis == 0 else (0.0, run)


def _scaled(p: Point, scale: float) -> Point:
    return p[0] * scale, p[1] * scale


def _mark(tip: Point, way: Point, letter: str) -> list[Item]:
    along, across = 2.2, 1.1
    base = (tip[0] + way[0] * along, tip[1] + way[1] * along)
    side = (-way[1] * across, way[0] * across)
    corners = (tip, (base[0] + side[0], base[1] + side[1]), (base[0] - side[0], base[1] - side[1]))
    at = (tip[0] + way[0] * 4.2, tip[1] + way[1] * 4.2 - HEIGHT / 2.0)
    return [
        Contour("datum", tuple((*c, 0.0) for c in corners), filled=True),
        Text("datum", at, letter, HEIGHT, "middle", bold=True),
    ]
