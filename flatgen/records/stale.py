"""What changed in the middle of a job: its order, and blanks cut to figures that hold no more. Lengths mm."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flatgen.core.words import counted
from flatgen.errors import InputError
from flatgen.model.finding import Finding, Severity
from flatgen.model.tally import CUT, GOOD, OLD_BLANKS, Event, Figures, Ordered
from flatgen.records.book import Book
from flatgen.records.tally import enter_in, history, last_order, lots, order_of, put, sums
from flatgen.said import Text, joined, said, size, within
from flatgen.tally.counts import left
from flatgen.tally.order import same_metal


@dataclass(frozen=True, slots=True)
class Stale:
    """Blanks in work of one part that were cut to other figures than now, nobody having decided on them yet."""

    part: str
    pieces: int
    old: dict[str, Any]
    new: dict[str, Any]

    @property
    def differences(self) -> Text:
        """What is different, sizes as they were and are."""
        found: list[Text] = []
        if self.old["revision"] != self.new["revision"]:
            found.append(f"revision {self.old['revision'] or 'none'}, now {self.new['revision'] or 'none'}")
        for key, name in (("thickness", "developed for a thickness of "), ("width", "wide "), ("height", "high ")):
            if abs(self.old[key] - self.new[key]) > 5e-4:
                found.append(said(name, size(self.old[key]), ", now ", size(self.new[key])))
        if self.old["shape"] != self.new["shape"] and all(isinstance(one, str) for one in found):
            found.append("holes or outline are others inside the same size")
        return joined("; ", found)

    @property
    def rework(self) -> Text:
        """How the old blank becomes the new one, where cutting does it; empty where it does not."""
        less = {name: self.old[name] - self.new[name] for name in ("width", "height")}
        if min(less.values()) < -5e-4 or abs(self.old["thickness"] - self.new["thickness"]) > 0.3:
            return ""
        cuts = [said("shear ", size(n), f" off its {name}") for name, n in less.items() if n > 5e-4]
        return joined(" and ", cuts) if cuts else "drill and trim anew where the drawing has changed"

    @property
    def found(self) -> Text:
        """What was found."""
        return said(f"{counted(self.pieces, 'blank')} of {self.part} cut to old figures: ", self.differences)

    @property
    def todo(self) -> Text:
        """The answers that there are, each with its command."""
        how = f"{self.part} {self.pieces}"
        rework = said("rework, ", self.rework, f" (tally rework {how})") if self.rework else "no cut can rework them"
        return said(f"use as cut (tally use {how}); ", rework, f"; or reject (tally reject {how} --old --why …)")

    @property
    def text(self) -> Text:
        """All of it in one line."""
        return said(self.found, ": ", self.todo)


DECIDED = ("used", "reworked")
OLD_BLANKS_RULE = (
    OLD_BLANKS, "warn", "Blanks in work are cut to the figures that hold now.", "common practice"
)  # fmt: skip


def old_blank_findings(lots_there: Iterable[Event], figures: Mapping[str, Figures]) -> tuple[Finding, ...]:
    """A finding for each lot of blanks that was cut to other figures than these."""
    return tuple(
        Finding(
            rule=OLD_BLANKS,
            severity=Severity.WARN,
            part=one.part,
            where="blanks cut",
            value=float(one.pieces),
            limit=0.0,
            message=one.found,
            todo=one.todo,
            source=OLD_BLANKS_RULE[3],
            unit="pieces",
        )
        for one in stale_of(lots_there, figures)
    )


def stale_blanks(book: Book, job: str, order: Iterable[Ordered]) -> tuple[Stale, ...]:
    """Blanks of a job in work that were cut to other figures than its order has now."""
    figures = {one.part: one.figures for one in order if one.figures}
    cut = (lot for lot in lots(book, job, CUT, *DECIDED) if lot.part in figures and lot.facts)
    if all(_holds(lot.facts, figures[lot.part]) for lot in cut):
        return ()  # mostly so, and what is left of each lot need not be found then
    return stale_of(lots_left(book, job), figures)


def stale_of(lots_there: Iterable[Event], figures: Mapping[str, Figures]) -> tuple[Stale, ...]:
    """The same from the lots of blanks that are in work."""
    return tuple(
        Stale(lot.part, lot.pieces, lot.facts, figures[lot.part].as_dict())
        for lot in lots_there
        if lot.part in figures and lot.facts and not _holds(lot.facts, figures[lot.part])
    )


def lots_left(book: Book, job: str) -> tuple[Event, ...]:
    """Blanks of a job in work, by the figures that they were cut to or passed for.

    What was finished is taken from the lot that was cut last before; nobody says from which it was.
    """
    known: dict[str, list[Event]] = {}
    for lot in lots(book, job, CUT, *DECIDED):
        known.setdefault(lot.part, []).append(lot)
    finished = Counter[str]()
    for event in sums(book, job):
        finished[event.part] += event.pieces * _is_finish(event)
    found = []
    for part, own in sorted(known.items()):
        if len(own) > 1:
            found += _replayed(part, history(book, job, part))
        elif own[0].pieces > finished[part]:
            found.append(replace(own[0], pieces=own[0].pieces - finished[part]))
    return tuple(found)


def _is_finish(event: Event) -> bool:
    return event.kind in (GOOD, "conceded") or (event.kind == "rejected" and event.place != GOOD)


def _replayed(part: str, happened: Iterable[Event]) -> list[Event]:
    """What is left of each lot of a part after all that happened to it, in order."""
    pieces: dict[str, int] = {}
    facts: dict[str, dict[str, Any]] = {}

    def put_in(what: dict[str, Any], many: int) -> None:
        name = _name(what)
        facts[name] = what
        pieces[name] = pieces.pop(name, 0) + many  # the lot that was cut last is the last

    def take(many: int, names: Iterable[str]) -> None:
        for name in names:
            less = min(many, pieces.get(name, 0))
            pieces[name] = pieces.get(name, 0) - less
            many -= less

    for event in happened:
        if event.kind == CUT:
            put_in(event.facts, event.pieces)
        elif event.kind in DECIDED:
            take(event.pieces, [_name(event.facts["old"])])
            put_in(event.facts["new"], event.pieces)
        elif _is_finish(event):
            take(event.pieces, [_name(event.facts["old"])] if event.facts else list(reversed(pieces)))
    return [Event(CUT, part, many, facts=facts[name]) for name, many in pieces.items() if many]


def _name(figures: dict[str, Any]) -> str:
    return f"{figures['revision']} {figures['shape']} {figures['thickness']}" if figures else ""


def _holds(old: dict[str, Any], figures: Figures) -> bool:
    """Whether blanks cut to old figures are as they would be cut now."""
    new = figures.as_dict()
    return same_metal(old, new) and old["revision"] == new["revision"]


def decide(book: Book, job: str, order: Sequence[Ordered], asked: Event, units: str, basis: dict[str, Any]) -> str:
    """Enter, inside a transaction, that old blanks of a part are used, reworked or rejected; said in words.

    Raises
    ------
    InputError : so many old blanks are not there
    """
    part, pieces, kind = asked.part, asked.pieces, asked.kind
    there = [one for one in stale_blanks(book, job, order) if one.part == part]
    for one in there:
        if pieces <= one.pieces:
            how = within(one.rework if kind == "reworked" and one.rework else one.differences, units)
            event = replace(asked, why=asked.why or how, facts={"old": one.old, "new": one.new})
            if kind == "rejected":
                enter_in(book, job, [event], order, basis)
            else:
                put(book, job, event)
            return f"{counted(pieces, 'blank')} of {part} {kind}: {how}"
    left = sum(one.pieces for one in there)
    raise InputError(f"{counted(left, 'blank')} of it wait for a decision", where=f'part "{part}"')


def changes(book: Book, job: str, order: Sequence[Ordered]) -> list[str]:
    """What the order says otherwise than when something was last entered: quantities, parts dropped or new, hands."""
    last = last_order(book, job)
    if last is None:
        return []
    old = {one.part: one for one in order_of(last)}
    new = {one.part: one for one in order}
    told = []
    for part, one in new.items():
        if part not in old:
            hand = f", {one.hand} hand" if one.hand else ""
            told.append(f"{part}: new in the job{hand}, {one.wanted} wanted")
        elif one.wanted != old[part].wanted:
            way = "raised" if one.wanted > old[part].wanted else "lowered"
            told.append(f"{part}: {way} from {old[part].wanted} to {one.wanted} wanted")
    dropped = [part for part in old if part not in new]
    happened = sums(book, job) if dropped else ()
    for counts in left([old[part] for part in dropped], [e for e in happened if e.part in dropped]):
        kept = f"; {counts.cut - counts.rejected} pieces of it are there" if counts.cut > counts.rejected else ""
        told.append(f"{counts.part}: no longer in the job{kept}")
    return told
