"""The longer search that the user allows time for: the same again, deeper and with other seeds, the best kept.

It may be interrupted at any moment; what was best until then is the answer.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from time import monotonic
from typing import Protocol, TypeVar

from flatgen.nest.effort import DEEP, Effort

Progress = Callable[[float, str], None]  # share of the time gone 0..1, and what is known so far


class Found(Protocol):
    """A nest as a search finds it: its score (lower is better) and its sheets."""

    @property
    def score(self) -> tuple[float, ...]:
        """What counts first comes first."""

    @property
    def sheets(self) -> Sequence[object]:
        """One entry a sheet."""


F = TypeVar("F", bound=Found)


def _nobody(share: float, words: str) -> None:
    """Nobody is told."""


@dataclass(slots=True)
class Longer:
    """So many seconds, on a clock; who is told of them; and whether the user has ended the search (Ctrl-C)."""

    seconds: float
    progress: Progress = _nobody
    ended: bool = False

    def best(self, found: F, steps: Callable[[Effort], Iterator[F]]) -> F:
        """The best of what is found already and of all that the steps bring while there is time."""
        began, seconds = monotonic(), max(self.seconds, 0.1)

        def tell() -> None:
            self.progress(min(1.0, (monotonic() - began) / seconds), f"{len(found.sheets)} sheets")

        effort = replace(DEEP, until=began + seconds)
        try:
            tell()
            for other in steps(effort):
                found = min(found, other, key=lambda one: one.score)
                tell()
                if effort.over():
                    break
        except KeyboardInterrupt:
            self.ended = True
        self.progress(1.0, f"{len(found.sheets)} sheets")
        return found
