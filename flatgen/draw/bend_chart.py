"""A wall chart of one metal: deduction of a square bend by thickness and nose radius, barred below the least radius.

One landscape page, to be read from an arm's length: the numbers are 5 mm high. Lengths mm, angles deg.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.core.bend import bend_deduction, setback_factor
from flatgen.core.outline import rectangle
from flatgen.core.points import Point
from flatgen.core.words import UNIT_NAMES, Units
from flatgen.develop.allowance import allowance_of
from flatgen.develop.least_radius import radius_verdict
from flatgen.develop.methods import Case
from flatgen.model.material import Material
from flatgen.model.shop import Shop
from flatgen.page.drawing import Contour, Drawing, Item, Line, Text
from flatgen.page.layers import used
from flatgen.units import format_fraction, format_length

PAGES = {"letter": (279.4, 215.9), "a4": (297.0, 210.0)}
MARGIN = 10.0
THICKNESSES = (0.016, 0.020, 0.025, 0.032, 0.040, 0.050, 0.063, 0.080, 0.090, 0.125)  # usual sheet [in]
THICKNESSES_MM = (0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.6, 2.0, 2.5, 3.0)
RADII = (1 / 32, 1 / 16, 3 / 32, 1 / 8, 5 / 32, 3 / 16, 1 / 4, 3 / 8)  # where no shop is given [in]
RADII_MM = (0.8, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 10.0)
ANGLES = (15, 30, 45, 60, 75, 90, 105, 120, 135, 150)
NUMBER = 5.0  # height of the numbers
HEAD = 4.0
SMALL = 3.0
MOST_COLUMNS = 10
MOST_ROWS = 10


@dataclass(frozen=True, slots=True)
class Cell:
    """Deduction of a 90 deg bend [mm] and what the tables say of its radius."""

    thickness: float
    radius: float
    deduction: float
    allowance: float
    method: str
    status: str


def chart_cells(
    material: Material,
    thicknesses: Sequence[float],
    radii: Sequence[float],
    shop: Shop | None = None,
    method: str = "",
    table: str = "",
) -> tuple[tuple[Cell, ...], ...]:
    """Rows by thickness, columns by radius [mm]."""
    asked = method or (shop.allowance if shop else "handbook")
    rows = []
    for thickness in thicknesses:
        cells = []
        for radius in radii:
            name, allowance, _ = allowance_of(Case(90.0, radius, thickness, material, shop), asked)
            status = radius_verdict(
                material, thickness, radius, None, table or (shop.radius_table if shop else "")
            ).status
            deduction = bend_deduction(90.0, radius, thickness, allowance)
            cells.append(Cell(thickness, radius, deduction, allowance, name, status))
        rows.append(tuple(cells))
    return tuple(rows)


def bend_chart(
    material: Material,
    *,
    radii: Sequence[tuple[str, float]] = (),
    thicknesses: Sequence[float] = (),
    shop: Shop | None = None,
    method: str = "",
    table: str = "",
    units: Units = "in",
    paper: str = "letter",
) -> Drawing:
    """The chart as one page.

    Parameters
    ----------
    radii : name and radius [mm] of each column, by rising radius; empty: the usual ones
    thicknesses : rows [mm]; empty: the usual sheet
    """
    sheets = tuple(thicknesses) or _usual_sheet(units)
    columns = tuple(radii) or tuple((radius_label(r, units), r) for r in _usual_radii(units))
    sheets, columns = sheets[:MOST_ROWS], columns[:MOST_COLUMNS]
    cells = chart_cells(material, sheets, [radius for _, radius in columns], shop, method, table)
    width, height = PAGES.get(paper.lower(), PAGES["letter"])
    items: list[Item] = [Contour("frame", rectangle(MARGIN, MARGIN, width - 2 * MARGIN, height - 2 * MARGIN))]
    top = height - MARGIN
    items += _title(material, cells, width, top, units, shop)
    body = top - 29.0
    foot = MARGIN + 53.0
    items += _grid(cells, columns, width, body, foot, units)
    items += _angles(width, foot - 7.0)
    items += _legend(table or (shop.radius_table if shop else ""))
    return Drawing(
        title=f"Bend deductions of {material.name}",
        size=(width, height),
        items=tuple(items),
        layers=used(items),
        units=units,
        description=f"Deduction of a 90 deg bend by thickness and nose radius, {material.name}",
    )


def radius_label(radius: float, units: str) -> str:
    """A radius as the trade writes it: sixty-fourths of an inch where it is one, else decimals.

    >>> radius_label(3.96875, "in"), radius_label(4.0, "in"), radius_label(3.0, "mm")
    ('5/32', '0.157', '3.00')
    """
    parts = radius / 25.4 * 64.0
    if units == "in" and abs(parts - round(parts)) < 1e-6 and radius > 0.0:
        return format_fraction(radius)
    return format_length(radius, units)


def _usual_sheet(units: str) -> tuple[float, ...]:
    return tuple(t * 25.4 for t in THICKNESSES) if units == "in" else THICKNESSES_MM


def _usual_radii(units: str) -> tuple[float, ...]:
    return tuple(r * 25.4 for r in RADII) if units == "in" else RADII_MM


def _title(
    material: Material, cells: tuple[tuple[Cell, ...], ...], width: float, top: float, units: str, shop: Shop | None
) -> list[Item]:
    methods = sorted({cell.method for row in cells for cell in row})
    unit = UNIT_NAMES[units]
    where = f". {shop.name}" if shop and shop.name else ""
    return [
        Text("note", (MARGIN + 4, top - 10), material.name, 7.0, bold=True),
        Text("note", (width - MARGIN - 4, top - 10), f"Bend deduction at 90°, {unit}", 6.0, "right", bold=True),
        Text("note", (MARGIN + 4, top - 17), f"Blank = sum of outside legs - one deduction a bend{where}", HEAD),
        Text("note", (width - MARGIN - 4, top - 17), f"method: {', '.join(methods)}", HEAD, "right"),
    ]


def _grid(
    cells: tuple[tuple[Cell, ...], ...],
    columns: Sequence[tuple[str, float]],
    width: float,
    top: float,
    foot: float,
    units: str,
) -> list[Item]:
    left = MARGIN + 30.0
    step_x = (width - MARGIN - 4.0 - left) / len(columns)
    step_y = min(14.0, (top - foot - 4.0) / len(cells))
    items: list[Item] = [Text("note", (MARGIN + 4.0, top + 2.5), "thickness", HEAD, bold=True)]
    for k, (name, radius) in enumerate(columns):
        x = left + (k + 0.5) * step_x
        label = radius_label(radius, units)
        items.append(Text("note", (x, top + 2.0), f"R {label}", HEAD, "middle", bold=True))
        if name != label and not name.startswith(label):
            # the nose's own name above its radius, as far as the column holds it
            items.append(Text("note", (x, top + 7.5), name[: max(4, int(step_x / 2.2))], SMALL, "middle"))
    for row, line in enumerate(cells):
        y = top - (row + 1) * step_y
        items.append(Line("rule", (MARGIN + 2.0, y + step_y), (width - MARGIN - 2.0, y + step_y)))
        base = y + (step_y - NUMBER) / 2.0
        items.append(
            Text("note", (left - 3.0, base), format_length(line[0].thickness, units), NUMBER, "right", bold=True)
        )
        for k, cell in enumerate(line):
            items += _cell(cell, left + k * step_x, y, step_x, step_y, units)
    bottom = top - len(cells) * step_y
    items.append(Line("rule", (MARGIN + 2.0, bottom), (width - MARGIN - 2.0, bottom)))
    for k in range(len(columns) + 1):
        items.append(Line("rule", (left + k * step_x, bottom), (left + k * step_x, top)))
    return items


def _cell(cell: Cell, x: float, y: float, width: float, height: float, units: str) -> list[Item]:
    if cell.status == "below":
        return _bars(x, y, width, height)
    items: list[Item] = []
    base = y + (height - NUMBER) / 2.0
    text = (
        format_length(cell.deduction, units).removeprefix("0")
        if units == "in"
        else format_length(cell.deduction, units)
    )
    items.append(Text("note", (x + width / 2.0, base), text, NUMBER, "middle", bold=cell.status == "ok"))
    if cell.status != "ok":
        # a corner turned down: a coupon first
        side = min(4.0, height / 3.0)
        corner: tuple[Point, ...] = (
            (x + width - side, y + height),
            (x + width, y + height - side),
            (x + width, y + height),
        )
        items.append(Contour("note", tuple((*p, 0.0) for p in corner), filled=True))
    return items


def _bars(x: float, y: float, width: float, height: float, pitch: float = 3.0) -> list[Item]:
    """Slanting bars over a cell, clipped to it, with a cross that cannot be taken for a number."""
    items: list[Item] = []
    count = math.ceil((width + height) / pitch)
    for k in range(1, count):
        reach = k * pitch
        start = (x + max(0.0, reach - height), y + min(reach, height))
        end = (x + min(reach, width), y + max(0.0, reach - width))
        if math.dist(start, end) > 1e-6:
            items.append(Line("rule", start, end))
    return items


def _angles(width: float, top: float) -> list[Item]:
    """Strip of other angles: setback factor, and the share of the 90 deg allowance."""
    left = MARGIN + 66.0
    step = (width - MARGIN - 4.0 - left) / len(ANGLES)
    rows = (
        ("bend angle", [f"{angle}°" for angle in ANGLES]),
        ("setback factor", [f"{setback_factor(angle):.3f}" for angle in ANGLES]),
        ("share of 90° allowance", [f"{angle / 90.0:.3f}" for angle in ANGLES]),
    )
    items: list[Item] = []
    for k, (name, values) in enumerate(rows):
        y = top - k * 8.0
        items.append(Line("rule", (MARGIN + 2.0, y + 6.5), (width - MARGIN - 2.0, y + 6.5)))
        items.append(Text("note", (MARGIN + 4.0, y), name, HEAD, bold=k == 0))
        for j, value in enumerate(values):
            items.append(Text("note", (left + (j + 0.5) * step, y), value, HEAD, "middle", bold=k == 0))
    return items


def _legend(table: str) -> list[Item]:
    y = MARGIN + 23.0
    governs = f"table {table}" if table else "the most cautious table of those that cover the thickness"
    items: list[Item] = [
        *_bars(MARGIN + 4.0, y - 1.0, 12.0, 6.0),
        Contour("rule", rectangle(MARGIN + 4.0, y - 1.0, 12.0, 6.0)),
        Text("note", (MARGIN + 19.0, y), "below every table: do not bend", SMALL),
        Contour(
            "note",
            ((MARGIN + 98.0, y + 5.0, 0.0), (MARGIN + 102.0, y + 1.0, 0.0), (MARGIN + 102.0, y + 5.0, 0.0)),
            filled=True,
        ),
        Contour("rule", rectangle(MARGIN + 90.0, y - 1.0, 12.0, 6.0)),
        Text(
            "note", (MARGIN + 105.0, y), "between tables, or no table: coupon first, check every part for cracks", SMALL
        ),
        Text(
            "note",
            (MARGIN + 4.0, y - 8.0),
            f"Least radius across the grain by {governs}; along the grain 1.5 times.",
            SMALL,
        ),
        Text(
            "note",
            (MARGIN + 4.0, y - 13.5),
            "Other angles: deduction = 2 × setback factor × (R + T) - share × allowance at 90°;"
            " allowance at 90° = 2 × (R + T) - deduction above.",
            SMALL,
        ),
        Text(
            "note",
            (MARGIN + 4.0, y - 19.0),
            "Advisory: test bends from the same sheet on the same nose come first; the drawing decides."
            " Keep hands clear of the leaf.",
            SMALL,
        ),
    ]
    return items
