"""The one table of layers: what is drawn on each, with which line, how wide, in which colour.

Line types are those of ISO 128-2 (numbers and uses from memory): 01.1 continuous narrow for bend lines on blanks and
for dimensions, 01.2 continuous wide for visible outlines, 02.1 dashed narrow for what lies on the far side (here the
bends that go down, which are bent from the far side; told from "up" without colour), 04.1 for centre lines, 05.1 for
mould lines, 07.1 for tangent lines and 08.1 for sight lines, two types to which the standard gives no use of its own.
Wide to narrow is 2 : 1. Dash lengths in line widths: dot 0.5, gap 3, short dash 6, dash 12, long dash 24.
"""

from collections.abc import Iterable

from flatgen.page.drawing import Item, Layer, LineType

NARROW = 0.25
WIDE = 0.5
THICK = 0.9

CONTINUOUS = LineType("continuous", "01")
DASHED = LineType("dashed", "02", (12.0, 3.0))
CHAIN = LineType("long-dashed-dotted", "04", (24.0, 3.0, 0.5, 3.0))
CHAIN_TWO = LineType("long-dashed-double-dotted", "05", (24.0, 3.0, 0.5, 3.0, 0.5, 3.0))
DOTTED = LineType("dotted", "07", (0.5, 3.0))
LONG_SHORT = LineType("long-dashed-short-dashed", "08", (24.0, 3.0, 6.0, 3.0))

BLACK = ((0, 0, 0), 7)
RED = ((190, 0, 0), 1)
GREEN = ((0, 120, 40), 3)
BLUE = ((0, 60, 200), 5)
VIOLET = ((150, 0, 150), 6)
GREY = ((110, 110, 110), 8)
PALE = ((205, 205, 205), 9)
SKY = ((120, 170, 230), 151)


def _layer(name: str, purpose: str, line: LineType, width: float, ink: tuple[tuple[int, int, int], int]) -> Layer:
    return Layer(name, purpose, line, width, ink[0], ink[1])


LAYERS: tuple[Layer, ...] = (
    _layer("outline", "Edge of the blank: cut", CONTINUOUS, WIDE, BLACK),
    _layer("opening", "Inside contours other than round holes: cut", CONTINUOUS, WIDE, BLACK),
    _layer("hole", "Round holes: drill or cut", CONTINUOUS, WIDE, BLACK),
    _layer("hole-after-bending", "Round holes to drill when the part is bent: do not cut", DASHED, NARROW, BLACK),
    _layer("bend-up", "Middle of a bend toward the reader: mark, do not cut", CONTINUOUS, NARROW, BLUE),
    _layer("bend-down", "Middle of a bend away from the reader: mark, do not cut", DASHED, NARROW, RED),
    _layer("tangent", "Where flat becomes curve, two lines a bend", DOTTED, NARROW, GREY),
    _layer("sight", "Line to set flush under the nose tip, for the side that is clamped", LONG_SHORT, NARROW, VIOLET),
    _layer("centre", "Centres and centre lines of holes", CHAIN, NARROW, GREY),
    _layer("datum", "Datum edges A and B", CONTINUOUS, NARROW, BLUE),
    _layer("datum-edge", "Datum edges A and B of a card: square and measure from these", CONTINUOUS, THICK, BLACK),
    _layer("grain", "Rolling direction", CONTINUOUS, NARROW, GREEN),
    _layer("mark", "Part mark, to be written on the metal", CONTINUOUS, NARROW, GREEN),
    _layer("note", "Notes and tables", CONTINUOUS, NARROW, BLACK),
    _layer("dimension", "Dimensions", CONTINUOUS, NARROW, BLACK),
    _layer("section", "Cross-section of the formed part", CONTINUOUS, WIDE, BLACK),
    _layer("mould", "Mould lines", CHAIN_TWO, NARROW, GREY),
    _layer("tool", "Brake: nose bar, clamping beam, bed, leaf, stop", CONTINUOUS, NARROW, PALE),
    _layer("metal", "Sheet in the brake, seen from its end or from above", CONTINUOUS, NARROW, SKY),
    _layer("stop", "Stop of the brake", CONTINUOUS, NARROW, RED),
    _layer("formed", "Visible edges of the formed part", CONTINUOUS, NARROW, BLACK),
    _layer("frame", "Frame, title block and ruled lines", CONTINUOUS, WIDE, BLACK),
    _layer("rule", "Thin ruled lines of tables", CONTINUOUS, NARROW, BLACK),
    _layer("sheet", "Edge of the stock sheet", CONTINUOUS, WIDE, BLACK),
    _layer("margin", "Edge of the usable metal", DASHED, NARROW, GREY),
    _layer("cut", "Edge-to-edge cuts of the shear, in order", CHAIN_TWO, NARROW, RED),
    _layer("offcut", "What is left over and worth keeping", DASHED, NARROW, GREEN),
    _layer("router-path", "Path of the router bit's centre; gaps leave bridges", CONTINUOUS, NARROW, VIOLET),
    _layer("template", "Edge on a paper template: the middle of the line is the size", CONTINUOUS, NARROW, BLACK),
    _layer("tile", "Cut and glue edges, registration marks", CONTINUOUS, NARROW, GREY),
    _layer("scribe", "Check lines scribed on a coupon, never on a part", CONTINUOUS, NARROW, VIOLET),
    _layer("measured", "Measured values on a chart", CONTINUOUS, NARROW, BLUE),
    _layer("tolerance", "Limits of the tolerance on a chart", CHAIN_TWO, NARROW, RED),
    _layer("control", "Mean and control limits on a chart", DASHED, NARROW, GREEN),
    _layer("trend", "Drift on a chart", LONG_SHORT, NARROW, VIOLET),
    _layer("fault", "What is wrong with a part, where it is wrong", CONTINUOUS, THICK, RED),
    _layer("bar", "Bars to check the printer with a rule", CONTINUOUS, NARROW, BLACK),
)
BY_NAME = {layer.name: layer for layer in LAYERS}


def used(items: Iterable[Item], always: Iterable[str] = ()) -> tuple[Layer, ...]:
    """Layers that the items lie on, in the order of the table; KeyError for a layer that is not in it."""
    names = {item.layer for item in items} | set(always)
    for name in names:
        BY_NAME[name]
    return tuple(layer for layer in LAYERS if layer.name in names)


def reference() -> str:
    """The table as Markdown, for the guide; a test holds the two together."""
    rows = ["| layer | what is drawn on it | line | width [mm] | colour |", "| --- | --- | --- | --- | --- |"]
    for layer in LAYERS:
        red, green, blue = layer.color
        color = f"{layer.color_index} (#{red:02x}{green:02x}{blue:02x})"
        rows.append(
            f"| {layer.name} | {layer.purpose} | {layer.line.iso} {layer.line.name} | {layer.width:g} | {color} |"
        )
    return "\n".join(rows)
