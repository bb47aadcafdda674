"""Labels for bags: what a job has of each part, from which sheets."""

from collections.abc import Sequence
from pathlib import Path

from flatgen.core.words import counted
from flatgen.errors import InputError
from flatgen.jobs.loading import load
from flatgen.jobs.make import inputs_of
from flatgen.model.part import Part
from flatgen.model.tally import Counts
from flatgen.units import format_length


def write_bag_labels(path: Path, names: Sequence[str], out: Path, book: Path | None) -> int:
    """Labels of all parts that have pieces, or of those named, as a PDF; how many there are.

    Raises
    ------
    InputError : there is no piece to label, or no such part
    """
    from flatgen.draw.labels import BagLabel, bag_pages
    from flatgen.jobs.developed import chosen
    from flatgen.output.single import written_file
    from flatgen.records.book import book_path, open_book
    from flatgen.records.tally import sheets_of
    from flatgen.write.pdf import write_pages

    job = load(path, book=book)
    with open_book(book or book_path(job.shop), writing=False) as opened:
        marks = sheets_of(opened, job.title)
    labels = [
        BagLabel(part.name, _rows(part, counts, marks.get(part.id, ()), job.title, job.units))
        for part in chosen(job, names).parts
        if (counts := job.counts(part.id)).good or counts.in_work
    ]
    if not labels:
        raise InputError("no piece of these parts is cut yet, so there is nothing to label", file=path)
    with written_file(out, "pdf", "tally labels", inputs_of(job)) as target:
        write_pages(bag_pages(labels, job.units, job.shop.printer_paper), target)
    return len(labels)


def _rows(part: Part, counts: Counts, marks: Sequence[str], title: str, units: str) -> tuple[tuple[str, float], ...]:
    """What a label says below the part's name."""
    drawing = " ".join(filter(None, (part.drawing, f"rev {part.revision}" if part.revision else "")))
    pieces = f"{counts.good} good" if counts.good else f"{counted(counts.in_work, 'piece')} in work"
    metal = f"{part.material.name}, T {format_length(part.thickness, units, unit=True)}"
    rows = [(f"{pieces} of {counts.wanted} wanted", 5.0), (part.title, 3.5), (metal, 3.5), (drawing, 2.8)]
    rows += [(f"from {', '.join(marks)}" if marks else "from sheet ______________", 2.8), (title, 2.5)]
    return tuple(row for row in rows if row[0])
