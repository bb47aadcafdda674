"""Sheet frame and title block.

The frame has the border, centring marks and grid references of ISO 5457; the title block the data fields of ISO 7200,
180 mm wide at the low right corner (both from memory). Scale, material and tolerances stand in a strip above it, since
ISO 7200 keeps them out of the block. Date and signatures stay open: they are written by hand.
"""

from dataclasses import dataclass

from flatgen.core.outline import rectangle
from flatgen.page.drawing import Contour, Item, Line, Text
from flatgen.page.lettering import text_width
from flatgen.page.paper import Paper, frame_box
from flatgen.page.table import fitting, wrapped

BLOCK_WIDTH = 180.0
ROW = 8.0
LABEL = 2.0
FIELD = 2.6
SMALLEST = 2.0  # of a long text in a field, then it goes on below
CELL = 50.0


@dataclass(frozen=True, slots=True)
class Title:
    """What the title block says; empty fields are left open for the pen."""

    title: str
    number: str
    owner: str = ""
    revision: str = ""
    document: str = "Blank drawing"
    creator: str = ""
    reference: str = ""
    sheet: int = 1
    sheets: int = 1


def block_height(strips: int = 1) -> float:
    """Height of title block and the strips above it [mm]."""
    return (3 + strips) * ROW


def frame_items(sheet: Paper) -> list[Item]:
    """Border, centring marks and grid references of a sheet laid across."""
    x0, y0, x1, y1 = frame_box(sheet)
    width, height = sheet.height, sheet.width
    items: list[Item] = [Contour("frame", rectangle(x0, y0, x1 - x0, y1 - y0))]
    cx, cy = width / 2.0, height / 2.0
    for start, end in (
        ((cx, y0 - 6.0), (cx, y0 + 3.0)),
        ((cx, y1 + 6.0), (cx, y1 - 3.0)),
        ((x0 - 6.0, cy), (x0 + 3.0, cy)),
        ((x1 + 6.0, cy), (x1 - 3.0, cy)),
    ):
        items.append(Line("frame", start, end))
    columns = max(2, 2 * round((x1 - x0) / CELL / 2.0))
    rows = max(2, 2 * round((y1 - y0) / CELL / 2.0))
    for k in range(columns):
        x = x0 + (k + 0.5) * (x1 - x0) / columns
        if abs(x - cx) > 3.0:
            items += [
                Text(
                    "rule",
                    (
                        x,
                        y,
                    ),
                    str(k + 1),
                    2.0,
                    "middle",
                )
                for y in (y0 - 4.0, y1 + 2.0)
            ]
    letters = "ABCDEFGHJKLMNPQR"
    for k in range(rows):
        y = y1 - (k + 0.5) * (y1 - y0) / rows
        items += [Text("rule", (x, y - 1.0), letters[k], 2.0, "middle") for x in (x0 - 4.0, x1 + 4.0)]
    return items


def title_items(sheet: Paper, title: Title, strips: tuple[tuple[tuple[str, str, float], ...], ...]) -> list[Item]:
    """Title block and, above it, strips of fields: each field has a label, a text and its share of the width."""
    _, y0, x1, _ = frame_box(sheet)
    left = x1 - BLOCK_WIDTH
    rows: list[tuple[tuple[str, str, float], ...]] = [
        (
            ("Legal owner", title.owner, 0.34),
            ("Created by", title.creator, 0.22),
            ("Approved by", "", 0.22),
            ("Document type", title.document, 0.22),
        ),
        (("Title", title.title, 0.66), ("Identification number", title.number, 0.34)),
        (
            ("Technical reference", title.reference, 0.34),
            ("Date of issue", "", 0.22),
            ("Language", "en", 0.1),
            ("Revision", title.revision, 0.14),
            ("Sheet", f"{title.sheet} / {title.sheets}", 0.2),
        ),
    ]
    items: list[Item] = []
    stack = [*reversed(rows), *reversed(strips)]
    for k, fields in enumerate(stack):
        items += field_row(left, y0 + k * ROW, BLOCK_WIDTH, fields)
    top = y0 + len(stack) * ROW
    items.append(Contour("frame", rectangle(left, y0, BLOCK_WIDTH, top - y0)))
    return items


def field_row(left: float, low: float, width: float, fields: tuple[tuple[str, str, float], ...]) -> list[Item]:
    """A row of labelled fields, ruled above and between; one too long for its field is smaller, then in two lines."""
    items: list[Item] = [Line("rule", (left, low + ROW), (left + width, low + ROW))]
    x = left
    for k, (label, text, share) in enumerate(fields):
        room = share * width - 2.0
        if k:
            items.append(Line("rule", (x, low), (x, low + ROW)))
        items.append(Text("note", (x + 1.0, low + ROW - LABEL - 0.2), label, LABEL))
        if text:
            height = max(SMALLEST, min(FIELD, FIELD * room / (text_width(text, FIELD, True) or room)))
            if text_width(text, height, True) <= room:
                items.append(Text("note", (x + 1.0, low + 1.3), text, height, bold=True))
            else:
                items += _two_lines(text, x + 1.0, low, room)
        x += share * width
    return items


def _two_lines(text: str, x: float, low: float, room: float) -> list[Item]:
    """A text over two lines of the smallest letters; only what is longer still is cut off."""
    lines = wrapped(text, room, SMALLEST, True)
    if len(lines) > 2:
        lines[1] = fitting(lines[1], room - text_width("...", SMALLEST, True), SMALLEST, True) + "..."
    return [
        Text("note", (x, low + up), line, SMALLEST, bold=True) for line, up in zip(lines, (3.22, 0.6), strict=False)
    ]
