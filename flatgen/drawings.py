"""Every drawing that goes into a job's packet, with the files it becomes. A new kind is one function here."""

import hashlib
from collections.abc import Iterator

from flatgen.model.packet import Enclosure
from flatgen.model.results import Developed, Results
from flatgen.track import Track, silent


def enclosures(results: Results, track: Track = silent) -> tuple[Enclosure, ...]:
    """All drawings of a job: for each part that may be cut, for each nest.

    track : lets the terminal show how far the work is
    """
    wanted = [made for made in results.parts if not made.stopped]
    found: list[Enclosure] = []
    for made in track(wanted, "drawing"):
        found += part_drawings(results, made)
    found += nest_drawings(results)
    return tuple(found)


def part_drawings(results: Results, made: Developed) -> Iterator[Enclosure]:
    """The true-size pattern, the drawing to read by, and the formed view for the pages."""
    from flatgen.draw.blank import blank_pattern
    from flatgen.draw.blank_sheet import blank_sheet
    from flatgen.draw.formed import formed_drawing

    job, part, blank = results.job, made.part, made.blank
    name, about = f"blanks/{file_name(part.id)}", part.id
    pattern = blank_pattern(part, blank, made.findings, job.shop, job.units)
    yield Enclosure(name, "blank", "Pattern at true size", (pattern,), ("dxf", "svg"), about)
    sheets = blank_sheet(part, blank, made.findings, job.shop, job.units, owner=job.drawing_owner)
    yield Enclosure(name, "blank", "Drawing to read by", sheets, ("pdf",), about)
    yield Enclosure(name, "formed", "Formed part", (formed_drawing(blank, part.id),), (), about)


def nest_drawings(results: Results) -> Iterator[Enclosure]:
    """Each sheet with its blanks."""
    from flatgen.draw.nest import nest_drawing

    blanks = {made.part.id: made.blank for made in results.parts}
    for number, nest in enumerate((n for report in results.nests for n in report.nests), 1):
        drawing = nest_drawing(nest, blanks, results.job.units)
        name = f"nests/sheet-{number:02d}-{file_name(nest.sheet.id)}"
        yield Enclosure(name, "nest", f"Sheet {number}", (drawing,), ("dxf", "svg", "pdf"), str(number))


def file_name(part_id: str) -> str:
    """A part number as a file name that any system takes; a number that had to be changed gets a tail of its own.

    >>> file_name("TF-101"), file_name("TF/101") == file_name("TF_101")
    ('TF-101', False)
    """
    kept = "".join(c if c.isalnum() or c in "-_." else "_" for c in part_id).strip(".")[:80]
    if kept and kept == part_id:
        return kept
    return f"{kept or 'part'}-{hashlib.sha256(part_id.encode()).hexdigest()[:6]}"
