"""A job: parts to make, with what, and what was decided about findings."""

from dataclasses import dataclass
from pathlib import Path

from flatgen.core.words import Units
from flatgen.model.part import Part
from flatgen.model.shop import Shop


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
    coupons: bool = True  # whether test bends that the shop has no record of are nested with the parts
    remake: bool = False  # only rejected pieces are made, again
    sources: tuple[Path, ...] = ()  # every file that it was read from
