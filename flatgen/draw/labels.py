"""Labels for sheets and remnants: mark, alloy, size, grain, batch, date; to cut out and tape to the metal."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flatgen.core.outline import rectangle
from flatgen.core.points import Point
from flatgen.core.words import Units
from flatgen.draw.view import grain_arrow
from flatgen.page.drawing import Contour, Drawing, Item, Text
from flatgen.page.layers import used
from flatgen.page.lettering import text_width
from flatgen.page.paper import paper
from flatgen.page.place import placed
from flatgen.page.table import wrapped
from flatgen.units import format_length

WIDTH = 92.0
HEIGHT = 48.0
PAD, ASIDE = 4.0, 34.0  # from the edge; for the picture of the sheet
LEAST = 2.0


@dataclass(frozen=True, slots=True)
class Label:
    """What is written on one sheet; sizes mm, grain in degrees from the width."""

    mark: str
    material: str
    thickness: float
    width: float
    height: float
    grain: float
    batch: str = ""
    date: str = ""
    cut_from: str = ""


@dataclass(frozen=True, slots=True)
class BagLabel:
    """What is written on a bag of alike pieces: ``rows`` below the part's name, each so high [mm]."""

    mark: str
    rows: tuple[tuple[str, float], ...]


def bag_label_items(label: BagLabel) -> list[Item]:
    """One label of a bag, its low left corner at 0, 0."""
    return _lettered([(label.mark, 9.0), *label.rows], WIDTH - 2.0 * PAD)


def _lettered(rows: Iterable[tuple[str, float]], room: float) -> list[Item]:
    """Texts one under the other in their frame, each so high where it fits, at the least height in two lines; large
    ones are bold."""
    items: list[Item] = [Contour("tile", rectangle(0.0, 0.0, WIDTH, HEIGHT))]
    y = HEIGHT - PAD
    for text, height in rows:
        bold = height > 3.0
        fitted = max(LEAST, min(height, height * room / max(text_width(text, height, bold), 1e-9)))
        for line in wrapped(text, room, LEAST, bold)[:2] if text_width(text, LEAST, bold) > room else [text]:
            y -= height if y == HEIGHT - PAD else 1.7 * min(height, 1.5 * fitted)
            items.append(Text("note", (PAD, y), line, fitted, bold=bold))
    return items


def label_pages(labels: Sequence[Label], units: Units, paper_name: str = "letter") -> tuple[Drawing, ...]:
    """Labels of sheets on pages of the printer's paper."""
    return on_pages([label_items(label, units) for label in labels], "Sheet labels", units, paper_name)


def bag_pages(labels: Sequence[BagLabel], units: Units, paper_name: str = "letter") -> tuple[Drawing, ...]:
    """Labels of bags on pages of the printer's paper."""
    return on_pages([bag_label_items(label) for label in labels], "Bag labels", units, paper_name)


def on_pages(labels: Sequence[list[Item]], title: str, units: Units, paper_name: str) -> tuple[Drawing, ...]:
    """Labels in two columns, with lines to cut along."""
    sheet = paper(paper_name)
    columns = max(1, int((sheet.width - 10.0) // WIDTH))
    rows = max(1, int((sheet.height - 10.0) // HEIGHT))
    left, top = (sheet.width - columns * WIDTH) / 2.0, sheet.height - (sheet.height - rows * HEIGHT) / 2.0
    drawings = []
    for start in range(0, len(labels), columns * rows):
        items: list[Item] = []
        for k, label in enumerate(labels[start : start + columns * rows]):
            low = (left + (k % columns) * WIDTH, top - (k // columns + 1) * HEIGHT)
            items += placed(label, 1.0, low)
        drawings.append(Drawing(title, (sheet.width, sheet.height), tuple(items), used(items), units))
    return tuple(drawings)


def label_items(label: Label, units: str) -> list[Item]:
    """One label, its low left corner at 0, 0."""
    size = f"{format_length(label.width, units)} × {format_length(label.height, units, unit=True)}"
    rows = [
        (label.mark, 9.0),
        (f"{label.material}  T {format_length(label.thickness, units, unit=True)}", 3.5),
        (size, 3.0),
        (f"batch {label.batch}" if label.batch else "batch ____________________", 2.8),
        (_origin(label), 2.4),
    ]
    items = _lettered(rows, WIDTH - 2.0 * PAD - ASIDE)
    return items + _picture(label, (WIDTH - PAD - 15.0, HEIGHT / 2.0 + 3.0))


def _origin(label: Label) -> str:
    text = f"left from {label.cut_from}" if label.cut_from else "came in"
    return f"{text}, {label.date}" if label.date else text


def _picture(label: Label, center: Point) -> list[Item]:
    """The sheet in small with its grain, so that the arrow can be held against the metal."""
    scale = min(28.0 / label.width, 22.0 / label.height)
    w, h = label.width * scale, label.height * scale
    items: list[Item] = [Contour("sheet", rectangle(center[0] - w / 2.0, center[1] - h / 2.0, w, h))]
    size = 0.7 * (h if abs(label.grain % 180.0 - 90.0) < 45.0 else w)
    return items + grain_arrow(center, label.grain, size)
