"""The inspection sheet: what to measure on each part, with what, on which pieces, and boxes to write in."""

from collections.abc import Iterable, Iterator, Sequence

from flatgen.core.words import UNIT_NAMES, Units
from flatgen.draw.card_measure import in_order, limits, told
from flatgen.model.inspection import Check, Checklist
from flatgen.page.content import Cell, Content, Entry, Subject, Table, Words
from flatgen.page.drawing import Drawing
from flatgen.page.flow import on_paper, pages
from flatgen.units import format_length

BOX, ROW = 16.0, 7.5
HEADS, SHARES = ("No.", "Size", "Nominal", "Limits", "Tool"), (9.0, 52.0, 21.0, 36.0, 30.0)
BAND = 6  # pieces beside each other
SIGNED = ("Measured by", "Date", "Sheet mark and batch", "First article signed")
VERDICT = "Piece accepted (A), rejected (R, why), conceded (C, by whom)"
FOOT = (
    "The drawing, the designer and the inspector decide; this sheet only lists what to measure. "
    "Edges are sharp. A bend is never taken out and bent again."
)
LOOK = (
    "Also look at every piece: no crack under a 10x glass at a low light (dye on doubt), no nick that catches, edges"
    " broken, marks on the right face, right hand, grain across the bends as drawn."
)


def inspection_pages(
    job: str, checklists: Iterable[Checklist], units: Units, paper_name: str = "letter"
) -> tuple[Drawing, ...]:
    """Sheets for all parts of a job, a part on pages of its own, laid across."""
    return pages([_subject(one, units) for one in checklists], on_paper(paper_name, job, units, FOOT, across=True))


def _subject(checklist: Checklist, units: Units) -> Subject:
    """Sheets for one part: as many bands of boxes as its sample pieces need."""
    signed = Table("Signed", SIGNED, (tuple(_box(head) for head in SIGNED),), shares=(1, 1, 1, 1))
    about = (
        f"drawing {checklist.drawing}" if checklist.drawing else "",
        f"revision {checklist.revision}" if checklist.revision else "",
        f"{checklist.material}, T {format_length(checklist.thickness, units, unit=True)}",
        f"sizes in {UNIT_NAMES[units]}",
    )
    return Subject(
        f"inspection-{checklist.part}",
        f"Inspection: {checklist.part} {checklist.title}".strip(),
        (Words(f"Measure {checklist.plan}."), *_bands(checklist, units), Words(LOOK), signed),
        side=f"{checklist.quantity} off",
        under="; ".join(filter(None, about)),
    )


def _bands(checklist: Checklist, units: Units) -> Iterator[Content]:
    for start in range(0, len(checklist.samples), BAND):
        band = checklist.samples[start : start + BAND]
        heads = (*HEADS, *("first" if piece == 1 else f"piece {piece}" for piece in band))
        rows = [(*_said(check, along, units), *_boxes(band)) for check in in_order(checklist) for along in check.places]
        rows.append(("", VERDICT, "", "", "", *_boxes(band)))
        yield Table("Sizes to measure", heads, tuple(rows), shares=(*SHARES, *(BOX for _ in band)))


def _boxes(band: Sequence[int]) -> tuple[Cell, ...]:
    return tuple(_box(f"piece {piece}") for piece in band)


def _box(what: str) -> Entry:
    return Entry("", what, tall=ROW)


def _said(check: Check, along: str, units: str) -> tuple[str, ...]:
    what = ", ".join(filter(None, (check.what, along))) + (f" ({check.stop})" if check.stop else "")
    return (
        f"{check.number}{along[:1].upper()}",
        what,
        told(check.kind, check.nominal, units),
        limits(check, units),
        check.instrument,
    )
