"""Pictures of a sheet: its blanks with numbers that a key explains, and the metal on the shear's table. Lengths mm."""

import math
from collections.abc import Mapping
from itertools import groupby

from flatgen.core.outline import bounds, moved, rectangle
from flatgen.core.words import Units
from flatgen.core.words import numbers as numbers_of
from flatgen.draw.nest import nest_view
from flatgen.draw.nest_marks import LEAST, number_marks
from flatgen.draw.strips import Run, piece_name
from flatgen.draw.view import grain_arrow
from flatgen.draw.window import seen
from flatgen.model.blank import Blank
from flatgen.model.plan import Nest
from flatgen.page.drawing import Box, Contour, Drawing, Item, Line, Text, extents
from flatgen.page.layers import used
from flatgen.page.lettering import text_width
from flatgen.page.place import placed, spread
from flatgen.page.room import Room

OVERVIEW = (186.0, 64.0)  # most that the whole sheet takes on the page
SMALL = (58.0, 50.0)  # the whole sheet beside what is used of it
LARGE = (112.0, 62.0)
FULL = 0.6  # a sheet of which so much is used, across both ways, is shown whole only
LETTER = 2.6
WIDE, TALL, FLAT = 88.0, 5.0, 4.0  # the metal on the table: length, most and least height
STRIPS = "strip"
LEVEL = 3.0  # between rows of numbers
MOST_ROWS = 8


def overview(nest: Nest, blanks: Mapping[str, Blank], named: Mapping[str, int], units: Units) -> tuple[Drawing, ...]:
    """The whole sheet, and beside it what is used where that is a small part of it."""
    sheet = (0.0, 0.0, nest.sheet.width, nest.sheet.height)
    outlines = [moved(blanks[one.part].outline, one.motion) for one in nest.placements]
    x0, y0, x1, y1 = bounds(outlines) if outlines else sheet
    edge = 0.04 * max(x1 - x0, y1 - y0)
    used_box = (max(0.0, x0 - edge), max(0.0, y0 - edge), min(sheet[2], x1 + edge), min(sheet[3], y1 + edge))
    share = max((used_box[2] - used_box[0]) / sheet[2], (used_box[3] - used_box[1]) / sheet[3])
    small_share = (used_box[2] - used_box[0]) * (used_box[3] - used_box[1]) / (sheet[2] * sheet[3])
    if share > FULL and small_share > FULL / 2.0:
        return (_view(nest, blanks, named, units, sheet, OVERVIEW),)
    whole = _view(nest, blanks, {}, units, sheet, SMALL)
    return (whole, _view(nest, blanks, named, units, used_box, LARGE))


def _view(
    nest: Nest,
    blanks: Mapping[str, Blank],
    named: Mapping[str, int],
    units: Units,
    window: Box,
    room: tuple[float, float],
) -> Drawing:
    """A window of the sheet, scaled into a room, with its numbers, its zero and the grain."""
    foot = 6.0
    scale = min((room[0] - 8.0) / (window[2] - window[0]), (room[1] - foot - 4.0) / (window[3] - window[1]))
    items = nest_view(nest, blanks, units, scale, LETTER, window)
    low: Box = (window[0] * scale, window[1] * scale, window[2] * scale, window[3] * scale)
    around = (low[0] - 0.5, low[1] - 0.5, low[2] + 0.5, low[3] + 0.5)
    items = [item for item in seen(items, around, around) if not isinstance(item, Text) or item.height >= LEAST]
    items += placed(_zero(nest, window, (low[2] - low[0], low[3] - low[1])), 1.0, (low[0], low[1]))
    near = (around[0] - 4.0, around[1] - 4.0, around[2] + 4.0, around[3] + 4.0)
    items += number_marks(nest, blanks, named, scale, Room(items), near) if named else []
    x0, y0, x1, y1 = extents(items)
    return Drawing(nest.sheet.id, (x1 - x0, y1 - y0), tuple(items), used(items), units, scale, origin=(x0, y0))


def _zero(nest: Nest, window: Box, size: tuple[float, float]) -> list[Item]:
    """The corner that everything is measured from, where it is seen, and the way of the grain."""
    items: list[Item] = []
    if window[0] <= 0.0 and window[1] <= 0.0:
        items.append(Text("datum", (0.0, -LETTER - 2.0), "0, 0", LETTER, bold=True))
        items += [Line("datum", (-3.0, 0.0), (3.0, 0.0)), Line("datum", (0.0, -3.0), (0.0, 3.0))]
    middle = size[0] / 2.0 + 8.0
    long = 8.0 if nest.sheet.grain % 180.0 < 1.0 else 4.0
    return items + grain_arrow((middle, -3.2), nest.sheet.grain, long, LETTER, beside=True)


def run_picture(run: Run) -> Drawing:
    """The metal on the table, its gauged edge left: cuts with their numbers, what falls off, what is held in grey.

    Where several pieces are cut alike, each has its row of numbers with its name, as far as they find room.
    """
    places, rows = run.places, number_rows(run)
    aside = max((text_width(name, LEAST) + 2.0 for name, _ in rows), default=0.0) if len(rows) > 1 else 0.0
    shown = min(run.long, 1.3 * places[-1] + 0.1 * run.long)
    wide = WIDE - aside
    scale = wide / shown
    tall = min(TALL, max(FLAT, run.across * scale))
    at = [place * scale for place in places]
    items = _metal(run, wide, tall, at, shown < run.long)
    low = tall + 2.2
    for name, words in reversed(rows):
        numbers, low_of_row = _numbers(words, at, tall, low, wide), low
        items += numbers
        low = max(item.at[1] for item in numbers if isinstance(item, Text)) + LEVEL
        items += [Text("cut", (-1.0, low_of_row), name, LEAST, "right")] if aside else []
    items += _names(run, scale, wide)
    x0, y0, x1, y1 = extents(items)
    left, right = min(x0, -aside), max(x1, wide)
    return Drawing(run.metal.name, (right - left, y1 - y0 + 0.6), tuple(items), used(items), origin=(left, y0 - 0.3))


def number_rows(run: Run) -> list[tuple[str, list[str]]]:
    """Numbers of the cuts over the picture: a row a piece with its name, or one for all where each is cut once."""
    orders = [order for _, listed in run.names for order in listed]
    if len(run.cuts) == 1:
        return [("", [numbers_of(orders)])]
    rows = [(name, [str(order) for order in listed]) for name, listed in run.names]
    aside = max(text_width(name, LEAST) + 2.0 for name, _ in rows)
    fits = math.fsum(_room_for(word) for word in rows[-1][1]) <= WIDE - aside
    return rows if fits and len(rows) <= MOST_ROWS else rows[:1]


def _room_for(word: str) -> float:
    return text_width(word, LEAST, True) + 0.8


def _metal(run: Run, wide: float, tall: float, at: list[float], broken: bool) -> list[Item]:
    """Its outline, open at the right where it goes on; what is held, one piece after the other or the rest, is grey."""
    piece = run.cuts[0].hold == "piece"
    held = rectangle(0.0, 0.0, at[-1], tall) if piece else rectangle(at[-1], 0.0, wide - at[-1], tall)
    items: list[Item] = [Contour("tool", held, filled=True)]
    if broken:
        corners = ((wide, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, tall, 0.0), (wide, tall, 0.0))
        items.append(Contour("sheet", corners, closed=False))
        items.append(Line("margin", (wide, 0.0), (wide, tall)))
    else:
        items.append(Contour("sheet", rectangle(0.0, 0.0, wide, tall)))
    return items


def _numbers(words: list[str], at: list[float], tall: float, low: float, most: float) -> list[Item]:
    """Each cut with its number above, in as many rows as the numbers need."""
    wide = max(map(_room_for, words))
    levels = max(1, -(-int(len(words) * wide) // int(most - 4.0)))
    items: list[Item] = []
    for level in range(levels):
        own = range(level, len(words), levels)
        middles = _along([at[k] for k in own], [wide] * len(own), most)
        y = low + LEVEL * level
        for k, x in zip(own, middles, strict=True):
            if low < tall + LEVEL:  # the first row
                items += [
                    Line("cut", (at[k], 0.0), (at[k], tall + 0.6)),
                    Line("cut", (at[k], tall + 0.6), (x, y - 0.7)),
                ]
            items.append(Text("cut", (x, y), words[k], LEAST, "middle", bold=True))
    return items


def names_fit(run: Run, wide: float = WIDE) -> bool:
    """Whether the picture names each piece that falls off."""
    return math.fsum(text_width(text, LEAST) + 2.0 for text, _, _ in _groups(run)) <= wide


def _groups(run: Run) -> list[tuple[str, float, float]]:
    """What falls off between the cuts, one name for a row of the same, and the rest: names with their ends [mm]."""
    at = run.places
    starts = [0.0, *at[:-1]]
    groups: list[tuple[str, float, float]] = []
    for strips, same in groupby(range(len(at)), key=lambda k: _short(run, k)):
        listed = list(same)
        name = piece_name(run.cuts[listed[0]].note) if strips == STRIPS and len(listed) == 1 else strips
        text = f"{len(listed)} {name}s" if name == STRIPS else f"{len(listed)} × {name}" if len(listed) > 1 else name
        groups.append((text, starts[listed[0]], at[listed[-1]]))
    if run.back:
        groups.append((run.back.split(":")[0], at[-1], math.inf))
    return groups


def _names(run: Run, scale: float, wide: float) -> list[Item]:
    """Names under the metal; where they find no room the words beside the picture have them."""
    groups = _groups(run)
    if not names_fit(run, wide):
        groups = [(f"{len(run.cuts)} pieces", 0.0, run.places[-1]), *(one for one in groups if one[2] == math.inf)]
    ends = [(text, a * scale, min(b * scale, wide)) for text, a, b in groups]
    sizes = [text_width(text, LEAST) + 2.0 for text, _, _ in ends]
    middles = _along([(a + b) / 2.0 for _, a, b in ends], sizes, wide)
    items: list[Item] = []
    for (text, a, b), x in zip(ends, middles, strict=True):
        items.append(Line("dimension", (a + 0.4, -0.9), (max(a + 0.5, b - 0.4), -0.9)))
        items.append(Text("note", (x, -1.5 - LEAST), text, LEAST, "middle"))
    return items


def _along(wanted: list[float], sizes: list[float], high: float) -> list[float]:
    """Middles of labels beside each other, none over another and none beyond the metal's ends, 0 and ``high``."""
    middles = spread(wanted, sizes)
    low = 0.0
    for k, size in enumerate(sizes):
        middles[k] = max(middles[k], low + size / 2.0)
        low = middles[k] + size / 2.0
    for k in reversed(range(len(sizes))):
        middles[k] = min(middles[k], high - sizes[k] / 2.0)
        high = middles[k] - sizes[k] / 2.0
    return middles


def _short(run: Run, k: int) -> str:
    name = "scrap" if run.cuts[k].trim else piece_name(run.cuts[k].note)
    return STRIPS if name.startswith(STRIPS) else name
