"""Texts broken to a width, as in the cells of tables. Lengths mm."""

import functools

from flatgen.page.lettering import text_width

HEIGHT = 2.2


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
