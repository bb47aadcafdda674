"""The tally in the book: events entered one way, read back as sums, taken back with a reason.

Measured pieces and the blanks of booked runs are read as events too, so that there is one account of every piece. What
is entered is held against the counts inside the same transaction: two people who enter at once both count.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from flatgen.core.words import counted
from flatgen.errors import InputError, InputErrors, RecordError, nearest
from flatgen.model.tally import KINDS, Counts, Event, Figures, Ordered
from flatgen.records.book import Book, now, open_book
from flatgen.tally.counts import broken, faults, follows, lacking, left, placed, reject_rate, stand

STANDS = "undoes IS NULL AND NOT EXISTS (SELECT 1 FROM event u WHERE u.undoes = event.id)"
_PIECES = """FROM piece WHERE withdrawn = 0 AND id NOT IN (SELECT replaces FROM piece WHERE replaces IS NOT NULL)"""
VERDICTS = {"accepted": "good", "conceded": "conceded", "rejected": "rejected"}


def sums(book: Book, job: str) -> tuple[Event, ...]:
    """All that counts of a job, alike entries added up: the tally's own, measured pieces, blanks of booked runs."""
    own = book.rows(
        f"""SELECT part, kind, place, passed, why, max(sheet) AS sheet, sum(pieces) AS pieces FROM event
        WHERE job = ? AND part <> '' AND {STANDS} GROUP BY part, kind, place, passed, why, sheet <> ''""",
        (job,),
    )
    measured = book.rows(
        f"SELECT part, verdict, why, count(*) AS pieces {_PIECES} AND job = ? GROUP BY part, verdict, why", (job,)
    )
    booked = book.rows(
        "SELECT part, sum(pieces) AS pieces, sheet FROM cut_part JOIN run ON run.id = run WHERE job = ? GROUP BY part",
        (job,),
    )
    return (
        *(
            Event(r["kind"], r["part"], r["pieces"], r["place"], _stations(r["passed"]), r["sheet"], r["why"])
            for r in own
        ),
        *(Event(VERDICTS[r["verdict"]], r["part"], r["pieces"], why=r["why"]) for r in measured),
        *(Event("cut", r["part"], r["pieces"], sheet=str(r["sheet"])) for r in booked),
    )


def _stations(text: str) -> tuple[str, ...]:
    return tuple(text.split("\n")) if text else ()


def events(book: Book, job: str, *kinds: str, everything: bool = False) -> tuple[Event, ...]:
    """The tally's entries of a job in order, of some kinds or all; ``everything``: also those taken back."""
    marks = ", ".join("?" * len(kinds))
    rows = book.rows(
        f"""SELECT * FROM event WHERE job = ? {f"AND kind IN ({marks})" if kinds else ""}
        {"" if everything else f"AND {STANDS}"} ORDER BY id""",
        (job, *kinds),
    )
    return tuple(_event(row) for row in rows)


def lots(book: Book, job: str, *kinds: str) -> tuple[Event, ...]:
    """Entries of some kinds that stand, those of one part with the same facts as one, oldest first."""
    marks = ", ".join("?" * len(kinds))
    rows = book.rows(
        f"""SELECT kind, part, facts, sum(pieces) AS pieces FROM event WHERE job = ? AND kind IN ({marks})
        AND facts <> '' AND {STANDS} GROUP BY kind, part, facts ORDER BY min(id)""",
        (job, *kinds),
    )
    return tuple(Event(r["kind"], r["part"], r["pieces"], facts=json.loads(r["facts"])) for r in rows)


def history(book: Book, job: str, part: str) -> tuple[Event, ...]:
    """All that happened to the blanks of one part, in order: entries that stand, measured pieces, booked runs."""
    rows = book.rows(f"SELECT * FROM event WHERE job = ? AND part = ? AND {STANDS} ORDER BY id", (job, part))
    measured = book.rows(f"SELECT recorded_at, verdict, why {_PIECES} AND job = ? AND part = ?", (job, part))
    booked = book.rows(
        "SELECT recorded_at, pieces FROM cut_part JOIN run ON run.id = run WHERE job = ? AND part = ?", (job, part)
    )
    found = [_event(row) for row in rows]
    found += [Event(VERDICTS[r["verdict"]], part, 1, why=r["why"], at=r["recorded_at"]) for r in measured]
    found += [Event("cut", part, r["pieces"], at=r["recorded_at"]) for r in booked]
    return tuple(sorted(found, key=lambda event: event.at))


def sheets_of(book: Book, job: str) -> dict[str, tuple[str, ...]]:
    """Marks of the sheets that the blanks of each part were cut from."""
    found: dict[str, list[str]] = {}
    for row in book.rows(
        f"SELECT DISTINCT part, sheet FROM event WHERE job = ? AND kind = 'cut' AND sheet <> '' AND {STANDS}", (job,)
    ):
        found.setdefault(row["part"], []).append(row["sheet"])
    return {part: tuple(sorted(marks)) for part, marks in found.items()}


def _event(row: Any) -> Event:
    return Event(
        row["kind"],
        row["part"],
        row["pieces"],
        row["place"],
        _stations(row["passed"]),
        row["sheet"],
        row["why"],
        row["note"],
        json.loads(row["facts"]) if row["facts"] else {},
        row["recorded_by"],
        row["recorded_at"],
        row["id"],
        row["undoes"],
        row["follows"],
        row["run"],
    )


def put(book: Book, job: str, event: Event, follows: int | None = None) -> int:
    """One event as it is, inside a transaction."""
    return book.enter(
        "event",
        recorded_at=event.at or now(),
        recorded_by=event.by,
        job=job,
        kind=event.kind,
        part=event.part,
        pieces=event.pieces,
        place=event.place,
        passed="\n".join(event.passed),
        sheet=event.sheet,
        why=event.why,
        note=event.note,
        facts=json.dumps(event.facts, sort_keys=True) if event.facts else "",
        run=event.run,
        follows=follows if follows is not None else event.follows,
        undoes=event.undoes,
    )


def timed(book: Book, most: int = 2000) -> tuple[Event, ...]:
    """The latest entries of all jobs, for how long each kind of work takes in this shop."""
    rows = book.rows(
        f"SELECT * FROM (SELECT * FROM event WHERE pieces > 0 AND facts = '' AND {STANDS} ORDER BY id DESC LIMIT ?)"
        " ORDER BY id",
        (most,),
    )
    return tuple(_event(row) for row in rows)


def rate_of(book: Book, guess: float) -> tuple[float, bool]:
    """Share of pieces that the shop spoils, over all jobs, and whether it is its own and not the guess."""
    found = {"good": 0, "conceded": 0, "rejected": 0}
    for row in book.rows(
        f"SELECT kind, sum(pieces) AS n FROM event WHERE kind IN ('good', 'conceded', 'rejected') AND {STANDS} "
        "GROUP BY kind"
    ):
        found[row["kind"]] += row["n"]
    for row in book.rows(f"SELECT verdict, count(*) AS n {_PIECES} GROUP BY verdict"):
        found[VERDICTS[row["verdict"]]] += row["n"]
    return reject_rate(found["good"] + found["conceded"], found["rejected"], guess)


def tally(book: Book, job: str, order: Iterable[Ordered], guess: float = 0.0) -> tuple[Counts, ...]:
    """How far each part of a job is."""
    return left(order, sums(book, job), rate_of(book, guess)[0])


def enter(
    path: Path | str, job: str, entered: Sequence[Event], order: Sequence[Ordered], *, basis: dict[str, Any]
) -> tuple[int, ...]:
    """Enter events in turn, all or none, each held against the counts as they then stand; return their numbers.

    What an event implies (a good piece has been bent) and was not entered is entered with it. Of the order, what has
    changed since it was last entered is an entry of its own.

    basis : digests of what the order was read from

    Raises
    ------
    InputErrors : an event cannot have happened to its part as it stands
    """
    with open_book(path) as book, book.entering():
        return enter_in(book, job, entered, order, basis)


def enter_in(
    book: Book, job: str, entered: Sequence[Event], order: Sequence[Ordered], basis: dict[str, Any]
) -> tuple[int, ...]:
    """The same inside a transaction."""
    keep_order(book, job, order, basis)
    parts = {one.part: one for one in order}
    errors: list[InputError] = []
    numbers = []
    found = list(sums(book, job))
    for k, event in enumerate(entered, 1):
        where = f'part "{event.part}"' + (f", entry {k}" if len(entered) > 1 else "")
        one = parts.get(event.part)
        if one is None:
            errors.append(InputError(f"there is no such part in the job. {nearest(event.part, parts)}", where=where))
            continue
        now = stand(one, order, found)
        event = placed(event, one, now)
        fault = faults(event, one, now)
        if fault:
            errors.append(InputError(fault, where=where))
            continue
        more = follows(event, parts, found)
        if event.kind == "cut" and not event.facts and one.figures:
            event = replace(event, facts=one.figures.as_dict())
        numbers.append(put(book, job, event))
        for other in more:
            put(book, job, other, numbers[-1])
        found += [event, *more]
    if errors:
        raise errors[0] if len(errors) == 1 else InputErrors(errors)
    return tuple(numbers)


def follow_pieces(book: Book, job: str, parts: Iterable[str]) -> None:
    """Enter what measured pieces of these parts imply, where the job has a tally: they were cut, drilled and bent."""
    order = {one.part: one for one in kept_order(book, job)}
    named = [part for part in parts if part in order]
    for part in dict.fromkeys((*named, *(order[part].cut_from for part in named if order[part].cut_from in order))):
        found = sums(book, job)
        for event in lacking(order[part], stand(order[part], order.values(), found), found, "with measured pieces"):
            put(book, job, event)


def keep_order(book: Book, job: str, order: Sequence[Ordered], basis: dict[str, Any]) -> None:
    """Enter the order of a job where it, or what it was read from, is not as it was last entered.

    With the first, what was measured before there was a tally is entered as cut and bent.
    """
    last = last_order(book, job)
    parts = [_order_dict(one) for one in order]
    if last is None or last.facts["parts"] != parts or last.facts["basis"] != basis:
        put(book, job, Event("order", facts={"basis": basis, "parts": parts}))
    if last is None:
        follow_pieces(book, job, (one.part for one in order))


def last_order(book: Book, job: str) -> Event | None:
    """The order as it was last entered."""
    rows = book.rows("SELECT * FROM event WHERE job = ? AND kind = 'order' ORDER BY id DESC LIMIT 1", (job,))
    return _event(rows[0]) if rows else None


def kept_order(book: Book, job: str) -> tuple[Ordered, ...]:
    """The parts of the order as it was last entered; empty where there is none."""
    last = last_order(book, job)
    return order_of(last) if last else ()


def order_of(event: Event) -> tuple[Ordered, ...]:
    """The parts of an entered order."""
    return tuple(
        Ordered(
            p["part"],
            p["wanted"],
            tuple(p["bends"]),
            p["drilled"],
            p["hand"],
            Figures(**p["figures"]) if p["figures"] else None,
            tuple((many, tuple((part, n) for part, n in pattern)) for many, pattern in p.get("saw", ())),
            p.get("cut_from", ""),
        )
        for p in event.facts["parts"]
    )


def _order_dict(one: Ordered) -> dict[str, Any]:
    return {
        "part": one.part,
        "wanted": one.wanted,
        "bends": list(one.bends),
        "drilled": one.drilled,
        "hand": one.hand,
        "figures": one.figures.as_dict() if one.figures else None,
        "saw": [[many, [list(pieces) for pieces in pattern]] for many, pattern in one.saw],
        "cut_from": one.cut_from,
    }


def undo(path: Path | str, number: int, why: str, by: str = "") -> Event:
    """Take an entry back, and what was entered with it; it stays readable. Returns the entry that was taken back.

    Raises
    ------
    InputError : no reason; the entry was taken back already or is a measured piece; later entries stand on it
    """
    if not why.strip():
        raise InputError("taking an entry back needs a reason in writing", where=f"entry {number}")
    with open_book(path) as book, book.entering():
        rows = book.rows(f"SELECT * FROM event WHERE id = ? AND {STANDS}", (number,))
        if not rows:
            raise RecordError(f"{book.path}: there is no entry {number} of the tally that still counts")
        job, event = rows[0]["job"], _event(rows[0])
        if event.kind == "order":
            raise InputError("the order is what the job file says; change it there", where=f"entry {number}")
        if event.follows is not None:
            raise InputError(f"it was entered with entry {event.follows}; take that back", where=f"entry {number}")
        _last_of_its_sheet(book, job, event)
        order = {one.part: one for one in kept_order(book, job)}
        gone = [event, *(_event(r) for r in book.rows("SELECT * FROM event WHERE follows = ?", (number,)))]
        parts = {one.part for one in gone if one.part in order}
        before = {part: _broken(book, job, order, part) for part in parts}
        for one in gone:
            put(book, job, Event("undone", one.part, 0, why=why, by=by, undoes=one.id))
        for part in parts:
            fault = _broken(book, job, order, part)
            if fault and not before[part]:
                raise InputError(f"later entries stand on it: {fault}. Take those back first", where=f"entry {number}")
        _back_in_stock(book, event, by)
        return event


def _broken(book: Book, job: str, order: Mapping[str, Ordered], part: str) -> str:
    found = sums(book, job)
    return broken(stand(order[part], order.values(), found), found)


def _last_of_its_sheet(book: Book, job: str, event: Event) -> None:
    """Cuts of a sheet are taken back from the last one backward."""
    if event.kind not in ("begun", "cuts"):
        return
    later = [e for e in events(book, job, "begun", "cuts") if e.sheet == event.sheet and e.id > event.id]
    if later:
        raise InputError(
            f"cuts of sheet {event.sheet} were entered after it (entry {later[-1].id}); take those back first",
            where=f"entry {event.id}",
        )


def _back_in_stock(book: Book, event: Event, by: str) -> None:
    from flatgen.records.begun import taken_back

    if event.kind in ("begun", "cuts"):
        taken_back(book, event, by)


def words(event: Event) -> str:
    """An event as the log says it."""
    said = KINDS.get(event.kind, event.kind)
    if event.kind == "bent":
        said = f"{counted(event.pieces, 'piece')} bent at {event.place}"
    elif event.kind == "cuts":
        said = f"cut to cut {event.place}"
    elif event.pieces:
        said = f"{event.pieces} {said}"
    if event.kind == "rejected":
        said += f", {event.why}" + (f" at {event.place}" if event.place else "")
    elif event.why:
        said += f" ({event.why})"
    note = "" if event.note == event.facts.get("file") else event.note  # of a photograph without a remark
    return said + (f"; {note}" if note else "")
