"""The inspection sheet: what to measure on each part, with what, on which pieces, and boxes to write in."""

import math
from collections.abc import Iterable

from flatgen.core.words import Units
from flatgen.draw.card_measure import limits, told
from flatgen.draw.form import Block, Column, body_width, lines, pages, space, table_blocks
from flatgen.model.inspection import Check, Checklist
from flatgen.page.drawing import Drawing
from flatgen.page.paper import paper
from flatgen.units import format_length

BOX = 16.0
FIXED = (9.0, 52.0, 21.0, 36.0, 30.0)
FOOT = (
    "The drawing, the designer and the inspector decide; this sheet only lists what to measure. "
    "Edges are sharp. A bend is never taken out and bent again."
)


def inspection_pages(
    job: str, checklists: Iterable[Checklist], units: Units, paper_name: str = "letter"
) -> tuple[Drawing, ...]:
    """Sheets for all parts of a job, a part on pages of its own, laid across."""
    drawings: list[Drawing] = []
    for checklist in checklists:
        drawings += part_pages(job, checklist, units, paper_name)
    return tuple(drawings)


def part_pages(job: str, checklist: Checklist, units: Units, paper_name: str) -> tuple[Drawing, ...]:
    """Sheets for one part: as many bands of boxes as its sample pieces need."""
    sheet = paper(paper_name)
    width = body_width(sheet, across=True)
    per_band = int((width - math.fsum(FIXED)) // BOX)
    samples = checklist.samples
    blocks: list[Block] = [
        lines([f"Measure {checklist.plan}."], width),
        space(1.5),
    ]
    for start in range(0, len(samples), per_band):
        band = samples[start : start + per_band]
        columns = [
            *(
                Column(head, size)
                for head, size in zip(("No.", "Size", "Nominal", "Limits", "Tool"), FIXED, strict=True)
            ),
            *(Column("first" if piece == 1 else f"piece {piece}", BOX, "middle") for piece in band),
        ]
        rows = [
            [*_said(check, along, units), *("" for _ in band)] for check in checklist.checks for along in check.places
        ]
        verdict = ["", "Piece accepted (A), rejected (R, why), conceded (C, by whom)", "", "", "", *("" for _ in band)]
        blocks += [*table_blocks(columns, [*rows, verdict], least=7.5), space(4.0)]
    blocks.append(
        lines(
            [
                "Also look at every piece: no crack under a 10x glass at a low light (dye on doubt), no nick that "
                "catches, edges broken, marks on the right face, right hand, grain across the bends as drawn.",
            ],
            width,
        )
    )
    blocks += [space(2.0), *table_blocks(
        [Column(head, width / 4.0) for head in ("Measured by", "Date", "Sheet mark and batch", "First article signed")],
        [("", "", "", "")],
        least=9.0,
    )]  # fmt: skip
    head = f"{checklist.part}  {checklist.title}".strip()
    about = [
        job,
        f"drawing {checklist.drawing}" if checklist.drawing else "",
        f"revision {checklist.revision}" if checklist.revision else "",
        f"{checklist.material}, T {format_length(checklist.thickness, units, unit=True)}",
        f"{checklist.quantity} off",
        "sizes in inches" if units == "in" else "sizes in mm",
    ]
    return pages(f"Inspection: {head}", "  ·  ".join(a for a in about if a), blocks, sheet, units, FOOT, across=True)


def _said(check: Check, along: str, units: str) -> list[str]:
    what = ", ".join(filter(None, (check.what, along))) + (f" ({check.stop})" if check.stop else "")
    return [
        f"{check.number}{along[:1].upper()}",
        what,
        told(check.kind, check.nominal, units),
        limits(check, units),
        check.instrument,
    ]
