"""Sheets as subjects: where the blanks lie, what each number stands for, and how they come off, cut by cut or blank by
blank. A shear gets a picture for every run of cuts, as the metal lies on its table. Lengths mm.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from flatgen.core.outline import bounds, moved
from flatgen.core.words import Units, counted, numbers
from flatgen.draw.router import missed_words
from flatgen.draw.sheet_views import OVERVIEW, names_fit, number_rows, overview, run_picture
from flatgen.draw.strips import Run, piece_name, runs
from flatgen.model.blank import Blank
from flatgen.model.plan import Nest, Placement
from flatgen.model.shop import USUAL, Minutes, Sheet
from flatgen.model.spent import hours, to_cut
from flatgen.page.blocks import COLUMN, FIGURE, TEXT, TICK, blocks, stacked
from flatgen.page.content import Beside, Box, Cell, Content, Facts, Figure, Heading, Picture, Subject, Table, Words
from flatgen.page.lettering import text_width
from flatgen.tally.first import provisional
from flatgen.tally.sheets import cutting_order
from flatgen.units import format_angle, format_length

CAUTION = "Hands clear of blade and clamp. Eye and ear protection. Edges are sharp. The drawing decides."
CELL = 82.0  # width of a run's words and figure on the narrowest paper [mm]
ACROSS = 3  # rows of the key beside each other
BESIDE = 80.0  # a picture with so much room beside it has the words there [mm]


@dataclass(frozen=True, slots=True)
class Shown:
    """What a sheet is shown with.

    bit : diameter of the router's bit [mm]; 0: no router
    trims : parts that leave the shear as rectangles
    pictured : whether the sheet is shown whole; the packet's page has a picture to point into instead
    upto : number of the cut after which the test bends are off; 0: none lies on it
    waits : test bends that its blanks wait for
    """

    blanks: Mapping[str, Blank]
    units: Units
    number: int = 1
    of: int = 1
    bit: float = 0.0
    trims: Collection[str] = ()
    pictured: bool = True
    minutes: Minutes = USUAL
    upto: int = 0
    waits: tuple[str, ...] = ()


def sheet_subject(nest: Nest, shown: Shown) -> Subject:
    """One sheet."""
    contents: list[Content] = _head(nest, shown)
    contents += list(_cuts(nest, shown) if nest.cuts else _coordinates(nest, shown))
    sheet, kind = nest.sheet, "remnant" if nest.sheet.remnant else "sheet"
    size = f"{_bare(sheet.width, shown)} × {_len(sheet.height, shown)}"
    about = (
        "" if nest.first else provisional(shown.waits),
        f"{nest.material}, T {_len(nest.thickness, shown)}",
        f"{size}, grain {grain_words(sheet)}",
        f"batch {sheet.batch}" if sheet.batch else "",
        nest.tool,
        counted(len(nest.placements), "piece"),
        f"{100.0 * nest.utilisation:.1f} % of the {kind} used",
        f"about {hours(to_cut(nest, shown.blanks, shown.minutes))}",
    )
    return Subject(
        f"sheet-{shown.number}",
        f"SHEET {shown.number} of {shown.of}",
        tuple(contents),
        side=sheet.id,
        under="; ".join(filter(None, about)),
    )


def grain_words(sheet: Sheet) -> str:
    """The grain against the longer side of a sheet."""
    angle = (sheet.grain if sheet.width >= sheet.height else sheet.grain + 90.0) % 180.0
    off = min(angle, 180.0 - angle)
    if off < 0.01:
        return "lengthwise"
    return "crosswise" if off > 89.99 else f"{format_angle(off)} from the length"


def part_numbers(nest: Nest) -> dict[str, int]:
    """The number that stands for each part on the pictures of a sheet, those cut first before the others."""
    order = dict.fromkeys((*nest.first, *(placement.part for placement in nest.placements)))
    return {part: k for k, part in enumerate(order, 1)}


def _words(nest: Nest, shown: Shown) -> Iterator[Content]:
    if nest.first:
        to = f", to {'cut' if nest.cuts else 'piece'} {shown.upto}" if shown.upto else ""
        yield Words(f"FIRST {', '.join(nest.first)}{to}: bend, measure, record, print anew; then the rest.", "strong")
    if nest.cuts:
        yield Words(
            "Square the edges first. In each picture the gauged edge is at the left: behind the blade where the rest is"
            " held (grey), in front of it where the piece is held."
        )
    else:
        yield Words(
            "ZERO is the sheet's corner marked 0, 0: x along the sheet's length, y across it, to the lower left corner"
            " of each blank. Cut in the order of the numbers, openings before the outline."
        )
    if shown.bit:
        size = _len(shown.bit, shown)
        yield Words(f"Holes up to the bit, {size}, are marked and drilled by hand; the bit cuts the larger ones.")
        left = {part: missed_words(shown.blanks[part], shown.bit, shown.units) for part in part_numbers(nest)}
        yield from (Words(f"{part}: {text}.") for part, text in left.items() if text)
    trimmed = [part for part in part_numbers(nest) if part in shown.trims]
    if trimmed:
        yield Words(f"Trim to the outline after the shear: {', '.join(trimmed)}.", "strong")
    yield Words("Mark alloy, temper, thickness, sheet and grain on every off-cut before it leaves the table.", "quiet")


def _head(nest: Nest, shown: Shown) -> list[Content]:
    """What is said of the sheet, with its picture: beside the words where that is narrow; of a sheet that is used in
    part, the whole of it and what is used."""
    words: list[Content] = [*_words(nest, shown)]
    key: list[Content] = [_key(nest, ACROSS), *_offcuts(nest, shown)]
    if not shown.pictured:
        return words + key
    parts = overview(nest, shown.blanks, part_numbers(nest), shown.units)
    alt = f"{nest.sheet.id} with its blanks, each with the number of its part"
    pictures = [Picture(drawing, alt, tall=OVERVIEW[1]) for drawing in parts]
    wide = parts[0].size[0]
    if len(pictures) > 1:
        return [*words, Beside(tuple((one.drawing.size[0], (one,)) for one in pictures)), *key]
    room = OVERVIEW[0] - wide - COLUMN
    said = (*words, _key(nest, ACROSS - 1), *key[1:])
    if room >= BESIDE and stacked(blocks(said, room)).height <= OVERVIEW[1]:
        return [Beside(((wide, (pictures[0],)), (room, said)))]
    return [*words, pictures[0], *key]


def _key(nest: Nest, across: int) -> Table:
    """What each number stands for."""
    counts: dict[str, int] = {}
    for placement in nest.placements:
        counts[placement.part] = counts.get(placement.part, 0) + 1
    cells = [(str(k), part, str(counts.get(part, 0))) for part, k in part_numbers(nest).items()]
    return _side_by_side("Parts on this sheet", ("no.", "part", "pieces"), cells, (8.0, 32.0, 14.0), (0, 2), across)


def _side_by_side(
    title: str,
    heads: tuple[str, ...],
    cells: list[tuple[Cell, ...]] | list[tuple[str, str, str]],
    shares: tuple[float, ...],
    numbers: tuple[int, ...],
    across: int = ACROSS,
) -> Table:
    """A table with several of its rows beside each other, in reading order down each column."""
    across = min(across, len(cells))
    tall = -(-len(cells) // across)
    empty: tuple[Cell, ...] = ("",) * len(heads)
    rows = []
    for k in range(tall):
        row: tuple[Cell, ...] = ()
        for column in range(across):
            at = column * tall + k
            row += tuple(cells[at]) if at < len(cells) else empty
        rows.append(row)
    width = len(heads)
    every = tuple(column * width + n for column in range(across) for n in numbers)
    return Table(title, heads * across, tuple(rows), every, shares * across if across > 1 else ())


def _offcuts(nest: Nest, shown: Shown) -> Iterator[Content]:
    if nest.offcuts:
        rows = (
            (
                f"off-cut {o.id}",
                f"{_bare(o.width, shown)} × {_len(o.height, shown)}, lower left corner at "
                f"{_bare(o.x, shown)}, {_bare(o.y, shown)}",
            )
            for o in nest.offcuts
        )
        yield Facts(tuple(rows))


def _cuts(nest: Nest, shown: Shown) -> Iterator[Content]:
    """The cuts in order, two runs beside each other."""
    yield Heading("Cuts in order")
    cells = [_run(run, nest.sheet, shown) for run in runs(nest, shown.blanks)]
    for k in range(0, len(cells), 2):
        yield Beside(tuple((1.0, cell) for cell in (*cells[k : k + 2], *[()] * (2 - len(cells[k : k + 2])))))


def _run(run: Run, sheet: Sheet, shown: Shown) -> tuple[Content, ...]:
    """Gauge large, what lies on the table, what falls off, what goes back; under it the metal as it lies."""
    orders = [order for _, listed in run.names for order in listed]
    cuts = f"{'cut' if len(orders) == 1 else 'cuts'} {numbers(orders)}"
    held = "hold the rest" if run.cuts[0].hold == "rest" else "hold the PIECE"
    figure = Figure(f"GAUGE, {held}", _bare(run.cuts[0].gauge, shown), "", shown.units)
    key = f"cut/{shown.number}/{sheet.id}/{orders[0]}"
    wide = text_width(figure.value, FIGURE, True) + text_width(f" {shown.units}", FIGURE / 2.0, True) + 1.0
    beside = max(20.0, CELL - wide)
    ends = f"{orders[0]} to {orders[-1]}"
    fits = (one for one in (cuts, f"{len(orders)} cuts, {ends}") if text_width(one, TEXT) <= beside - 2.0 * TICK)
    label = next(fits, ends)
    box = Box(key, f"{cuts} of sheet {shown.number} done", label)
    picture = run_picture(run)
    alt = f"{run.metal.name} on the table with {cuts}"
    words = Words(_told(run, shown))
    return Beside(((wide, (figure,)), (beside, (box, words)))), Picture(picture, alt, tall=picture.size[1])


def _told(run: Run, shown: Shown) -> str:
    """What lies on the table, what falls off where the picture has no room for its name, what is to be done with it."""
    size = f"{_bare(run.long, shown)} × {_len(run.across, shown)}"
    if len(run.names) == 1:
        metal = f"{run.metal.name}, {size}"
    else:
        names = {name for name, _ in run.names}
        listed = "; ".join(f"{name}: {numbers(orders)}" for name, orders in run.names)
        pieces = "pieces" if len(names) > 1 else f"pieces {run.metal.name}"
        listed = f": {listed}" if len(number_rows(run)) == 1 and len(names) > 1 else ""
        metal = f"The same in {len(run.names)} {pieces}, {size}{listed}"
    off = "" if names_fit(run) else f" Off: {', '.join(_falls(run))}."
    kept = run.back.partition(": ")
    rest = f"{kept[0]}: {kept[2]}" if kept[2] else ""
    acts = dict.fromkeys(note.partition("; off-cut")[0].rpartition(": ")[2] for note, _ in run.falls)
    does = ". ".join(filter(None, (", ".join(acts), rest)))
    return f"{metal}.{off} {does[:1].upper()}{does[1:]}."


def _falls(run: Run) -> Iterator[str]:
    """The pieces that fall off, each once with how often."""
    counts: dict[str, int] = {}
    for note, count in run.falls:
        counts[piece_name(note)] = counts.get(piece_name(note), 0) + count
    yield from (f"{count} × {name}" if count > 1 else name for name, count in counts.items())


def _coordinates(nest: Nest, shown: Shown) -> Iterator[Content]:
    """Where each blank lies, in the order in which they are cut."""
    yield Heading("Blanks in order")
    cells: list[tuple[Cell, ...]] = []
    for k, one in enumerate(cutting_order(nest), 1):
        x0, y0, _, _ = bounds([moved(shown.blanks[one.part].outline, one.motion)])
        key = f"cut/{shown.number}/{nest.sheet.id}/{k}"
        what = f"{one.part} piece {one.copy} cut"
        cells.append((Box(key, what, str(k)), _placed(one), _bare(x0, shown), _bare(y0, shown)))
    heads = ("cut", "blank", f"x {shown.units}", f"y {shown.units}")
    yield _side_by_side("Blanks in order", heads, cells, (13.0, 25.0, 15.0, 15.0), (2, 3))


def _placed(one: Placement) -> str:
    over = ", other side up" if one.mirrored else ""
    return f"{one.part}-{one.copy}{over}"


def _bare(mm: float, shown: Shown) -> str:
    return format_length(mm, shown.units)


def _len(mm: float, shown: Shown) -> str:
    return format_length(mm, shown.units, unit=True)
