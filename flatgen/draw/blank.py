"""True-size patterns of one blank: one to read and lay out by, one for the pages.

Coordinates are the blank's own: its datum corner is at 0, 0 in every exported file.
"""

from collections.abc import Iterable

from flatgen.core.points import Point
from flatgen.core.words import Units, counted, numbers
from flatgen.develop.datum import datum_note
from flatgen.draw.view import (
    Clamped,
    bend_items,
    center_items,
    clamped_faces,
    cut_items,
    grain_arrow,
    layout_items,
)
from flatgen.draw.words import (
    CAUTIONS,
    LINE_NOTE,
    allowance_notes,
    bend_note,
    finding_texts,
    hole_note,
    length,
    material_line,
    part_head,
)
from flatgen.model.blank import BendLine, Blank
from flatgen.model.finding import Finding
from flatgen.model.part import Part
from flatgen.page.drawing import Drawing, Item, Line, Text, extents
from flatgen.page.layers import used
from flatgen.page.place import spread
from flatgen.page.table import wrapped

HEIGHT = 2.5
LEADING = 4.2
EDGE = 8.0
WIDE = 150.0  # of the text below the blank


def blank_pattern(
    part: Part,
    blank: Blank,
    findings: Iterable[Finding],
    units: Units,
    clamped: Clamped | None = None,
) -> Drawing:
    """The blank at true size with bends, tangents, sight lines and notes.

    clamped : for each bend the face under the nose, where the brake's plan says so
    """
    faces = clamped_faces(part, blank, clamped)
    items = cut_items(blank) + layout_items(blank, faces) + bend_items(blank) + center_items(blank)
    items += _bend_labels(blank, faces, units)
    items += _text_block(part, blank, list(findings), units, items)
    return _page(part, blank, items, units, f"{part.id} blank")


def flat_pattern(part: Part, blank: Blank, units: Units) -> Drawing:
    """Outline, openings, holes and bends, for the pages to show."""
    items = cut_items(blank) + bend_items(blank)
    return _page(part, blank, items, units, f"{part.id} flat", edge=0.0)


def _page(part: Part, blank: Blank, items: list[Item], units: Units, title: str, edge: float = EDGE) -> Drawing:
    x0, y0, x1, y1 = extents(items)
    return Drawing(
        title=title,
        size=(x1 - x0 + 2.0 * edge, y1 - y0 + 2.0 * edge),
        items=tuple(items),
        layers=used(items),
        units=units,
        origin=(x0 - edge, y0 - edge),
        description=f"{part_head(part)}, {material_line(part, blank, units)}",
        properties=(
            ("part", part.id),
            ("material", part.material.name),
            ("thickness", length(blank.thickness, units)),
            ("quantity", str(part.quantity)),
        ),
    )


def _bend_labels(blank: Blank, faces: dict[str, str], units: str) -> list[Item]:
    """A note at each bend, beside the blank on the side where the bend comes out, joined to it by a thin line."""
    beside = [bend for bend in blank.bends if _runs_across(bend)]
    above = [bend for bend in blank.bends if not _runs_across(bend)]
    items: list[Item] = []
    for bends, k in ((beside, 1), (above, 0)):
        ends = [_outer_end(bend, k) for bend in bends]
        middles = spread([end[k] for end in ends], [2.0 * LEADING] * len(ends), 1.5)
        for bend, end, middle in zip(bends, ends, middles, strict=True):
            clamp = f"sight line: clamp {faces[bend.id]}"
            items += _label(end, middle, k, blank, (bend_note(bend, units), clamp))
    return items


def _label(end: Point, middle: float, k: int, blank: Blank, lines: tuple[str, ...]) -> list[Item]:
    """Lines of text level with ``middle`` beyond the blank's far edge, and the line that leads there."""
    size = (blank.width, blank.height)
    start, knee, out = size[1 - k] + 1.5, size[1 - k] + 6.0, size[1 - k] + 9.0

    def at(run: float, cross: float) -> Point:
        return (run, cross) if k else (cross, run)

    items: list[Item] = []
    if end[1 - k] + 1.5 < start:
        items.append(Line("note", at(end[1 - k] + 1.5, end[k]), at(start, end[k])))
    items += [Line("note", at(start, end[k]), at(knee, middle)), Line("note", at(knee, middle), at(out, middle))]
    for row, text in enumerate(lines):
        if k:
            items.append(Text("note", at(out + 1.0, middle + (0.9 - row * 4.2)), text, HEIGHT))
        else:
            items.append(Text("note", at(out + 1.0, middle - (0.9 - row * 4.2)), text, HEIGHT, angle=90.0))
    return items


def _runs_across(bend: BendLine) -> bool:
    (x0, y0), (x1, y1) = bend.centerline
    return abs(x1 - x0) >= abs(y1 - y0)


def _outer_end(bend: BendLine, k: int) -> Point:
    return max(bend.centerline, key=lambda p: p[1 - k])


def _text_block(part: Part, blank: Blank, findings: list[Finding], units: str, items: list[Item]) -> list[Item]:
    """Title, holes, findings and cautions below the blank."""
    low = extents(items)[1] - 8.0
    lines = [part_head(part), material_line(part, blank, units)]
    alike: dict[str, list[int]] = {}
    for hole in blank.drilled:
        alike.setdefault(hole_note(hole, units), []).append(hole.number)
    lines += [f"{counted(len(found), 'hole')} {note}: {numbers(found)}" for note, found in alike.items()]
    lines += [f"Upper side shown. UP: toward you. Full line: up; dashed: down. {LINE_NOTE}"]
    lines += [
        line for text in (datum_note(blank), *allowance_notes(blank, units)) if text for line in wrapped(text, WIDE)
    ]
    lines += list(part.notes)
    lines += [line for text, _ in finding_texts(findings, part.id, units) for line in wrapped(text, WIDE)]
    lines += list(CAUTIONS)
    out: list[Item] = []
    top = low
    left_edge = 0.0
    if blank.grain is not None:
        size = 20.0
        center = (size / 2.0, low - size / 2.0)
        out += grain_arrow(center, blank.grain, size, HEIGHT)
        left_edge = size + 6.0
    for k, text in enumerate(lines):
        height = 3.5 if k == 0 else HEIGHT
        top -= 5.5 if k == 0 else LEADING
        out.append(Text("note", (left_edge, top), text, height, bold=k == 0))
    return out
