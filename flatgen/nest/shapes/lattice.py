"""A sheet as a lattice of places: for every way to lay a blank the places where its low corner may still stand.

The places are bits, 64 to a word along y; a blank once laid takes the places inside its sums with the others away. What
a lattice point says is exact: only the places between two points are given up. Lengths mm.

References
----------
[1] F. M. B. Toledo and others, "The dotted-board model", International Journal of Production Economics 145, 2013:
    places on a lattice (from memory)
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from flatgen.core.points import Point
from flatgen.nest.shapes.no_fit_polygon import Convexes, convexes, disc, edges, opposite, summed

TOUCH = 1e-7  # blanks that overlap by less than this only touch [mm]
WORD = 64
ALL = (1 << WORD) - 1
COUNTED = 24  # convex sums from which on places are counted together
CHUNK = 64  # columns looked through at a time


@dataclass(frozen=True, slots=True)
class Laid:
    """A blank laid one way, its low corner at 0, 0: size, its convex parts, these grown by the gap, and mirrored."""

    width: float
    height: float
    grown: Convexes
    mirrored: Convexes
    parts: tuple[tuple[Point, ...], ...]


def laid(parts: Sequence[Sequence[Point]], gap: float) -> Laid:
    """From convex parts whose common low corner is at 0, 0."""
    wall = convexes(parts)
    return Laid(
        max(x for part in parts for x, _ in part),
        max(y for part in parts for _, y in part),
        summed(wall, disc(gap)) if gap > 0.0 else wall,
        convexes([opposite(part) for part in parts]),
        tuple(tuple(part) for part in parts),
    )


@dataclass(frozen=True, slots=True)
class Mask:
    """Places that are taken, as words: first column, first row, bits."""

    x: int
    y: int
    words: Any


def mask_of(walls: Convexes, mirrored: Convexes, step: float) -> Mask | None:
    """Lattice points inside the sums of walls and mirrored parts; None when there is none."""
    sums = summed(walls, mirrored)
    under, over, right = edges(sums)
    first = np.floor((sums.left + TOUCH) / step).astype(np.int64) + 1
    last = np.ceil((right - TOUCH) / step).astype(np.int64) - 1
    many = np.maximum(last - first + 1, 0)
    total = int(many.sum())
    if not total:
        return None
    # all chains one behind the other on one long axis, so that they are asked at once
    row = np.repeat(np.arange(len(many)), many)
    column = np.arange(total) - np.repeat(np.cumsum(many) - many, many) + first[row]
    far = 4.0 * float(np.abs(right).max() + np.abs(sums.left).max() + step)
    offset = far * np.arange(len(many))
    at = column * step + offset[row]
    lower = np.interp(at, (under[0] + offset[:, None]).ravel(), under[1].ravel())
    upper = np.interp(at, (over[0] + offset[:, None]).ravel(), over[1].ravel())
    low = np.floor((lower + TOUCH) / step).astype(np.int64) + 1
    high = np.maximum(np.ceil((upper - TOUCH) / step).astype(np.int64), low)
    left, bottom, top = int(column.min()), int(low.min()), int(high.max())
    if top <= bottom:
        return None
    column, low, high = column - left, low - bottom, high - bottom
    size = (top - bottom, int(column.max()) + 1)
    if len(many) > COUNTED:
        return Mask(left, bottom, _counted(size, column, low, high))
    words = np.zeros((-(-size[0] // WORD), size[1]), dtype=np.uint64)
    end = 0
    for count in many:
        start, end = end, end + int(count)
        if end > start:
            _paint(words, int(column[start]), low[start:end], high[start:end])
    return Mask(left, bottom, words)


def _counted(size: tuple[int, int], column: Any, low: Any, high: Any) -> Any:
    """Words of the places in any of very many runs, each from low up to high in its column."""
    cells = (size[0] + 1) * size[1]
    begun, ended = (np.bincount(end * size[1] + column, minlength=cells) for end in (low, high))
    inside = np.cumsum((begun - ended).reshape(-1, size[1])[:-1], axis=0) > 0
    bits = np.packbits(inside, axis=0, bitorder="little")
    words = -(-size[0] // WORD)
    octets = np.zeros((words * 8, size[1]), dtype=np.uint8)
    octets[: len(bits)] = bits
    return np.ascontiguousarray(octets.reshape(words, 8, size[1]).transpose(0, 2, 1)).view("<u8")[:, :, 0]


def _paint(words: Any, left: int, low: Any, high: Any) -> None:
    """Set the bits from low up to high, column by column from the left one on."""
    first, last = int(low.min()) // WORD, -(-int(high.max()) // WORD)
    if last > first:
        target = words[first:last, left : left + len(low)]
        target |= _bits(low - first * WORD, high - first * WORD, last - first)


def _bits(low: Any, high: Any, words: int) -> Any:
    """Columns of words with the bits from low up to high set."""
    base = np.arange(words, dtype=np.int64)[:, None] * WORD
    ones = _ones()
    found: Any = ones[np.minimum(np.maximum(high - base, 0), WORD)]
    found ^= ones[np.minimum(np.maximum(low - base, 0), WORD)]
    return found


_ONES: list[Any] = []


def _ones() -> Any:
    """Words whose lowest 0, 1 … 64 bits are set."""
    if not _ONES:
        _ONES.append(np.array([(1 << k) - 1 for k in range(WORD + 1)], dtype=np.uint64))
    return _ONES[0]


Part = tuple[int, int, int]  # way (or group), column and row of its low corner


@dataclass(frozen=True, slots=True)
class Group:
    """Blanks laid as one: their places from the common low corner, and the common size."""

    parts: tuple[Part, ...]
    width: float
    height: float


class Masks:
    """What each way to lay a blank takes away from each other one, reckoned when first asked for."""

    def __init__(self, ways: Sequence[Laid], step: float) -> None:
        """For these ways on a lattice of this step [mm]."""
        self.ways = ways
        self.step = step
        self.made = 0
        self._known: dict[tuple[int, int], Mask | None] = {}
        self._joint: dict[tuple[tuple[Part, ...], tuple[Part, ...]], Mask | None] = {}

    def __call__(self, fixed: int, moving: int) -> Mask | None:
        """Places that ``fixed`` at 0, 0 takes away from ``moving``."""
        key = (fixed, moving)
        if key not in self._known:
            self.made += 1 + len(self.ways[fixed].parts) * len(self.ways[moving].parts) // 16
            self._known[key] = mask_of(self.ways[fixed].grown, self.ways[moving].mirrored, self.step)
        return self._known[key]

    def group(self, parts: tuple[Part, ...]) -> Group:
        """Blanks in these places as one."""
        width = max(x * self.step + self.ways[way].width for way, x, _ in parts)
        return Group(parts, width, max(y * self.step + self.ways[way].height for way, _, y in parts))

    def between(self, fixed: Group, moving: Group) -> Mask | None:
        """Places that one group takes away from another."""
        if len(fixed.parts) == len(moving.parts) == 1:
            return self(fixed.parts[0][0], moving.parts[0][0])
        key = (fixed.parts, moving.parts)
        if key not in self._joint:
            masks = [
                Mask(mask.x + x - u, mask.y + y - v, mask.words)
                for way, x, y in fixed.parts
                for other, u, v in moving.parts
                if (mask := self(way, other)) is not None
            ]
            self._joint[key] = _joined(masks) if masks else None
        return self._joint[key]


def _joined(masks: Sequence[Mask]) -> Mask:
    """All places of several masks."""
    left, low = min(m.x for m in masks), min(m.y for m in masks)
    right = max(m.x + m.words.shape[1] for m in masks)
    high = max(m.y + len(m.words) * WORD for m in masks)
    words = np.zeros((-(-(high - low) // WORD) + 1, right - left), dtype=np.uint64)
    for mask in masks:
        _put(words, mask, mask.x - left, mask.y - low)
    return Mask(left, low, words if words[-1].any() else words[:-1])


@dataclass(slots=True)
class _Free:
    """Taken places of one group; how many others have been laid on it, first column or word with a free place."""

    words: Any
    applied: int = 0
    start: int = 0
    found: tuple[int, int] | None = None
    seen: int = -1


@dataclass(slots=True)
class Board:
    """A sheet being filled: usable size, what has been laid so far as (group, column, row), what is in the way.

    groups : all that may be laid, by number
    along : 0 to fill it from the left, 1 from below
    """

    masks: Masks
    groups: Sequence[Group]
    width: float
    height: float
    along: int = 0
    bad: Convexes | None = None
    placed: list[Part] = field(default_factory=list)
    reach: float = 0.0  # far end of all that is laid [mm]
    work: int = 0  # masks laid, by which a search counts its effort
    _free: dict[int, _Free] = field(default_factory=dict)
    _low: int = 0  # words below row 0, so that no mask reaches below

    def __post_init__(self) -> None:
        """Room below and above for the largest mask."""
        tallest = max((g.height for g in self.groups), default=0.0)
        self._low = int(tallest / self.masks.step) // WORD + 2

    def first(self, group: int) -> tuple[int, int] | None:
        """The leftmost, there the lowest, free place of a group (column, row); None when there is none.

        On a sheet filled from below the lowest, there the leftmost.
        """
        free = self._free.get(group)
        if free is None:
            free = self._free[group] = self._fresh(group)
        if free.start >= free.words.shape[1 - self.along]:
            return None
        if free.seen == len(self.placed):
            return free.found
        moving = self.groups[group]
        for fixed, x, y in self.placed[free.applied :]:
            mask = self.masks.between(self.groups[fixed], moving)
            if mask is not None:
                self._take(free, mask, x, y)
        self.work += 1 + len(self.placed) - free.applied
        free.applied = free.seen = len(self.placed)
        free.found = self._lowest(free) if self.along else self._leftmost(free)
        return free.found

    def put(self, group: int, place: tuple[int, int]) -> None:
        """Lay a group at a place that is free for it."""
        self.placed.append((group, *place))
        self.reach = max(self.reach, self.far_end(group, place))

    def far_end(self, group: int, place: tuple[int, int]) -> float:
        """How far from the sheet's near end a group reaches there [mm]."""
        shape = self.groups[group]
        return place[self.along] * self.masks.step + (shape.height if self.along else shape.width)

    def _fresh(self, group: int) -> _Free:
        shape, step = self.groups[group], self.masks.step
        columns = math.floor((self.width - shape.width + TOUCH) / step) + 1
        rows = math.floor((self.height - shape.height + TOUCH) / step) + 1
        if columns <= 0 or rows <= 0:
            return _Free(np.zeros((0, 0), dtype=np.uint64))
        low = self._low
        words = np.empty((2 * low + -(-rows // WORD), columns), dtype=np.uint64)
        words[:] = ~_bits(np.array([low * WORD]), np.array([low * WORD + rows]), len(words))
        free = _Free(words)
        for way, dx, dy in shape.parts if self.bad is not None else ():
            assert self.bad is not None
            mask = mask_of(self.bad, self.masks.ways[way].mirrored, step)
            if mask is not None:
                self._take(free, mask, -dx, -dy)
        return free

    def _take(self, free: _Free, mask: Mask, x: int, y: int) -> None:
        """Mark the mask's places as taken when it is moved to x, y."""
        left, bits = x + mask.x, mask.words
        start = 0 if self.along else free.start
        if left < start:
            bits = bits[:, start - left :]
            left = start
        if bits.shape[1]:
            _put(free.words, Mask(left, 0, bits), left, y + mask.y + self._low * WORD)

    def _leftmost(self, free: _Free) -> tuple[int, int] | None:
        many = free.words.shape[1]
        while free.start < many:
            block = free.words[:, free.start : free.start + CHUNK]
            open_ = np.bitwise_and.reduce(block, axis=0) != ALL
            at = int(open_.argmax())
            if open_[at]:
                free.start += at
                column = ~free.words[:, free.start]
                word = int((column != 0).argmax())
                return free.start, (word - self._low) * WORD + _lowest_bit(int(column[word]))
            free.start += len(open_)
        return None

    def _lowest(self, free: _Free) -> tuple[int, int] | None:
        while free.start < len(free.words):
            row = free.words[free.start]
            open_ = ~int(np.bitwise_and.reduce(row)) & ALL
            if open_:
                bit = _lowest_bit(open_)
                column = int((row & np.uint64(1 << bit) == 0).argmax())
                return column, (free.start - self._low) * WORD + bit
            free.start += 1
        return None


def _lowest_bit(word: int) -> int:
    return (word & -word).bit_length() - 1


def _put(words: Any, mask: Mask, left: int, row: int) -> None:
    """Set a mask's places in words, its first column and first row there; what lies right of the words is left out."""
    bits = mask.words[:, : max(0, words.shape[1] - left)]
    right = left + bits.shape[1]
    if right <= left:
        return
    word, shift = divmod(row, WORD)
    if shift:
        _or(words, bits << shift, word, left, right)
        _or(words, bits >> (WORD - shift), word + 1, left, right)
    else:
        _or(words, bits, word, left, right)


def _or(words: Any, bits: Any, word: int, left: int, right: int) -> None:
    if word < 0:
        bits, word = bits[-word:], 0
    target = words[word : word + len(bits), left:right]
    target |= bits[: len(target)]
