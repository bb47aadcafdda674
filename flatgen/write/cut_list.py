"""cut-list.csv: every blank with its size, and every cut of every sheet in order with its gauge setting."""

from collections.abc import Sequence

from flatgen.model.results import Results
from flatgen.output.csv_text import csv_text
from flatgen.units import format_length


def as_text(results: Results) -> str:
    """Two tables under each other, in the job's units: blanks to cut, then cuts by sheet."""
    units, nested = results.job.units, results.nested
    rows: list[Sequence[object]] = [
        ["part", "title", "material", f"thickness {units}", f"blank width {units}", f"blank height {units}"]
        + ["grain deg", "wanted", "to cut", "tool", "state"]
    ]
    for made in results.parts:
        blank, part = made.blank, made.part
        grain = "any" if blank.grain is None else f"{blank.grain:g}"
        sizes = [format_length(v, units) for v in (blank.thickness, blank.width, blank.height)]
        state = "STOPPED by a finding" if made.stopped else "to cut"
        tool = f"saw, from {part.cut_from}" if part.cut_from else made.tool
        named = (part.id, part.title, part.material.name)
        rows.append([*named, *sizes, grain, part.quantity, nested[part.id], tool, state])
    rows.append([])
    heads = ["sheet", "stock", "cut", f"gauge {units}", f"from x {units}", "y", "to x", "y", "stage", "hold", "then"]
    rows.append(heads)
    number = 0
    for report in results.nests:
        for nest in report.nests:
            number += 1
            for cut in nest.cuts:
                places = [format_length(v, units) for v in (cut.gauge, *cut.start, *cut.end)]
                rows.append([number, nest.sheet.id, cut.order, *places, cut.stage, cut.hold, cut.note])
    return csv_text(rows)
