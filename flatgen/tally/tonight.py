"""What to do in an evening: finish what is begun before beginning more, in an order that changes little.

Pieces that wait to be looked at come first, then bent lengths that wait for the saw, drilling and settings for blanks
that are there, then sheets, begun ones before others. Minutes are the shop's own medians where it has enough entries,
else those of its file. Lengths mm.
"""

import math
import statistics
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from flatgen.core.words import counted
from flatgen.model.plan import Nest, Setup
from flatgen.model.results import Results
from flatgen.model.shop import LONG_BEND, Minutes
from flatgen.model.spent import RIP_SHARE, to_cut, to_set
from flatgen.model.tally import DRILLED, Counts, Event, Pace
from flatgen.tally.first import first_cuts

ENOUGH_ENTRIES = 8  # of a kind of work, before their median takes the place of the guess; common practice, no source
PAUSE = 90.0  # a longer time between two entries was not all work; common practice, no source [min]


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do: what kind, in words, how long it takes."""

    kind: str
    text: str
    minutes: float


def paces(events: Iterable[Event]) -> dict[str, Pace]:
    """Minutes a piece that a shop takes, by kind of work: from one entry of a person to his next on the same day."""
    last: dict[str, datetime] = {}
    taken: dict[str, list[float]] = {}
    for event in sorted(events, key=lambda e: (e.at, e.id)):
        if not event.at:
            continue
        at = datetime.fromisoformat(event.at)
        before = last.get(event.by)
        last[event.by] = at
        if before is None or event.follows is not None or not event.pieces or event.undoes:
            continue
        minutes = (at - before).total_seconds() / 60.0
        if 0.0 < minutes <= PAUSE * max(1.0, event.pieces / 10.0):
            taken.setdefault(event.kind, []).append(minutes / event.pieces)
    return {kind: _pace(minutes) for kind, minutes in taken.items() if len(minutes) >= ENOUGH_ENTRIES}


def _pace(minutes: list[float]) -> Pace:
    low, middle, high = statistics.quantiles(minutes, n=4)
    return Pace(middle, low, high, len(minutes))


@dataclass(slots=True)
class _Evening:
    """The evening as it fills up: time left, and how many pieces each station has in front of it.

    there : pieces of each part in work; ``ready`` : those of them through all stations
    provisional : parts that wait for test bends, and are not bent before these are recorded
    """

    left: float
    tasks: list[Task]
    waiting: dict[tuple[str, str], int]
    ready: dict[str, int]
    there: dict[str, int]
    provisional: frozenset[str]

    def add(self, kind: str, text: str, minutes: float) -> bool:
        """Put a task in if it fits; whether it did."""
        if minutes > self.left:
            return False
        self.left -= minutes
        self.tasks.append(Task(kind, text, minutes))
        return True

    def look(self, one: Counts) -> None:
        """Count anew how many pieces of a part are through all stations."""
        stations = [self.waiting[one.part, station] for station, _ in one.waiting]
        self.ready[one.part] = self.there[one.part] - max(stations, default=0)


def tonight(results: Results, minutes: float) -> tuple[Task, ...]:
    """What to do of a job in so many minutes."""
    own = dict(results.job.paces)
    guess = results.job.shop.minutes
    counts = [made.counts for made in results.parts if made.counts and not (made.stopped or made.finished)]
    evening = _Evening(
        minutes,
        [],
        {(one.part, station): n for one in counts for station, n in one.waiting},
        {one.part: one.ready for one in counts},
        {one.part: one.in_work for one in counts},
        frozenset(made.part.id for made in results.parts if made.waits),
    )
    _test_bends(results, evening, guess)
    _measure(counts, evening, own, guess)
    _saw(results, counts, evening, own, guess)
    _bend(results, counts, evening, own, guess)
    _saw(results, counts, evening, own, guess)
    _measure(counts, evening, own, guess)
    _cut(results, evening, own, guess)
    return tuple(evening.tasks)


def _test_bends(results: Results, evening: _Evening, guess: Minutes) -> None:
    cuts = first_cuts(results)
    for made in results.parts:
        if made.part.kind == "coupon" and not made.stopped:
            strips = counted(made.part.quantity, "strip")
            sheets = ", ".join(
                f"sheet {one.number} to cut {one.upto}" for one in cuts if made.part.id in dict(one.strips)
            )
            what = f"cut {sheets}, then bend" if sheets else "bend"
            text = f"test bend {made.part.id}: {what}, measure and record {strips} ({made.part.title}); then ask again"
            evening.add("test bends", text, guess.coupon * made.part.quantity)


def _measure(counts: Sequence[Counts], evening: _Evening, own: Mapping[str, Pace], guess: Minutes) -> None:
    a_piece = own["good"].minutes if "good" in own else guess.measure
    for one in counts:
        many = 0 if one.formed else evening.ready[one.part]
        if many and evening.add("measure", f"look at and measure {one.part}: {many}", many * a_piece):
            evening.ready[one.part] = 0


def _saw(
    results: Results, counts: Sequence[Counts], evening: _Evening, own: Mapping[str, Pace], guess: Minutes
) -> None:
    """Bent lengths sawn up, as many as the time allows, then holes of parts that are not bent."""
    parts = {one.part: one for one in counts}
    for length in (one for one in counts if one.formed):
        rips = next((row.rips for row in results.developed(length.part).part.cut_list), 0)
        patterns = [pattern for many, pattern in length.saw for _ in range(many)][: evening.ready[length.part]]
        sawn: Counter[str] = Counter()
        spent, used = 0.0, 0
        for pattern in patterns:
            pieces = sum(many for _, many in pattern)
            more = guess.saw * (RIP_SHARE * rips if rips else pieces + 1)
            if spent + more > evening.left:
                break
            spent, used = spent + more, used + 1
            sawn.update(dict(pattern))
        what = ", ".join(f"{part} {many}" for part, many in sawn.items())
        verb = "rip" if rips else "saw up"
        if used and evening.add("saw", f"{verb} {used} of {length.part}: {what}", spent):
            evening.there[length.part] -= used
            evening.look(length)
            for part, many in sawn.items():
                evening.there[part] = evening.there.get(part, 0) + many
                for station, _ in parts[part].waiting if part in parts else ():
                    evening.waiting[part, station] += many
                if part in parts:
                    evening.look(parts[part])
    for one in counts:
        if {station for station, _ in one.waiting} == {DRILLED}:
            _drill(results, one.part, evening, own, guess)
            evening.look(one)


def _bend(
    results: Results, counts: Sequence[Counts], evening: _Evening, own: Mapping[str, Pace], guess: Minutes
) -> None:
    """Drilling of what is to be bent, then settings in the plan's order; a part is taken on through all its bends."""
    parts = {one.part: one for one in counts}
    for setup in results.setups:
        there = _there(setup, evening)
        if not there:
            continue
        for part in dict.fromkeys(part for part, _ in there):
            _drill(results, part, evening, own, guess)
        # what is not drilled is not bent
        undrilled = {part: evening.waiting.get((part, DRILLED), 0) for part, _ in there}
        there = {key: min(n, evening.there[key[0]] - undrilled[key[0]]) for key, n in there.items()}
        work = own["bent"].minutes if "bent" in own else None
        changing = to_set(setup, guess) if work is None else 0.0
        fits = {}
        spent = changing
        for key, many in there.items():
            a_piece = work or _stroke(setup, key, guess)
            fits[key] = min(many, int(max(0.0, evening.left - spent) / a_piece))
            spent += fits[key] * a_piece
        said = ", ".join(f"{part} {bend} {n}" for (part, bend), n in fits.items() if n)
        if not said or not evening.add("bend", f"setting {setup.number}: {said}", spent):
            return  # settings are done in order
        for (part, bend), n in fits.items():
            evening.waiting[part, bend] -= n
            evening.look(parts[part])


def _drill(results: Results, part: str, evening: _Evening, own: Mapping[str, Pace], guess: Minutes) -> None:
    """As many pieces of a part as the time allows."""
    waiting = evening.waiting.get((part, DRILLED), 0)
    holes = len(results.developed(part).blank.holes)
    a_piece = own["drilled"].minutes if "drilled" in own else guess.hole * holes
    many = min(waiting, int(evening.left / a_piece)) if a_piece else waiting
    if many and evening.add("drill", f"drill and deburr {part}: {many}", many * a_piece):
        evening.waiting[part, DRILLED] -= many


def _there(setup: Setup, evening: _Evening) -> dict[tuple[str, str], int]:
    """Bends of a setting that blanks already cut wait for, with how many."""
    found = {}
    for op in setup.operations:
        many = min(op.pieces, evening.waiting.get((op.part, op.bend), 0))
        if many and not op.squeezed and op.part not in evening.provisional:
            found[op.part, op.bend] = many
    return found


def _stroke(setup: Setup, key: tuple[str, str], guess: Minutes) -> float:
    length = next(op.length for op in setup.operations if (op.part, op.bend) == key)
    return guess.bend_long if length > LONG_BEND else guess.bend


def _cut(results: Results, evening: _Evening, own: Mapping[str, Pace], guess: Minutes) -> None:
    """Sheets, those that were begun first; the last one up to the cut that the time allows."""
    if any(made.part.kind == "coupon" and not made.stopped for made in results.parts):
        return  # blanks wait for the test bends
    for name, nests in _sheets(results):
        cuts = sorted((cut for nest in nests for cut in nest.cuts), key=lambda cut: cut.order)
        if not cuts:
            pieces = sum(len(nest.placements) for nest in nests)
            blanks = {made.part.id: made.blank for made in results.parts}
            guessed = math.fsum(to_cut(nest, blanks, guess) for nest in nests)
            spent = pieces * own["cut"].minutes if "cut" in own else guessed
            evening.add("cut", f"{name}: {counted(pieces, 'piece')}", spent)
            continue
        spent, gauge, done = 0.0, None, None
        for cut in cuts:
            more = guess.cut + (guess.setting if gauge != round(cut.gauge, 2) else 0.0)
            if spent + more > evening.left:
                break
            spent, gauge, done = spent + more, round(cut.gauge, 2), cut
        if done is None:
            return
        whole = done is cuts[-1]
        said = f"cuts {cuts[0].order} to {done.order}{'' if whole else f' of {cuts[-1].order}'}"
        evening.add("cut", f"{name}: {said}", spent)
        if not whole:
            return


def _sheets(results: Results) -> list[tuple[str, list[Nest]]]:
    """Nests by sheet with its name, those of sheets that were begun first; what is left of one sheet together."""
    begun: dict[str, list[Nest]] = {}
    others = []
    for number, nest in enumerate((nest for report in results.nests for nest in report.nests), 1):
        if nest.begun:
            begun.setdefault(f"what is left of sheet {nest.begun}", []).append(nest)
        else:
            others.append((f"sheet {number}, {nest.sheet.id}", [nest]))
    return [*begun.items(), *others]
