"""Sheets that were begun: their layout stays in the book, cuts are entered as they are made, what is left stays stock.

A booked packet is all its sheets cut to the last cut; there is no other way into the stock for what a nest leaves.
Lengths mm.
"""

import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from flatgen.core.outline import Outline
from flatgen.errors import InputError, RecordError
from flatgen.model.plan import OFFCUT, Nest
from flatgen.model.tally import Event
from flatgen.records.book import Book, now
from flatgen.records.runs import Packet, nest_of
from flatgen.records.stock import StockSheet, enter_sheet, find, move, next_mark, sheet_for
from flatgen.records.tally import events, put, sums
from flatgen.tally.sheets import REST, SheetState, last_cut, rest_sheets, state

if TYPE_CHECKING:
    from flatgen.records.coupons import Coupon

STRIPS = "strips"  # test bends cut


@dataclass(frozen=True, slots=True)
class Begun:
    """A sheet with the layout that it was begun by; ``done`` is the last cut made.

    base : blanks by part that were entered without their sheet before its packet was made
    """

    mark: str
    job: str
    nest: Nest
    outlines: Mapping[str, Outline]
    figures: Mapping[str, Any]
    kerf: float
    packet: str
    number: int
    base: Mapping[str, int]
    done: int = 0

    @property
    def state(self) -> SheetState:
        """What is off it and what is left."""
        return state(self.nest, self.outlines, self.done, self.kerf)

    @property
    def finished(self) -> bool:
        """Whether nothing more is to be cut from it."""
        return self.done >= last_cut(self.nest)


@dataclass(frozen=True, slots=True)
class Made:
    """What came of entering cuts: the sheet's mark, blanks by part, off-cuts by letter, all that is new."""

    mark: str
    blanks: Mapping[str, int]
    offcuts: Mapping[str, StockSheet]
    done: int
    entry: int = 0


def begun_sheets(book: Book, job: str | None = None, everything: bool = False) -> tuple[Begun, ...]:
    """Sheets that were begun and not finished, of one job or all; ``everything``: also finished and closed ones."""
    rows = book.rows("SELECT DISTINCT job FROM event WHERE kind = 'begun'")
    found: dict[str, Begun] = {}
    closed = set()
    for name in [row["job"] for row in rows if job in (None, row["job"])]:
        for event in events(book, name, "begun", "cuts", "closed"):
            if event.kind == "begun":
                found[event.sheet] = _begun(name, event)
            elif event.kind == "cuts" and event.sheet in found:
                found[event.sheet] = replace(found[event.sheet], done=int(event.place))
            elif event.kind == "closed":
                closed.add(event.sheet)
    return tuple(one for one in found.values() if everything or not (one.finished or one.mark in closed))


def _begun(job: str, event: Event) -> Begun:
    facts = event.facts
    outlines = {part: tuple((x, y, b) for x, y, b in ring) for part, ring in facts["outlines"].items()}
    return Begun(
        event.sheet,
        job,
        nest_of(facts["nest"]),
        outlines,
        facts["figures"],
        facts["kerf"],
        facts["packet"],
        facts["number"],
        facts["base"],
    )


def cut_sheet(
    book: Book, packet: Packet, number: int, upto: int | None = None, by: str = "", run: int | None = None
) -> Made:
    """Enter that a sheet of a packet was cut up to a cut of its order, all where None; begins it where it was not.

    number : of the sheet in its packet, 1 the first

    Raises
    ------
    InputError : no such sheet or cut, or that far it was cut already; RecordError : the sheet is not on hand any more
    """
    where = f"sheet {number}"
    if not 1 <= number <= len(packet.nests):
        raise InputError(f"the packet has {len(packet.nests)} sheets", where=where)
    entry = packet.nests[number - 1]
    one = _known(book, packet, number, entry)
    done, last = (one.done, last_cut(one.nest)) if one else (0, last_cut(nest_of(entry)))
    upto = last if upto is None else upto
    if not done < upto <= last:
        said = f"it is cut up to cut {done} of {last} already" if upto <= last else f"its last cut is {last}"
        raise InputError(f"cut {upto}: {said}", where=f"sheet {one.mark if one else number}")
    return _cut_on(book, one or _begin(book, packet, number, entry, by, run), upto, by, run)


def cut_on(book: Book, job: str, mark: str, upto: int | None, by: str = "") -> Made:
    """The same for a begun sheet by its mark."""
    one = next((one for one in begun_sheets(book, job) if one.mark == mark), None)
    if one is None:
        known = ", ".join(one.mark for one in begun_sheets(book, job)) or "none"
        raise InputError(f"it is no sheet of this job that was begun and not finished; begun: {known}", where=mark)
    upto = last_cut(one.nest) if upto is None else upto
    if not one.done < upto <= last_cut(one.nest):
        raise InputError(f"cut {upto}: it is cut up to {one.done} of {last_cut(one.nest)}", where=f"sheet {mark}")
    return _cut_on(book, one, upto, by, None)


def _known(book: Book, packet: Packet, number: int, entry: Mapping[str, Any]) -> Begun | None:
    """The sheet, where it was begun by this packet, or the packet keeps the layout that it was begun by."""
    for one in begun_sheets(book, packet.job, everything=True):
        if entry.get("begun") == one.mark or (one.packet, one.number) == (packet.digest, number):
            return one
    return None


def _begin(book: Book, packet: Packet, number: int, entry: Mapping[str, Any], by: str, run: int | None) -> Begun:
    nest = nest_of(entry)
    sheet = _metal(book, packet, nest, by)
    move(book, sheet.id, -1, "cut up", by, run)
    laid = {p.part for p in nest.placements}
    facts = {
        "packet": packet.digest,
        "number": number,
        "nest": entry,
        "kerf": float(entry.get("kerf", 0.0)),
        "outlines": {part: packet.parts[part]["blank"]["outline"] for part in laid},
        "figures": {part: packet.figures(part) for part in laid},
        "base": {part: packet.parts[part].get("cut_by_number", 0) for part in laid},
    }
    event = Event("begun", sheet=sheet.mark, by=by, facts=json.loads(json.dumps(facts)), run=run)
    put(book, packet.job, event)
    return _begun(packet.job, event)


def _metal(book: Book, packet: Packet, nest: Nest, by: str) -> StockSheet:
    """The sheet that a nest lies on: a rest of a begun one, an off-cut of the packet, else as the stock has it."""
    name = nest.sheet.id
    mark, slash, number = name.rpartition(REST)
    for one in begun_sheets(book, everything=True) if slash else ():
        if one.mark == mark:
            rests = close(book, one, by)
            if int(number) not in rests:
                raise RecordError(f"{book.path}: {name} is not there any more; flatgen make plans on what is left")
            return find(book, rests[int(number)])
    if name.startswith(OFFCUT):
        letter = name.removeprefix(OFFCUT)
        for event in reversed(events(book, packet.job, "cuts")):
            if event.facts.get("packet") == packet.digest and letter in event.facts["remnants"]:
                return find(book, event.facts["remnants"][letter])
        raise InputError(f"it lies on {name}, which is not cut off yet; enter the cuts of the sheet before it first")
    return sheet_for(book, nest, by)


def close(book: Book, one: Begun, by: str) -> dict[int, str]:
    """Let the layout of a begun sheet go: each rectangle that is left is a remnant; their marks by number."""
    for event in events(book, one.job, "closed"):
        if event.sheet == one.mark:
            return {int(k): mark for k, mark in event.facts["rests"].items()}
    parent = find(book, one.mark)
    left = rest_sheets(one.mark, one.nest.sheet, one.state.rests)
    rests = {k: _remnant(book, parent, (s.width, s.height), s.bad_areas, by, None) for k, s in enumerate(left, 1)}
    marks = {k: sheet.mark for k, sheet in rests.items()}
    put(book, one.job, Event("closed", sheet=one.mark, by=by, facts={"rests": {str(k): m for k, m in marks.items()}}))
    return marks


def _remnant(
    book: Book,
    parent: StockSheet,
    size: tuple[float, float],
    bad: tuple[tuple[float, float, float, float], ...],
    by: str,
    run: int | None,
) -> StockSheet:
    remnant = StockSheet(
        mark=next_mark(book, "R"),
        material=parent.material,
        thickness=parent.thickness,
        width=size[0],
        height=size[1],
        grain=parent.grain,
        measured=parent.measured,
        batch=parent.batch,
        cut_from=parent.mark,
        recorded_at=now(),
        bad_areas=bad,
    )
    move(book, enter_sheet(book, remnant, remnant.mark, by, parent.id), 1, "left over", by, run)
    return remnant


def _cut_on(book: Book, one: Begun, upto: int, by: str, run: int | None) -> Made:
    before, after = one.state, replace(one, done=upto).state
    off = Counter(p.part for p in after.off)
    off.subtract(p.part for p in before.off)
    parent = find(book, one.mark)
    had = {o.id for o in before.offcuts}
    remnants = {
        o.id: _remnant(book, parent, (o.width, o.height), (), by, run) for o in after.offcuts if o.id not in had
    }
    blanks = {part: n for part, n in off.items() if n}
    loose = _loose(book, one)
    known = {part: max(0, min(n, loose[part])) for part, n in blanks.items() if "combination" not in one.figures[part]}
    facts = {
        "packet": one.packet,
        "remnants": {letter: sheet.mark for letter, sheet in remnants.items()},
        "loose": {part: n for part, n in known.items() if n},
    }
    entry = put(book, one.job, Event("cuts", place=str(upto), sheet=one.mark, by=by, facts=facts, run=run))
    for part, pieces in blanks.items():
        new, figures = pieces - known.get(part, 0), one.figures[part]
        if new:
            kind = STRIPS if "combination" in figures else "cut"
            put(book, one.job, Event(kind, part, new, sheet=one.mark, by=by, facts=figures, run=run), entry)
    return Made(one.mark, blanks, remnants, upto, entry)


def _loose(book: Book, one: Begun) -> Counter[str]:
    """Blanks entered without their sheet since the packet was made, that none of its sheets has accounted for yet.

    They are those that now come off its sheets, and are not to count twice.
    """
    left = Counter({part: -many for part, many in one.base.items()})
    for event in sums(book, one.job):
        if event.kind == "cut" and not event.sheet:
            left[event.part] += event.pieces
    for event in events(book, one.job, "cuts"):
        if event.facts["packet"] == one.packet:
            left.subtract(event.facts["loose"])
    return left


def taken_back(book: Book, event: Event, by: str) -> None:
    """Bring the stock back to what it was before an entry of cuts, or of a sheet begun, that was taken back."""
    gone = event.facts.get("remnants", {}).values() if event.kind == "cuts" else ()
    for mark in gone:
        sheet = find(book, mark)
        if not sheet.on_hand:
            raise InputError(f"its off-cut {mark} was used since", where=f"entry {event.id}")
        move(book, sheet.id, -1, "given up", by, None, f"entry {event.id} of the tally was taken back")
    if event.kind == "begun":
        move(book, find(book, event.sheet).id, 1, "found again", by, None, f"entry {event.id} was taken back")


def strips_in_hand(book: Book, job: str) -> tuple[tuple[tuple[Any, ...], int], ...]:
    """Test bends of a job that are cut and not recorded yet: combination, how many."""
    entered = events(book, job, STRIPS)
    if not entered:
        return ()
    from flatgen.records.coupons import current_coupons

    cut: dict[tuple[Any, ...], tuple[int, str]] = {}
    for event in entered:
        key = tuple(event.facts["combination"])
        many, since = cut.get(key, (0, event.at))
        cut[key] = (many + event.pieces, since)
    coupons = current_coupons(book)
    left = []
    for key, (many, since) in cut.items():
        recorded = sum(c.recorded_at >= since and _proves(key, c) for c in coupons)
        if many > recorded:
            left.append((key, many - recorded))
    return tuple(left)


def _proves(key: tuple[Any, ...], coupon: "Coupon") -> bool:
    from flatgen.records.coupons import same_combination

    material, thickness, radius, grain, angle = key
    return same_combination(material, thickness, radius, grain, angle, coupon)
