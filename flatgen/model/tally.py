"""What happens to the pieces of a job, as it is entered: a sheet begun, blanks cut, drilled, bent, good, rejected.

An event is never changed; one that was wrong is taken back by another. Lengths mm.
"""

from dataclasses import dataclass, field
from typing import Any

from flatgen.model.plan import Nest
from flatgen.model.shop import Sheet

CUT, DRILLED, GOOD = "cut", "drilled", "good"  # stations of every part, beside its bends
OLD_BLANKS = "old-blanks"  # the rule that lists blanks cut to figures of before
# where a fault happened, when nobody says
PLACES = {"miscut": CUT, "misdrilled": DRILLED}
# each kind, as the log says it
KINDS = {
    "order": "the job's order",
    "begun": "sheet begun",
    "cuts": "cuts made",
    "closed": "the rest of the sheet laid anew",
    "strips": "test bends cut",
    "cut": "blanks cut",
    "drilled": "drilled",
    "bent": "bent",
    "good": "good",
    "conceded": "let pass",
    "rejected": "rejected",
    "used": "old blanks used",
    "reworked": "old blanks reworked",
    "photo": "photograph",
    "undone": "taken back",
}


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a job, or the sum of several alike.

    place : of bent, the bend; of rejected, the station where it happened; of cuts, the last cut made
    passed : of rejected, the stations that the pieces had passed when they were rejected
    sheet : mark of the sheet that blanks were cut from, empty: not told
    facts : what else is known: layout of a sheet, figures of a blank, the order
    """

    kind: str
    part: str = ""
    pieces: int = 0
    place: str = ""
    passed: tuple[str, ...] = ()
    sheet: str = ""
    why: str = ""
    note: str = ""
    facts: dict[str, Any] = field(default_factory=dict)
    by: str = ""
    at: str = ""
    id: int = 0
    undoes: int | None = None
    follows: int | None = None
    run: int | None = None


@dataclass(frozen=True, slots=True)
class Figures:
    """What a blank was cut to: revision, thickness developed with, size, digest of its outline [mm]."""

    revision: str
    thickness: float
    width: float
    height: float
    shape: str

    def as_dict(self) -> dict[str, Any]:
        """As an event keeps it."""
        return {name: getattr(self, name) for name in ("revision", "thickness", "width", "height", "shape")}


@dataclass(frozen=True, slots=True)
class BegunSheet:
    """What is left of a sheet that this job began: by the layout that it was begun by, or as stock for another.

    figures : by part, what its blanks on the sheet are
    """

    mark: str
    nests: tuple[Nest, ...]
    rests: tuple[Sheet, ...]
    figures: dict[str, dict[str, Any]]


# lengths to saw alike, with the pieces by part that each of them gives
SawList = tuple[tuple[int, tuple[tuple[str, int], ...]], ...]


@dataclass(frozen=True, slots=True)
class Ordered:
    """A part of a job's order: how many are wanted, and what is done to each.

    saw : of a formed length or a wider bent piece, what is sawn from it; how many are wanted follows from its parts
    cut_from : the formed length that the part is sawn from
    """

    part: str
    wanted: int
    bends: tuple[str, ...] = ()
    drilled: bool = False
    hand: str = ""
    figures: Figures | None = None
    saw: SawList = ()
    cut_from: str = ""

    @property
    def stations(self) -> tuple[str, ...]:
        """What a blank goes through before it is looked at."""
        return (*((DRILLED,) if self.drilled else ()), *self.bends)


@dataclass(frozen=True, slots=True)
class Pace:
    """Minutes a piece for a kind of work: the median of the shop's own entries, with its quarters."""

    minutes: float
    low: float
    high: float
    entries: int


@dataclass(frozen=True, slots=True)
class Counts:
    """How far one part is.

    spares : cut beyond what is wanted and still to be expected good, for those that will be spoiled
    done : pieces that have passed each station, by its name, rejected ones among them
    left : pieces cut or to be cut that have not passed it yet
    conceded : of the good ones, those let pass outside their limits
    reasons : what was rejected: (pieces, why, where)
    loose : of those cut, the blanks whose sheet nobody told
    formed : a length that is bent and then sawn into parts, no piece of the job; good are those sawn up
    saw : of such, what is still to be sawn
    """

    part: str
    wanted: int
    spares: int
    cut: int
    good: int
    rejected: int
    done: tuple[tuple[str, int], ...] = ()
    waiting: tuple[tuple[str, int], ...] = ()
    conceded: int = 0
    hand: str = ""
    reasons: tuple[tuple[int, str, str], ...] = ()
    loose: int = 0
    formed: bool = False
    saw: SawList = ()

    @property
    def in_work(self) -> int:
        """Cut, neither good nor rejected yet."""
        return self.cut - self.good - self.rejected

    @property
    def to_cut(self) -> int:
        """Blanks still to be cut."""
        return max(0, self.wanted + self.spares - self.good - self.in_work)

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do: spare blanks that nobody needs any more are not worked on."""
        return self.good >= self.wanted and not self.to_cut

    @property
    def ready(self) -> int:
        """Pieces through all stations that nobody has looked at yet."""
        return self.in_work - max((n for _, n in self.waiting), default=0)

    def left(self, station: str) -> int:
        """Pieces that this station still has to do, those to be cut among them."""
        return 0 if self.finished else self.to_cut + dict(self.waiting).get(station, self.in_work)

    def at(self, station: str) -> tuple[int, int]:
        """Pieces that a station still has to do, and those that it has done."""
        return self.left(station), dict(self.done).get(station, 0)

    def as_dict(self) -> dict[str, int]:
        """As results.json has them."""
        names = ("wanted", "spares", "cut", "in_work", "good", "rejected", "to_cut")
        return {name: getattr(self, name) for name in names}
