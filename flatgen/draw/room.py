"""What is taken on a page, and where a text still fits without touching anything. Lengths mm."""

from collections.abc import Iterable

from flatgen.core import arcs
from flatgen.core.points import Point
from flatgen.model.dimension_strokes import strokes
from flatgen.model.drawing import Arc, Circle, Contour, Item, Line, LinearDimension, OrdinateDimension, Text
from flatgen.model.lettering import Box, item_box, text_box

CHORD = 0.2


def overlap(a: Box, b: Box, gap: float = 0.0) -> bool:
    """Whether two boxes overlap, or come nearer than a gap."""
    return a[0] < b[2] + gap and b[0] < a[2] + gap and a[1] < b[3] + gap and b[1] < a[3] + gap


def crosses(p: Point, q: Point, box: Box) -> bool:
    """Whether a straight line has a point inside a box (clipping by parameter, one side after the other)."""
    low, high = 0.0, 1.0
    for k in (0, 1):
        d = q[k] - p[k]
        if abs(d) < 1e-12:
            if not box[k] < p[k] < box[k + 2]:
                return False
            continue
        a, b = (box[k] - p[k]) / d, (box[k + 2] - p[k]) / d
        low, high = max(low, min(a, b)), min(high, max(a, b))
    return low < high


class Room:
    """Boxes and lines taken so far."""

    def __init__(self, items: Iterable[Item] = ()) -> None:
        """Begin with what is drawn already."""
        self.boxes: list[Box] = []
        self.lines: list[tuple[Point, Point]] = []
        for item in items:
            self.take(item)

    def take(self, item: Item) -> None:
        """Enter one item."""
        if isinstance(item, LinearDimension | OrdinateDimension):
            for simple in strokes(item):
                self.take(simple)
        elif isinstance(item, Text):
            self.boxes.append(text_box(item))
        elif isinstance(item, Line):
            self.lines.append((item.start, item.end))
        elif isinstance(item, Circle) or (isinstance(item, Contour) and item.filled):
            self.boxes.append(item_box(item))
        elif isinstance(item, Contour):
            corners = item.outline if not item.closed else (*item.outline, item.outline[0])
            for a, b in zip(corners, corners[1:], strict=False):
                points = [a[:2], *arcs.chords(a[:2], b[:2], a[2], CHORD)]
                self.lines += list(zip(points, points[1:], strict=False))
        elif isinstance(item, Arc):
            self.boxes.append(item_box(item))

    def free(self, box: Box, gap: float = 0.3) -> bool:
        """Whether nothing taken lies in a box or within a gap of it."""
        wide = (box[0] - gap, box[1] - gap, box[2] + gap, box[3] + gap)
        if any(overlap(wide, taken) for taken in self.boxes):
            return False
        return not any(crosses(p, q, wide) for p, q in self.lines)

    def settle(self, choices: Iterable[Text], gap: float = 0.3) -> Text | None:
        """The first of several ways to set a text that is free, entered as taken; None when none is."""
        for text in choices:
            if self.free(text_box(text), gap):
                self.take(text)
                return text
        return None
