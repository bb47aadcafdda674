"""The job log: what was made, from which sheet, when, by which revision, which findings were waived and why.

``RunRecord`` is one run of a job; ``log_run`` enters it together with the sheets it used and left; ``job_log`` reads
all that the book knows of a job, coupons and inspections included, for the printed record. Lengths mm.
"""

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen.errors import InputError, RecordError
from flatgen.model.blank import Blank
from flatgen.model.finding import Finding
from flatgen.model.part import Part
from flatgen.model.plan import Nest, Offcut, Placement
from flatgen.model.shop import Sheet
from flatgen.records.book import PROGRAM, Book, now, open_book
from flatgen.records.coupons import Combination, combinations, current_coupons
from flatgen.records.inspections import Piece, current_pieces, remakes
from flatgen.records.stock import StockSheet, use_nest


@dataclass(frozen=True, slots=True)
class MadePart:
    """One part number of a run."""

    part: str
    title: str
    drawing: str
    revision: str
    material: str
    thickness: float
    pieces: int
    method: str


@dataclass(frozen=True, slots=True)
class LoggedFinding:
    """A finding as it stood when the run was logged."""

    part: str
    rule: str
    severity: str
    place: str
    message: str
    waived: str


@dataclass(frozen=True, slots=True)
class RunRecord:
    """One run of a job, ready to be logged. ``digest`` tells runs of equal input apart from others."""

    job: str
    revision: str
    digest: str
    parts: tuple[MadePart, ...]
    findings: tuple[LoggedFinding, ...]
    nests: tuple[Nest, ...]
    remake: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Booking:
    """What logging a run brought: its number, marks of sheets used (one a nest), remnants to label."""

    run: int
    used: tuple[str, ...]
    remnants: tuple[StockSheet, ...]


def run_record(
    job: str,
    parts: Iterable[Part],
    blanks: Mapping[str, Blank],
    findings: Iterable[Finding],
    nests: Sequence[Nest],
    *,
    revision: str = "",
    digest: str = "",
    remake: bool = False,
) -> RunRecord:
    """A run from the stages' own results. Pieces are counted from the nests."""
    pieces = placed_pieces(nests)
    made = []
    for part in parts:
        if part.id in pieces:
            bends = blanks[part.id].bends if part.id in blanks else ()
            methods = ", ".join(sorted({line.bent.method for line in bends}))
            made.append(
                MadePart(
                    part.id,
                    part.title,
                    part.drawing,
                    part.revision,
                    part.material.key,
                    part.thickness,
                    pieces[part.id],
                    methods,
                )
            )
    kept = tuple(LoggedFinding(f.part, f.rule, f.severity.value, f.where, f.message, f.waived) for f in findings)
    return RunRecord(job, revision, digest, tuple(made), kept, tuple(nests), remake)


def placed_pieces(nests: Iterable[Nest]) -> dict[str, int]:
    """How many pieces of each part the nests hold."""
    counts: dict[str, int] = {}
    for nest in nests:
        for placement in nest.placements:
            counts[placement.part] = counts.get(placement.part, 0) + 1
    return counts


def run_from_results(path: Path | str) -> RunRecord:
    """A run from a written results.json (or the folder it lies in), so that what was cut is what is logged.

    Raises
    ------
    InputError : no such file, or not our results
    """
    path = Path(path)
    path = path / "results.json" if path.is_dir() else path
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise InputError("there is no such file; flatgen make writes results.json", file=path) from error
    except (ValueError, OSError) as error:
        raise InputError(f"cannot be read as results of flatgen make ({error})", file=path) from error
    if not isinstance(data, dict) or not str(data.get("schema", "")).startswith("flatgen-results/"):
        raise InputError('is not the results of flatgen make: "schema" is missing', file=path)
    try:
        return _run_of(data)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(f"lacks something that results of flatgen make hold ({error!r})", file=path) from error


def _run_of(data: Mapping[str, Any]) -> RunRecord:
    nests = tuple(_nest_of(entry) for entry in data["nests"])
    pieces = placed_pieces(nests)
    job = data["job"]
    title = job["title"] if isinstance(job, dict) else str(job)
    made = tuple(
        MadePart(
            part=entry["id"],
            title=entry.get("title", ""),
            drawing=entry.get("drawing", ""),
            revision=entry.get("revision", ""),
            material=entry["material"],
            thickness=float(entry["thickness"]),
            pieces=pieces[entry["id"]],
            method=str(entry.get("method", "")),
        )
        for entry in data["parts"]
        if entry["id"] in pieces
    )
    findings = tuple(
        LoggedFinding(
            entry.get("part", ""),
            entry["rule"],
            entry["severity"],
            entry.get("where", "") or "",
            entry["message"],
            entry.get("waived", "") or "",
        )
        for entry in data["findings"]
    )
    revision = job.get("revision", "") if isinstance(job, dict) else data.get("revision", "")
    digest = str(data.get("input_digest", ""))
    return RunRecord(title, str(revision), digest, made, findings, nests, bool(data.get("remake", False)))


def _nest_of(entry: Mapping[str, Any]) -> Nest:
    sheet = entry["sheet"]
    return Nest(
        material=entry["material"],
        thickness=float(entry["thickness"]),
        method=entry["method"],
        tool=entry.get("tool", ""),
        sheet=Sheet(
            id=sheet["id"],
            material=entry["material"],
            thickness=float(entry["thickness"]),
            width=float(sheet["width"]),
            height=float(sheet["height"]),
            grain=float(sheet.get("grain", sheet.get("grain_deg", 0.0)) or 0.0),
            cost=sheet.get("cost"),
            remnant=bool(sheet.get("remnant", False)),
            batch=sheet.get("batch", "") or "",
        ),
        placements=tuple(
            Placement(p["part"], int(p["copy"]), p["x"], p["y"], p["rotation"], bool(p.get("mirrored", False)))
            for p in entry["placements"]
        ),
        cuts=(),
        offcuts=tuple(
            Offcut(str(o.get("id", k)), o["x"], o["y"], o["width"], o["height"])
            for k, o in enumerate(entry.get("offcuts", ()), 1)
        ),
        utilisation=float(entry.get("utilisation", 0.0)),
    )


def log_run(path: Path | str, record: RunRecord, *, by: str = "", again: bool = False) -> Booking:
    """Enter a run with the sheets it used and the remnants it left, all or nothing.

    again : the same input was cut once more on purpose

    Raises
    ------
    RecordError : this very run is in the book already, or a sheet it names is not on hand
    """
    if not record.nests:
        raise InputError("there is no nest in these results, so nothing was cut", where=f'job "{record.job}"')
    with open_book(path) as book, book.entering():
        if record.digest and not again:
            same = book.rows(
                "SELECT id, recorded_at FROM run WHERE job = ? AND digest = ? AND remake = ?",
                (record.job, record.digest, int(record.remake)),
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
            remake=int(record.remake),
            note=record.note,
        )
        for made in record.parts:
            book.enter(
                "made_part",
                run=run,
                part=made.part,
                title=made.title,
                drawing=made.drawing,
                revision=made.revision,
                material=made.material,
                thickness=made.thickness,
                pieces=made.pieces,
                method=made.method,
            )
        for f in record.findings:
            book.enter(
                "run_finding",
                run=run,
                part=f.part,
                rule=f.rule,
                severity=f.severity,
                place=f.place,
                message=f.message,
                waived=f.waived,
            )
        used: list[str] = []
        remnants: list[StockSheet] = []
        for number, nest in enumerate(record.nests, 1):
            mark, left = use_nest(book, run, number, nest, by)
            used.append(mark)
            remnants += left
        return Booking(run, tuple(used), tuple(remnants))


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
    remake: bool
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
    remake: tuple[tuple[str, int], ...]
    coupons: tuple[Combination, ...]


def job_log(book: Book, job: str) -> JobLog:
    """Everything about a job; InputError naming the jobs that are known when there is nothing."""
    known = jobs(book)
    if job not in known:
        from flatgen.errors import nearest

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
    return JobLog(job, runs, notes, current_pieces(book, job), tuple(remakes(book, job).items()), own)


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
        "ORDER BY cut_part.id",
        (run,),
    )
    return LoggedRun(
        id=run,
        recorded_at=row["recorded_at"],
        recorded_by=row["recorded_by"],
        revision=row["revision"],
        program=row["program"],
        digest=row["digest"],
        remake=bool(row["remake"]),
        parts=tuple(MadePart(**dict(part)) for part in parts),
        findings=tuple(LoggedFinding(**dict(finding)) for finding in found),
        cut_from=tuple((c["part"], c["mark"], c["batch"], c["pieces"]) for c in cut),
    )


def jobs(book: Book) -> tuple[str, ...]:
    """Titles of all jobs the book knows, in the order of the alphabet."""
    rows = book.rows(
        "SELECT job FROM run UNION SELECT job FROM piece UNION SELECT job FROM log_note "
        "UNION SELECT job FROM coupon WHERE job <> '' ORDER BY 1"
    )
    return tuple(row["job"] for row in rows)


def export_csv(path: Path | str, folder: Path | str) -> tuple[Path, ...]:
    """Every table of the book as a CSV file of its name, replaced and withdrawn entries included.

    Raises
    ------
    RecordError : there is no book, or a file of that name exists already
    """
    path, folder = Path(path), Path(folder)
    if not path.exists():
        raise RecordError(f"{path}: there is no book yet, so there is nothing to export")
    with open_book(path, writing=False) as book:
        names = [
            row["name"]
            for row in book.rows("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT GLOB 'sqlite_*'")
        ]
        texts = {}
        for name in sorted(names):
            rows = book.rows(f"SELECT * FROM {name} ORDER BY rowid")
            columns = [column["name"] for column in book.rows(f"PRAGMA table_info({name})")]
            buffer = io.StringIO()
            writer = csv.writer(buffer, lineterminator="\n")
            writer.writerow(columns)
            writer.writerows(tuple(row) for row in rows)
            texts[folder / f"{name}.csv"] = buffer.getvalue()
    taken = [file for file in texts if file.exists()]
    if taken:
        raise RecordError(f"{taken[0]}: there is such a file already; nothing was written")
    folder.mkdir(parents=True, exist_ok=True)
    for file, text in texts.items():
        file.write_text(text, encoding="utf-8", newline="")
    return tuple(texts)
