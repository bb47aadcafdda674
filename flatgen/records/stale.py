"""What changed in the middle of a job: its order, and blanks cut to figures that hold no more. Lengths mm."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flatgen.core.words import counted
from flatgen.errors import InputError
from flatgen.model.tally import Counts, Event, Figures, Ordered
from flatgen.records.book import Book
from flatgen.records.tally import last_order, lots, order_of, put, sums
from flatgen.tally.counts import left
from flatgen.tally.order import same_metal
from flatgen.units import format_length


@dataclass(frozen=True, slots=True)
class Stale:
    """Blanks in work of one part that were cut to other figures than now, nobody having decided on them yet."""

    part: str
    pieces: int
    old: dict[str, Any]
    new: dict[str, Any]

    def differences(self, units: str) -> tuple[str, ...]:
        """What is different, in words, lengths as they were and are."""
        found = []
        if self.old["revision"] != self.new["revision"]:
            found.append(f"revision {self.old['revision'] or 'none'}, now {self.new['revision'] or 'none'}")
        for key, name in (("thickness", "developed for a thickness of"), ("width", "wide"), ("height", "high")):
            if abs(self.old[key] - self.new[key]) > 5e-4:
                found.append(f"{name} {_length(self.old[key], units)}, now {_length(self.new[key], units)}")
        if not found or (self.old["shape"] != self.new["shape"] and len(found) == 1 and found[0].startswith("rev")):
            found.append("holes or outline are others inside the same size")
        return tuple(found)

    def rework(self, units: str) -> str:
        """How the old blank becomes the new one, where cutting does it; empty where it does not."""
        less = {name: self.old[key] - self.new[key] for key, name in (("width", "width"), ("height", "height"))}
        if min(less.values()) < -5e-4 or abs(self.old["thickness"] - self.new["thickness"]) > 0.3:
            return ""
        cuts = [f"shear {_length(n, units)} off its {name}" for name, n in less.items() if n > 5e-4]
        return " and ".join(cuts) or "drill and trim anew where the drawing has changed"

    def said(self, units: str) -> str:
        """All of it in a sentence or two."""
        rework = self.rework(units)
        how = f" Rework: {rework}." if rework else " It cannot be reworked by cutting."
        return f"{counted(self.pieces, 'blank')} of {self.part}: {'; '.join(self.differences(units))}.{how}"


def _length(mm: float, units: str) -> str:
    return format_length(mm, units, unit=True)


DECIDED = ("used", "reworked")


def stale_blanks(book: Book, job: str, order: Iterable[Ordered]) -> tuple[Stale, ...]:
    """Blanks of a job in work that were cut to other figures than its order has now."""
    known = {one.part: one for one in order if one.figures}
    cut = lots(book, job, "cut", *DECIDED)
    odd = {e.part for e in cut if e.part in known and e.kind == "cut" and not _holds(e.facts, known[e.part].figures)}
    happened = sums(book, job) if odd else ()
    counts = left([known[part] for part in odd], [e for e in happened if e.part in odd])
    return stale_of(cut, counts, {part: one.figures for part, one in known.items() if one.figures and part in odd})


def stale_of(cut: Iterable[Event], counts: Iterable[Counts], figures: Mapping[str, Figures]) -> tuple[Stale, ...]:
    """The same from lots that were cut and decisions on them; what was finished is taken from the oldest lots."""
    decided: Counter[tuple[str, str]] = Counter()
    lots_of: dict[str, list[Event]] = {}
    for event in cut:
        if event.kind in DECIDED:
            decided[event.part, _name(event.facts["old"])] += event.pieces
        else:
            lots_of.setdefault(event.part, []).append(event)
    gone = {one.part: one.good + one.rejected for one in counts}
    found = []
    for part in sorted(lots_of.keys() & figures.keys() & gone.keys()):
        for lot in lots_of[part]:
            here = max(0, lot.pieces - gone[part])
            gone[part] -= lot.pieces - here
            name = (part, _name(lot.facts))
            spoken = min(here, decided[name])
            decided[name] -= spoken
            if here > spoken and not _holds(lot.facts, figures[part]):
                found.append(Stale(part, here - spoken, lot.facts, figures[part].as_dict()))
    return tuple(_added(found))


def _holds(old: dict[str, Any], figures: Figures | None) -> bool:
    """Whether blanks cut to old figures are as they would be cut now."""
    new = figures.as_dict() if figures else {}
    return same_metal(old, new) and old["revision"] == new.get("revision")


def decide(book: Book, job: str, order: Sequence[Ordered], asked: Event, units: str) -> str:
    """Enter, inside a transaction, that old blanks of a part are used or reworked; what was decided, in words.

    Raises
    ------
    InputError : so many old blanks are not there
    """
    part, pieces, kind = asked.part, asked.pieces, asked.kind
    for one in stale_blanks(book, job, order):
        if one.part == part and pieces <= one.pieces:
            said = "; ".join(one.differences(units))
            how = said if kind == "used" else one.rework(units) or said
            facts = {"old": one.old, "new": one.new}
            put(book, job, replace(asked, why=how, facts=facts))
            return f"{counted(pieces, 'blank')} of {part} {kind}: {how}"
    left = sum(one.pieces for one in stale_blanks(book, job, order) if one.part == part)
    raise InputError(f"{counted(left, 'blank')} of it wait for a decision", where=f'part "{part}"')


def _added(found: Sequence[Stale]) -> Iterator[Stale]:
    """Lots of the same figures as one."""
    for name in dict.fromkeys((one.part, _name(one.old)) for one in found):
        same = [one for one in found if (one.part, _name(one.old)) == name]
        yield Stale(same[0].part, sum(one.pieces for one in same), same[0].old, same[0].new)


def _name(figures: dict[str, Any]) -> str:
    return f"{figures['revision']} {figures['shape']} {figures['thickness']}"


def changes(book: Book, job: str, order: Sequence[Ordered]) -> list[str]:
    """What the order says otherwise than when something was last entered: quantities, parts dropped or new, hands."""
    last = last_order(book, job)
    if last is None:
        return []
    old = {one.part: one for one in order_of(last)}
    new = {one.part: one for one in order}
    said = []
    for part, one in new.items():
        if part not in old:
            hand = f", {one.hand} hand" if one.hand else ""
            said.append(f"{part}: new in the job{hand}, {one.wanted} wanted")
        elif one.wanted != old[part].wanted:
            way = "raised" if one.wanted > old[part].wanted else "lowered"
            said.append(f"{part}: {way} from {old[part].wanted} to {one.wanted} wanted")
    dropped = [part for part in old if part not in new]
    happened = sums(book, job) if dropped else ()
    for counts in left([old[part] for part in dropped], [e for e in happened if e.part in dropped]):
        kept = f"; {counts.cut - counts.rejected} pieces of it are there" if counts.cut > counts.rejected else ""
        said.append(f"{counts.part}: no longer in the job{kept}")
    return said
