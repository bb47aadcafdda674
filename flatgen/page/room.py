"""What is taken on a page, and where a text still fits without touching anything. Lengths mm."""

import math
from collections import defaultdict
from collections.abc import Iterable

from flatgen.core import arcs
from flatgen.core.points import Point
from flatgen.page.drawing import Anchor, Arc, Box, Circle, Contour, Curve, Item, Line, Text
from flatgen.page.pens import StrokePen

CHORD = 0.2
GRID = 15.0
ANGLES = tuple(math.radians(15.0 * k) for k in (3, 9, 15, 21, 0, 6, 12, 18, 1, 5, 7, 11, 13, 17, 19, 23))
REACH = (2.0, 3.0, 4.5, 6.5, 9.0, 13.0, 18.0, 25.0, 35.0)  # of a leader, in heights of its letter
ANYWHERE: Box = (-math.inf, -math.inf, math.inf, math.inf)

Cell = tuple[int, int]


def overlap(a: Box, b: Box, gap: float = 0.0) -> bool:
    """Whether two boxes overlap, or come nearer than a gap."""
    return a[0] < b[2] + gap and b[0] < a[2] + gap and a[1] < b[3] + gap and b[1] < a[3] + gap


def crosses(p: Point, q: Point, box: Box) -> bool:
    """Whether a straight line has a point inside a box (clipping by parameter, one side after the other)."""
    if (p[0] <= box[0] and q[0] <= box[0]) or (p[0] >= box[2] and q[0] >= box[2]):
        return False  # most lines lie to one side
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


class Room(StrokePen):
    """Boxes and lines taken so far, found again by the squares of a grid that they touch."""

    def __init__(self, items: Iterable[Item] = ()) -> None:
        """Begin with what is drawn already."""
        self._boxes: dict[Cell, list[Box]] = defaultdict(list)
        self._lines: dict[Cell, list[tuple[Point, Point]]] = defaultdict(list)
        for item in items:
            self.take(item)

    def take(self, item: Item) -> None:
        """Enter one item: a curve by its line, what is lettered or painted by its box, a dimension by its strokes."""
        item.onto(self)

    def text(self, item: Text) -> None:
        """A text takes its box."""
        self.take_box(item.box())

    def curve(self, item: Curve) -> None:
        """A curve takes its line."""
        for p, q, bulge in item.runs():
            points = [p, *arcs.chords(p, q, bulge, CHORD)]
            for a, b in zip(points, points[1:], strict=False):
                self._take_line(a, b)

    def contour(self, item: Contour) -> None:
        """A painted shape takes its box."""
        if item.filled:
            self.take_box(item.box())
        else:
            self.curve(item)

    def arc(self, item: Arc) -> None:
        """An arc takes its box, as centre lines and small circles do: lettering keeps out of them."""
        self.take_box(item.box())

    def circle(self, item: Circle) -> None:
        """A circle takes its box."""
        self.take_box(item.box())

    def take_box(self, box: Box) -> None:
        """Enter a box."""
        for cell in _cells(box):
            self._boxes[cell].append(box)

    def _take_line(self, p: Point, q: Point) -> None:
        box = (min(p[0], q[0]), min(p[1], q[1]), max(p[0], q[0]), max(p[1], q[1]))
        for cell in _cells(box):
            self._lines[cell].append((p, q))

    def free(self, box: Box, gap: float = 0.3, *, lines: bool = True) -> bool:
        """Whether nothing taken lies in a box or within a gap of it; without ``lines``, no text or filled shape."""
        wide = (box[0] - gap, box[1] - gap, box[2] + gap, box[3] + gap)
        for cell in _cells(wide):
            for taken in self._boxes.get(cell, ()):
                if overlap(wide, taken):
                    return False
            for p, q in self._lines.get(cell, ()) if lines else ():
                if crosses(p, q, wide):
                    return False
        return True

    def misses_boxes(self, p: Point, q: Point) -> bool:
        """Whether a straight line runs through no box that is taken."""
        box = (min(p[0], q[0]), min(p[1], q[1]), max(p[0], q[0]), max(p[1], q[1]))
        return not any(crosses(p, q, taken) for cell in _cells(box) for taken in self._boxes.get(cell, ()))

    def settle(self, choices: Iterable[Text], gap: float = 0.3) -> Text | None:
        """The first of several ways to set a text that is free, entered as taken; None when none is."""
        for text in choices:
            if self.free(text.box(), gap):
                self.take(text)
                return text
        return None

    def led(self, start: Point, word: str, height: float, within: Box = ANYWHERE) -> list[Item]:
        """A word in the free room nearest to a point inside a box, with a leader to it; nothing where there is none."""
        for reach in REACH:
            for angle in ANGLES:
                x, y = start[0] + reach * height * math.cos(angle), start[1] + reach * height * math.sin(angle)
                anchor: Anchor = "left" if math.cos(angle) >= 0.0 else "right"
                text = Text("mark", (x, y - 0.5 * height), word, height, anchor, 0.0, True)
                box = text.box()
                end = (x - math.copysign(0.2 * height, math.cos(angle)), y)
                seen = within[0] < box[0] and within[1] < box[1] and box[2] < within[2] and box[3] < within[3]
                if seen and self.free(box, 0.1 * height) and self.misses_boxes(start, end):
                    leader = Line("mark", start, end)
                    self.take(text)
                    self.take(leader)
                    return [text, leader, Circle("mark", start, 0.25 * height)]
        return []


def _cells(box: Box) -> list[Cell]:
    columns = range(math.floor(box[0] / GRID), math.floor(box[2] / GRID) + 1)
    rows = range(math.floor(box[1] / GRID), math.floor(box[3] / GRID) + 1)
    return [(column, row) for column in columns for row in rows]
