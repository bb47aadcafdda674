"""The job log: what was made, from which sheet, when, by which revision, which findings were waived and why.

``RunRecord`` is one run of a job; ``log_run`` enters it together with the sheets it used and left; ``job_log`` reads
all that the book knows of a job, coupons and inspections included, for the printed record. Lengths mm.
"""

from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from flatgen.errors import InputError, RecordError, nearest
from flatgen.model.tally import Counts
from flatgen.records.begun import begun_sheets, cut_sheet
from flatgen.records.book import PROGRAM, Book, now, open_book
from flatgen.records.coupons import Combination, combinations, current_coupons
from flatgen.records.inspections import Piece, current_pieces
from flatgen.records.runs import LoggedFinding, MadePart, Packet, RunRecord
from flatgen.records.stock import StockSheet
from flatgen.records.tally import events, keep_order, kept_order, last_order, sheets_of, tally, words


@dataclass(frozen=True, slots=True)
class Booking:
    """What logging a run brought: its number, marks of sheets used (one a nest), remnants to label.

    letters : of the off-cut on its nest that each remnant is
    """

    run: int
    used: tuple[str, ...]
    remnants: tuple[StockSheet, ...]
    letters: tuple[str, ...] = ()


def log_run(path: Path | str, record: RunRecord, *, by: str = "", again: bool = False) -> Booking:
    """Enter a run with the sheets it used and the remnants it left, all or nothing.

    again : the same blanks were cut once more on purpose

    Raises
    ------
    RecordError : this very run is in the book already, or a sheet it names is not on hand
    """
    if not record.nests:
        raise InputError("there is no nest in these results, so nothing was cut", where=f'job "{record.job}"')
    packet = record.packet
    assert packet is not None, "what is booked was read from a packet"
    with open_book(path) as book, book.entering():
        if again:
            packet = replace(packet, digest=f"{packet.digest} {now()}")
        else:
            same = book.rows(
                "SELECT id, recorded_at FROM run WHERE job = ? AND digest <> '' AND digest = ?",
                (record.job, record.digest),
            )
            if same:
                raise RecordError(
                    f'{book.path}: this run of "{record.job}" was entered on {same[0]["recorded_at"][:10]} already '
                    f"(run {same[0]['id']}); if it was cut once more, say so (--again)"
                )
        run = book.enter(
            "run",
            recorded_at=now(),
            recorded_by=by,
            job=record.job,
            revision=record.revision,
            digest=record.digest,
            program=PROGRAM,
            note=record.note,
        )
        for made in record.parts:
            book.enter("made_part", run=run, **asdict(made))
        for finding in record.findings:
            book.enter("run_finding", run=run, **asdict(finding))
        if last_order(book, packet.job) is None:
            keep_order(book, packet.job, packet.order, {})
        done = [cut_sheet(book, packet, number, by=by, run=run) for number in _uncut(book, packet)]
        used = tuple(one.mark for one in done)
        kept = {letter: sheet for one in done for letter, sheet in one.offcuts.items() if sheet.mark not in used}
        return Booking(run, used, tuple(kept.values()), tuple(kept))


def _uncut(book: Book, packet: Packet) -> list[int]:
    """Numbers of the packet's sheets that are not cut to the last yet; RecordError when there is none."""
    done = {
        one.number if one.packet == packet.digest else one.mark
        for one in begun_sheets(book, packet.job, everything=True)
        if one.finished
    }
    # what is left of one begun sheet is cut to its last cut at once, however many pieces it is in
    sheets = {nest.get("begun") or k: k for k, nest in reversed(list(enumerate(packet.nests, 1)))}
    left = sorted(k for sheet, k in sheets.items() if k not in done and sheet not in done)
    if not left:
        raise RecordError(f"{book.path}: all sheets of this packet are cut to the last already")
    return left


def add_note(path: Path | str, job: str, text: str, part: str = "", by: str = "") -> int:
    """Enter a remark in a job's log."""
    if not text.strip() or not job.strip():
        raise InputError("a remark needs a job and a text")
    with open_book(path) as book, book.entering():
        return book.enter("log_note", recorded_at=now(), recorded_by=by, job=job, part=part, text=text)


@dataclass(frozen=True, slots=True)
class LoggedRun:
    """A run as the book holds it, with the sheet marks of each part."""

    id: int
    recorded_at: str
    recorded_by: str
    revision: str
    program: str
    digest: str
    parts: tuple[MadePart, ...]
    findings: tuple[LoggedFinding, ...]
    cut_from: tuple[tuple[str, str, str, int], ...]  # part, sheet mark, batch, pieces


@dataclass(frozen=True, slots=True)
class JobLog:
    """All that the book knows of one job."""

    job: str
    runs: tuple[LoggedRun, ...]
    notes: tuple[tuple[str, str, str, str], ...]  # when, by, part, text
    pieces: tuple[Piece, ...]
    coupons: tuple[Combination, ...]
    told: tuple[tuple[str, str, str, str], ...] = ()  # the tally: when, by, part and sheet, what
    parts: tuple[tuple[Counts, tuple[str, ...]], ...] = ()  # how far each part is, and the sheets it was cut from


def job_log(book: Book, job: str) -> JobLog:
    """Everything about a job; InputError naming the jobs that are known when there is nothing."""
    known = jobs(book)
    if job not in known:
        raise InputError(f'the book has nothing about job "{job}". {nearest(job, known)}')
    runs = tuple(_logged_run(book, row) for row in book.rows("SELECT * FROM run WHERE job = ? ORDER BY id", (job,)))
    notes = tuple(
        (row["recorded_at"], row["recorded_by"], row["part"], row["text"])
        for row in book.rows("SELECT * FROM log_note WHERE job = ? ORDER BY id", (job,))
    )
    materials = {(part.material, round(part.thickness, 2)) for run in runs for part in run.parts}
    own = tuple(
        c
        for c in combinations(current_coupons(book))
        if (c.material, round(c.thickness, 2)) in materials or any(coupon.job == job for coupon in c.coupons)
    )
    told = tuple(
        (e.at[:10], e.by, " ".join(filter(None, (e.part, e.sheet))), f"{words(e)} [{e.id}]")
        for e in events(book, job, everything=True)
        if e.kind != "order"
    )
    marks = sheets_of(book, job)
    parts = tuple((one, marks.get(one.part, ())) for one in tally(book, job, kept_order(book, job)))
    return JobLog(job, runs, notes, current_pieces(book, job), own, told, parts)


def _logged_run(book: Book, row: Any) -> LoggedRun:
    run = row["id"]
    parts = book.rows(
        "SELECT part, title, drawing, revision, material, thickness, pieces, method FROM made_part WHERE run = ? "
        "ORDER BY id",
        (run,),
    )
    found = book.rows(
        "SELECT part, rule, severity, place, message, waived FROM run_finding WHERE run = ? ORDER BY id", (run,)
    )
    cut = book.rows(
        "SELECT part, mark, batch, pieces FROM cut_part JOIN sheet ON sheet.id = cut_part.sheet WHERE run = ? "
        "UNION ALL SELECT part, sheet, batch, sum(pieces) FROM event JOIN sheet ON sheet.mark = event.sheet "
        "WHERE run = ? AND kind IN ('cut', 'strips') GROUP BY part, sheet",
        (run, run),
    )
    return LoggedRun(
        id=run,
        recorded_at=row["recorded_at"],
        recorded_by=row["recorded_by"],
        revision=row["revision"],
        program=row["program"],
        digest=row["digest"],
        parts=tuple(MadePart(**dict(part)) for part in parts),
        findings=tuple(LoggedFinding(**dict(finding)) for finding in found),
        cut_from=tuple((c["part"], c["mark"], c["batch"], c["pieces"]) for c in cut),
    )


def jobs(book: Book) -> tuple[str, ...]:
    """Titles of all jobs the book knows, in the order of the alphabet."""
    rows = book.rows(
        "SELECT job FROM run UNION SELECT job FROM piece UNION SELECT job FROM log_note UNION SELECT job FROM event "
        "UNION SELECT job FROM tick UNION SELECT job FROM coupon WHERE job <> '' ORDER BY 1"
    )
    return tuple(row["job"] for row in rows)
