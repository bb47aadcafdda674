"""The nest on framed paper: the sheet to scale with cuts by number, and the list of cuts with their gauges.

Cuts that follow one another at the same gauge are one row, since the gauge is set once for them.
"""

import math
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from itertools import groupby

from flatgen.core.outline import bounds, moved
from flatgen.core.words import Units
from flatgen.draw.frame import BLOCK_WIDTH, Title, block_height, frame_items, title_items
from flatgen.draw.nest import counted, heading_lines, letters_used, nest_view, placement_motion
from flatgen.draw.pack import Block, block, pack_any, pack_pages
from flatgen.draw.router import router_plan
from flatgen.draw.view import grain_arrow
from flatgen.draw.window import seen
from flatgen.errors import CannotMake
from flatgen.model.blank import Blank
from flatgen.model.plan import Cut, Nest
from flatgen.page.drawing import Box, Drawing, Item, Text, extents
from flatgen.page.layers import used
from flatgen.page.paper import PAPERS, READING, REDUCED, Paper, frame_box, scale_text
from flatgen.page.table import paragraph, table, wrapped
from flatgen.units import format_length

LETTER = 3.0
LONGEST = 42  # rows of a table
STRIP = re.compile(r"strip ([\d.]+): keep on cutting")


def nest_sheet(
    nest: Nest,
    blanks: Mapping[str, Blank],
    units: Units,
    *,
    number: int = 1,
    owner: str = "",
    job: str = "",
    bit: float = 0.0,
    trims: Collection[str] = (),
) -> tuple[Drawing, ...]:
    """The nest on sheets of the home printer's larger paper, the cut list on more sheets where it must be.

    bit : diameter of the router bit, so that what it cannot reach is said [mm]; 0: no router
    trims : parts that leave the shear as rectangles and must be trimmed
    """
    sheet = PAPERS[READING[units][1]]
    page = frame_box(sheet)
    title = (page[2] - BLOCK_WIDTH, page[1], page[2], page[1] + block_height(1))
    cuts = _cut_tables(nest, units)
    more = [*_trims(nest, trims), *(_missed(nest, blanks, units, bit) if bit else [])]
    notes = [_notes(nest, units, more), _grain(nest)]
    room = (page[2] - page[0] - 8.0, page[3] - page[1] - 8.0)
    for several in (False, True):
        for detail in (1.0, *REDUCED):
            view = _detail(nest, blanks, units, detail)
            if view.width > room[0] or view.height > room[1]:
                continue
            tables = [*cuts, *_other_tables(nest, units, view)]
            for scale in (s for s in REDUCED if s <= detail):
                overview = _overview(nest, blanks, units, scale)
                if overview.width > min(130.0, room[0]):
                    continue
                laid = _laid(view, [overview, *notes], tables, page, title, several)
                if laid is not None:
                    total = len(laid)
                    return tuple(
                        _drawing(nest, sheet, items, units, detail, owner, job, number, k, total)
                        for k, items in enumerate(laid, 1)
                    )
    raise CannotMake(f'sheet "{nest.sheet.id}": its drawing does not fit on {sheet.title} paper')


def _detail(nest: Nest, blanks: Mapping[str, Blank], units: str, scale: float) -> Block:
    """The part of the sheet that has blanks on it, with part marks and the numbers of cuts."""
    outlines = [moved(blanks[p.part].outline, placement_motion(p)) for p in nest.placements]
    x0, y0, x1, y1 = bounds(outlines) if outlines else (0.0, 0.0, nest.sheet.width, nest.sheet.height)
    around = 4.0 / scale
    inside = (x0 - around, y0 - around, x1 + around, y1 + around)
    view = nest_view(nest, blanks, units, scale, LETTER, gauges=False, fine=scale < 0.5, within=inside)
    marks = extents([item for item in view if item.layer == "mark"] or view)
    window = (
        min(max(-1.0, (x0 - around)) * scale, marks[0] - 1.0),
        min(max(-1.0, (y0 - around)) * scale, marks[1] - 1.0),
        max(min(nest.sheet.width + 1.0, x1 + around) * scale, marks[2] + 1.0),
        max(min(nest.sheet.height + 1.0, y1 + around) * scale, marks[3] + 1.0),
    )
    items = seen(view, window, window)
    low = extents(items)
    head = f"BLANKS AND CUTS, scale {scale_text(scale)}"
    return block([*items, Text("note", (low[0], low[1] - 5.5), head, 3.0, bold=True)])


def _overview(nest: Nest, blanks: Mapping[str, Blank], units: str, scale: float) -> Block:
    """The whole sheet, small: where the blanks lie, what is left over."""
    items = nest_view(nest, blanks, units, scale, LETTER, gauges=False, fine=True, marks=False)
    low = extents(items)
    head = f"WHOLE SHEET, scale {scale_text(scale)}"
    return block([*items, Text("note", (low[0], low[1] - 5.5), head, 3.0, bold=True)])


def _laid(
    first: Block, notes: list[Block], tables: list[Block], page: Box, title: Box, several: bool
) -> list[list[Item]] | None:
    """One page with everything, or ``several``: the cut list on pages of its own."""
    if not several:
        items = pack_any(first, [*notes, *tables], page, [title])
        return None if items is None else [items]
    items = pack_any(first, notes, page, [title])
    rest = pack_pages(tables, page, [title])
    return None if items is None or rest is None else [items, *rest]


def _cut_tables(nest: Nest, units: str) -> list[Block]:
    rows = cut_rows(nest.cuts, units)
    blocks = []
    for k in range(0, len(rows), LONGEST):
        title = "CUTS, in order" if k == 0 else "CUTS, continued"
        blocks.append(
            block(table(title, ("Cut", "Stage", "Gauge", "Hold", "Then"), rows[k : k + LONGEST], left=(0, 3, 4)))
        )
    return blocks


def cut_rows(cuts: tuple[Cut, ...], units: str) -> list[tuple[str, str, str, str, str]]:
    """Rows of the cut list: numbers, stages, gauge, hold, what to do with the metal; one for a run at one setting."""
    rows = []
    for (first_of_all, gauge, hold), run in groupby(
        cuts, key=lambda cut: (not cut.stage, format_length(cut.gauge, units), cut.hold)
    ):
        listed = list(run)
        names = str(listed[0].order) if len(listed) == 1 else f"{listed[0].order} to {listed[-1].order}"
        said = "; ".join(_said(cut.note for cut in listed))
        first, *others = wrapped(said, 78.0) or [""]
        stages = ", ".join(str(stage) for stage in sorted({cut.stage for cut in listed}))
        rows.append((names, "trim" if first_of_all else stages, gauge, hold, first))
        rows += [("", "", "", "", other) for other in others]
    return rows


def _said(notes: Iterable[str]) -> Iterator[str]:
    """Each note once, with how often; strips that are kept on cutting by their numbers together."""
    counts: dict[str, list[str]] = {}
    for note in notes:
        strip = STRIP.fullmatch(note)
        counts.setdefault("keep on cutting" if strip else note, []).append(strip[1] if strip else "")
    for note, names in counts.items():
        if names[0]:
            yield f"strip{'s' if len(names) > 1 else ''} {', '.join(names)}: {note}"
        elif note:
            yield f"{note} ({len(names)} times)" if len(names) > 1 else note


def _other_tables(nest: Nest, units: str, view: Block) -> list[Block]:
    letters = letters_used(nest, view.items)
    named = [(letters.get(part, ""), part, str(number)) for part, number in counted(nest).items()]
    heads = ("Letter", "Part", "On this sheet")
    starred = any(isinstance(item, Text) and item.layer == "mark" and item.text.endswith("*") for item in view.items)
    title = "PIECES, * turned over" if starred else "PIECES"
    cells = block(
        table(title, heads, named, left=(0, 1)) if letters else table(title, heads[1:], [n[1:] for n in named])
    )
    blocks = [cells]
    if nest.offcuts:
        rows = [
            (
                o.id,
                format_length(o.width, units),
                format_length(o.height, units),
                format_length(o.x, units),
                format_length(o.y, units),
            )
            for o in nest.offcuts
        ]
        blocks.append(block(table("OFF-CUTS to keep", ("Name", "Along x", "Along y", "x", "y"), rows)))
    return blocks


def _trims(nest: Nest, trims: Collection[str]) -> list[str]:
    named = ", ".join(f"{part} × {count}" for part, count in counted(nest).items() if part in trims)
    return [f"Trim to the outline after the shear: {named}."] if named else []


def _missed(nest: Nest, blanks: Mapping[str, Blank], units: str, bit: float) -> list[str]:
    """What the bit leaves in inside corners, part by part."""
    texts = []
    for part in counted(nest):
        missed = router_plan(blanks[part], bit).missed
        if missed:
            most = max(off for _, off in missed)
            stays = (
                f"up to {format_length(most, units)} stays" if math.isfinite(most) else "an opening is too small for it"
            )
            size = format_length(bit, units)
            texts.append(f"{part}: the {size} bit does not reach {len(missed)} inside corners, {stays}: file them.")
    return texts


def _notes(nest: Nest, units: str, more: list[str]) -> Block:
    head, how, _ = heading_lines(nest, units)
    texts = [head, how]
    if nest.method == "shear":
        texts.append("Square the edges first. One setting of the gauge for a run of cuts, in this order, edge to edge.")
        texts.append("Gauge: from the left or lower edge of what lies on the table to the cut; notes name that side.")
        texts.append("Hold rest: the rest lies under the hold-down, the gauge stands behind the blade.")
        if any(cut.hold == "piece" for cut in nest.cuts):
            texts.append(
                "Hold piece: the rest is too narrow to hold; hold the gauged piece, gauge in front of the blade."
            )
    else:
        texts.append("True shapes: keep the gap between parts; leave hold-down bridges clear of bends and corners.")
    if nest.first:
        said = ", ".join(nest.first)
        texts.append(f"First cut and bend {said}; cut the rest when these test bends have told their deduction.")
    texts += more
    texts.append("Mark alloy, temper, thickness, sheet and grain on every off-cut before it leaves the table.")
    texts.append("Keep hands clear of the blade and the clamp; wear eye protection; edges are sharp.")
    lines = [(line, k == 0) for k, text in enumerate(texts) for line in wrapped(text, 95.0, 2.2, k == 0)]
    return block(paragraph(lines))


def _grain(nest: Nest) -> Block:
    arrow = grain_arrow((0.0, 0.0), nest.sheet.grain, 22.0)
    x0, y0, x1, _ = extents(arrow)
    return block([*arrow, Text("grain", ((x0 + x1) / 2.0, y0 - 4.0), "GRAIN", 2.5, "middle", bold=True)])


def _drawing(
    nest: Nest,
    sheet: Paper,
    items: list[Item],
    units: Units,
    scale: float,
    owner: str,
    job: str,
    number: int,
    page: int,
    pages: int,
) -> Drawing:
    size = f"{format_length(nest.sheet.width, units)} × {format_length(nest.sheet.height, units)}"
    strips = (
        (
            ("Material", nest.material, 0.3),
            ("Thickness", format_length(nest.thickness, units), 0.15),
            ("Sheet", size, 0.3),
            ("Scale", scale_text(scale), 0.12),
            ("Sizes in", units, 0.13),
        ),
    )
    title = Title(
        title=job or "Nest",
        number=f"{number}: {nest.sheet.id}",
        owner=owner,
        document="Nest",
        reference=f"cut with {nest.tool}",
        sheet=page,
        sheets=pages,
    )
    every = [*frame_items(sheet), *title_items(sheet, title, strips), *items]
    return Drawing(
        f"Nest {number}",
        (sheet.height, sheet.width),
        tuple(every),
        used(every),
        units,
        scale,
        description=nest.sheet.id,
    )
