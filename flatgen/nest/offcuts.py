"""Rectangles of sheet that are left over and worth keeping. Lengths mm."""

from collections.abc import Iterable, Sequence

from flatgen.model.plan import Offcut
from flatgen.nest.block import EPS
from flatgen.nest.cuts import Rect


def worth_keeping(rect: Rect, size: tuple[float, float]) -> bool:
    """Whether a rectangle reaches the least size in either direction [mm]."""
    width, height = rect[2] - rect[0], rect[3] - rect[1]
    return max(width, height) >= max(size) - EPS and min(width, height) >= min(size) - EPS


def named(rects: Iterable[Rect], size: tuple[float, float], first: int) -> tuple[Offcut, ...]:
    """Those worth keeping, largest first, named R1, R2 and on."""
    kept = sorted((r for r in rects if worth_keeping(r, size)), key=lambda r: (-round(area(r), 3), r))
    return tuple(
        Offcut(f"R{number}", r[0], r[1], r[2] - r[0], r[3] - r[1]) for number, r in enumerate(kept, start=first)
    )


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
