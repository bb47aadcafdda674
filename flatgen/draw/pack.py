"""Blocks of items laid on a page: each at the highest, then leftmost place that is free. Lengths mm."""

from collections.abc import Sequence

from flatgen.draw.place import placed
from flatgen.draw.room import overlap
from flatgen.model.drawing import Item
from flatgen.model.lettering import Box, extents

GAP = 4.0

Block = tuple[Item, ...]


def pack(blocks: Sequence[Block], page: Box, taken: Sequence[Box] = ()) -> list[Item] | None:
    """All items in place on the page, none over another block or a taken box; None when they do not fit."""
    used = list(taken)
    items: list[Item] = []
    for block in blocks:
        if not block:
            continue
        x0, y0, x1, y1 = extents(block)
        spot = _spot(x1 - x0, y1 - y0, page, used)
        if spot is None:
            return None
        used.append((spot[0], spot[1], spot[0] + x1 - x0, spot[1] + y1 - y0))
        items += placed(block, 1.0, (spot[0] - x0, spot[1] - y0))
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
