"""The half page that goes with a file for the machine: size, pieces, metal, contents, one length to check the scale.

Whoever cuts may not know flatgen, the unit of the file or the job; this says all that the file cannot. Lengths in mm.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from flatgen.core.outline import bounds, segments
from flatgen.core.points import Point, along, distance, left, sub, unit
from flatgen.core.words import counted, numbers
from flatgen.draw.words import length, thickness_words
from flatgen.model.blank import Blank
from flatgen.model.part import Part
from flatgen.model.plan import Nest
from flatgen.page.drawing import Circle, Contour, Drawing, Item, Line, Text, extents
from flatgen.page.layers import used
from flatgen.page.place import placed
from flatgen.page.table import wrapped

PAGE = (139.7, 215.9)  # half of a Letter page [mm]
EDGE = 10.0
BOLD = 1.2  # of the line to check [mm]
HEIGHT = 3.0
UNIT_WORDS = {"in": "INCHES", "mm": "MILLIMETRES"}
CARE = (
    "Do not scale. Cut nothing that is not on a layer to be cut. Break the edges; keep pieces flat, unscratched.",
    "The file was read back and compared with the blank after it was written.",
)


def part_letter(
    part: Part, blank: Blank, pieces: int, cutting: Drawing, file: str, pilots: Sequence[int] = ()
) -> Drawing:
    """What goes with the file of one part; ``pilots``: holes by number that stay so where the tool makes final ones."""
    unit = cutting.units
    grain = "any way" if blank.grain is None else f"{blank.grain:g}° from the x of the file, which matters: keep to it"
    rows = [
        ("Part", f"{part.mark}  {part.title}".strip()),
        ("Pieces", str(pieces)),
        ("Metal", f"{part.material.name}, {thickness_words(part, unit)}"),
        ("Grain", grain),
    ]
    later = sum(hole.after_bending for hole in blank.holes)
    if later:
        rows.append(("Not in it", f"{counted(later, 'hole')} that we drill after bending"))
    if pilots:
        rows.append(("Pilots", _pilots(pilots)))
    return _letter(f"{part.id}: letter with the file", file, rows, cutting)


def _pilots(numbered: Sequence[int]) -> str:
    one = len(numbered) == 1
    return (
        f"{'hole' if one else 'holes'} {numbers(numbered)} {'is' if one else 'are'} small as drawn, since a bend would"
        " draw the final size oval; we open them after bending"
    )


def nest_letter(
    nest: Nest,
    marks: Mapping[str, str],
    cutting: Drawing,
    file: str,
    pilots: Mapping[str, Sequence[int]] = MappingProxyType({}),
) -> Drawing:
    """What goes with the file of a whole sheet; ``pilots`` by part, as of one part."""
    unit, sheet = cutting.units, nest.sheet
    counts = Counter(placement.part for placement in nest.placements)
    measured = "" if sheet.measured is None else f", measured {length(sheet.measured, unit)}"
    rows = [
        ("Sheet", f"{sheet.id}, {length(sheet.width, unit)} long by {length(sheet.height, unit)} wide"),
        ("Pieces", ", ".join(f"{marks.get(part, part)} × {count}" for part, count in counts.items())),
        ("Metal", f"{nest.material}, {length(nest.thickness, unit)}{measured}"),
        (
            "Grain",
            "along the length of the sheet, the x of the file" if not sheet.grain else f"{sheet.grain:g}° from x",
        ),
        ("Zero", "lower left corner of the sheet"),
    ]
    rows += [("Pilots", f"{marks.get(part, part)}: {_pilots(some)}") for part, some in pilots.items() if some]
    return _letter(f"Sheet {sheet.id}: letter with the file", file, rows, cutting)


def check_length(cutting: Drawing) -> tuple[Point, Point]:
    """Ends of the longest straight cut in a file; without any, the width of all that is in it."""
    straight = [
        (p, q)
        for item in cutting.items
        if isinstance(item, Contour) and item.layer in ("outline", "router-path")
        for p, q, bulge in (segments(item.outline) if item.closed else _open(item))
        if bulge == 0.0
    ]
    if straight:
        return max(straight, key=lambda ends: round(distance(*ends), 6))
    x0, y0, x1, _ = extents(cutting.items)
    return (x0, y0), (x1, y0)


def _open(item: Contour) -> Iterable[tuple[Point, Point, float]]:
    return ((p[:2], q[:2], p[2]) for p, q in zip(item.outline, item.outline[1:], strict=False))


def _letter(title: str, file: str, rows: list[tuple[str, str]], cutting: Drawing) -> Drawing:
    unit, other = cutting.units, "mm" if cutting.units == "in" else "in"
    x0, y0, x1, y1 = bounds([c for item in cutting.items if (c := _curve(item))])
    ends = check_length(cutting)
    size = distance(*ends)
    rows = [
        ("File", file),
        ("Numbers in it", f"{UNIT_WORDS[unit]}, true size, 1 : 1"),
        *rows,
        ("Size", f"all that is cut: {length(x1 - x0, unit)} by {length(y1 - y0, unit)}"),
        ("CHECK", f"the bold line below is {length(size, unit)} ({length(size, other)}) long: measure it in the file"),
        ("Holes", _holes(cutting)),
        ("Layers", "; ".join(f"{layer.name}: {_what(layer.name, layer.purpose)}" for layer in cutting.layers)),
    ]
    items: list[Item] = []
    y = PAGE[1] - EDGE - 5.0
    items.append(Text("note", (EDGE, y), "TO WHOEVER CUTS THIS", 5.0, bold=True))
    y -= 3.0
    for name, said in rows:
        for k, line in enumerate(wrapped(said, PAGE[0] - 2.0 * EDGE - 30.0, HEIGHT)):
            y -= 1.7 * HEIGHT
            if not k:
                items.append(Text("note", (EDGE, y), name, HEIGHT, bold=True))
            items.append(Text("note", (EDGE + 30.0, y), line, HEIGHT))
    for said in CARE:
        for line in wrapped(said, PAGE[0] - 2.0 * EDGE, HEIGHT):
            y -= 1.7 * HEIGHT
            items.append(Text("note", (EDGE, y), line, HEIGHT))
    items += _picture(cutting, ends, y - 6.0)
    return Drawing(title, PAGE, tuple(items), used(items), unit)


def _curve(item: Item) -> tuple[tuple[float, float, float], ...]:
    if isinstance(item, Contour):
        return item.outline
    if isinstance(item, Circle):
        (x, y), r = item.center, item.diameter / 2.0
        return ((x - r, y, 1.0), (x + r, y, 1.0))
    return ()


def _holes(cutting: Drawing) -> str:
    counts = Counter(round(item.diameter, 4) for item in cutting.items if isinstance(item, Circle))
    return ", ".join(f"{n} × Ø {length(size, cutting.units)}" for size, n in sorted(counts.items())) or "none round"


def _what(layer: str, purpose: str) -> str:
    return f"{purpose}, green" if layer in ("bend-up", "bend-down", "mark") else purpose


def _picture(cutting: Drawing, ends: tuple[Point, Point], top: float) -> list[Item]:
    """What is in the file, as large as the page lets it be, the length to check as a bold line."""
    x0, y0, x1, y1 = extents(cutting.items)
    room = (PAGE[0] - 2.0 * EDGE, max(20.0, top - EDGE))
    scale = min(room[0] / max(x1 - x0, 1e-9), room[1] / max(y1 - y0, 1e-9), 1.0)
    shift = ((PAGE[0] - (x1 - x0) * scale) / 2.0 - x0 * scale, top - y1 * scale)
    shown = [_thin(item) for item in cutting.items if not isinstance(item, Text)]
    (line,) = placed([Line("outline", *ends)], scale, shift)
    assert isinstance(line, Line)
    side = left(unit(sub(line.end, line.start)))
    strip = [along(p, side, BOLD / 2.0) for p in (line.start, line.end)]
    strip += [along(p, side, -BOLD / 2.0) for p in (line.end, line.start)]
    return [*placed(shown, scale, shift), Contour("outline", tuple((*p, 0.0) for p in strip), filled=True)]


def _thin(item: Item) -> Item:
    if isinstance(item, Contour):
        return Contour("note", item.outline, item.closed)
    if isinstance(item, Circle):
        return Circle("note", item.center, item.diameter)
    return item
