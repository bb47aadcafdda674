"""What is cut before all else: the test bends that a job's figures wait for, on which sheet, to which cut."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from flatgen.core.outline import Outline
from flatgen.core.words import counted
from flatgen.model.plan import Nest
from flatgen.model.results import Results
from flatgen.tally.sheets import last_cut, state

PROVISIONAL = "PROVISIONAL"


@dataclass(frozen=True, slots=True)
class FirstCut:
    """A sheet that test bends come off first, by the number that it has in the packet.

    upto : number of the cut after which all of them are off
    """

    number: int
    nest: Nest
    upto: int
    strips: tuple[tuple[str, int], ...]

    @property
    def words(self) -> str:
        """What to cut."""
        what = "remnant" if self.nest.sheet.remnant else "sheet"
        strips = ", ".join(f"{mark} ({many})" for mark, many in self.strips)
        to = f"to cut {self.upto}" if self.nest.cuts else f"the first {counted(self.upto, 'piece')}"
        return f"{what} {self.number}, {self.nest.sheet.id}, {to}: {strips}"


def first_cuts(results: Results) -> tuple[FirstCut, ...]:
    """The sheets that test bends lie on, in order."""
    outlines = {made.part.id: made.blank.outline for made in results.parts}
    found = []
    for number, nest in enumerate((nest for report in results.nests for nest in report.nests), 1):
        strips = Counter(p.part for p in nest.placements if p.part in nest.first)
        if strips:
            laid = tuple((part, outlines[part]) for part in sorted({p.part for p in nest.placements}))
            found.append(FirstCut(number, nest, _upto(nest, laid), tuple(sorted(strips.items()))))
    return tuple(found)


@lru_cache(maxsize=64)  # every card and page asks for it
def _upto(nest: Nest, outlines: tuple[tuple[str, Outline], ...]) -> int:
    """Number of the cut after which all that is cut first is off the sheet."""
    strips = sum(p.part in nest.first for p in nest.placements)
    off = (sum(p.part in nest.first for p in state(nest, dict(outlines), n).off) for n in range(1, last_cut(nest) + 1))
    return next(n for n, many in enumerate(off, 1) if many == strips)


def provisional(waits: Iterable[str]) -> str:
    """What is said of what may change when these test bends are recorded."""
    marks = ", ".join(waits)
    return f"{PROVISIONAL} ({marks})" if marks else ""
