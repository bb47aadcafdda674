"""The sections of a printed job record, in words, from what the book holds of the job."""

from typing import TYPE_CHECKING

from flatgen.cli.shop_book import Place

if TYPE_CHECKING:
    from flatgen.draw.job_log import Section, Shown
    from flatgen.model.tally import Counts
    from flatgen.records.book import Book
    from flatgen.records.coupons import Combination
    from flatgen.records.log import JobLog, LoggedRun


def sections(log: "JobLog", at: Place) -> tuple["Section", ...]:
    """Runs with parts, sheets and findings; remarks; inspections; coupons; what is to be made again."""
    from flatgen.draw.job_log import Section

    notes = tuple((when[:10], by, part, text) for when, by, part, text in log.notes)
    found = [section for run in log.runs for section in _run(run, at)]
    found.append(Section("Remarks", ("date", "by", "part", "remark"), (12, 10, 14, 64), notes))
    found += _inspections(log, at)
    if log.parts:
        found.append(_stories(log))
    if log.told:
        heads = ("date", "by", "part, sheet", "what [entry]")
        found.append(Section("The tally", heads, (12, 10, 22, 56), log.told))
    columns = ("alloy", "T", "nose R", "angle", "grain", "n", "deduction ± standard error", "released / leaf", "marks")
    rows = tuple(_coupon_row(c, at) for c in log.coupons)
    widths = (16, 9, 9, 8, 9, 5, 20, 16, 22)
    found.append(Section("Coupons of these alloys and thicknesses", columns, widths, rows))
    return tuple(found)


def _coupon_row(c: "Combination", at: Place) -> tuple[str, ...]:
    return (
        c.material,
        at.bare(c.thickness),
        at.bare(c.nose_radius),
        f"{c.angle:g}°",
        c.grain,
        str(len(c.coupons)),
        f"{at.bare(c.found.deduction.mean)} ± {at.deviation('length', c.found.deduction.error)[1:]}",
        f"{c.found.springback_ratio.mean:.4f} ± {c.found.springback_ratio.error:.4f}",
        ", ".join(coupon.mark or str(coupon.id) for coupon in c.coupons),
    )


def _run(run: "LoggedRun", at: Place) -> list["Section"]:
    from flatgen.draw.job_log import Section

    sheets: dict[str, list[str]] = {}
    for part, mark, batch, pieces in run.cut_from:
        sheets.setdefault(part, []).append(f"{pieces} from {mark}{f' (batch {batch})' if batch else ''}")
    revision = f", revision {run.revision}" if run.revision else ""
    by = f", by {run.recorded_by}" if run.recorded_by else ""
    digest = f", input {run.digest[:12]}" if run.digest else ""
    head = f"Run {run.id}: cut {run.recorded_at[:10]}{revision}{by} ({run.program}{digest})"
    parts = tuple(
        (
            made.part,
            made.title,
            f"{made.drawing} {made.revision}".strip(),
            f"{made.material} {at.bare(made.thickness)}",
            str(made.pieces),
            made.method,
            "; ".join(sheets.get(made.part, ())),
        )
        for made in run.parts
    )
    waived = tuple(
        (f.part, f"{f.rule}{f', {f.place}' if f.place else ''}", f.message, f.waived) for f in run.findings if f.waived
    )
    found = [
        Section(
            head,
            ("part", "title", "drawing, rev.", "alloy, T", "pieces", "allowance", "sheets"),
            (12, 18, 12, 17, 7, 12, 24),
            parts,
            "no parts",
        )
    ]
    if waived:
        title = f"Run {run.id}: findings waived, and why"
        found.append(Section(title, ("part", "rule", "finding", "reason"), (12, 16, 38, 34), waived))
    return found


def _stories(log: "JobLog") -> "Section":
    """Every part from its sheets to its good pieces."""
    from flatgen.draw.job_log import Section

    heads = ("part", "cut from", "cut", "drilled, bent", "rejected", "let pass", "good, of wanted")
    rows = tuple(_story(one, marks) for one, marks in log.parts if one.cut)
    return Section("Each part, from sheet to good pieces", heads, (14, 16, 7, 24, 20, 8, 11), rows)


def _story(one: "Counts", marks: tuple[str, ...]) -> tuple[str, ...]:
    """What became of the blanks of a part."""
    done = ", ".join(f"{station} {n}" for station, n in one.done)
    why = "; ".join(f"{n} {why}{f' at {place}' if place else ''}" for n, why, place in one.reasons)
    good = f"{one.good} of {one.wanted}"
    return (one.part, ", ".join(marks) or "not told", str(one.cut), done, why, str(one.conceded or ""), good)


def _inspections(log: "JobLog", at: Place) -> list["Section"]:
    from flatgen.draw.job_log import Section

    rows = []
    for piece in log.pieces:
        off = "; ".join(
            f"{m.dimension}: {at.deviation(m.kind, m.value - m.nominal)}{'' if m.inside else ' OUTSIDE'}"
            for m in piece.measurements
        )
        words = (piece.recorded_at[:10], piece.part, str(piece.number), piece.verdict, off)
        rows.append((*words, " ".join(t for t in (piece.why, piece.sheet, piece.note, piece.recorded_by) if t)))
    heads = ("date", "part", "piece", "verdict", "off nominal, by check", "fault, sheet, remark, by")
    return [Section("Pieces measured", heads, (11, 13, 6, 11, 37, 22), tuple(rows))]


def shown_photos(book: "Book", job: str) -> tuple["Shown", ...]:
    """Photographs of a job with what is said of each."""
    from flatgen.draw.job_log import Shown
    from flatgen.records.photos import photos_of

    found = []
    for event, data in photos_of(book, job):
        note = "" if event.note == event.facts["file"] else event.note
        words = filter(None, (event.at[:10], event.by, event.part, event.why, note))
        found.append(Shown(", ".join(words), data))
    return tuple(found)


def as_text(found: tuple["Section", ...]) -> str:
    """The sections for the terminal."""
    from flatgen.cli.say import table

    blocks = []
    for section in found:
        body = table(list(section.rows), section.heads) if section.rows else section.nothing
        blocks.append(f"{section.title}\n{body}")
    return "\n\n".join(blocks)
