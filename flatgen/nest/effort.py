"""How long to search, in counts, so that every machine finds the same; a clock only where the user gives time."""

from dataclasses import dataclass
from time import monotonic


@dataclass(frozen=True, slots=True)
class Effort:
    """How much to do.

    work : states looked at when sheets are filled blank by blank, times the blanks, times the ways that one may lie;
        0: whole strips only
    tries : shuffled packings, None: as many as the number of blanks allows
    masks : masks laid on plain orders of true shapes, and again on bettering the last sheets
    lateness : steps after which a worse layout of true shapes is no longer forgiven
    until : clock time at which optional steps stop; only a longer search has one
    """

    work: float = 0.0
    tries: int | None = None
    masks: int = 60_000
    lateness: int = 12
    seed: int = 1
    until: float | None = None

    def seconds(self) -> float | None:
        """Time that is left, or None where only counts matter."""
        return None if self.until is None else self.until - monotonic()

    def over(self) -> bool:
        """Whether the time of a longer search is up."""
        return self.until is not None and monotonic() >= self.until


NORMAL = Effort(work=1e5, tries=500)
SAVE = 2e6  # work where a denser nest may do without a sheet
METAL = Effort(work=2.4e7)  # for the least metal, whatever setting the gauge costs
DEEP = Effort(work=6e7, masks=40_000)  # again and again in a longer search
