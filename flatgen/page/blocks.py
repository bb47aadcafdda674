"""Contents laid out for paper: each becomes blocks of a width, which ``page.flow`` fills onto pages.

Sizes after the rules of the bench: text at least 2 mm, figures to work by 2.5, the figure at a machine 10 mm and more.
Lengths mm.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import singledispatch

from flatgen.core.outline import rectangle
from flatgen.page.content import (
    Beside,
    Box,
    Cell,
    Content,
    Count,
    Entry,
    Facts,
    Figure,
    Fold,
    Heading,
    Picture,
    Steps,
    Table,
    Tone,
    Words,
)
from flatgen.page.drawing import Contour, Item, Line, Text
from flatgen.page.lettering import text_width
from flatgen.page.place import placed
from flatgen.page.table import wrapped

SMALL, TEXT, FIGURE = 2.0, 2.5, 10.2
HEADINGS = {1: 3.6, 2: 3.0}
LEADING = 1.5
PAD = 1.2
HAIR = 0.01  # that rounding breaks no word
TICK = 4.0
NARROW = 10.0  # least width of a cell that is written in by hand
COLUMN = 7.0  # gap between columns
ONE_BY_ONE = 60  # up to here every piece has its box, beyond that every ten
SIGNS: dict[Tone, str] = {"stop": "STOP: ", "decide": "DECIDE: "}


@dataclass(frozen=True, slots=True)
class Block:
    """Items with their low left corner at 0, 0, and the height they take.

    head : comes first where a page begins with this block; ``keep`` : together with the next block
    """

    items: tuple[Item, ...]
    height: float
    head: "Block | None" = None
    keep: bool = False


def space(height: float, keep: bool = False) -> Block:
    """Nothing, of a height."""
    return Block((), height, keep=keep)


def blocks(contents: Iterable[Content], width: float) -> list[Block]:
    """Contents one under the other in a column of a width."""
    return [block for content in contents for block in laid(content, width)]


@singledispatch
def laid(content: Content, width: float) -> list[Block]:
    """The blocks of one content; a new kind of content registers its own."""
    raise TypeError(type(content).__name__)


def lines(text: str, width: float, height: float = TEXT, bold: bool = False) -> Block:
    """A text wrapped to a width."""
    rows = wrapped(text, width, height, bold)
    step = LEADING * height
    items = [
        Text("note", (0.0, (len(rows) - 1 - k) * step + 0.35 * height), row, height, bold=bold)
        for k, row in enumerate(rows)
    ]
    return Block(tuple(items), len(rows) * step)


@laid.register
def _(content: Heading, width: float) -> list[Block]:
    height = HEADINGS[content.level]
    return [space(1.2 * height, keep=True), replace(lines(content.text, width, height, True), keep=True)]


@laid.register
def _(content: Words, width: float) -> list[Block]:
    sign = SIGNS.get(content.tone, "")
    bold = content.tone not in ("plain", "quiet")
    height = SMALL if content.tone == "quiet" else TEXT
    return [lines(sign + content.text, width, height, bold), space(0.8)]


@laid.register
def _(content: Facts, width: float) -> list[Block]:
    """As many pairs on a line as fit, the value bold; a value too long for a line is wrapped."""
    found: list[Block] = []
    row: list[Item] = []
    x, step = 0.0, LEADING * TEXT
    for name, value in content.rows:
        label = f"{name}: "
        before = text_width(label, TEXT)
        whole = before + text_width(value, TEXT, True)
        if row and x + whole > width:
            found.append(Block(tuple(row), step))
            row, x = [], 0.0
        if whole > width:
            found.append(lines(label + value, width))
            continue
        row.append(Text("note", (x, 0.35 * TEXT), label, TEXT))
        row.append(Text("note", (x + before, 0.35 * TEXT), value, TEXT, bold=True))
        x += whole + 2.0 * TEXT
    return [*found, *([Block(tuple(row), step)] if row else []), space(0.8)]


@laid.register
def _(content: Figure, width: float) -> list[Block]:
    unit = f" {content.unit}" if content.unit else ""
    wide, after = text_width(content.value, FIGURE, True), text_width(unit, FIGURE / 2.0, True)
    high = min(FIGURE, FIGURE * width / max(1.0, wide + after))
    share = high / FIGURE
    texts = [Text("note", (0.0, 0.3 * high), content.value, high, bold=True)]
    if unit:
        texts.append(Text("note", (wide * share, 0.3 * high), unit, high / 2.0, bold=True))
    return [
        replace(lines(content.label, width, TEXT, True), keep=True),
        Block(tuple(texts), 1.33 * high, keep=bool(content.note)),
        *([lines(content.note, width)] if content.note else []),
        space(1.0),
    ]


@laid.register
def _(content: Box, width: float) -> list[Block]:
    return [Block(tuple(_tick(content.label, 0.0)), TICK + 1.5)]


@laid.register
def _(content: Count, width: float) -> list[Block]:
    return [_boxes(content.left, width), space(0.8)]


@laid.register
def _(content: Entry, width: float) -> list[Block]:
    label = lines(content.label, width / 2.0)
    items = (*label.items, Contour("rule", rectangle(width / 2.0, 0.0, width / 2.0, content.tall)))
    return [Block(items, max(content.tall, label.height) + 0.8), space(0.8)]


@laid.register
def _(content: Picture, width: float) -> list[Block]:
    block = picture(content, width)
    if not content.caption:
        return [block, space(1.0)]
    return [replace(block, keep=True), lines(content.caption, width, SMALL), space(1.0)]


@laid.register
def _(content: Steps, width: float) -> list[Block]:
    found = []
    for number, step in enumerate(content.steps, content.first):
        label = f"{number}"
        start = 6.0 + (TICK + 1.5 if step.key else 0.0)
        text = lines(SIGNS.get(step.tone, "") + step.text, width - start, TEXT, step.tone not in ("plain", "quiet"))
        height = max(text.height, TICK + 1.0)
        low = height - text.height
        items = [*placed(text.items, 1.0, (start, low))]
        items.append(Text("note", (0.0, height - LEADING * TEXT + 0.35 * TEXT), label, TEXT, bold=True))
        if step.key:
            items.append(Contour("rule", rectangle(6.0, height - TICK - 0.2, TICK, TICK)))
        found.append(Block(tuple(items), height + 0.6))
    return [*found, space(0.8)]


@laid.register
def _(content: Fold, width: float) -> list[Block]:
    if not content.printed:
        return []
    return [*laid(Heading(content.summary, 2), width), *blocks(content.contents, width)]


@laid.register
def _(content: Beside, width: float) -> list[Block]:
    """Columns as one block, since they are read across; what must run over pages does not stand beside anything."""
    room = width - COLUMN * (len(content.columns) - 1)
    whole = math.fsum(share for share, _ in content.columns)
    stacks, x = [], 0.0
    for share, contents in content.columns:
        wide = room * share / whole
        stacks.append((x, stacked(blocks(contents, wide))))
        x += wide + COLUMN
    height = max(stack.height for _, stack in stacks)
    items = [item for x, stack in stacks for item in placed(stack.items, 1.0, (x, height - stack.height))]
    return [Block(tuple(items), height)]


def stacked(listed: Sequence[Block]) -> Block:
    """Blocks one under the other as one."""
    height = math.fsum(block.height for block in listed)
    items: list[Item] = []
    y = height
    for block in listed:
        y -= block.height
        items += placed(block.items, 1.0, (0.0, y))
    return Block(tuple(items), height)


def picture(content: Picture, width: float) -> Block:
    """A drawing in a width: at its own size where it must be true, else as large as the room allows, none enlarged."""
    drawing = content.drawing
    wide, tall = drawing.size
    scale = 1.0 if content.true else min(1.0, width / wide, content.tall / tall)
    left, low = drawing.origin
    shift = ((width - wide * scale) / 2.0 - left * scale, -low * scale)
    return Block(tuple(placed(drawing.items, scale, shift)), tall * scale)


@laid.register
def _(content: Table, width: float) -> list[Block]:
    """A block a row; the head comes again on each page."""
    widths = _widths(content, width)
    head = _row(content.heads, widths, (), bold=True)
    body = [_row(row, widths, content.numbers, bold=False) for row in content.rows]
    title = [replace(lines(content.title, width, TEXT, True), keep=True)] if content.shown else []
    rows = [replace(row, head=head) for row in body]
    return [*title, replace(head, keep=True), *rows, space(1.5)]


def least_width(content: Table) -> float:
    """The width below which a table would break words, or its figures if it has shares [mm]."""
    columns = list(zip(content.heads, *content.rows, strict=True))
    least = [max(_least(cell, k == 0) for k, cell in enumerate(cells)) for cells in columns]
    if content.shares:
        whole = math.fsum(content.shares)
        return max(n * whole / share for n, share in zip(least, content.shares, strict=True))
    return math.fsum(least)


def wanted_width(content: Table) -> float:
    """The width at which no cell of a table is wrapped [mm]."""
    columns = list(zip(content.heads, *content.rows, strict=True))
    wanted = math.fsum(max(_wants(cell, k == 0) for k, cell in enumerate(cells)) for cells in columns)
    return max(wanted, text_width(content.title, TEXT, True) + HAIR if content.shown else 0.0, least_width(content))


def _widths(content: Table, width: float) -> list[float]:
    """Widths of columns: by their shares, else as they want, the wide ones giving way where the page is narrower."""
    if content.shares:
        whole = math.fsum(content.shares)
        return [width * share / whole for share in content.shares]
    columns = list(zip(content.heads, *content.rows, strict=True))
    wanted = [max(_wants(cell, k == 0) for k, cell in enumerate(cells)) for cells in columns]
    least = [max(_least(cell, k == 0) for k, cell in enumerate(cells)) for cells in columns]
    spare, more = width - math.fsum(least), [w - n for w, n in zip(wanted, least, strict=True)]
    if spare >= math.fsum(more):
        return wanted
    give = max(0.0, spare) / max(1e-9, math.fsum(more))
    return [n + give * m for n, m in zip(least, more, strict=True)]


def _wants(cell: Cell, bold: bool) -> float:
    if isinstance(cell, str):
        return text_width(cell, TEXT, bold) + 2.0 * PAD + HAIR
    if isinstance(cell, Picture):
        wide, tall = cell.drawing.size
        return wide * min(1.0, cell.tall / tall) + 2.0 * PAD
    return _least(cell, bold)


def _least(cell: Cell, bold: bool) -> float:
    """Narrowest that a cell may be: its longest word, half a picture, ten boxes."""
    if isinstance(cell, str):
        return max((text_width(word, TEXT, bold) for word in cell.split()), default=0.0) + 2.0 * PAD + HAIR
    if isinstance(cell, Picture):
        return 0.5 * _wants(cell, bold)
    if isinstance(cell, Count):
        return min(10, _box_count(cell.left)) * (TICK + 0.8) + 2.0 * PAD
    if isinstance(cell, Entry):
        return NARROW
    return TICK + 2.0 * PAD + (text_width(cell.label, TEXT) + 1.5 if cell.label else 0.0)


def _row(cells: Sequence[Cell], widths: Sequence[float], numbers: Sequence[int], bold: bool) -> Block:
    inner = [
        _cell(cell, width - 2.0 * PAD, k in numbers, bold)
        for k, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]
    tall = max(block.height for block in inner) + 1.2
    items: list[Item] = []
    x = 0.0
    for block, width in zip(inner, widths, strict=True):
        items.append(Contour("rule", rectangle(x, 0.0, width, tall)))
        items += placed(block.items, 1.0, (x + PAD, tall - 0.6 - block.height))
        x += width
    return Block(tuple(items), tall)


def _cell(cell: Cell, width: float, number: bool, bold: bool) -> Block:
    if isinstance(cell, Count):
        return _boxes(cell.left, width)
    if isinstance(cell, Entry):
        return space(cell.tall - 1.2)
    if isinstance(cell, Picture):
        return picture(cell, width)
    if isinstance(cell, Box):
        return Block(tuple(_tick(cell.label, 0.0)), TICK + 0.8)
    block = lines(cell, width, TEXT, bold)
    if not number:
        return block
    right = [replace(i, at=(width, i.at[1]), anchor="right") for i in block.items if isinstance(i, Text)]
    return replace(block, items=tuple(right))


def _tick(label: str, x: float) -> list[Item]:
    items: list[Item] = [Contour("rule", rectangle(x, 0.4, TICK, TICK))]
    if label:
        items.append(Text("note", (x + TICK + 1.5, 1.2), label, TEXT))
    return items


def _box_count(pieces: int) -> int:
    return pieces if pieces <= ONE_BY_ONE else -(-pieces // 10)


def _boxes(pieces: int, width: float) -> Block:
    """A box for each piece in groups of ten, or one for each ten where there are many, with how many that makes."""
    count, step, gap = _box_count(pieces), TICK + 0.8, 2.0
    tens = max(1, int((width + gap) // (10 * step + gap)))
    per_row = 10 * tens if width >= 10 * step else max(1, int(width // step))
    rows = -(-count // per_row)
    items: list[Item] = []
    for k in range(count):
        row, column = divmod(k, per_row)
        x, y = column * step + (column // 10) * gap, (rows - 1 - row) * (TICK + 1.4) + 0.5
        items.append(Contour("rule", rectangle(x, y, TICK, TICK)))
        if pieces > ONE_BY_ONE:
            items.append(Text("note", (x + TICK / 2.0, y + 1.0), str(min(pieces, 10 * (k + 1))), SMALL, "middle"))
    return Block(tuple(items), rows * (TICK + 1.4) + 0.6)


def rule(width: float) -> Block:
    """A line across, to part two subjects on one page."""
    return Block((Line("frame", (0.0, 1.5), (width, 1.5)),), 3.0)
