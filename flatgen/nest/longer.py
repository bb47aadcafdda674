"""The longer search that the user allows time for: the same again, deeper and with other seeds, the best kept.

It may be interrupted at any moment; what was best until then is the answer. Lengths mm.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from time import monotonic
from typing import TypeVar

from flatgen.model.plan import Piece
from flatgen.model.shop import Sheet
from flatgen.nest.engines import Spot, StripShape, holds, length_of, searched
from flatgen.nest.guillotine import Depth
from flatgen.nest.kinds import Member, allowed_turns
from flatgen.nest.result import Halt
from flatgen.nest.shapes import safe_points

R = TypeVar("R")
Progress = Callable[[float, str], None]  # share of the time gone 0..1, and what is known so far

DEEP = Depth(nodes=60, rounds=8, together=True)


def longer(
    run: Callable[[Depth], R],
    score: Callable[[R], tuple[float, ...]],
    seconds: float,
    progress: Progress | None = None,
    say: Callable[[R], str] = lambda found: "",
    start: R | None = None,
    halt: Halt | None = None,
) -> R:
    """The best of the quick result and of as many deeper runs as fit into the time [s]; ``halt`` is told of Ctrl-C."""
    from flatgen.nest.guillotine import NORMAL

    began = monotonic()
    until = began + seconds
    best = start if start is not None else run(NORMAL)
    seed = 1
    try:
        while monotonic() < until:
            if progress is not None:
                progress(min(1.0, (monotonic() - began) / seconds), say(best))
            depth = replace(DEEP, seed=seed, nodes=DEEP.nodes * (1 + seed // 3), until=until)
            found = run(depth)
            if score(found) < score(best):
                best = found
            seed += 1
    except KeyboardInterrupt:
        if halt is not None:
            halt.asked = True
    if progress is not None:
        progress(1.0, say(best))
    return best


def drawn_in(
    sheets: list[tuple[int, list[Member]]],
    pieces: Sequence[Piece],
    stock: Sequence[Sheet],
    gap: float,
    seconds: float,
    progress: Progress | None = None,
    halt: Halt | None = None,
) -> list[tuple[int, list[Member]]]:
    """Sheets of which the last two are laid anew on one, or else the last one shorter, by the true-shape engine."""
    halt = halt or Halt()
    until = monotonic() + seconds

    def tick() -> None:
        if progress is not None:
            progress(max(0.0, min(1.0, 1.0 - (until - monotonic()) / seconds)), f"{len(sheets)} sheets")

    for together in (2, 1):
        if halt.asked:
            break
        some = sheets[-together:]
        if len(some) < together or until - monotonic() < 1.5:
            continue
        sheet = stock[some[-1][0]]
        members = [m for _, blanks in some for m in blanks]
        if sheet.bad_areas or any(number != some[-1][0] for number, _ in some):
            continue
        width, height = sheet.width - 2 * sheet.margin, sheet.height - 2 * sheet.margin
        metal = [safe_points(pieces[m.piece].outline) for m in members]
        if sum(_area(points) for points in metal) > 0.93 * width * height:
            continue
        shapes, who = _shapes(members, pieces, sheet.grain)
        share = 0.5 if together == 2 else 1.0
        spots = searched(shapes, height, gap, share * (until - monotonic()), tick, halt)
        if spots is None or not holds(shapes, spots, height, gap):
            continue
        reach = length_of(shapes, spots)
        limit = width if together == 2 else _extent(members, pieces) - sheet.margin - 0.5
        if reach <= limit:
            return [*sheets[:-together], (some[-1][0], _members(spots, who, sheet.margin))]
    return sheets


def _shapes(members: Sequence[Member], pieces: Sequence[Piece], grain: float) -> tuple[list[StripShape], list[Member]]:
    """Members as shapes, equal ones together; the pieces must lie side by side, none inside another."""
    groups: dict[tuple[int, bool], int] = {}
    for m in members:
        groups[m.piece, m.mirrored] = groups.get((m.piece, m.mirrored), 0) + 1
    shapes, who = [], []
    for (number, mirrored), many in sorted(groups.items()):
        piece = pieces[number]
        points = safe_points(piece.outline)
        if mirrored:
            points = [(-x, y) for x, y in reversed(points)]
        turns = None
        if piece.rotations is not None:
            turns = tuple(r for r, m in allowed_turns(piece, grain) if m == mirrored)
        shapes.append(StripShape(tuple(points), many, turns))
        who.append(Member(number, 0.0, mirrored, 0.0, 0.0))
    return shapes, who


def _members(spots: Sequence[Spot], who: Sequence[Member], margin: float) -> list[Member]:
    return [replace(who[s.shape], rotation=s.rotation % 360.0, x=s.x + margin, y=s.y + margin) for s in spots]


def _extent(members: Sequence[Member], pieces: Sequence[Piece]) -> float:
    from flatgen.nest.shapes import laid_points

    return max(x + m.x for m in members for x, _ in laid_points(pieces[m.piece].outline, m.rotation, m.mirrored))


def _area(points: Sequence[tuple[float, float]]) -> float:
    n = len(points)
    return abs(sum(points[i][0] * points[(i + 1) % n][1] - points[(i + 1) % n][0] * points[i][1] for i in range(n))) / 2
