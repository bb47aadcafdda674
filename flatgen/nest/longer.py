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
from flatgen.nest.fitted import Effort, Fitting
from flatgen.nest.guillotine import Depth
from flatgen.nest.kinds import Member, allowed_turns
from flatgen.nest.profile import Profiled, by_rectangles, profiled
from flatgen.nest.result import Halt
from flatgen.nest.shapes import safe_points

R = TypeVar("R")
Progress = Callable[[float, str], None]  # share of the time gone 0..1, and what is known so far

SHARES = (0.2, 0.6, 0.8, 1.0)  # of the time, when each part of a longer search of profile-cut nests ends
LONG = 20.0  # seconds from which on there is time for the programmes over rectangles
STEP = 40_000  # masks laid between two reports of the best

DEEP = Depth(work=6e7)


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
            depth = replace(DEEP, seed=seed + 1, until=until)
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


def nest_longer(
    found: Profiled,
    pieces: Sequence[Piece],
    stock: Sequence[Sheet],
    gap: float,
    seconds: float,
    progress: Progress | None = None,
    halt: Halt | None = None,
) -> Profiled:
    """A better profile-cut nest than the quick one, within so many seconds: never a worse one.

    First, where there is time, deeper programmes over rectangles; then true shapes laid again and again; then the
    engine on the last sheets, and true shapes once more.
    """
    began, halt, best = monotonic(), halt or Halt(), found
    seconds = max(seconds, 0.1)
    until = [began + share * seconds for share in SHARES]

    def tell(share: float = 0.0, words: str = "") -> None:
        if progress is not None:
            progress(min(1.0, (monotonic() - began) / seconds), f"{len(best.sheets)} sheets")

    def offer(other: Profiled) -> None:
        nonlocal best
        best = min(best, other, key=lambda entry: entry.score)
        tell()

    try:
        tell()
        if seconds >= LONG:
            offer(by_rectangles(pieces, stock, gap, replace(DEEP, until=until[0])))
        if best.sheets:
            end = until[1]
            effort = Effort(STEP, STEP, lateness=12, over=lambda: monotonic() >= end)
            steps = Fitting(pieces, stock, gap).tails(best.sheets, best.left, effort)
            while not effort.over():
                offer(profiled(*next(steps), pieces, stock, "true shapes"))
            sheets = drawn_in(best.sheets, pieces, stock, gap, until[2] - monotonic(), tell, halt)
            if sheets is not best.sheets:
                offer(profiled(sheets, best.left, pieces, stock, "true shapes, last by spyrrow"))
            end = until[3]
            while not effort.over() and not halt.asked:
                offer(profiled(*next(steps), pieces, stock, "true shapes"))
    except KeyboardInterrupt:
        halt.asked = True
    if progress is not None:
        progress(1.0, f"{len(best.sheets)} sheets")
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
    """Sheets of which the last two are laid anew on one, or else the last one by itself, by the true-shape engine."""
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
        wide = gap + 2e-3 if gap else 0.0  # so that what the check lets through is still the gap
        spots = searched(shapes, height, wide, share * (until - monotonic()), tick, halt)
        if spots is None or not holds(shapes, spots, height, wide):
            continue
        if length_of(shapes, spots) <= width:
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


def _area(points: Sequence[tuple[float, float]]) -> float:
    n = len(points)
    return abs(sum(points[i][0] * points[(i + 1) % n][1] - points[(i + 1) % n][0] * points[i][1] for i in range(n))) / 2
