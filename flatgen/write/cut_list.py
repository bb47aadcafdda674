"""cut-list.csv: every blank with its size, and every cut of every sheet in order with its gauge setting."""

import csv
import io

from flatgen.model.results import Results
from flatgen.units import format_length


def as_text(results: Results) -> str:
    """Two tables under each other, in the job's units: blanks to cut, then cuts by sheet."""
    units, nested = results.job.units, results.nested
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        ["part", "title", "material", f"thickness {units}", f"blank width {units}", f"blank height {units}"]
        + ["grain deg", "wanted", "to cut", "tool", "state"]
    )
    for made in results.parts:
        blank, part = made.blank, made.part
        grain = "any" if blank.grain is None else f"{blank.grain:g}"
        sizes = [format_length(v, units) for v in (blank.thickness, blank.width, blank.height)]
        state = "STOPPED by a finding" if made.stopped else "to cut"
        row = [part.id, part.title, part.material.name, *sizes, grain, part.quantity, nested[part.id], made.tool, state]
        writer.writerow([_plain(cell) for cell in row])
    writer.writerow([])
    writer.writerow(["sheet", "stock", "cut", f"gauge {units}", f"from x {units}", "y", "to x", "y", "stage", "then"])
    number = 0
    for report in results.nests:
        for nest in report.nests:
            number += 1
            for cut in nest.cuts:
                places = [format_length(v, units) for v in (cut.gauge, *cut.start, *cut.end)]
                row = [number, nest.sheet.id, cut.order, *places, cut.stage, cut.note]
                writer.writerow([_plain(cell) for cell in row])
    return out.getvalue()


def _plain(cell: object) -> object:
    """A cell that a spreadsheet will not take for a formula."""
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in "=+-@" and cell[:1] else cell
