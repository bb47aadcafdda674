"""Templates laid out on the printer's paper: small ones several to a page, large ones tiled with an overlap.

Every page carries two check bars each way. Tiles have rows by letter and columns by number, a map, registration marks
that neighbours share, and the edges to cut and to glue. Lengths mm; a page's own corner is at 0, 0.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice

from flatgen.core.outline import rectangle
from flatgen.core.points import along
from flatgen.core.words import letter_of
from flatgen.draw.pack import Block, block, pack
from flatgen.draw.template import MARGIN, Template
from flatgen.draw.window import seen
from flatgen.errors import InputError
from flatgen.page.drawing import Box, Circle, Contour, Drawing, Item, Line, Text, extents
from flatgen.page.layers import used
from flatgen.page.lettering import text_width
from flatgen.page.paper import Paper
from flatgen.page.place import placed
from flatgen.page.room import Room
from flatgen.page.table import wrapped

UNPRINTED = 6.5  # edge that home printers leave white
STRIP = 13.0  # along the low and the left edge, for the check bars
HEADER = 6.0
BARS = (("100 mm", 100.0), ("4 in", 101.6))
LEAST_OVERLAP = 5.0
MOST_OFF = 1.06  # fit-to-page shrinks by 3 to 6 per cent; beyond that something else is wrong (common practice)
MARK = 4.0


@dataclass(frozen=True, slots=True)
class Layout:
    """How templates go onto paper.

    overlap : width that neighbouring tiles share
    stretch : correction of the printer along the paper's short and long side: nominal over measured length. A page laid
        across is turned to the paper by the printer, whose errors go with the paper
    """

    paper: Paper
    overlap: float = 12.0
    stretch: tuple[float, float] = (1.0, 1.0)
    title: str = ""

    def page(self, across: bool, height: float = 0.0) -> tuple[float, float]:
        """Width and height of a page; ``height`` is that of a length of roll."""
        if not self.paper.height:
            return self.paper.width, height
        size = (self.paper.width, self.paper.height)
        return (size[1], size[0]) if across else size

    def turned(self, size: tuple[float, float]) -> bool:
        """Whether a page of this size lies across its paper; a length of roll never does."""
        return self.paper.height > 0.0 and size[0] > size[1]

    def factors(self, size: tuple[float, float]) -> tuple[float, float]:
        """The printer's correction in x and y of a page of this size."""
        short, long = self.stretch
        return (long, short) if self.turned(size) else (short, long)

    def window(self, across: bool, height: float = 0.0) -> Box:
        """Where the template may be on a page, in the template's true millimetres before the stretch."""
        size = self.page(across, height)
        sx, sy = self.factors(size)
        right = (size[0] - UNPRINTED) / sx
        top = (size[1] - UNPRINTED) / sy - HEADER
        return UNPRINTED + STRIP, UNPRINTED + STRIP, right, top


def pages(templates: Sequence[Template], layout: Layout) -> tuple[Drawing, ...]:
    """Pages for all templates, numbered."""
    drawings = laid_out(templates, layout)
    return tuple(numbered(drawing, k + 1, len(drawings), layout) for k, drawing in enumerate(drawings))


def laid_out(templates: Sequence[Template], layout: Layout) -> list[Drawing]:
    """Pages for all templates: what fits on one page shares it with others, what does not is tiled."""
    for side, factor in zip(("short", "long"), layout.stretch, strict=True):
        if not 1.0 / MOST_OFF <= factor <= MOST_OFF:
            raise InputError(
                f"a 100 mm bar that measures {100.0 / factor:g} mm along the paper's {side} side is no printer's"
                f" error; it must be within {100.0 / MOST_OFF:.1f} to {100.0 * MOST_OFF:.1f} mm. Was"
                " the page printed at actual size?"
            )
    if layout.overlap < LEAST_OVERLAP:
        raise InputError(
            f"an overlap of {layout.overlap:g} mm is too narrow to glue; it must be {LEAST_OVERLAP:g} mm or more"
        )
    small = [t for t in templates if _fits(t, layout)]
    large = [t for t in templates if not _fits(t, layout)]
    drawings = _shared(small, layout)
    for each in large:
        drawings += _tiled(each, layout)
    return drawings


def _size(box: Box) -> tuple[float, float]:
    return box[2] - box[0], box[3] - box[1]


def whole(each: Template) -> Block:
    """A template with its caption below it."""
    if not each.caption:
        return Block(each.items, each.box)
    box = extents(each.caption)
    below = placed(each.caption, 1.0, (each.box[0] + MARGIN - box[0], each.box[1] - box[3]))
    x0, y0, x1, y1 = extents(below)
    return Block((*each.items, *below), (each.box[0], y0 - MARGIN, max(each.box[2], x1 + MARGIN), each.box[3]))


def _fits(each: Template, layout: Layout) -> bool:
    if not layout.paper.height:
        window = layout.window(False, 1000.0)
        return whole(each).width + 8.0 <= window[2] - window[0]
    return any(_within(each, layout.window(across)) for across in (False, True))


def _within(each: Template, window: Box) -> bool:
    taken = whole(each)
    return taken.width + 8.0 <= window[2] - window[0] and taken.height + 8.0 <= window[3] - window[1]


def _shared(small: Sequence[Template], layout: Layout) -> list[Drawing]:
    """Pages that several templates share, filled in the order of the job."""
    drawings = []
    rest = list(small)
    while rest:
        best: tuple[list[Template], list[Item], tuple[float, float]] = ([], [], (0.0, 0.0))
        for size, window in _choices(rest, layout):
            chosen, items = _fill(rest, window)
            if len(chosen) > len(best[0]):
                best = (chosen, items, size)
        chosen, items, size = best
        drawings.append(_page(size, items, ", ".join(t.part for t in chosen), layout))
        rest = [t for t in rest if t not in chosen]
    return drawings


def _choices(rest: Sequence[Template], layout: Layout) -> list[tuple[tuple[float, float], Box]]:
    """Page sizes with their windows: upright and across, or a length of roll."""
    if layout.paper.height:
        return [(layout.page(across), layout.window(across)) for across in (False, True)]
    tall = max(whole(t).height for t in rest) + 8.0
    while True:
        length = (tall + 2 * UNPRINTED + STRIP + HEADER + 10.0) * layout.stretch[1]
        window = layout.window(False, length)
        if len(_fill(rest, window)[0]) == len(rest):
            return [(layout.page(False, length), window)]
        tall *= 1.1


def _fill(rest: Sequence[Template], window: Box) -> tuple[list[Template], list[Item]]:
    """As many templates as find room, in the order of the job, and their items in place."""
    chosen: list[Template] = []
    items: list[Item] = []
    for each in rest:
        laid = pack([whole(t) for t in (*chosen, each)], window)
        if laid is not None:
            chosen.append(each)
            items = laid
    return chosen, items


def _tiled(each: Template, layout: Layout) -> list[Drawing]:
    """One template over several tiles, the way round that needs fewest."""
    across = min((False, True), key=lambda way: math.prod(_grid(each, layout, way))) if layout.paper.height else False
    columns, rows = _grid(each, layout, across)
    tall = 0.0
    if not layout.paper.height:
        tall = (_size(each.box)[1] + 2 * UNPRINTED + STRIP + HEADER + 2.0) * layout.stretch[1]
    window = layout.window(across, tall)
    width, height = _size(window)
    step = (width - layout.overlap, height - layout.overlap)
    total = (columns * step[0] + layout.overlap, rows * step[1] + layout.overlap)
    # the template in the middle of all tiles, so that no seam runs along its edge by chance of rounding
    low = (each.box[0] - (total[0] - _size(each.box)[0]) / 2.0, each.box[1] - (total[1] - _size(each.box)[1]) / 2.0)
    drawings = []
    caption = list(each.caption)
    for row in range(rows):
        for column in range(columns):
            x, y = low[0] + column * step[0], low[1] + (rows - 1 - row) * step[1]
            view = (x, y, x + width, y + height)
            core = _core(view, row, column, rows, columns, layout.overlap / 2.0)
            items = _clear(placed(seen(each.items, view, core), 1.0, (window[0] - x, window[1] - y)), window)
            items += _seams(row, column, rows, columns, window, layout.overlap, Room(items))
            said = _beside(caption, items, window)
            if said:
                items, caption = items + said, []
            name = f"{each.part}, tile {letter_of(row)}{column + 1}"
            page = _page(layout.page(across, tall), items, name, layout)
            extra = _map(row, column, rows, columns)
            drawings.append(replace(page, items=page.items + extra, layers=used(page.items + extra)))
    if caption:
        size, window = layout.page(False, 150.0), layout.window(False, 150.0)
        laid = pack([block(caption)], window)
        drawings.append(_page(size, laid or caption, f"{each.part}, notes", layout))
    return drawings


def _clear(items: list[Item], window: Box) -> list[Item]:
    """Items of a tile, a text that was moved onto another one beside it, or left out where there is no room."""
    found: list[Item] = [item for item in items if not isinstance(item, Text)]
    room = Room(found)
    for text in (item for item in items if isinstance(item, Text)):
        up = (0.0, 1.0) if text.angle == 0.0 else (1.0, 0.0)
        steps = (1.6 * text.height * k for k in (0, 1, -1, 2, -2, 3, -3, 4, -4))
        spots = (replace(text, at=along(text.at, up, step)) for step in steps)
        free = (one for one in spots if _holds(window, one.box()) and room.free(one.box(), 0.0, lines=False))
        for one in islice(free, 1):
            found.append(one)
            room.take(one)
    return found


def _beside(caption: list[Item], items: list[Item], window: Box) -> list[Item]:
    """The caption where it touches nothing on a tile, from the bottom up; nothing where there is no such place."""
    if not caption:
        return []
    room = Room(items)
    x0, y0, x1, y1 = extents(caption)
    y = window[1] + 2.0
    while y + (y1 - y0) + 2.0 <= window[3]:
        x = window[0] + 2.0
        while x + (x1 - x0) + 2.0 <= window[2]:
            if room.free((x, y, x + x1 - x0, y + y1 - y0), 2.0):
                return placed(caption, 1.0, (x - x0, y - y0))
            x += 6.0
        y += 4.0
    return []


def _grid(each: Template, layout: Layout, across: bool) -> tuple[int, int]:
    """Columns and rows of tiles."""
    if not layout.paper.height:
        width = _size(layout.window(False, 1000.0))[0]
        return max(1, math.ceil((_size(each.box)[0] - layout.overlap) / (width - layout.overlap))), 1
    width, height = _size(layout.window(across))
    box = _size(each.box)
    return (
        max(1, math.ceil((box[0] - layout.overlap) / (width - layout.overlap))),
        max(1, math.ceil((box[1] - layout.overlap) / (height - layout.overlap))),
    )


def _core(view: Box, row: int, column: int, rows: int, columns: int, half: float) -> Box:
    """A tile up to its seams; without limit where it has no neighbour."""
    far = 1e6
    return (
        view[0] + half if column > 0 else -far,
        view[1] + half if row < rows - 1 else -far,
        view[2] - half if column < columns - 1 else far,
        view[3] - half if row > 0 else far,
    )


def _holds(window: Box, box: Box) -> bool:
    return window[0] <= box[0] and window[1] <= box[1] and box[2] <= window[2] and box[3] <= window[3]


def _seams(row: int, column: int, rows: int, columns: int, window: Box, overlap: float, room: Room) -> list[Item]:
    """Seam lines in the middle of each overlap with the registration marks on them: the neighbour has the same ones."""
    x0, y0, x1, y1 = window
    half = overlap / 2.0
    items: list[Item] = []
    sides = (
        (column > 0, x0 + half, True, "CUT"),
        (column < columns - 1, x1 - half, True, "GLUE under"),
        (row < rows - 1, y0 + half, False, "CUT"),
        (row > 0, y1 - half, False, "GLUE under"),
    )
    for there, place, upright, what in sides:
        if not there:
            continue
        low, high = (y0, y1) if upright else (x0, x1)
        start, end = ((place, low), (place, high)) if upright else ((low, place), (high, place))
        items.append(Line("tile", start, end))
        neighbour = _neighbour(row, column, upright, what)
        away = -0.9 if what == "CUT" else 1.0
        outer = place - 0.9 if what == "CUT" else place + 3.2
        drop = place - 3.1 if what == "CUT" else place + away
        runs = [low + (high - low) * share for share in (0.02, 0.3, 0.5, *(0.04 * k for k in range(2, 24)))]
        said = (f"{what} {neighbour}",) if what != "CUT" else (f"CUT along this line, lay on {neighbour}", "CUT")
        choices = [
            Text("tile", (outer, run), text, 2.2, "left", 90.0) if upright else Text("tile", (run, drop), text, 2.2)
            for text in said
            for run in runs
        ]
        free = (
            one
            for lines in (True, False)
            for one in choices
            if _holds(window, one.box()) and room.free(one.box(), 0.3, lines=lines)
        )
        for one in islice(free, 1):
            items.append(one)
            room.take(one)
        for share in (0.25, 0.75):
            mark = low + (high - low) * share
            items += _register((place, mark) if upright else (mark, place))
    return items


def _neighbour(row: int, column: int, upright: bool, what: str) -> str:
    if upright:
        column += -1 if what == "CUT" else 1
    else:
        row += 1 if what == "CUT" else -1
    return f"{letter_of(row)}{column + 1}"


def _register(at: tuple[float, float]) -> list[Item]:
    """A registration mark: ring and cross."""
    x, y = at
    return [
        Circle("tile", at, MARK),
        Line("tile", (x - MARK, y), (x + MARK, y)),
        Line("tile", (x, y - MARK), (x, y + MARK)),
    ]


def _map(row: int, column: int, rows: int, columns: int) -> tuple[Item, ...]:
    """A small plan of all tiles, this one filled, in the corner of the strips."""
    room = STRIP - 3.0
    cell = min(3.0, room / max(rows, columns))
    x0, y0 = UNPRINTED + 0.5, UNPRINTED + 0.5
    items: list[Item] = []
    for r in range(rows):
        for c in range(columns):
            box = rectangle(x0 + c * cell, y0 + (rows - 1 - r) * cell, cell, cell)
            items.append(Contour("tile", box, filled=(r, c) == (row, column)))
    return tuple(items)


def _page(size: tuple[float, float], items: list[Item], names: str, layout: Layout) -> Drawing:
    """A page with its check bars."""
    every = [*items, *check_bars(size, layout)]
    return Drawing(
        title=names,
        size=size,
        items=tuple(every),
        layers=used(every),
        stretch=layout.factors(size),
        description=layout.title,
    )


def numbered(drawing: Drawing, number: int, total: int, layout: Layout) -> Drawing:
    """A page with its head: which of how many, and how to print it."""
    sx, sy = drawing.stretch
    y = (drawing.size[1] - UNPRINTED) / sy - 3.5
    x = (drawing.size[0] - UNPRINTED) / sx
    use = f"page {number} of {total}. Print at actual size; use only if the bars measure right within 0.2 mm"
    if (sx, sy) != (1.0, 1.0):
        use += f". Corrected by {sx:.4f} across, {sy:.4f} up"
    room = x - UNPRINTED - text_width(use, 2.0) - 5.0
    # the parts first: of a long line the job's title goes
    whole_line = f"{drawing.title}  {layout.title}".rstrip()
    height = 2.5 if text_width(whole_line, 2.5, True) <= room else 2.0
    lines = [whole_line] if height > 2.0 else wrapped(drawing.title, room, height, True)[:2]
    first = y + 1.3 * (len(lines) - 1)
    head = (
        *(Text("note", (UNPRINTED, first - 2.7 * k), line, height, bold=True) for k, line in enumerate(lines)),
        Text("note", (x, y), use, 2.0, "right"),
    )
    return replace(drawing, items=drawing.items + head, layers=used(drawing.items + head))


def check_bars(size: tuple[float, float], layout: Layout) -> list[Item]:
    """Bars of 100 mm and 4 in along the low and the left edge, named by the side of the paper that they measure."""
    items: list[Item] = []
    start = UNPRINTED + STRIP + 2.0
    for upright in (False, True):
        for k, (name, bar) in enumerate(BARS):
            off = UNPRINTED + 2.0 + k * 6.0

            def at(run: float, cross: float, upright: bool = upright) -> tuple[float, float]:
                return (cross, run) if upright else (run, cross)

            items.append(Line("bar", at(start, off), at(start + bar, off)))
            for run in (start, start + bar):
                items.append(Line("bar", at(run, off - 1.5), at(run, off + 1.5)))
            side = "long" if upright != layout.turned(size) else "short"
            text = f"{name} along the paper's {side} side"
            if upright:
                items.append(Text("bar", (off + 3.2, start + bar / 2.0), text, 2.2, "middle", 90.0))
            else:
                items.append(Text("bar", (start + bar / 2.0, off + 1.0), text, 2.2, "middle"))
    return items


def check_bar(across: bool, units: str) -> list[Item]:
    """One bar each way in the margins of a page whose edges are taken, in the unit of the job."""
    name, bar = BARS[1] if units == "in" else BARS[0]
    off, start = UNPRINTED + 1.8, 30.0
    items: list[Item] = []
    for upright in (False, True):
        ends = [(off, run) if upright else (run, off) for run in (start, start + bar)]
        items.append(Line("bar", *ends))
        for x, y in ends:
            items.append(
                Line("bar", (x - 1.5, y), (x + 1.5, y)) if upright else Line("bar", (x, y - 1.5), (x, y + 1.5))
            )
        side = "long" if upright != across else "short"
        text = f"{name}, paper's {side} side"
        if upright:
            items.append(Text("bar", (off + 1.0, start + bar + 3.0), text, 2.0, "left", 90.0))
        else:
            text += ": print at actual size"
            items.append(Text("bar", (start + bar + 3.0, off - 1.0), text, 2.0))
    return items
