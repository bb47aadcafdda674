"""The dimensioned drawing of one blank for the file: ISO sheets on the shop's own paper.

The view of the blank, its sections, the formed part, tables and notes are laid out as a card's are, on as many sheets
as it takes, each with frame and title block. All on one sheet comes before a larger scale. Lengths mm.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product

from flatgen.core import arcs
from flatgen.core.outline import segments
from flatgen.core.words import UNIT_NAMES, Units
from flatgen.develop.datum import datum_note
from flatgen.draw.card_layout import begun, gone_on, on_one_page, pieces_of
from flatgen.draw.card_tables import corner_tables, hole_tables
from flatgen.draw.card_view import card_view
from flatgen.draw.flat_view import flat_view
from flatgen.draw.formed import formed_view
from flatgen.draw.frame import Title, block_height, frame_items, title_items
from flatgen.draw.section import best_scale, section_view, section_words, sections
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
from flatgen.model.blank import Blank
from flatgen.model.finding import Finding
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.page.blocks import blocks, stacked
from flatgen.page.content import Content, Heading, Picture, Table, Words
from flatgen.page.drawing import Drawing
from flatgen.page.layers import used
from flatgen.page.paper import frame_box, page_paper, scale_text, scales_for
from flatgen.page.place import framed, placed
from flatgen.units import format_angle, format_length

EDGE = 4.0  # inside of the frame
LEAST_WHOLE = 0.5  # a smaller view is not taken to save a sheet
SECTION, LARGE, FORMED = (90.0, 50.0), (150.0, 90.0), 48.0
MANY = 6  # bends, beyond which a section is drawn large
TOGETHER = 9  # notes
VIEWS = (True, False, None)  # with ordinates of the holes, without, as a card shows it, which has fewer words
LINES = "Bend lines: full up (toward you), dashed down. Dotted: tangents. Long and short dashes: sight."
BEND_HEADS = (
    "bend",
    "way",
    "angle",
    "between legs",
    "R inside",
    "over-bend",
    "allowance",
    "deduction",
    "clamp",
    "sight",
)
SIZE_HEADS = ("where", "outside", "inside", "± likely", "± worst")


@dataclass(frozen=True, slots=True)
class _About:
    """What the sheets of a part are made from."""

    part: Part
    blank: Blank
    shop: Shop
    units: Units
    faces: dict[str, str]
    owner: str


def blank_sheet(
    part: Part,
    blank: Blank,
    findings: Iterable[Finding],
    shop: Shop,
    units: Units,
    *,
    owner: str = "",
    clamped: Clamped | None = None,
) -> tuple[Drawing, ...]:
    """The sheets of one part's drawing."""
    about = _About(part, blank, shop, units, clamped_faces(part, blank, clamped), owner)
    pieces = pieces_of(_contents(about, tuple(findings)))
    x0, y0, x1, y1 = frame_box(page_paper(shop.printer_paper, units))
    width, height = x1 - x0 - 2.0 * EDGE, y1 - y0 - block_height(2) - 2.0 * EDGE
    scales = scales_for(max(blank.width, blank.height))
    view = cache(lambda scale, ordinates: _view(about, scale, ordinates))
    for ordinates, scale in product(VIEWS[:2], (one for one in scales if one >= LEAST_WHOLE)):
        laid = on_one_page(view(scale, ordinates), pieces, width, height)
        if laid:
            return _sheets(about, [laid], scale)
    for scale, ordinates in product(scales, VIEWS):
        found = begun(view(scale, ordinates), pieces, width, height)
        if found:
            return _sheets(about, [found[0], *gone_on(found[1], width, height)], scale)
    raise CannotMake(f'part "{part.id}": its drawing does not fit on the shop\'s paper')


def _view(about: _About, scale: float, ordinates: bool | None) -> Picture:
    """The blank with the ordinates of its holes or without; None: as a card shows it."""
    caption = f"BLANK, upper side toward you, scale {scale_text(scale)}"
    if ordinates is None:
        drawn = card_view(about.blank, about.faces, about.units, scale)
    else:
        items = flat_view(about.blank, about.faces, scale, about.units, hole_ordinates=ordinates)
        drawn = framed(items, about.units)
    return Picture(drawn, caption, true=True, caption=caption)


def _contents(about: _About, findings: tuple[Finding, ...]) -> list[Content | tuple[Content, ...]]:
    blank, units = about.blank, about.units
    found: list[Content | tuple[Content, ...]] = [*bend_table(blank, about.faces, units), *size_table(blank, units)]
    found += [*_pictures(blank, units), *hole_tables(blank, about.shop.drills, units), *corner_tables(blank, units)]
    notes = [Words(text, "strong" if bold else "plain") for text, bold in _notes(about, findings)]
    return found + [(Heading("NOTES", 2), *notes[k : k + TOGETHER]) for k in range(0, len(notes), TOGETHER)]


def _pictures(blank: Blank, units: Units) -> Iterator[Picture]:
    if blank.grain is not None:
        yield Picture(framed(grain_arrow((0.0, 0.0), blank.grain, 18.0, 2.5), units), "grain", true=True)
    for section in sections(blank):
        scale = best_scale(section, *(SECTION if len(section.bends) <= MANY else LARGE))
        head = f"SECTION {section_words(section, units)}, scale {scale_text(scale)}"
        yield Picture(framed(section_view(section, scale, units), units), head, true=True, caption=head)
    if blank.bends:
        head = "FORMED PART, isometric, not to scale"
        yield Picture(framed(formed_view(blank, FORMED), units), head, true=True, caption=head)


def _notes(about: _About, findings: tuple[Finding, ...]) -> Iterator[tuple[str, bool]]:
    """Notes, and whether each is bold."""
    part, blank, units = about.part, about.blank, about.units
    yield f"All sizes in {UNIT_NAMES[units]}. {LINE_NOTE}", False
    if blank.bends:
        yield LINES, False
    if blank.grain is None:
        yield "Grain: any direction.", False
    yield from ((note, True) for note in filter(None, [datum_note(blank)]))
    yield from ((note, False) for note in corner_notes(blank, units))
    yield from ((note, True) for note in nose_notes(blank, units))
    yield from ((note, False) for note in (*allowance_notes(blank, units), *part.notes))
    yield from finding_texts(findings, part.id, units)
    yield from ((caution, False) for caution in CAUTIONS)


def _sheets(about: _About, laid: list[tuple[Content, ...]], scale: float) -> tuple[Drawing, ...]:
    return tuple(_sheet(about, contents, scale, k, len(laid)) for k, contents in enumerate(laid, 1))


def _sheet(about: _About, contents: tuple[Content, ...], scale: float, number: int, total: int) -> Drawing:
    part, blank, units = about.part, about.blank, about.units
    sheet = page_paper(about.shop.printer_paper, units)
    x0, _, x1, y1 = frame_box(sheet)
    body = stacked(blocks(contents, x1 - x0 - 2.0 * EDGE))
    title = Title(
        title=part.handed_title,
        number=part.id,
        owner=about.owner or about.shop.name,
        revision=part.revision,
        reference=part.drawing,
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
            ("Tolerances where none are given", tolerance_text(part, about.shop, units), 0.45),
        ),
    )
    every = [*frame_items(sheet), *title_items(sheet, title, strips)]
    every += placed(body.items, 1.0, (x0 + EDGE, y1 - EDGE - body.height))
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


def bend_table(blank: Blank, faces: dict[str, str], units: str) -> list[Table]:
    """What is to know of each bend, both ways to say its angle."""
    rows = []
    for bend in blank.bends:
        bent = bend.bent
        (x0, y0), (x1, y1) = sight_line(bend, faces[bend.id])
        level = abs(y1 - y0) < 1e-6
        place = f"y {format_length(y0, units)}" if level else f"x {format_length(x0, units)}"
        sizes = (
            format_angle(bend.angle),
            format_angle(180.0 - bend.angle),
            format_length(bent.inside_radius, units),
            over_bend(bend),
            format_length(bent.allowance, units),
            format_length(bent.deduction, units) if bend.angle < 179.9 else "-",
        )
        skew = not level and abs(x1 - x0) > 1e-6
        rows.append((bend.id, bend.direction, *sizes, faces[bend.id], "skew" if skew else place))
    return [Table("Bends", BEND_HEADS, tuple(rows), tuple(range(2, 8)), shown=True)] if rows else []


def size_table(blank: Blank, units: str) -> list[Table]:
    """Sizes of the formed part, outside and inside, and how far each is expected to come out."""

    def spread(mm: float | None) -> str:
        return "-" if mm is None else format_length(mm, units)

    listed = [(d, d.where, format_length(d.inside, units)) for d in blank.dimensions if d.kind != "angle"]
    # the face that an overall size lies along says enough beside the section
    listed += [(d, f"overall {d.where.rpartition(', ')[2]}", "-") for d in blank.overall]
    rows = [
        (where, format_length(d.outside, units), inside, spread(d.likely), spread(d.worst))
        for d, where, inside in listed
    ]
    title = "Formed sizes, likely: root sum square"
    return [Table(title, SIZE_HEADS, tuple(rows), (1, 2, 3, 4), shown=True)] if rows else []


def corner_notes(blank: Blank, units: str) -> list[str]:
    """Rounded corners of the outline, counted by radius."""
    counted: dict[float, int] = {}
    for p, q, bulge in segments(blank.outline):
        if abs(bulge) > 1e-9:
            radius = round(arcs.arc_of(p, q, bulge).radius, 4)
            counted[radius] = counted.get(radius, 0) + 1
    return [f"{count} × R {format_length(radius, units)} on the outline." for radius, count in counted.items()]
