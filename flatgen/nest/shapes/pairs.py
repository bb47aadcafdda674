"""Equal blanks laid into one another on the lattice: pairs that fill their rectangle well, and even rows of pairs."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from flatgen.nest.shapes.lattice import WORD, Group, Masks, Part

GAIN = 0.97  # a pair must take this share of its blanks' own rectangles, or less
NEAR = 1.02  # pairs laid otherwise are kept when they take no more than this times the best
MOST = 4  # ways kept of one pair
ROW = 3  # pairs in a row
PLACES = 250_000  # most places of a second blank beside the first that are looked at


def pairs_of(masks: Masks, ways: Sequence[int], gap: float) -> list[Group]:
    """The pairs worth laying as one, the best first; none where blanks fill their own rectangles as well."""
    alone = min((masks.ways[w].width + gap) * (masks.ways[w].height + gap) for w in ways)
    found = sorted(
        (entry for n, a in enumerate(ways) for b in ways[n:] if (entry := _pair(masks, a, b, gap)) is not None),
        key=lambda entry: entry[0],
    )
    if not found or found[0][0] > GAIN * 2.0 * alone:
        return []
    return [group for size, group in found if size <= NEAR * found[0][0]][:MOST]


def _pair(masks: Masks, a: int, b: int, gap: float) -> tuple[float, Group] | None:
    """The pair of least rectangle (with the gap about it), from the low corner of both."""
    mask = masks(a, b)
    if mask is None:
        return None
    first, second, step = masks.ways[a], masks.ways[b], masks.step
    every = 1 + int((mask.words.size * WORD / PLACES) ** 0.5)  # of very many places a part is enough
    taken = _bits(mask.words[:, ::every])[::every]
    x = mask.x + every * np.arange(-1, taken.shape[1] + 1)
    y = mask.y + every * np.arange(-1, taken.shape[0] + 1)
    width = np.maximum(first.width, x * step + second.width) - np.minimum(0.0, x * step)
    height = np.maximum(first.height, y * step + second.height) - np.minimum(0.0, y * step)
    size = np.outer(height + gap, width + gap)
    size[1:-1, 1:-1][taken] = np.inf
    at = int(size.argmin())
    j, i = divmod(at, len(x))
    dx, dy = int(x[i]), int(y[j])
    x0, y0 = min(0, dx), min(0, dy)
    return float(size[j, i]), masks.group(((a, -x0, -y0), (b, dx - x0, dy - y0)))


def _bits(words: Any) -> Any:
    """Rows of places from words."""
    count, columns = words.shape
    octets = (
        np.ascontiguousarray(words)
        .view(np.uint8)
        .reshape(count, columns, 8)
        .transpose(0, 2, 1)
        .reshape(count * 8, columns)
    )
    return np.unpackbits(np.ascontiguousarray(octets), axis=0, bitorder="little").astype(bool)


def row_of(masks: Masks, pair: Group, gap: float) -> Group | None:
    """The pair again and again in an even step, along the side where it adds least; None where it adds too much."""
    best: tuple[float, Group] | None = None
    for across in (False, True):
        step = _step(masks, pair.parts, across)
        if step is None:
            continue
        parts = tuple(
            (way, x + (0 if across else k * step), y + (k * step if across else 0))
            for k in range(ROW)
            for way, x, y in pair.parts
        )
        row = masks.group(parts)
        size = (row.width + gap) * (row.height + gap)
        if best is None or size < best[0]:
            best = (size, row)
    if best is None or best[0] > 0.985 * ROW * (pair.width + gap) * (pair.height + gap):
        return None
    return best[1]


def _step(masks: Masks, parts: Sequence[Part], across: bool) -> int | None:
    """Least even step at which the same parts come clear of themselves [lattice steps]."""
    least = 1
    for fixed, x, y in parts:
        for moving, u, v in parts:
            mask = masks(fixed, moving)
            if mask is None:
                continue
            # along the line of the step, the places that the fixed one takes are a run of bits: go past the last
            if across:
                column = u - x - mask.x
                line = mask.words[:, column] if 0 <= column < mask.words.shape[1] else ()
                last = max((w * WORD + int(word).bit_length() for w, word in enumerate(line) if word), default=None)
                past = None if last is None else last + mask.y - (v - y)
            else:
                word, bit = divmod(v - y - mask.y, WORD)
                inside = 0 <= word < len(mask.words)
                run = [n for n, w in enumerate(mask.words[word]) if int(w) >> bit & 1] if inside else []
                past = run[-1] + 1 + mask.x - (u - x) if run else None
            if past is not None:
                least = max(least, past)
    return least
