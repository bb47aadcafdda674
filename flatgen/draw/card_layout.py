"""What a card holds, put onto pages: each thing into a free space, which it parts into one beside and one below it.

Several orders and ways to part are tried. Spaces become columns beside each other, so that both printers can show
them. Steps keep their order. Lengths mm.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

from flatgen.page.blocks import COLUMN, blocks, least_width, wanted_width
from flatgen.page.content import Beside, Content, Picture, Steps, Table

STEPS_WIDTHS = (58.0, 70.0, 82.0, 100.0, 125.0)
IN_A_GROUP = 5  # steps that stay together where they are parted
HAIR = 1e-6


@dataclass(frozen=True, slots=True)
class Piece:
    """Contents that stay together, and the widths that they may have, the narrowest first.

    ordered : comes after the ordered pieces before it
    flows : takes any of the widths, else the widest that there is room for
    """

    contents: tuple[Content, ...]
    widths: tuple[float, ...]
    ordered: bool = False
    flows: bool = False
    heights: dict[float, float] = field(default_factory=dict, compare=False)

    def tall(self, width: float) -> float:
        """Height in a column, kept: many columns are tried."""
        key = round(width, 3)
        if key not in self.heights:
            self.heights[key] = tall(self.contents, width)
        return self.heights[key]


@dataclass(slots=True)
class _Space:
    """A part of a page: free, or with a piece at its top left and spaces beside and below it."""

    width: float
    height: float
    piece: Piece | None = None
    wide: float = 0.0
    rows: bool = False  # the space below reaches under the one beside, else the other way round
    beside: "_Space | None" = None
    below: "_Space | None" = None

    def put(self, piece: Piece, wide: float, rows: bool) -> None:
        """Fill the space with a piece of a width."""
        self.piece, self.wide, self.rows = piece, wide, rows
        high, free = piece.tall(wide), self.width - wide - COLUMN
        self.below = _Space(self.width if rows else wide, self.height - high)
        self.beside = _Space(free, high if rows else self.height) if free > 0.0 else None

    def walk(self) -> "Iterator[_Space]":
        """All spaces in reading order."""
        yield self
        for space in (self.beside, self.below) if self.rows else (self.below, self.beside):
            if space:
                yield from space.walk()

    @property
    def contents(self) -> tuple[Content, ...]:
        """What stands in it."""
        if self.piece is None:
            return ()
        below = self.below.contents if self.below else ()
        beside = self.beside.contents if self.beside else ()
        if not self.beside or not beside:
            return (*self.piece.contents, *below)
        if self.rows:
            return (Beside(((self.wide, self.piece.contents), (self.beside.width, beside))), *below)
        return (Beside(((self.wide, (*self.piece.contents, *below)), (self.beside.width, beside))),)


def tall(contents: Iterable[Content], width: float) -> float:
    """Height of contents in a column."""
    return math.fsum(block.height for block in blocks(contents, width))


def pieces_of(contents: Iterable[Content | tuple[Content, ...]]) -> list[Piece]:
    """Contents as pieces: steps in one, tuples together, everything else as it is."""
    return [_piece(content if isinstance(content, tuple) else (content,)) for content in contents]


def _piece(contents: tuple[Content, ...]) -> Piece:
    tables = [content for content in contents if isinstance(content, Table)]
    if tables:
        return Piece(contents, (max(map(least_width, tables)), max(map(wanted_width, tables))))
    first = contents[0]
    if isinstance(first, Picture):
        return Piece(contents, (first.drawing.size[0],))
    return Piece(contents, STEPS_WIDTHS, isinstance(first, Steps), flows=True)


def _parted(piece: Piece) -> list[Piece]:
    """Steps in groups, for pages on which they do not fit together."""
    found = []
    for steps in piece.contents:
        if not isinstance(steps, Steps):
            return [piece]
        for k in range(0, len(steps.steps), IN_A_GROUP):
            group = Steps(steps.steps[k : k + IN_A_GROUP], steps.first + k)
            found.append(Piece((group,), STEPS_WIDTHS, ordered=True, flows=True))
    return found


def on_one_page(view: Picture, pieces: Sequence[Piece], width: float, height: float) -> tuple[Content, ...] | None:
    """All pieces with the view on one page of a width and height; None where they do not fit."""
    area = math.fsum(min(wide * piece.tall(wide) for wide in piece.widths) for piece in pieces)
    if area + view.drawing.size[0] * view.drawing.size[1] > width * height:
        return None
    for page, rest in _tried(_piece((view,)), pieces, width, height):
        if not rest:
            return page.contents
    return None


def begun(
    view: Picture, pieces: Sequence[Piece], width: float, height: float
) -> tuple[tuple[Content, ...], list[Piece]] | None:
    """A page with the view, the first steps and what else it takes, and what is left; None: the view does not fit."""
    if view.drawing.size[0] > width or tall([view], width) > 0.98 * height:
        return None
    page, rest = _most(_piece((view,)), [part for piece in pieces for part in _parted(piece)], width, height)
    return page.contents, rest


def gone_on(pieces: Sequence[Piece], width: float, height: float) -> Iterator[tuple[Content, ...]]:
    """Pieces page by page, or in blocks so high; what no page takes is on one of its own, as high as it is."""
    left = list(pieces)
    while left:
        page, rest = _most(None, left, width, height)
        if page.piece is None:
            page, rest = _Space(width, math.inf), left[1:]
            page.put(left[0], width, rows=True)
        yield page.contents
        left = rest


def _most(view: Piece | None, pieces: Sequence[Piece], width: float, height: float) -> tuple[_Space, list[Piece]]:
    """The way that leaves fewest steps, and least of everything."""
    return min(_tried(view, pieces, width, height), key=lambda one: _left(one[1]))


def _left(pieces: Sequence[Piece]) -> tuple[int, float]:
    return sum(piece.ordered for piece in pieces), math.fsum(-_area(piece) for piece in pieces)


def _tried(
    view: Piece | None, pieces: Sequence[Piece], width: float, height: float
) -> Iterator[tuple[_Space, list[Piece]]]:
    """A page filled in several ways, each with what found no room."""
    rules = (None, True, False)
    orders = [list(pieces), sorted(pieces, key=_area), sorted(pieces, key=lambda piece: -piece.tall(piece.widths[-1]))]
    for order, rule, rows in product(orders, rules, (False, True)):
        page = _Space(width, height)
        if view:
            wide = view.widths[0]
            if wide > width or view.tall(wide) > height:
                continue
            page.put(view, wide, rows)
        elif not rows:
            continue
        yield page, _fill(page, order, rule)


def _area(piece: Piece) -> float:
    wide = piece.widths[-1]
    return -(wide * piece.tall(wide))


def _fill(page: _Space, pieces: Iterable[Piece], rule: bool | None) -> list[Piece]:
    """Put pieces into the spaces that they fill best; what finds no room comes back in order."""
    rest: list[Piece] = []
    for piece in pieces:
        spaces = list(page.walk())
        if piece.ordered:
            if any(one.ordered for one in rest):
                rest.append(piece)
                continue
            done = [k for k, space in enumerate(spaces) if space.piece and space.piece.ordered]
            spaces = spaces[max(done, default=0) :]
        places = [place for space in spaces if space.piece is None for place in _places(space, piece)]
        if not places:
            rest.append(piece)
            continue
        _, _, space, wide = min(places, key=lambda place: place[:2])
        high = piece.tall(wide)
        # the longer side of what is left stays whole
        rows = rule if rule is not None else space.width - wide < space.height - high
        space.put(piece, wide, rows)
    return rest


def _places(space: _Space, piece: Piece) -> Iterator[tuple[float, float, _Space, float]]:
    """Widths at which a piece stands in a space, with what it wastes at the shorter and the longer side."""
    widths = sorted({min(wide, space.width) for wide in piece.widths if piece.widths[0] <= space.width + HAIR})
    for wide in widths if piece.flows else widths[-1:]:
        high = piece.tall(wide)
        if high <= space.height + HAIR:
            free = space.width - wide, space.height - high
            yield min(free), max(free), space, wide
