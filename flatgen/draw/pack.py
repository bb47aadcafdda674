"""Blocks of items laid on a page: each at the highest, then leftmost place that is free. Lengths mm."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flatgen.page.drawing import Box, Item, extents
from flatgen.page.place import placed
from flatgen.page.room import overlap

GAP = 4.0


@dataclass(frozen=True, slots=True)
class Block:
    """Items that keep together, and the box round them."""

    items: tuple[Item, ...]
    box: Box

    @property
    def width(self) -> float:
        """Width of the box [mm]."""
        return self.box[2] - self.box[0]

    @property
    def height(self) -> float:
        """Height of the box [mm]."""
        return self.box[3] - self.box[1]


def block(items: Iterable[Item]) -> Block:
    """A block of items; there must be at least one."""
    listed = tuple(items)
    return Block(listed, extents(listed))


def pack(blocks: Sequence[Block], page: Box, taken: Sequence[Box] = ()) -> list[Item] | None:
    """All items in place on the page, none over another block or a taken box; None when they do not fit."""
    used = list(taken)
    spots = []
    for each in blocks:
        spot = _spot(each.width, each.height, page, used)
        if spot is None:
            return None
        used.append((spot[0], spot[1], spot[0] + each.width, spot[1] + each.height))
        spots.append(spot)
    items: list[Item] = []
    for each, spot in zip(blocks, spots, strict=True):
        items += placed(each.items, 1.0, (spot[0] - each.box[0], spot[1] - each.box[1]))
    return items


def _spot(width: float, height: float, page: Box, used: Sequence[Box]) -> tuple[float, float] | None:
    """Low corner of the highest free place for a box; of equal ones the leftmost."""
    tops = sorted({page[3] - GAP, *(box[1] - GAP for box in used)}, reverse=True)
    lefts = sorted({page[0] + GAP, *(box[2] + GAP for box in used)})
    for top in tops:
        if top > page[3] - GAP or top - height < page[1] + GAP:
            continue
        for x in lefts:
            if x < page[0] + GAP or x + width > page[2] - GAP:
                continue
            box = (x, top - height, x + width, top)
            if not any(overlap(box, other, GAP - 0.01) for other in used):
                return x, top - height
    return None
