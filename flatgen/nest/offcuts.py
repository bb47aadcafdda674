"""Rectangles of sheet that are left over and worth keeping. Lengths mm."""

from collections.abc import Container, Iterable, Sequence
from dataclasses import replace
from itertools import count

from flatgen.model.plan import Cut, Nest, Offcut
from flatgen.nest.guillotine.block import EPS
from flatgen.nest.guillotine.cuts import Rect


def worth_keeping(rect: Rect, size: tuple[float, float]) -> bool:
    """Whether a rectangle reaches the least size in either direction [mm]."""
    width, height = rect[2] - rect[0], rect[3] - rect[1]
    return max(width, height) >= max(size) - EPS and min(width, height) >= min(size) - EPS


def areas_kept(rects: Iterable[Rect], size: tuple[float, float]) -> list[float]:
    """Areas of those worth keeping [mm²]."""
    return [area(rect) for rect in rects if worth_keeping(rect, size)]


def lettered(number: int) -> str:
    """The letter of an off-cut, from 1: A to Z, then AA, AB and on. It gets its number when it is booked."""
    letters = ""
    while number:
        number, k = divmod(number - 1, 26)
        letters = chr(ord("A") + k) + letters
    return letters


def named(rects: Iterable[Rect], size: tuple[float, float], first: int) -> tuple[Offcut, ...]:
    """Those worth keeping, largest first, lettered on from ``first``."""
    kept = sorted((r for r in rects if worth_keeping(r, size)), key=lambda r: (-round(area(r), 3), r))
    return tuple(
        Offcut(lettered(number), r[0], r[1], r[2] - r[0], r[3] - r[1]) for number, r in enumerate(kept, start=first)
    )


def told(nests: Iterable[Nest], first: int, kerf: float, taken: Container[str]) -> tuple[Nest, ...]:
    """Nests whose off-cuts are called by the sheet and a letter, their cuts saying when each is free.

    So a change on one sheet leaves the names on all others, and their drawings, as they are.

    first : number of the first sheet in the job
    taken : names that off-cuts of begun sheets have
    """
    done = []
    for sheet, nest in enumerate(nests, first):
        names = (name for k in count(1) if (name := f"{sheet}{lettered(k)}") not in taken)
        offcuts = tuple(replace(offcut, id=name) for offcut, name in zip(nest.offcuts, names, strict=False))
        done.append(replace(nest, offcuts=offcuts, cuts=with_offcuts(nest.cuts, offcuts, kerf)))
    return tuple(done)


def with_offcuts(cuts: Sequence[Cut], offcuts: Iterable[Offcut], kerf: float) -> tuple[Cut, ...]:
    """The cuts, in order, the one after which an off-cut is free saying so."""
    said = list(cuts)
    for offcut in offcuts:
        last = max((k for k, cut in enumerate(cuts) if _bounds(cut, offcut, kerf)), default=None)
        if last is not None:
            said[last] = replace(said[last], note=f"{said[last].note}; off-cut {offcut.id} is free: mark it, keep it")
    return tuple(said)


def _bounds(cut: Cut, offcut: Offcut, kerf: float) -> bool:
    """Whether a cut runs along an edge of an off-cut."""
    i = 0 if abs(cut.end[0] - cut.start[0]) < abs(cut.end[1] - cut.start[1]) else 1
    low, size = (offcut.x, offcut.y), (offcut.width, offcut.height)
    edges = (low[i], low[i] + size[i])
    ends = sorted((cut.start[1 - i], cut.end[1 - i]))
    beside = ends[0] < low[1 - i] + size[1 - i] - EPS and ends[1] > low[1 - i] + EPS
    return beside and any(abs(edge - cut.start[i]) < kerf + EPS for edge in edges)


def area(rect: Rect) -> float:
    """Area of a rectangle [mm²]."""
    return max(0.0, rect[2] - rect[0]) * max(0.0, rect[3] - rect[1])


def free_rectangles(
    width: float,
    height: float,
    taken: Sequence[Rect],
    bad_areas: Sequence[tuple[float, float, float, float]] = (),
    gap: float = 0.0,
) -> list[Rect]:
    """Rectangles beside and above everything that is taken or spoilt, the larger first, without overlap.

    The first is full height right of the last part or full width above it; the other is what is left of the other.
    ``gap`` is what cutting takes beside a part, and between the two.
    """
    used = [(x0, y0, x1 + gap, y1 + gap) for x0, y0, x1, y1 in taken]
    used += [(x, y, x + w, y + h) for x, y, w, h in bad_areas]
    if not used:
        return [(0.0, 0.0, width, height)]
    x, y = max(r[2] for r in used), max(r[3] for r in used)
    beside, above = (x, 0.0, width, height), (0.0, y, width, height)
    if area(beside) >= area(above):
        return [beside, (0.0, y, min(width, x) - gap, height)]
    return [above, (x, 0.0, width, min(height, y) - gap)]
