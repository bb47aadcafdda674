"""The reading drawing of one blank: all that a person needs to make the part, on framed sheets.

The blocks (view of the blank, cross-sections, formed view, tables, notes) are made first; then paper and scale are
tried from the smallest paper and the best scale on until all blocks find room. What does not fit on one sheet of home
printer's paper goes on with the hole tables on a second one.
"""

from collections.abc import Iterable, Sequence
from functools import cache
from itertools import product

from flatgen.core import arcs
from flatgen.core.outline import segments
from flatgen.core.words import Units
from flatgen.develop.datum import datum_note
from flatgen.draw.flat_view import flat_view
from flatgen.draw.formed import formed_view
from flatgen.draw.frame import BLOCK_WIDTH, Title, block_height, frame_items, title_items
from flatgen.draw.openings import opening_rows
from flatgen.draw.pack import Block, block, pack_any, pack_pages
from flatgen.draw.section import best_scale, section_view, sections
from flatgen.draw.view import Clamped, clamped_faces, grain_arrow, sight_line
from flatgen.draw.words import (
    CAUTIONS,
    LINE_NOTE,
    allowance_notes,
    finding_texts,
    nose_notes,
    over_bend,
    tolerance_text,
)
from flatgen.errors import CannotMake
from flatgen.model.blank import Blank, BlankHole, ReliefHole
from flatgen.model.finding import Finding
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.page.drawing import Box, Drawing, Item, Text, extents
from flatgen.page.layers import used
from flatgen.page.paper import PAPERS, READING, Paper, frame_box, scale_text, scales_for
from flatgen.page.table import paragraph, table, wrapped
from flatgen.units import format_angle, format_length

HOLE_HEADS = ("No.", "Diameter", "Drill", "x", "y", "Remark")
NOTE_WIDTHS = (88.0, 56.0, 125.0)
HEAD = 3.0


def blank_sheet(
    part: Part,
    blank: Blank,
    findings: Iterable[Finding],
    shop: Shop,
    units: Units,
    *,
    owner: str = "",
    reference: str = "",
    clamped: Clamped | None = None,
) -> tuple[Drawing, ...]:
    """The sheets of one part's drawing, nearly always one."""
    faces = clamped_faces(part, blank, clamped)
    about = _About(part, blank, tuple(findings), shop, units, faces, owner, reference)
    home = [PAPERS[name] for name in READING[units][:2]]
    large = [PAPERS[name] for name in READING[units][2:]]
    scales = scales_for(max(blank.width, blank.height))
    good, fair, small = (
        [s for s in scales if s >= 0.5],
        [s for s in scales if 0.1 <= s < 0.5],
        [s for s in scales if s < 0.1],
    )
    for papers, tried in ((home, good), (home, fair), (large, [*good, *fair]), (home, small), (large, small)):
        for parted in (False, True):
            for ordinates in (True, False):
                for sheet in papers:
                    for scale in tried:
                        pages = about.pages(sheet, scale, ordinates, parted)
                        if pages:
                            return pages
    raise CannotMake(f'part "{part.id}": its drawing does not fit on any sheet up to {large[-1].title}')


class _About:
    """One part's blocks, each made once for a scale."""

    def __init__(
        self,
        part: Part,
        blank: Blank,
        findings: tuple[Finding, ...],
        shop: Shop,
        units: Units,
        faces: dict[str, str],
        owner: str,
        reference: str,
    ) -> None:
        """Keep what the blocks are made from."""
        self.part, self.blank, self.findings, self.shop, self.units = part, blank, findings, shop, units
        self.faces, self.owner, self.reference = faces, owner, reference
        self.view = cache(self._view)
        self.fixed = [block(t) for t in (bend_table(blank, faces, units), size_table(blank, units)) if t]
        # the pictures large first, small where the paper is short of room
        self.pictures = [
            [*self._sections(width, height), *self._formed(size)]
            for width, height, size in ((62.0, 55.0, 52.0), (50.0, 32.0, 40.0))
        ]
        openings = opening_table(blank, units)
        if openings:
            self.fixed.append(block(openings))
        self.notes = [self._notes(width) for width in NOTE_WIDTHS]
        self.fixed.append(_grain(blank))

    def pages(self, sheet: Paper, scale: float, ordinates: bool, parted: bool) -> tuple[Drawing, ...] | None:
        """Pages on one paper at one scale, or None when something finds no room."""
        view = self.view(scale, ordinates)
        page = frame_box(sheet)
        if view.width > page[2] - page[0] - 8.0 or view.height > page[3] - page[1] - 8.0:
            return None
        title = (page[2] - BLOCK_WIDTH, page[1], page[2], page[1] + block_height(2))
        if not parted:
            for rows in (40, 24, 16, 10):
                tables = hole_tables(self.blank, self.units, rows)
                if rows < 40 and len(tables) < 2:
                    break  # nothing to divide further
                items = self._laid(view, tables, page, title)
                if items is not None:
                    return (self._drawing(sheet, scale, items, 1, 1),)
            return None
        items = self._laid(view, [], page, title)
        if items is None:
            return None
        more = pack_pages(hole_tables(self.blank, self.units, 30), page, [title])
        if more is None:
            return None
        total = 1 + len(more)
        return tuple(self._drawing(sheet, scale, laid, k + 1, total) for k, laid in enumerate([items, *more]))

    def _laid(self, view: Block, tables: list[Block], page: Box, title: Box) -> list[Item] | None:
        """All blocks on one page, in the first of several orders and note widths that fits."""
        for pictures, notes in product(self.pictures, self.notes):
            items = pack_any(view, [*pictures, *self.fixed, *tables, notes], page, [title])
            if items is not None:
                return items
        return None

    def _view(self, scale: float, ordinates: bool) -> Block:
        items = flat_view(self.blank, self.faces, scale, self.units, hole_ordinates=ordinates)
        return _headed(f"BLANK, upper side toward you, scale {scale_text(scale)}", items)

    def _sections(self, width: float, height: float) -> Iterable[Block]:
        for section in sections(self.blank):
            scale = best_scale(section, width, height)
            names = ", ".join(sorted(bend.id for bend, _, _ in section.bends))
            head = f"SECTION square to {names}, scale {scale_text(scale)}"
            yield _headed(head, section_view(section, scale, self.units))

    def _formed(self, size: float) -> list[Block]:
        if not self.blank.bends:
            return []
        return [_headed("FORMED PART, isometric, not to scale", formed_view(self.blank, size))]

    def _notes(self, width: float) -> Block:
        part, units = self.part, self.units
        texts = [(f"All sizes in {'inches' if units == 'in' else 'millimetres'}. {LINE_NOTE}", False)]
        texts.append(
            ("Bend lines: full up (toward you), dashed down. Dotted: tangents. Long and short dashes: sight.", False)
        )
        texts += [(note, True) for note in filter(None, [datum_note(self.blank)])]
        texts += [(note, False) for note in corner_notes(self.blank, units)]
        texts += [(note, True) for note in nose_notes(self.blank, units)]
        texts += [(note, False) for note in allowance_notes(self.blank, units)]
        texts += [(note, False) for note in part.notes]
        texts += finding_texts(self.findings, part.id, units)
        texts += [(caution, False) for caution in CAUTIONS]
        lines = [(line, bold) for text, bold in texts for line in wrapped(text, width, 2.2, bold)]
        return block(paragraph([("NOTES", True), *lines]))

    def _drawing(self, sheet: Paper, scale: float, items: Sequence[Item], number: int, total: int) -> Drawing:
        part, blank, units = self.part, self.blank, self.units
        title = Title(
            title=part.handed_title,
            number=part.id,
            owner=self.owner or self.shop.name,
            revision=part.revision,
            reference=part.drawing or self.reference,
            sheet=number,
            sheets=total,
        )
        size = f"{format_length(blank.width, units)} × {format_length(blank.height, units)}"
        strips = (
            (
                ("Material", part.material.name, 0.3),
                ("Thickness", format_length(blank.thickness, units), 0.14),
                ("Blank", size, 0.26),
                ("Mass", f"{blank.mass:.1f} g", 0.15),
                ("Quantity", str(part.quantity), 0.15),
            ),
            (
                ("Scale of the blank", scale_text(scale), 0.2),
                ("Sizes in", units, 0.1),
                ("Part mark", part.mark or part.id, 0.25),
                ("Tolerances where none are given", tolerance_text(part, self.shop, units), 0.45),
            ),
        )
        every = [*frame_items(sheet), *title_items(sheet, title, strips), *items]
        return Drawing(
            title=f"{part.id} drawing",
            size=(sheet.height, sheet.width),
            items=tuple(every),
            layers=used(every),
            units=units,
            scale=scale,
            description=f"{part.title}, sheet {number} of {total}",
            properties=(("part", part.id), ("material", part.material.name), ("revision", part.revision)),
        )


def _headed(head: str, items: Iterable[Item]) -> Block:
    """A block with its name below it, in the middle of what it names."""
    listed = list(items)
    x0, y0, _, _ = extents(listed)
    return block((*listed, Text("note", (x0, y0 - HEAD - 2.5), head, HEAD, bold=True)))


def _grain(blank: Blank) -> Block:
    if blank.grain is None:
        return block([Text("grain", (0.0, 0.0), "GRAIN: any direction", 2.5)])
    arrow = grain_arrow((0.0, 0.0), blank.grain, 18.0)
    x0, y0, x1, _ = extents(arrow)
    return block([*arrow, Text("grain", ((x0 + x1) / 2.0, y0 - 4.0), "GRAIN", 2.5, "middle", bold=True)])


def bend_table(blank: Blank, faces: dict[str, str], units: str) -> list[Item]:
    """What is to know of each bend, both ways to say its angle."""
    rows = []
    for bend in blank.bends:
        bent = bend.bent
        (x0, y0), (x1, y1) = sight_line(bend, faces[bend.id])
        level = abs(y1 - y0) < 1e-6
        place = f"y {format_length(y0, units)}" if level else f"x {format_length(x0, units)}"
        if not level and abs(x1 - x0) > 1e-6:
            place = "skew"
        rows.append(
            (
                bend.id,
                bend.direction,
                format_angle(bend.angle),
                format_angle(180.0 - bend.angle),
                format_length(bent.inside_radius, units),
                over_bend(bend),
                format_length(bent.allowance, units),
                format_length(bent.deduction, units) if bend.angle < 179.9 else "-",
                faces[bend.id],
                place,
            )
        )
    if not rows:
        return []
    heads = (
        "Bend",
        "Way",
        "Angle",
        "Between legs",
        "R inside",
        "Over-bend",
        "Allowance",
        "Deduction",
        "Clamp",
        "Sight line",
    )
    return table("BENDS", heads, rows, left=(0, 1, 8))


def size_table(blank: Blank, units: str) -> list[Item]:
    """Sizes of the formed part, outside and inside, and how far each is expected to come out."""

    def spread(mm: float | None) -> str:
        return "-" if mm is None else format_length(mm, units)

    rows = [
        (d.where, format_length(d.outside, units), format_length(d.inside, units), spread(d.likely), spread(d.worst))
        for d in blank.dimensions
        if d.kind != "angle"
    ]
    rows += [
        # the face that the size lies along says enough beside the section
        (
            f"overall {d.where.rpartition(', ')[2]}",
            format_length(d.outside, units),
            "-",
            spread(d.likely),
            spread(d.worst),
        )
        for d in blank.overall
    ]
    return (
        table("FORMED SIZES, likely: root sum square", ("Where", "Outside", "Inside", "± likely", "± worst"), rows)
        if rows
        else []
    )


def opening_table(blank: Blank, units: str) -> list[Item]:
    """Openings other than drilled holes: letter, shape, middle from the datum corner."""
    rows = opening_rows(blank, units)
    return (
        table("OPENINGS, middle from edges B (x) and A (y)", ("", "Shape", "x", "y"), rows, left=(0, 1)) if rows else []
    )


def hole_tables(blank: Blank, units: str, rows: int) -> list[Block]:
    """Hole tables of at most so many rows: number, diameter, drill, place from the datum corner."""
    lines = [hole_row(hole, units) for hole in blank.drilled]
    # the last column only where it says something
    told = len(HOLE_HEADS) - (not any(hole.remark for hole in blank.drilled))
    blocks = []
    count = -(-len(lines) // rows) if lines else 0
    for k in range(count):
        share = -(-len(lines) // count)
        title = "HOLES, from edges B (x) and A (y)" if k == 0 else "HOLES, continued"
        part = [row[:told] for row in lines[k * share : (k + 1) * share]]
        blocks.append(block(table(title, HOLE_HEADS[:told], part, left=(0, 5))))
    return blocks


def hole_row(hole: BlankHole | ReliefHole, units: str) -> tuple[str, ...]:
    """Number, diameter, drill, place from edges B and A, and what else is to know, under ``HOLE_HEADS``."""
    x, y = hole.center
    sizes = (format_length(v, units) for v in (hole.diameter, x, y))
    diameter, across, up = sizes
    return str(hole.number), diameter, hole.label, across, up, hole.remark


def corner_notes(blank: Blank, units: str) -> list[str]:
    """Rounded corners of the outline, counted by radius."""
    counted: dict[float, int] = {}
    for p, q, bulge in segments(blank.outline):
        if abs(bulge) > 1e-9:
            radius = round(arcs.arc_of(p, q, bulge).radius, 4)
            counted[radius] = counted.get(radius, 0) + 1
    return [f"{count} × R {format_length(radius, units)} on the outline." for radius, count in counted.items()]
