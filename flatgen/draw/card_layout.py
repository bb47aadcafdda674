"""What a card holds, put onto one side of paper: the picture, the steps beside or below it, tables where they fit.

Columns are filled from the left, each thing into the first that takes it; steps keep their order. Lengths mm.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from flatgen.page.blocks import COLUMN, blocks, least_width
from flatgen.page.content import Beside, Content, Picture, Steps, Table

STEPS_LEAST, STEPS_BEST = 58.0, 82.0
IN_A_GROUP = 5  # steps that stay together


@dataclass(frozen=True, slots=True)
class Piece:
    """Contents that stay together, and the narrowest column that they may stand in."""

    contents: tuple[Content, ...]
    least: float
    ordered: bool = False  # comes after the ordered pieces before it
    heights: dict[float, float] = field(default_factory=dict, compare=False)

    def tall(self, width: float) -> float:
        """Height in a column, kept: many columns are tried."""
        key = round(width, 3)
        if key not in self.heights:
            self.heights[key] = tall(self.contents, width)
        return self.heights[key]


@dataclass(slots=True)
class _Column:
    width: float
    left: float
    contents: list[Content] = field(default_factory=list)

    def takes(self, piece: Piece) -> bool:
        """Put a piece in where it fits."""
        if piece.least > self.width + 1e-6:
            return False
        height = piece.tall(self.width)
        if height > self.left:
            return False
        self.contents += piece.contents
        self.left -= height
        return True


def tall(contents: Iterable[Content], width: float) -> float:
    """Height of contents in a column."""
    return math.fsum(block.height for block in blocks(contents, width))


def pieces_of(contents: Iterable[Content | tuple[Content, ...]]) -> list[Piece]:
    """Contents as pieces: steps in groups, tuples together, everything else as it is."""
    found: list[Piece] = []
    for content in contents:
        if isinstance(content, tuple):
            found.append(Piece(content, max(piece.least for piece in pieces_of(content))))
        elif isinstance(content, Steps):
            for k in range(0, len(content.steps), IN_A_GROUP):
                group = Steps(content.steps[k : k + IN_A_GROUP], content.first + k)
                found.append(Piece((group,), STEPS_LEAST, ordered=True))
        elif isinstance(content, Table):
            found.append(Piece((content,), least_width(content)))
        elif isinstance(content, Picture):
            found.append(Piece((content,), content.drawing.size[0]))
        else:
            found.append(Piece((content,), STEPS_LEAST))
    return found


def on_one_page(view: Picture, pieces: Sequence[Piece], width: float, height: float) -> tuple[Content, ...] | None:
    """All pieces with the view on one page of a width and height; None where they do not fit."""
    for columns, first in _arrangements(view, pieces, width, height):
        rest = _fill(columns, pieces)
        if not rest:
            return (*first, _beside(columns))
    return None


def on_pages(view: Picture, pieces: Sequence[Piece], width: float, height: float) -> tuple[Content, ...]:
    """All pieces on as many pages as it takes, the view on the first."""
    best: list[Content] = []
    pages = 99
    for columns, first in _arrangements(view, pieces, width, height):
        rest, found = _fill(columns, pieces), [*first, _beside(columns)]
        count = 1
        while rest:
            more = _columns(width, height, max(1, int((width + COLUMN) // (STEPS_BEST + COLUMN))))
            left = _fill(more, rest)
            if len(left) == len(rest):
                more = [_Column(width, 1e9)]
                left = _fill(more, rest)
            rest, found, count = left, [*found, _beside(more)], count + 1
        if count < pages:
            best, pages = found, count
    return tuple(best)


def _arrangements(
    view: Picture, pieces: Sequence[Piece], width: float, height: float
) -> Iterator[tuple[list[_Column], list[Content]]]:
    """Columns with what stands above them: the view in the first of two or three, or above one to three."""
    wide, high = view.drawing.size[0], tall([view], view.drawing.size[0])
    widest = max((piece.least for piece in pieces), default=STEPS_BEST)
    if high <= height:
        room = width - COLUMN - wide
        for side in sorted({room, STEPS_BEST, min(room, widest)}, reverse=True):
            # a wider column for the view, where small tables find room below it
            if STEPS_LEAST <= side <= room:
                yield [_Column(width - COLUMN - side, height - high, [view]), _Column(side, height)], []
        if room - COLUMN >= 2.0 * STEPS_LEAST:
            yield [_Column(wide, height - high, [view]), *_columns(room, height, 2)], []
        split = room - COLUMN - widest
        if split >= STEPS_LEAST:
            yield [_Column(wide, height - high, [view]), _Column(split, height), _Column(widest, height)], []
    if wide <= width and high < height:
        left = height - high
        for count in (3, 2, 1):
            if (width - COLUMN * (count - 1)) / count >= STEPS_LEAST:
                yield _columns(width, left, count), [view]
        for one in sorted({width - COLUMN - widest, (width - COLUMN) * 0.4}, reverse=True):
            if one >= STEPS_LEAST:
                yield [_Column(one, left), _Column(width - COLUMN - one, left)], [view]


def _columns(width: float, height: float, count: int) -> list[_Column]:
    each = (width - COLUMN * (count - 1)) / count
    return [_Column(each, height) for _ in range(count)]


def _fill(columns: Sequence[_Column], pieces: Sequence[Piece]) -> list[Piece]:
    """Put pieces into columns; what finds no room comes back."""
    rest: list[Piece] = []
    low = 0
    for piece in pieces:
        late = any(one.ordered for one in rest) and piece.ordered
        spots = range(low if piece.ordered else 0, len(columns))
        found = None if late else next((k for k in spots if columns[k].takes(piece)), None)
        if found is None:
            rest.append(piece)
        elif piece.ordered:
            low = found
    return rest


def _beside(columns: Sequence[_Column]) -> Content:
    filled = [column for column in columns if column.contents]
    if len(filled) == 1 and len(columns) == 1:
        return Beside(((filled[0].width, tuple(filled[0].contents)),))
    return Beside(tuple((column.width, tuple(column.contents)) for column in columns))
