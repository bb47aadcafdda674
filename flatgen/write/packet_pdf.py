"""packet.pdf: the packet for paper, on the shop's printer paper, each page with job title and number. Sizes in mm."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from textwrap import wrap
from typing import Any

from flatgen.model.handling import handling
from flatgen.model.plan import Nest, Operation, Setup
from flatgen.model.results import Developed, Results
from flatgen.page.drawing import Drawing
from flatgen.page.packet import Enclosure
from flatgen.units import format_angle, format_length
from flatgen.write.letters import Letters, shown
from flatgen.write.nest_words import nest_facts, nest_title
from flatgen.write.packet_words import (
    CAUTIONS,
    big_words,
    counted,
    figure,
    grain_words,
    grouped,
    key_figures,
    length,
    mass,
    material_name,
    measure_words,
    next_steps,
    numbered_nests,
    places,
    plan_words,
    setback_words,
    size,
    state,
    stop_words,
)
from flatgen.write.pdf import NO_CLOCK, picture

MARGIN = 15.0
HEAD, FOOT = 12.0, 12.0
TEXT, SMALL = 9.5, 8.0  # [pt]
LINE = 4.6
MOST_LETTERS, MOST_LINES = 600, 12  # of a cell that goes on one page whatever the width of its column
BOX = 3.2  # side of a box to tick
TENS = 10
NEST = 150.0  # most height of the picture of a nest
METRIC = ("a4", "a3", "a2", "a1", "a0")


def as_bytes(results: Results, enclosures: Sequence[Enclosure]) -> bytes:
    """The bytes of the PDF file; equal results give equal bytes."""
    paper = _Paper(results)
    _summary(paper, results)
    _findings(paper, results)
    _blanks(paper, results)
    for made in results.parts:
        _part(paper, results, made, enclosures)
    if results.nests:
        paper.head("Nests")
    for report in results.nests:
        paper.need(20.0)
        paper.text(nest_title(results, report), bold=True)
        paper.facts(nest_facts(results, report))
    for number, nest in numbered_nests(results):
        _nest(paper, results, number, nest, enclosures)
    if results.plan is not None and results.setups:
        paper.head("Brake plan")
        paper.text(plan_words(results.plan))
        paper.text("Stop settings are reckoned: bend one, measure it, correct the stop, bend the rest.", bold=True)
        for number, setup in enumerate(results.setups, 1):
            _setting(paper, results, number, setup)
    paper.head("Cautions")
    for caution in CAUTIONS:
        paper.text(caution)
    return paper.letters.written()


class _Paper:
    """The document with the few ways in which the packet sets text, tables and pictures."""

    def __init__(self, results: Results) -> None:
        """Open the first page."""
        from fpdf import FPDF

        title = results.job.title
        digest = results.job.digest[:8]

        class Titled(FPDF):
            def header(self) -> None:
                short = letters.set(title if len(title) <= 90 else f"{title[:87]}...", True, SMALL)
                self.set_text_color(0)
                self.set_xy(MARGIN, HEAD - 5.0)
                self.cell(0, 4.0, short)
                self.line(MARGIN, HEAD, self.w - MARGIN, HEAD)
                self.set_y(MARGIN + 2.0)

            def footer(self) -> None:
                self.set_text_color(0)
                self.set_xy(MARGIN, -FOOT)
                self.cell(0, 4.0, letters.set(f"inputs {digest}", False, SMALL))
                self.set_xy(MARGIN, -FOOT)
                self.cell(0, 4.0, f"Page {self.page_no()} of {{nb}}", align="R")

        name = results.job.shop.printer_paper
        document: Any = Titled(unit="mm", format="A4" if name in METRIC else "letter")
        letters = self.letters = Letters(document)
        document.set_creation_date(NO_CLOCK)
        document.set_title(title)
        document.set_creator("flatgen")
        document.set_margins(MARGIN, MARGIN, MARGIN)
        document.set_auto_page_break(True, MARGIN)
        document.add_page()
        self.document = document

    @property
    def width(self) -> float:
        """Between the margins."""
        return float(self.document.epw)

    @property
    def left(self) -> float:
        """Room below the last line."""
        return float(self.document.h - MARGIN - self.document.get_y())

    def need(self, room: float) -> None:
        """Go on on a new page where there is no such room left."""
        if room > self.left and self.document.get_y() > MARGIN + 4.0:
            self.document.add_page()

    def head(self, text: str, level: int = 1) -> None:
        """A heading, kept with what follows."""
        self.need(30.0)
        self.document.ln(3.0 if level == 1 else 1.5)
        said = self.letters.set(text, True, 14.0 if level == 1 else 11.0)
        self.document.multi_cell(0, 6.0, said, align="L", new_x="LMARGIN", new_y="NEXT")

    def text(self, text: str, bold: bool = False, points: float = TEXT, line: float = LINE) -> None:
        """A paragraph."""
        said = self.letters.set(text, bold, points)
        self.document.multi_cell(0, line, said, align="L", new_x="LMARGIN", new_y="NEXT")

    def facts(self, pairs: Iterable[tuple[str, str]]) -> None:
        """Names with their values, one after the other."""
        self.text("; ".join(f"{name}: {value}" for name, value in pairs) + ".")

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float]) -> None:
        """A ruled table; its heads come again on each page."""
        if not rows:
            return
        self.document.ln(1.0)
        for bold in (True, False):  # the heads are bold
            self.letters.set("".join(cell for row in (heads, *rows) for cell in row), bold, SMALL)
        with self.document.table(
            col_widths=tuple(shares),
            line_height=3.8,
            text_align="LEFT",
            borders_layout="HORIZONTAL_LINES",
            padding=(0.5, 1.5, 0.5, 0.5),
            v_align="T",
        ) as table:
            for row in (heads, *rows):
                for part in _on_a_page(row):
                    table.row([shown(cell) for cell in part])
        self.document.ln(1.5)

    def _scales(self, drawings: Sequence[Drawing], height: float) -> tuple[float, list[float]]:
        room = (self.width - 6.0 * (len(drawings) - 1)) / len(drawings)
        return room, [min(1.0, room / d.size[0], height / d.size[1]) for d in drawings]

    def tall(self, drawings: Sequence[Drawing], height: float) -> float:
        """Height that drawings take side by side."""
        return max(d.size[1] * s for d, s in zip(drawings, self._scales(drawings, height)[1], strict=True))

    def pictures(self, drawings: Sequence[Drawing], height: float) -> None:
        """Drawings side by side, as large as the room allows, none above its true size."""
        room, scales = self._scales(drawings, height)
        tall = self.tall(drawings, height)
        self.need(tall + 6.0)
        y, x = self.document.get_y() + 2.0, MARGIN
        for drawing, scale in zip(drawings, scales, strict=True):
            picture(self.letters, drawing, x + (room - drawing.size[0] * scale) / 2.0, y, scale)
            x += room + 6.0
        self.document.set_text_color(0)
        self.document.set_xy(MARGIN, y + tall + 2.0)

    def boxes(self, count: int) -> None:
        """Boxes to tick, by tens."""
        step, per_row = BOX + 1.0, TENS * int(self.width // (TENS * (BOX + 1.0) + 3.0))
        self.document.set_line_width(0.2)
        for start in range(0, count, per_row):
            self.need(BOX + 2.0)
            y, x = self.document.get_y(), MARGIN
            for k in range(min(per_row, count - start)):
                self.document.rect(x, y, BOX, BOX)
                x += step + (3.0 if k % TENS == TENS - 1 else 0.0)
            self.document.set_xy(MARGIN, y + BOX + 1.5)


def _on_a_page(row: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """A row as the rows that it takes for none to be higher than a page: what is too long goes on in the next."""
    if all(len(cell) <= MOST_LETTERS and cell.count("\n") <= MOST_LINES for cell in row):
        yield tuple(row)
        return
    # a piece of sixty letters takes up to four lines of a narrow column
    lines = [[piece for line in cell.split("\n") for piece in wrap(line, 60) or [""]] for cell in row]
    for k in range(0, max(map(len, lines)), MOST_LINES):
        yield tuple("\n".join(cell[k : k + MOST_LINES]) for cell in lines)


def _summary(paper: _Paper, results: Results) -> None:
    paper.head(results.job.title)
    for name, lines in key_figures(results):
        paper.text(f"{name}: {'; '.join(lines)}")
    paper.head("Next", 2)
    for number, step in enumerate(next_steps(results), 1):
        paper.text(f"{number}. {step}")
    paper.text(CAUTIONS[0], bold=True)


def _findings(paper: _Paper, results: Results) -> None:
    units = results.job.units
    paper.head("Findings")
    if not results.findings:
        paper.text("No rule found anything. That does not make a part strong enough.")
    rows = []
    for same in grouped(results.findings):
        f = same[0]
        what = f"{f.message}. Waived: {f.waived}" if f.waived else f.message
        value, limit = figure(f.value, f.unit, units), figure(f.limit, f.unit, units)
        word = state(f).upper() if f.stops else state(f)
        rows.append((word, "\n".join(places(same)), what, value, limit, f.rule, f.source))
    heads = ("to do", "part and place", "what was found", "value", "limit", "rule", "source")
    paper.table(heads, rows, (11, 26, 46, 14, 14, 29, 30))


def _blanks(paper: _Paper, results: Results) -> None:
    units, nested = results.job.units, results.nested
    rows = [
        (
            made.part.id,
            made.part.material.name,
            length(made.blank.thickness, units),
            size(made.blank.width, made.blank.height, units),
            grain_words(made.blank),
            str(made.part.quantity),
            str(nested[made.part.id]),
            made.tool,
            "STOP" if made.stopped else "",
        )
        for made in results.parts
    ]
    paper.head("Cut list")
    heads = ("part", "material", "thickness", "blank", "grain", "wanted", "to cut", "tool", "")
    paper.table(heads, rows, (20, 22, 18, 32, 24, 14, 12, 14, 10))


def _part(paper: _Paper, results: Results, made: Developed, enclosures: Sequence[Enclosure]) -> None:
    part, blank, units = made.part, made.blank, results.job.units
    drawings = [
        e.drawings[0]
        for kind in ("flat", "formed")
        for e in enclosures
        if e.kind == kind and e.about == part.id and (kind == "flat" or blank.bends)
    ]
    paper.need(60.0 if drawings else 30.0)
    paper.head(f"{part.id} {part.title}".strip(), 2)
    if made.stopped:
        paper.text("STOP: a finding forbids cutting this part; it has no cutting drawing.", bold=True)
    said = [
        ("Quantity", f"{part.quantity} wanted, {results.nested[part.id]} to cut"),
        ("Material", f"{part.material.name} {length(part.thickness, units)}"),
        ("Blank", size(blank.width, blank.height, units)),
        ("Grain", grain_words(blank)),
        ("Mass", mass(blank.mass, units)),
    ]
    if part.drawing:
        said.append(("Drawing", f"{part.drawing} rev. {part.revision}" if part.revision else part.drawing))
    paper.facts(said)
    for note in part.notes:
        paper.text(f"- {note}")
    if drawings:
        paper.pictures(drawings, 48.0 if part.kind == "part" else 30.0)
    rows = [
        (
            bend.id,
            bend.direction,
            format_angle(bend.angle),
            length(bend.bent.inside_radius, units),
            bend.bent.nose or "none",
            "none" if abs(bend.bent.deduction) == float("inf") else length(bend.bent.deduction, units),
            format_angle(bend.overbend_to),
            bend.bent.method,
        )
        for bend in blank.bends
    ]
    heads = ("bend", "way", "angle", "inside radius", "nose bar", "deduction", "over-bend to", "reckoned by")
    paper.table(heads, rows, (10, 12, 14, 22, 34, 20, 20, 26))


def _nest(paper: _Paper, results: Results, number: int, nest: Nest, enclosures: Sequence[Enclosure]) -> None:
    units, sheet = results.job.units, nest.sheet
    drawings = [e.drawings[0] for e in enclosures if e.kind == "nest" and e.about == str(number) and "svg" in e.formats]
    paper.need(45.0 + (paper.tall(drawings[:1], NEST) if drawings else 60.0))  # head, facts and picture stay together
    paper.head(f"Sheet {number}: {sheet.id}")
    counts = Counter(p.part for p in nest.placements)
    paper.facts(
        (
            ("Material", f"{material_name(results, nest.material)} {length(nest.thickness, units)}"),
            ("Size", size(sheet.width, sheet.height, units)),
            ("Cut with", nest.tool),
            ("Used", f"{nest.utilisation:.0%}"),
            ("Pieces", ", ".join(f"{count} × {part}" for part, count in counts.items())),
        )
    )
    paper.pictures(drawings[:1], NEST)
    rows = [
        (
            "[  ]",
            str(cut.order),
            length(cut.gauge, units),
            f"{_at(cut.start, units)} to {_at(cut.end, units)}",
            cut.note,
        )
        for cut in nest.cuts
    ]
    paper.table(("done", "cut", "gauge", f"line, {units}", "then"), rows, (10, 10, 22, 60, 70))


def _at(p: tuple[float, float], units: str) -> str:
    return f"{format_length(p[0], units)}, {format_length(p[1], units)}"


def _setting(paper: _Paper, results: Results, number: int, setup: Setup) -> None:
    units = results.job.units
    paper.need(70.0)
    paper.head(f"Setting {number}: {stop_words(setup, units)}", 2)
    if setup.stop_side != "sight":
        paper.text(big_words(setup, units), bold=True, points=24.0, line=11.0)
    said = [
        ("Brake", setup.brake),
        ("Nose bar", f"{setup.nose}, radius {length(setup.nose_radius, units)}"),
        ("Nose set-back", setback_words(setup, units)),
        ("Over-bend to", format_angle(setup.overbend_to)),
    ]
    if setup.material:
        said.append(("Sheet", f"{material_name(results, setup.material)} {length(setup.thickness, units)}"))
    if setup.changes:
        said.append(("Change now", ", ".join(setup.changes)))
    paper.facts(said)
    paper.text("[  ] test piece bent and measured" if setup.coupon_first else "[  ] first piece measured and right")
    if setup.coupon_first:
        paper.text("[  ] first piece measured and right")
    for op in setup.operations:
        _operation(paper, op, units)


def _operation(paper: _Paper, op: Operation, units: str) -> None:
    label = f"{op.part} {op.bend}, {format_angle(op.angle)}, step {op.step}: {counted(op.pieces, 'piece')}"
    paper.need(16.0)
    paper.text(label, bold=True)
    paper.text(f"{handling(op)} First piece measures {measure_words(op, units)}.")
    paper.boxes(op.pieces)
