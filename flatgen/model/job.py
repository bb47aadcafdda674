"""A job: parts to make, with what, and what was decided about findings."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen.core.overrun import pieces_to_cut
from flatgen.core.words import Units
from flatgen.model.checked import Checked
from flatgen.model.part import Part, Process
from flatgen.model.shop import Shop
from flatgen.model.tally import BegunSheet, Counts, Event, Pace


@dataclass(frozen=True, slots=True)
class Waiver:
    """A finding that the builder accepts for one part, with the reason in writing."""

    rule: str
    part: str
    reason: str
    where: str = ""  # empty: everywhere on the part


@dataclass(frozen=True, slots=True)
class Job:
    """All of job.toml, its tables and its shop."""

    title: str
    units: Units  # for display
    shop: Shop
    parts: tuple[Part, ...]
    waivers: tuple[Waiver, ...]
    file: Path
    cutting: tuple[tuple[str, str], ...] = ()  # part id -> cutting tool name
    digest: str = ""
    drawing_owner: str = ""
    notes: tuple[str, ...] = ()
    allowance: tuple[tuple[str, str], ...] = ()  # part id -> method name
    process: Process = "one by one"  # of parts that name none
    coupons: bool = True  # whether test bends that the shop has no record of are nested with the parts
    tally: tuple[Counts, ...] = ()  # how far each part is, in the order of the parts
    begun: tuple[BegunSheet, ...] = ()
    lots: tuple[Event, ...] = ()  # blanks that were cut, by what they were cut to, and decisions on old ones
    paces: tuple[tuple[str, Pace], ...] = ()  # the shop's own minutes a piece, by kind of work
    strips: tuple[
        tuple[tuple[Any, ...], int], ...
    ] = ()  # test bends that are cut and not recorded: combination, how many
    checked: tuple[Checked, ...] = ()  # bars that the brake was checked with
    sources: tuple[Path, ...] = ()  # every file that it was read from

    def counts(self, part: str) -> Counts:
        """How far a part is; of a job without a tally nothing is done."""
        known = next((one for one in self.tally if one.part == part), None)
        if known is None:
            wanted = next(one.quantity for one in self.parts if one.id == part)
            return Counts(part, wanted, pieces_to_cut(wanted, self.shop.spoilage) - wanted, 0, 0, 0)
        return known
