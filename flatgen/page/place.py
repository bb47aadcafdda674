"""Putting things onto a page: moving and scaling items, and spreading labels so that none lies over another.

Scaling changes places and sizes of what is drawn but not the height of lettering: that is the page's. Lengths mm.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from flatgen.core.points import Motion, Point, mirrors, move
from flatgen.core.words import Units
from flatgen.page.drawing import Drawing, Item, Layer, extents
from flatgen.page.layers import used


def placed(items: Iterable[Item], scale: float, shift: Point) -> list[Item]:
    """Items scaled about the origin, then shifted [mm]."""

    def at(p: Point) -> Point:
        return (p[0] * scale + shift[0], p[1] * scale + shift[1])

    return [item.carried(at, scale) for item in items]


def carried(items: Iterable[Item], motion: Motion) -> list[Item]:
    """Items carried by a motion that does not mirror, texts turned along."""
    assert not mirrors(motion)
    angle = math.degrees(math.atan2(motion[1], motion[0]))
    return [item.carried(lambda p: move(motion, p), turned=angle) for item in items]


def framed(items: Sequence[Item], units: Units, edge: float = 1.0) -> Drawing:
    """Items as a drawing with an edge of so much round them."""
    x0, y0, x1, y1 = extents(items)
    size = (x1 - x0 + 2.0 * edge, y1 - y0 + 2.0 * edge)
    return Drawing("", size, tuple(items), used(items), units, origin=(x0 - edge, y0 - edge))


def side_by_side(pages: Sequence[Drawing], gap: float = 20.0) -> Drawing:
    """Pages of one size and scale as a single drawing, for formats that have no pages."""
    if len(pages) == 1:
        return pages[0]
    items: list[Item] = []
    layers: dict[str, Layer] = {}
    x = 0.0
    for page in pages:
        items += placed(page.items, 1.0, (x - page.origin[0], -page.origin[1]))
        layers |= {layer.name: layer for layer in page.layers}
        x += page.size[0] + gap
    size = (x - gap, max(page.size[1] for page in pages))
    return replace(pages[0], items=tuple(items), layers=tuple(layers.values()), size=size, origin=(0.0, 0.0))


def spread(wanted: Sequence[float], sizes: Sequence[float], gap: float = 0.0) -> list[float]:
    """Middles of labels along a line, none over another, the sum of squared moves least.

    wanted : where each middle would best lie; sizes : room that each takes; the order of ``wanted`` is kept.

    Runs of labels that touch are moved as one block to the mean of what they want (pooling of adjacent violators).

    Examples
    --------
    >>> spread([0.0, 1.0, 20.0], [4.0, 4.0, 4.0])
    [-1.5, 2.5, 20.0]
    """
    order = sorted(range(len(wanted)), key=lambda k: (wanted[k], k))
    blocks: list[list[float]] = []  # sum of wanted starts, count; members follow in order
    offsets: list[float] = []
    run = 0.0
    for k in order:
        offsets.append(run + sizes[k] / 2.0)
        run += sizes[k] + gap
    for k, offset in zip(order, offsets, strict=True):
        blocks.append([wanted[k] - offset, 1.0])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] > blocks[-1][0] / blocks[-1][1]:
            total, count = blocks.pop()
            blocks[-1][0] += total
            blocks[-1][1] += count
    starts = [total / count for total, count in blocks for _ in range(int(count))]
    result = [0.0] * len(wanted)
    for k, offset, start in zip(order, offsets, starts, strict=True):
        result[k] = start + offset
    return result
