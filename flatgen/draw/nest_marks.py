"""Part marks on a nest: on the metal of each piece, or, where a piece is too small, beside it with a leader. mm."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from string import ascii_uppercase

from flatgen.core.outline import Outline, bounds, contains, distance_to, moved
from flatgen.core.points import Motion, Point
from flatgen.model.blank import Blank
from flatgen.model.plan import Nest
from flatgen.page.drawing import Box, Item, Text
from flatgen.page.lettering import text_width
from flatgen.page.room import ANYWHERE, Room, overlap

LEAST = 2.0  # height of the smallest letters on a list of sheets [mm]
BESIDE = 1.5  # pieces of one part that lie nearer than this share a leader [mm on the page]


Sized = tuple[Text, list[Point]]


@dataclass(frozen=True, slots=True)
class _Piece:
    """A piece as it is drawn: what is said of it and its metal on the page."""

    said: tuple[str, ...]
    brief: tuple[str, ...]
    outline: Outline
    openings: tuple[Outline, ...]

    def holds(self, at: Point) -> bool:
        """Whether a point lies on the metal."""
        return contains(self.outline, at) and not any(contains(opening, at) for opening in self.openings)


def piece_marks(pieces: Iterable[_Piece], letter: float, room: Room) -> list[Item]:
    """The mark of each piece, or the letter of its part, inside its metal; else the letter with a leader."""
    least = min(2.5, 0.4 * letter)
    items: list[Item] = []
    small: list[_Piece] = []
    for piece in pieces:
        box = bounds([piece.outline])
        found = fitted("mark", piece.said, box, (1.3 * letter, least), room, piece.holds)
        found = found or fitted("mark", piece.brief, box, (1.3 * letter, 0.8 * least), room, piece.holds)
        items += found
        if not found:
            small.append(piece)
    for group in _neighbours(small):
        items += _led(group, 0.65 * letter, room)
    return items


def number_marks(
    nest: Nest,
    blanks: Mapping[str, Blank],
    named: Mapping[str, int],
    scale: float,
    room: Room,
    within: Box,
) -> list[Item]:
    """The number of its part on each piece, at least LEAST high; beside small ones with a leader, inside a box."""
    items: list[Item] = []
    small: list[_Piece] = []
    for placement in nest.placements:
        blank, motion = blanks[placement.part], placement.motion
        said, brief = (str(named[placement.part]),), (f"no. {named[placement.part]}",)
        openings = tuple(_scaled(moved(opening, motion), scale) for opening in blank.cutouts)
        piece = _Piece(said, brief, _scaled(moved(blank.outline, motion), scale), openings)
        found = fitted("mark", said, bounds([piece.outline]), (1.4 * LEAST, LEAST), room, piece.holds)
        items += found
        if not found:
            small.append(piece)
    for group in _neighbours(small):
        items += _led(group, LEAST, room, within)
    return items


def pieces_of(
    nest: Nest, shapes: Mapping[str, tuple[Outline, tuple[Outline, ...]]], motions: Iterable[Motion], scale: float
) -> Iterator[_Piece]:
    """The pieces of a nest on the page; shapes (outline and openings) by part, motions by piece, both at true size."""
    letters = part_letters(nest)
    for placement, motion in zip(nest.placements, motions, strict=True):
        outline, openings = shapes[placement.part]
        mark, short = f"{placement.part}-{placement.copy}", letters[placement.part]
        yield _Piece(
            (f"{mark} turned over", f"{mark} over") if placement.mirrored else (mark, placement.part),
            (f"{short} over", f"{short}*") if placement.mirrored else (short,),
            _scaled(moved(outline, motion), scale),
            tuple(_scaled(moved(opening, motion), scale) for opening in openings),
        )


def _scaled(outline: Outline, scale: float) -> Outline:
    return tuple((x * scale, y * scale, bulge) for x, y, bulge in outline)


def part_letters(nest: Nest) -> dict[str, str]:
    """A letter for each part, for pieces too small for its mark: A, B … Z, AA, AB …; none that is a part's own name."""
    parts = counted(nest)
    names = (name for count in (1, 2, 3) for name in map("".join, product(ascii_uppercase, repeat=count)))
    free = (name for name in names if name not in parts)
    return dict(zip(parts, free, strict=False))


def counted(nest: Nest) -> dict[str, int]:
    """Pieces by part, in the order in which they are placed."""
    counts: dict[str, int] = {}
    for placement in nest.placements:
        counts[placement.part] = counts.get(placement.part, 0) + 1
    return counts


def fitted(
    layer: str,
    texts: tuple[str, ...],
    box: Box,
    heights: tuple[float, float],
    room: Room,
    holds: Callable[[Point], bool] | None = None,
) -> list[Item]:
    """The first of several texts that fits into a box clear of everything, large and along its longer side.

    heights : largest and least

    Nothing where even the last one does not fit at the least height. Since a text crosses no line, it lies on the metal
    as a whole where ``holds`` says so of its middle.
    """
    for text in texts:
        for upright in _directions(box, holds is not None):
            sizes = list(_sizes(layer, text, box, upright, *heights))
            found = _placed(sizes, room, holds)
            if found:
                room.take(found)
                return [found]
    return []


def _placed(sizes: Sequence[Sized], room: Room, holds: Callable[[Point], bool] | None) -> Text | None:
    """The largest text that finds a place; one that is too narrow for the smallest text is asked for no other."""

    def clear(sized: Sized, k: int) -> bool:
        text, places = sized
        (x, y), (x0, y0, x1, y1) = places[k], text.box()
        held = holds is None or holds((x + (x0 + x1) / 2.0, y + (y0 + y1) / 2.0))
        return held and room.free((x + x0, y + y0, x + x1, y + y1), 0.08 * text.height)

    wide: Sequence[int] = range(len(sizes[0][1])) if sizes else ()
    for sized in sizes:
        found = next((k for k in wide if clear(sized, k)), None)
        if found is not None:
            return replace(sized[0], at=sized[1][found])
        if sized is sizes[0]:
            wide = [k for k in wide if clear(sizes[-1], k)]
    return None


def _directions(box: Box, both: bool) -> tuple[bool, ...]:
    """Whether to write upright: along the longer side first."""
    upright = box[3] - box[1] > box[2] - box[0]
    return (upright, not upright) if both else (upright,)


def _sizes(layer: str, text: str, box: Box, upright: bool, largest: float, least: float) -> Iterator[Sized]:
    """A text in several heights, larger ones first, each at zero with every place of a box that it may take."""
    x0, y0, x1, y1 = box
    long, short = (y1 - y0, x1 - x0) if upright else (x1 - x0, y1 - y0)
    widest = min(largest, 0.6 * short, 0.9 * long / text_width(text, 1.0, True))
    for share in (1.0, 0.75, 0.55, 0.4, 0.3):
        height = widest * share
        if height < least:
            return
        places = []
        for across in (0.5, 0.35, 0.65, 0.22, 0.78, 0.1, 0.9, 0.05, 0.95):
            for run in (0.5, 0.38, 0.62, 0.27, 0.73, 0.18, 0.82):
                if upright:
                    places.append((x0 + (x1 - x0) * across + 0.4 * height, y0 + (y1 - y0) * run))
                else:
                    places.append((x0 + (x1 - x0) * run, y0 + (y1 - y0) * across - 0.4 * height))
        yield Text(layer, (0.0, 0.0), text, height, "middle", 90.0 if upright else 0.0, True), places


def _neighbours(pieces: list[_Piece]) -> list[list[_Piece]]:
    """Pieces of one letter that lie side by side, together; found by the squares of a grid."""
    boxes = [bounds([piece.outline]) for piece in pieces]
    step = BESIDE + max((max(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes), default=0.0)
    cells: dict[tuple[int, int], list[int]] = {}
    for k, box in enumerate(boxes):
        cells.setdefault((int(box[0] // step), int(box[1] // step)), []).append(k)
    rest, groups = dict.fromkeys(range(len(pieces))), []
    while rest:
        group = [next(iter(rest))]
        del rest[group[0]]
        for k in group:
            column, row = int(boxes[k][0] // step), int(boxes[k][1] // step)
            around = [n for i in (-1, 0, 1) for j in (-1, 0, 1) for n in cells.get((column + i, row + j), ())]
            for n in around:
                if n in rest and pieces[n].brief == pieces[k].brief and overlap(boxes[n], boxes[k], BESIDE):
                    del rest[n]
                    group.append(n)
        groups.append([pieces[k] for k in sorted(group)])
    return groups


def _led(group: list[_Piece], height: float, room: Room, within: Box = ANYWHERE) -> list[Item]:
    """A letter in the free room nearest to a group of small pieces, with a leader to one of them."""
    name = group[0].brief[-1] + (f" × {len(group)}" if len(group) > 1 else "")
    piece = group[len(group) // 2]
    return room.led(_on_metal(piece), name, height, within)


def _on_metal(piece: _Piece) -> Point:
    """A point well inside a piece's metal."""
    x0, y0, x1, y1 = bounds([piece.outline])
    steps = [(0.5 + k) / 9.0 for k in range(9)]
    inside = [
        p for p in product((x0 + (x1 - x0) * s for s in steps), (y0 + (y1 - y0) * s for s in steps)) if piece.holds(p)
    ]
    rings = (piece.outline, *piece.openings)
    return max(inside or [piece.outline[0][:2]], key=lambda p: min(distance_to(ring, p) for ring in rings))
