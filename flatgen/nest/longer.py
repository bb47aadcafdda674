"""The longer search that the user allows time for: the same again, deeper and with other seeds, the best kept.

It may be interrupted at any moment; what was best until then is the answer. Lengths mm.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from time import monotonic
from typing import TypeVar

from flatgen.model.plan import Piece
from flatgen.model.shop import Sheet
from flatgen.nest.effort import DEEP, METAL, Effort
from flatgen.nest.result import Halt
from flatgen.nest.shapes.fitted import Fitting
from flatgen.nest.shapes.search import Profiled, by_rectangles, profiled

R = TypeVar("R")
Progress = Callable[[float, str], None]  # share of the time gone 0..1, and what is known so far

RECTANGLES = 0.2  # share of the time of a longer search of profile-cut nests for programmes over rectangles
LONG = 20.0  # seconds from which on there is time for the programmes over rectangles


def longer(
    run: Callable[[Effort], R],
    score: Callable[[R], tuple[float, ...]],
    seconds: float,
    progress: Progress | None = None,
    say: Callable[[R], str] = lambda found: "",
    halt: Halt | None = None,
) -> R:
    """The best of the quick result and of as many deeper runs as fit into the time [s]; ``halt`` is told of Ctrl-C."""
    began = monotonic()
    until = began + seconds
    best = run(METAL)
    seed = 1
    try:
        while monotonic() < until:
            if progress is not None:
                progress(min(1.0, (monotonic() - began) / seconds), say(best))
            effort = replace(DEEP, seed=seed + 1, until=until)
            found = run(effort)
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

    First, where there is time, deeper programmes over rectangles; then true shapes laid again and again.
    """
    began, halt, best = monotonic(), halt or Halt(), found
    seconds = max(seconds, 0.1)

    def tell() -> None:
        if progress is not None:
            progress(min(1.0, (monotonic() - began) / seconds), f"{len(best.sheets)} sheets")

    def offer(other: Profiled) -> None:
        nonlocal best
        best = min(best, other, key=lambda entry: entry.score)
        tell()

    try:
        tell()
        if seconds >= LONG:
            offer(by_rectangles(pieces, stock, gap, replace(DEEP, until=began + RECTANGLES * seconds)))
        if best.sheets:
            effort = replace(DEEP, until=began + seconds)
            steps = Fitting(pieces, stock, gap).tails(best.sheets, best.left, effort)
            while not effort.over():
                offer(profiled(*next(steps), pieces, stock, "true shapes"))
    except KeyboardInterrupt:
        halt.asked = True
    if progress is not None:
        progress(1.0, f"{len(best.sheets)} sheets")
    return best
