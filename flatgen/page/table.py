"""A ruled table of short texts, its columns as wide as what they hold. Lengths mm."""

import functools
import math
from collections.abc import Sequence

from flatgen.page.drawing import Item, Line, Text
from flatgen.page.lettering import text_width

HEIGHT = 2.2
ROW = 4.0
PAD = 1.2


def table(
    title: str,
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    height: float = HEIGHT,
    left: Sequence[int] = (0,),
) -> list[Item]:
    """Items of a table, its low left corner at 0, 0; columns in ``left`` are set to the left, others to the right."""
    row = ROW * height / HEIGHT
    columns = range(len(heads))
    widths = [
        max(text_width(line[k], height, line is heads) for line in (heads, *rows)) + 2.0 * PAD * height / HEIGHT
        for k in columns
    ]
    total = max(math.fsum(widths), text_width(title, height * 1.15, True) + 1.0)
    widths[-1] += total - math.fsum(widths)
    items: list[Item] = []
    top = (len(rows) + 1) * row
    if title:
        items.append(Text("note", (0.0, top + 0.35 * row), title, height * 1.15, bold=True))
    for k in range(len(rows) + 2):
        items.append(Line("rule", (0.0, k * row), (total, k * row)))
    for r, line in enumerate((heads, *rows)):
        y = top - (r + 1) * row + 0.27 * row
        x = 0.0
        for k in columns:
            pad = PAD * height / HEIGHT
            at = (x + pad, y) if k in left else (x + widths[k] - pad, y)
            if line[k]:
                items.append(Text("note", at, line[k], height, "left" if k in left else "right", bold=line is heads))
            x += widths[k]
    x = 0.0
    for k in range(len(heads) + 1):
        items.append(Line("rule", (x, 0.0), (x, top)))
        x += widths[k] if k < len(heads) else 0.0
    return items


def wrapped(text: str, width: float, height: float = HEIGHT, bold: bool = False) -> list[str]:
    """Text broken into lines no wider than a width [mm]; a word longer than that is broken."""
    return list(_wrapped(text, width, height, bold))


@functools.lru_cache(maxsize=1 << 14)  # the same text is tried in many columns
def _wrapped(text: str, width: float, height: float, bold: bool) -> tuple[str, ...]:
    lines = [""]
    for word in (piece for whole in text.split() for piece in _pieces(whole, width, height, bold)):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, height, bold) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return tuple(lines)


def _pieces(word: str, width: float, height: float, bold: bool) -> list[str]:
    pieces = []
    while len(word) > 1 and text_width(word, height, bold) > width:
        kept = fitting(word, width, height, bold)
        pieces.append(kept)
        word = word[len(kept) :]
    return [*pieces, word]


def fitting(text: str, width: float, height: float = HEIGHT, bold: bool = False) -> str:
    """As many of a text's first letters as a width takes [mm], at least one."""
    few, many = 1, len(text)
    while few < many:
        middle = (few + many + 1) // 2
        few, many = (middle, many) if text_width(text[:middle], height, bold) <= width else (few, middle - 1)
    return text[:few]
