"""Pages of forms and records for the bench: heading, tables with wrapped cells, pictures, foot; on pages.

A page is filled from the top with blocks; a table's head comes again on each page it runs onto. Lengths mm.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from flatgen.core.outline import rectangle
from flatgen.core.words import Units
from flatgen.page.drawing import Contour, Drawing, Item, Line, Text
from flatgen.page.layers import used
from flatgen.page.lettering import text_width
from flatgen.page.paper import Paper
from flatgen.page.place import placed
from flatgen.page.table import wrapped

EDGE = 12.0
HEIGHT = 2.2
LEADING = 1.75
PAD = 1.2


@dataclass(frozen=True, slots=True)
class Block:
    """Items with their low left corner at 0, 0, and the height they take; ``head`` comes first on a new page."""

    items: tuple[Item, ...]
    height: float
    head: "Block | None" = None
    keep: bool = False  # together with the next block


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its head, its width [mm], where its texts stand."""

    head: str
    width: float
    anchor: Literal["left", "middle", "right"] = "left"


def space(height: float, keep: bool = False) -> Block:
    """Nothing, of a height."""
    return Block((), height, keep=keep)


def lines(texts: Iterable[str], width: float, height: float = HEIGHT, bold: bool = False, keep: bool = False) -> Block:
    """Lines of text, each wrapped to the width."""
    rows = [row for text in texts for row in wrapped(text, width, height, bold)]
    leading = LEADING * height
    items = [
        Text("note", (0.0, (len(rows) - 1 - k) * leading + 0.3 * height), row, height, bold=bold)
        for k, row in enumerate(rows)
    ]
    return Block(tuple(items), len(rows) * leading + 0.3 * height, keep=keep)


def table_blocks(
    columns: Sequence[Column], rows: Iterable[Sequence[str]], height: float = HEIGHT, least: float = 0.0
) -> list[Block]:
    """A ruled table, a block a row; ``least`` is the least height of a row, for cells that are written in by hand."""
    head = _row(columns, [column.head for column in columns], height, bold=True, least=0.0)
    body = [_row(columns, row, height, bold=False, least=least) for row in rows]
    return [
        Block(head.items, head.height, keep=True),
        *(Block(row.items, row.height, Block(head.items, head.height)) for row in body),
    ]


def _row(columns: Sequence[Column], cells: Sequence[str], height: float, bold: bool, least: float) -> Block:
    leading = 1.55 * height
    wrapped_cells = [
        wrapped(cell, column.width - 2.0 * PAD, height, bold) for column, cell in zip(columns, cells, strict=True)
    ]
    tall = max(least, max(len(cell) for cell in wrapped_cells) * leading + 0.9 * height)
    items: list[Item] = []
    x = 0.0
    for column, cell in zip(columns, wrapped_cells, strict=True):
        items.append(Contour("rule", rectangle(x, 0.0, column.width, tall)))
        at = {"left": x + PAD, "middle": x + column.width / 2.0, "right": x + column.width - PAD}[column.anchor]
        for k, text in enumerate(cell):
            if text:
                room = column.width - 2.0 * PAD
                size = min(height, height * room / text_width(text, height, bold))
                y = tall - 0.45 * height - height - k * leading
                items.append(Text("note", (at, y), text, size, column.anchor, bold=bold))
        x += column.width
    return Block(tuple(items), tall)


def body_width(sheet: Paper, across: bool = False) -> float:
    """Width between the edges of a page [mm]."""
    return (sheet.height if across else sheet.width) - 2.0 * EDGE


def pages(
    title: str,
    subtitle: str,
    blocks: Sequence[Block],
    sheet: Paper,
    units: Units,
    foot: str = "",
    across: bool = False,
) -> tuple[Drawing, ...]:
    """Blocks filled onto pages of a paper, upright or laid across, each with heading, foot and page number."""
    width, height = (sheet.height, sheet.width) if across else (sheet.width, sheet.height)
    top = height - EDGE - 13.0
    low = EDGE + 7.0
    filled: list[list[Item]] = [[]]
    y = top
    for k, block in enumerate(blocks):
        follow = block.height
        last = k
        while blocks[last].keep and last + 1 < len(blocks):
            last += 1
            follow += blocks[last].height
        if y - follow < low and y < top:
            filled.append([])
            y = top
            if block.head is not None:
                y -= block.head.height
                filled[-1] += placed(block.head.items, 1.0, (EDGE, y))
        y -= block.height
        filled[-1] += placed(block.items, 1.0, (EDGE, y))
    drawings = []
    for number, items in enumerate(filled, 1):
        whole = [*_heading(title, subtitle, width, height), *items, *_foot(foot, number, len(filled), width)]
        name = title if len(filled) == 1 else f"{title}, page {number} of {len(filled)}"
        drawings.append(
            Drawing(name, (width, height), tuple(whole), layers=used(whole), units=units, description=subtitle)
        )
    return tuple(drawings)


def _heading(title: str, subtitle: str, width: float, height: float) -> list[Item]:
    room = width - 2.0 * EDGE
    size = min(4.0, 4.0 * room / text_width(title, 4.0, True))
    under = min(2.4, 2.4 * room / max(text_width(subtitle, 2.4), 1.0))
    return [
        Text("note", (EDGE, height - EDGE - 4.0), title, size, bold=True),
        Text("note", (EDGE, height - EDGE - 8.6), subtitle, under),
        Line("frame", (EDGE, height - EDGE - 10.6), (width - EDGE, height - EDGE - 10.6)),
    ]


def _foot(foot: str, number: int, of: int, width: float) -> list[Item]:
    room = width - 2.0 * EDGE - 30.0
    size = min(2.0, 2.0 * room / max(text_width(foot, 2.0), 1.0))
    return [
        Line("rule", (EDGE, EDGE + 4.0), (width - EDGE, EDGE + 4.0)),
        Text("note", (EDGE, EDGE + 0.6), foot, size),
        Text("note", (width - EDGE, EDGE + 0.6), f"page {number} of {of}", 2.0, "right"),
    ]
