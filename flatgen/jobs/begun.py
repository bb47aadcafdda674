"""What a job does with the sheets that it has begun: it keeps their layout while that holds, else their rest is stock.

A layout holds while every blank that is still to come off it is the metal that was laid out, and at least half of them
are wanted; those that are not come as spares. Lengths mm.
"""

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from flatgen.model.job import Job
from flatgen.model.plan import Nest
from flatgen.model.results import Developed
from flatgen.model.shop import Sheet
from flatgen.model.tally import BegunSheet
from flatgen.tally.order import facts_of, same_metal

STILL_WANTED = 0.5  # share of the blanks on a begun sheet, below which the rest is laid anew


@dataclass(frozen=True, slots=True)
class Kept:
    """Nests that keep the layout of begun sheets, pieces that lie on them by part, and what is free for others."""

    nests: tuple[Nest, ...] = ()
    pieces: Mapping[str, int] = field(default_factory=Counter)
    rests: tuple[Sheet, ...] = ()

    def of(self, material: str, thickness: float, tool: str) -> tuple[Nest, ...]:
        """Nests of one metal and tool."""
        return tuple(n for n in self.nests if n.sheet.is_of(material, thickness) and n.tool == tool)


def kept_layouts(job: Job, parts: Iterable[Developed]) -> Kept:
    """Sheets of a job that were begun, one after the other, against what is to be cut of its parts."""
    made = {one.part.id: one for one in parts if not one.stopped}
    on_them: Counter[str] = Counter()
    nests: list[Nest] = []
    rests: list[Sheet] = []
    for sheet in job.begun:
        laid = Counter(p.part for nest in sheet.nests for p in nest.placements)
        wanted = {part: max(0, min(n, _to_cut(part, made) - on_them[part])) for part, n in laid.items()}
        if _holds(laid, sheet, made) and sum(wanted.values()) >= STILL_WANTED * laid.total() > 0:
            on_them.update(wanted)
            nests += [replace(nest, begun=sheet.mark, utilisation=_used(nest, made)) for nest in sheet.nests]
        else:
            rests += sheet.rests
    return Kept(tuple(nests), on_them, tuple(rests))


def _to_cut(part: str, made: Mapping[str, Developed]) -> int:
    return made[part].pieces if part in made else 0


def _holds(laid: Iterable[str], sheet: BegunSheet, made: Mapping[str, Developed]) -> bool:
    """Whether the parts on a sheet are still those of the job, as they are laid out."""
    return all(
        part in made and same_metal(sheet.figures[part], facts_of(made[part].part, made[part].blank)) for part in laid
    )


def _used(nest: Nest, made: Mapping[str, Developed]) -> float:
    blanks = math.fsum(made[p.part].blank.area for p in nest.placements)
    return blanks / (nest.sheet.width * nest.sheet.height)
