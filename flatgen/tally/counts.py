"""What is left of a job: derived from its order and its events in one place, which every count of pieces asks."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from flatgen.core.overrun import pieces_to_cut
from flatgen.core.words import counted
from flatgen.model.tally import CUT, DRILLED, GOOD, PLACES, Counts, Event, Ordered, SawList

ENOUGH_FINISHED = (
    50  # pieces before the shop's own reject rate takes the place of the guess; common practice, no source
)


def reject_rate(good: int, rejected: int, guess: float) -> tuple[float, bool]:
    """Share of pieces that are spoiled, and whether it is the shop's own.

    From ``ENOUGH_FINISHED`` pieces on the mean of Jeffreys' posterior, so that none rejected is not a rate of nought.

    >>> reject_rate(74, 3, 0.02), reject_rate(7, 3, 0.02)
    ((0.04487179487179487, True), (0.02, False))
    """
    finished = good + rejected
    if finished < ENOUGH_FINISHED:
        return guess, False
    return min(0.5, (rejected + 0.5) / (finished + 1.0)), True


def left(order: Iterable[Ordered], events: Iterable[Event], rate: float = 0.0) -> tuple[Counts, ...]:
    """How far each part of an order is; parts with events that are not in the order come last, with nothing wanted.

    rate : share of pieces expected to be spoiled
    """
    own: dict[str, list[Event]] = {}
    for event in events:
        if event.part:
            own.setdefault(event.part, []).append(event)
    parts = list(order)
    known = {one.part for one in parts}
    parts += [Ordered(part, 0) for part in own if part not in known and _counted(own[part])]
    found = {one.part: _counts(one, own.get(one.part, ()), rate) for one in parts if not one.saw}
    return tuple(_lengths(one, own.get(one.part, ()), found) if one.saw else found[one.part] for one in parts)


def stand(one: Ordered, order: Iterable[Ordered], events: Iterable[Event]) -> Counts:
    """How far one part is; of a formed length with the parts that are sawn from it."""
    parts = [one, *(other for other in order if other.cut_from == one.part)]
    names = {other.part for other in parts}
    return left(parts, [event for event in events if event.part in names])[0]


def saw_list(saw: SawList, needed: Mapping[str, int]) -> SawList:
    """So many lengths of each pattern that the pieces needed come of them, those that were planned first.

    >>> saw_list(((2, (("A", 3),)), (1, (("A", 1), ("B", 2)))), {"A": 4, "B": 1})
    ((1, (('A', 3),)), (1, (('A', 1), ('B', 2))))
    """
    need = Counter({part: many for part, many in needed.items() if many > 0})
    used = [0] * len(saw)
    while True:
        useful = [sum(min(many, need[part]) for part, many in pattern) for _, pattern in saw]
        if not any(useful):
            return tuple((n, pattern) for n, (_, pattern) in zip(used, saw, strict=True) if n)
        k = max(range(len(saw)), key=lambda k: (useful[k] > 0, used[k] < saw[k][0], useful[k]))
        used[k] += 1
        for part, many in saw[k][1]:
            need[part] = max(0, need[part] - many)


def _lengths(one: Ordered, events: Sequence[Event], parts: Mapping[str, Counts]) -> Counts:
    """Of a formed length: wanted as its parts need it, sawn up as far as these were cut."""
    sawn_from = {part for _, pattern in one.saw for part, _ in pattern if part in parts}

    def lengths(pieces: Mapping[str, int]) -> int:
        return sum(many for many, _ in saw_list(one.saw, pieces))

    to_cut = {part: parts[part].to_cut for part in sawn_from}
    wanted = lengths({part: parts[part].cut + to_cut[part] for part in sawn_from})
    sawn = lengths({part: parts[part].cut for part in sawn_from})
    own = [event for event in events if event.kind not in (GOOD, "conceded")]
    found = _counts(replace(one, wanted=wanted), [*own, Event(GOOD, one.part, sawn)], 0.0)
    return replace(found, formed=True, saw=saw_list(one.saw, to_cut))


def _counted(events: Sequence[Event]) -> bool:
    return any(event.pieces and event.kind in (CUT, GOOD, "rejected", "conceded") for event in events)


def _counts(one: Ordered, events: Sequence[Event], rate: float) -> Counts:
    by: Counter[str] = Counter()
    entered: Counter[str] = Counter()
    passed: Counter[str] = Counter()
    reasons: Counter[tuple[str, str]] = Counter()
    from_good = 0
    for event in events:
        by[event.kind] += event.pieces
        if event.kind in (DRILLED, "bent"):
            entered[event.place or DRILLED] += event.pieces
        elif event.kind == "rejected":
            reasons[event.why, event.place] += event.pieces
            from_good += event.pieces if event.place == GOOD else 0
            # a measured piece is formed: it has passed all
            for station in event.passed or one.stations:
                passed[station] += event.pieces
    good = by["good"] + by["conceded"] - from_good
    rejected = by["rejected"]
    # what was seen good or rejected has been cut, drilled and bent, whether or not somebody entered it
    done = {station: max(entered[station], good + passed[station]) for station in one.stations}
    cut = max([by["cut"], good + rejected, *(done[s] + rejected - passed[s] for s in done)])
    waiting = tuple((s, cut - (rejected - passed[s]) - done[s]) for s in done)
    missing = max(0, one.wanted - good)
    spares = max(0, pieces_to_cut(missing, rate) - missing - rejected)
    return Counts(
        one.part,
        one.wanted,
        spares,
        cut,
        good,
        rejected,
        tuple(done.items()),
        waiting,
        by["conceded"],
        one.hand,
        tuple((n, why, place) for (why, place), n in reasons.items()),
        cut - sum(event.pieces for event in events if event.kind == CUT and event.sheet),
    )


def faults(event: Event, one: Ordered, now: Counts) -> str:
    """Why an event cannot have happened to a part as it stands; empty when it can."""
    if event.pieces < 1:
        return f"{event.pieces} pieces; 1 or more are needed"
    if event.place and event.kind not in ("bent", "rejected"):
        return f'{event.kind} has no place ("{event.place}"); only what is bent or rejected has'
    if event.kind == CUT:
        return ""
    if event.kind == "bent" and event.place not in one.bends:
        return f'there is no bend "{event.place}"; it has {", ".join(one.bends) or "none"}'
    if event.kind == "rejected" and event.place not in (CUT, GOOD, *one.stations):
        return f'there is no "{event.place}"; it is rejected at {", ".join((CUT, *one.stations, GOOD))}'
    if event.kind == DRILLED and not one.drilled:
        return "it has no hole to drill"
    if one.saw and (event.kind in (GOOD, "conceded") or event.place == GOOD):
        names = dict.fromkeys(part for _, pattern in one.saw for part, _ in pattern)
        return f"it is sawn into {', '.join(names)}: enter those as cut"
    room, what = _room(event, now)
    if event.pieces > room:
        return f"{counted(event.pieces, 'piece')} {event.kind}, but {what}: enter first what was done before"
    return ""


def _room(event: Event, now: Counts) -> tuple[int, str]:
    """How many pieces an event can happen to, and the words for it."""
    waiting = dict(now.waiting)
    if event.kind in (DRILLED, "bent"):
        station = event.place or DRILLED
        return waiting[station], f"{waiting[station]} of {now.cut} cut wait for {station}"
    if event.kind == "rejected" and event.place == GOOD:
        return now.good, f"{now.good} are good"
    return now.in_work, f"{now.in_work} are in work"


def implied(event: Event, one: Ordered, now: Counts) -> tuple[Event, ...]:
    """What must have been done for an event and was not entered: the stations that its pieces have passed."""
    if event.kind not in (GOOD, "conceded", "rejected") or event.place == GOOD:
        return ()
    passed = [s for s in one.stations if event.kind != "rejected" or s in event.passed]
    found = []
    for station in passed:
        # those through this station that are neither good nor rejected
        there = now.in_work - dict(now.waiting)[station]
        lacking = event.pieces - there
        if lacking > 0:
            kind, place = (DRILLED, "") if station == DRILLED else ("bent", station)
            found.append(Event(kind, event.part, lacking, place, by=event.by, note=f"with those {event.kind}"))
    return tuple(found)


def follows(event: Event, order: Mapping[str, Ordered], happened: Sequence[Event]) -> tuple[Event, ...]:
    """What is entered with an event: what it implies, and the lengths that its pieces were sawn from."""
    one = order[event.part]
    more = implied(event, one, stand(one, order.values(), happened))
    if event.kind != CUT or one.cut_from not in order:
        return more
    source, then = order[one.cut_from], (*happened, event)
    note = f"with {event.pieces} {one.part} sawn from it"
    return (*more, *lacking(source, stand(source, order.values(), then), then, note))


def lacking(one: Ordered, now: Counts, events: Iterable[Event], note: str) -> tuple[Event, ...]:
    """What must have been done to a part as it stands, and is no entry: blanks cut, drilled, bent."""
    entered = Counter({CUT: 0})
    for event in events:
        if event.part == one.part and event.kind in (CUT, DRILLED, "bent"):
            entered[event.place or event.kind] += event.pieces
    return tuple(
        Event(
            station if station in (CUT, DRILLED) else "bent",
            one.part,
            done - entered[station],
            "" if station in (CUT, DRILLED) else station,
            note=note,
        )
        for station, done in ((CUT, now.cut), *now.done)
        if done > entered[station]
    )


def placed(event: Event, one: Ordered, now: Counts) -> Event:
    """A rejection with the station where it happened and those that its pieces had passed.

    Without a word from anybody: where such a fault happens, else the farthest station that has pieces in work.
    """
    if event.kind != "rejected":
        return event
    order = _as_done(one, now)
    place = event.place or PLACES.get(event.why, "")
    if not place or (place == DRILLED and not one.drilled):
        there = dict(now.waiting)
        place = next((s for s in reversed(order) if now.in_work > there[s]), CUT)
    if place == GOOD:
        return replace(event, place=place, passed=(CUT, *one.stations))
    past = order[: order.index(place) + 1] if place in order else ()
    # where fewer wait for a station than are rejected, they had passed it
    farther = (s for s, n in now.waiting if n < event.pieces and s not in past)
    return replace(event, place=place, passed=(CUT, *past, *farther))


def _as_done(one: Ordered, now: Counts) -> tuple[str, ...]:
    """Stations in the order in which this shop does them: what is farther on comes first."""
    done: Mapping[str, int] = dict(now.done)
    return tuple(sorted(one.stations, key=lambda s: -done.get(s, 0)))


def broken(counts: Counts, events: Iterable[Event]) -> str:
    """What does not hold of a part's events themselves, as after one was taken back; empty when all holds."""
    entered = sum(event.pieces for event in events if event.kind == CUT and event.part == counts.part)
    if entered < counts.cut:
        return f"{counts.part}: {counts.cut} went on from the cutting, and only {entered} would be cut"
    if min([counts.in_work, counts.good, *(n for _, n in counts.waiting)]) < 0:
        return f"{counts.part}: more would be done than was there"
    return ""
