"""All profiles on one sheet: each with its name, its blank and the formed part; and one profile by itself."""

from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.draw.formed import formed_view
from flatgen.draw.view import bend_items, cut_items
from flatgen.model.blank import Blank
from flatgen.page.drawing import Drawing, Item, Line, Text, extents
from flatgen.page.layers import used
from flatgen.page.lettering import text_width
from flatgen.page.place import placed

TILE = (66.0, 46.0)
PICTURE = (29.0, 31.0)  # room for the blank, and as much for the formed part
COLUMNS = 5
EDGE = 6.0
NAME_HEIGHT = 3.0


@dataclass(frozen=True, slots=True)
class Shown:
    """A profile as it is shown: its name, its title, the blank of its default sizes."""

    name: str
    title: str
    blank: Blank


def profile_sheet(profiles: Sequence[Shown], title: str) -> Drawing:
    """A contact sheet: for each profile the blank to the left, the formed part to the right, each to its own scale."""
    items: list[Item] = []
    rows = (len(profiles) + COLUMNS - 1) // COLUMNS
    width, height = COLUMNS * TILE[0] + 2.0 * EDGE, rows * TILE[1] + 2.0 * EDGE + 12.0
    items.append(Text("note", (EDGE, height - EDGE - 5.0), title, 5.0, bold=True))
    for k, shown in enumerate(profiles):
        x = EDGE + (k % COLUMNS) * TILE[0]
        y = height - EDGE - 12.0 - (k // COLUMNS + 1) * TILE[1]
        items += _tile(shown, x, y)
    return Drawing(title, (width, height), tuple(items), used(items))


def profile_picture(shown: Shown) -> Drawing:
    """One profile: the blank, the formed part, the name."""
    items = _tile(shown, 0.0, 0.0)
    return Drawing(shown.title, TILE, tuple(items), used(items))


def _tile(shown: Shown, x: float, y: float) -> list[Item]:
    w, h = TILE
    box = [(x + 1.0, y + 1.0), (x + w - 1.0, y + 1.0), (x + w - 1.0, y + h - 1.0), (x + 1.0, y + h - 1.0)]
    items: list[Item] = [Line("rule", p, q) for p, q in zip(box, [*box[1:], box[0]], strict=True)]
    height = min(NAME_HEIGHT, NAME_HEIGHT * (w - 6.0) / max(text_width(shown.title, NAME_HEIGHT), 1.0))
    items.append(Text("note", (x + 3.0, y + h - 5.0), shown.title, height, bold=True))
    items.append(Text("note", (x + 3.0, y + 2.6), shown.name, 2.2))
    flat = cut_items(shown.blank) + bend_items(shown.blank)
    items += _fitted(flat, x + 2.5, y + 7.2)
    items += _fitted(formed_view(shown.blank, 25.0), x + w - 2.5 - PICTURE[0], y + 7.2)
    return items


def _fitted(items: Sequence[Item], x: float, y: float) -> list[Item]:
    """Items scaled and shifted into the middle of a picture's room."""
    x0, y0, x1, y1 = extents(items)
    scale = min(PICTURE[0] / max(x1 - x0, 1e-9), PICTURE[1] / max(y1 - y0, 1e-9))
    left = x + (PICTURE[0] - scale * (x1 - x0)) / 2.0 - scale * x0
    low = y + (PICTURE[1] - scale * (y1 - y0)) / 2.0 - scale * y0
    return placed(items, scale, (left, low))
