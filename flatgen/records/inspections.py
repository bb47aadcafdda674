"""Measured pieces in the book: entered with a verdict, corrected, reported, and what has to be made again.

A piece is rejected when one of its sizes lies outside its limits, or for a fault that no size shows (a crack, the wrong
hand), unless somebody who may do so lets it pass in writing ("conceded"). Lengths mm, angles deg.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Literal

from flatgen.core.correction import Kind, Series, SeriesReport, report
from flatgen.errors import InputError, InputErrors, RecordError
from flatgen.model.inspection import Checklist, Where
from flatgen.records.book import Book, now, open_book
from flatgen.records.tally import follow_pieces
from flatgen.said import size

Verdict = Literal["accepted", "rejected", "conceded"]


@dataclass(frozen=True, slots=True)
class Measurement:
    """One size of one piece with the limits that held when it was measured.

    dimension : number of the check; where a size is taken along the bend, with the place: "3 left"
    """

    dimension: str
    kind: Kind
    nominal: float
    lower: float
    upper: float
    value: float
    instrument: str = ""
    stop: str = ""

    @property
    def inside(self) -> bool:
        """Whether it lies within its limits."""
        return self.lower - 1e-9 <= self.value <= self.upper + 1e-9

    @property
    def check(self) -> str:
        """Number of the check alone."""
        return self.dimension.split(" ")[0]


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of a batch; ``number`` is its place in the order of making.

    why : the fault for which it is rejected whatever its sizes: one of ``FAULTS``, or words; empty: none
    """

    job: str
    part: str
    revision: str
    number: int
    measurements: tuple[Measurement, ...]
    verdict: Verdict = "accepted"
    note: str = ""
    sheet: str = ""
    why: str = ""
    recorded_by: str = ""
    recorded_at: str = ""
    id: int = 0


def judged(piece: Piece, concession: str = "") -> Piece:
    """The piece with the verdict that its sizes and faults, or a concession in writing, give."""
    if not piece.why and all(m.inside for m in piece.measurements):
        return replace(piece, verdict="accepted")
    if concession.strip():
        return replace(piece, verdict="conceded", note=f"{piece.note} {concession}".strip())
    return replace(piece, verdict="rejected")


@dataclass(frozen=True, slots=True)
class Words:
    """What is written of a piece beside its sizes.

    why : the fault that rejects it, "none": the note speaks of no fault
    concession : who lets a piece outside its limits pass, in writing
    """

    note: str = ""
    sheet: str = ""
    by: str = ""
    concession: str = ""
    why: str = ""


NO_WORDS = Words()


def measured(
    checklist: Checklist,
    job: str,
    number: int,
    values: Mapping[int | tuple[int, Where], float],
    words: Words = NO_WORDS,
) -> Piece:
    """A piece from measured values by check number, with the place along the bend where one was said, judged.

    Raises
    ------
    InputErrors : no such check, or a value so far off that it cannot have been measured there
    """
    where, errors, found = f'part "{checklist.part}", piece {number}', [], []
    for key, value in values.items():
        try:
            found.append(_measurement(checklist, key, value))
        except InputError as error:
            errors.append(error.message)
    placed = {key[0] for key in values if isinstance(key, tuple)}
    errors += [
        f"check {key} is given alone and along the bend; give {key} for one angle all along, else only {key}L, {key}M,"
        f" {key}R"
        for key in sorted(placed & {key for key in values if isinstance(key, int)})
    ]
    if number < 1:
        errors.append("pieces are numbered from 1 in the order of making")
    if not values and not words.why:
        errors.append("no value was given")
    errors += _about_faults(words)
    if errors:
        raise InputErrors([InputError(text, where=where) for text in errors])
    piece = Piece(
        job,
        checklist.part,
        checklist.revision,
        number,
        tuple(found),
        note=words.note,
        sheet=words.sheet,
        why="" if words.why == NO_FAULT else words.why,
        recorded_by=words.by,
    )
    return judged(piece, words.concession)


def _measurement(checklist: Checklist, full: int | tuple[int, Where], value: float) -> Measurement:
    """A size of a check; InputError where there is none, or where it cannot be of that check."""
    key, place = full if isinstance(full, tuple) else (full, "")
    try:
        check = checklist.check(key)
    except KeyError:
        raise InputError(f"there is no check {key}; the sheet has checks 1 to {len(checklist.checks)}") from None
    if not abs(value - check.nominal) <= _believable(check.kind, check.nominal):
        told, wanted = (size(one) if check.kind != "angle" else f"{one:.6g} deg" for one in (value, check.nominal))
        hint = " Is it the angle between the legs?" if check.kind == "angle" else " Is it in another unit?"
        raise InputError(f"check {key} ({check.what}): {told} is nowhere near {wanted}.{hint}")
    limits = (check.nominal, check.lower, check.upper)
    return Measurement(f"{key} {place}".strip(), check.kind, *limits, value, check.instrument, check.stop)


NO_FAULT = "none"
# beginnings of words by which a remark may speak of a fault, and what that fault is called
TELLING = {
    "crack": "cracked",
    "miscut": "miscut",
    "misdrill": "misdrilled",
    "bent wrong": "bent wrong",
    "wrong hand": "wrong hand",
    "scratch": "scratched",
    "lost": "lost",
}


def _about_faults(words: Words) -> list[str]:
    """What is odd about a remark and the fault that was named or not."""
    note, why = words.note, words.why
    if why == "lost" and words.concession.strip():
        return ["a lost piece cannot be let pass"]
    told = next((TELLING[word] for word in TELLING if word in note.lower()), None)
    if told and not why:
        return [f'the remark says "{note}": give --why "{told}" to reject the piece, or --why none if it is no fault']
    return []


def _believable(kind: Kind, nominal: float) -> float:
    return 20.0 if kind == "angle" else max(5.0, 0.25 * abs(nominal))


def record_pieces(path: Path | str, pieces: Sequence[Piece]) -> tuple[int, ...]:
    """Enter measured pieces, all or none; return their numbers once they are safe on the disk.

    Raises
    ------
    InputErrors : a piece of that number is entered already (correct it instead)
    """
    with open_book(path) as book, book.entering():
        known = {(p.job, p.part, p.number): p.id for p in current_pieces(book)}
        errors = []
        for piece in pieces:
            key = (piece.job, piece.part, piece.number)
            if key in known:
                where = f'part "{piece.part}", piece {piece.number}'
                told = f"entry {known[key]}); correct that entry" if known[key] else "an earlier row); leave one out"
                errors.append(InputError(f"is entered already ({told}", where=where))
            known.setdefault(key, 0)
        if errors:
            raise InputErrors(errors)
        numbers = tuple(_enter(book, piece) for piece in pieces)
        for job in dict.fromkeys(piece.job for piece in pieces):
            follow_pieces(book, job, [piece.part for piece in pieces if piece.job == job])
        return numbers


def correct_piece(path: Path | str, number: int, piece: Piece, reason: str) -> int:
    """Enter a piece that stands in place of an earlier entry; the earlier one stays readable."""
    with open_book(path) as book, book.entering():
        _need_current(book, number, reason)
        return _enter(book, piece, replaces=number, reason=reason)


def withdraw_piece(path: Path | str, number: int, reason: str) -> int:
    """Enter that an earlier piece no longer counts, and why."""
    with open_book(path) as book, book.entering():
        old = _need_current(book, number, reason)
        return _enter(book, replace(old, measurements=()), replaces=number, reason=reason, withdrawn=1)


def _need_current(book: Book, number: int, reason: str) -> Piece:
    if not reason.strip():
        raise InputError("a correction needs a reason in writing", where=f"entry {number}")
    for piece in current_pieces(book):
        if piece.id == number:
            return piece
    raise RecordError(f"{book.path}: there is no inspected piece with entry {number} that still counts")


def _enter(book: Book, piece: Piece, **correction: object) -> int:
    number = book.enter(
        "piece",
        recorded_at=piece.recorded_at or now(),
        recorded_by=piece.recorded_by,
        job=piece.job,
        part=piece.part,
        revision=piece.revision,
        number=piece.number,
        verdict=piece.verdict,
        note=piece.note,
        sheet=piece.sheet,
        why=piece.why,
        **correction,
    )
    for measurement in piece.measurements:
        book.enter("measurement", piece=number, **asdict(measurement))
    return number


def current_pieces(book: Book, job: str | None = None, part: str | None = None) -> tuple[Piece, ...]:
    """Pieces that count, in the order of entry; of one job and one part where these are given."""
    rows = book.rows(
        """SELECT id, recorded_at, recorded_by, job, part, revision, number, verdict, note, sheet, why FROM piece
        WHERE withdrawn = 0 AND id NOT IN (SELECT replaces FROM piece WHERE replaces IS NOT NULL)
        AND (? IS NULL OR job = ?) AND (? IS NULL OR part = ?) ORDER BY id""",
        (job, job, part, part),
    )
    by_piece: dict[int, list[Measurement]] = {}
    for row in book.rows(
        "SELECT piece, dimension, kind, nominal, lower, upper, value, instrument, stop FROM measurement ORDER BY id"
    ):
        values = dict(row)
        by_piece.setdefault(values.pop("piece"), []).append(Measurement(**values))
    return tuple(Piece(**dict(row), measurements=tuple(by_piece.get(row["id"], ()))) for row in rows)


@dataclass(frozen=True, slots=True)
class DimensionReport:
    """One dimension of one part."""

    job: str
    part: str
    dimension: str
    nominal: float
    series: Series
    found: SeriesReport


def dimension_reports(pieces: Iterable[Piece]) -> tuple[DimensionReport, ...]:
    """What the measured pieces say, by part and dimension, pieces in the order of making."""
    grouped: dict[tuple[str, str, str], list[tuple[Piece, Measurement]]] = {}
    for piece in sorted(pieces, key=lambda p: (p.part, p.number)):
        for m in piece.measurements:
            grouped.setdefault((piece.job, piece.part, m.dimension), []).append((piece, m))
    found = []
    for (job, part, dimension), pairs in sorted(grouped.items(), key=lambda item: (*item[0][:2], _order(item[0][2]))):
        series = _series(pairs, [float(piece.number) for piece, _ in pairs], pairs[-1][1].stop)
        found.append(DimensionReport(job, part, dimension, pairs[-1][1].nominal, series, report(series)))
    return tuple(found)


def _series(pairs: Sequence[tuple[Piece, Measurement]], places: Sequence[float], stop: str) -> Series:
    """Deviations from nominal; the narrowest of the limits holds where they differ."""
    return Series(
        kind=pairs[0][1].kind,
        lower=max(m.lower - m.nominal for _, m in pairs),
        upper=min(m.upper - m.nominal for _, m in pairs),
        places=tuple(places),
        deviations=tuple(m.value - m.nominal for _, m in pairs),
        on_stop=stop,
    )


def _order(dimension: str) -> tuple[int, str]:
    number, _, place = dimension.partition(" ")
    return (int(number), place) if number.isdigit() else (10**6, dimension)
