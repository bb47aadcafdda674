"""The shop's own deductions against the table's, a line a combination: every coupon, their mean with its interval."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.core.words import Units
from flatgen.page.drawing import Circle, Drawing, Item, Line, Text
from flatgen.page.layers import used
from flatgen.units import LENGTHS, format_length

WIDE = 150.0  # of the picture
ROW = 13.0  # height of a line
LETTER = 2.5
LEAST = 0.1  # half of the scale at least [mm]


@dataclass(frozen=True, slots=True)
class Against:
    """One combination: deductions less the table's [mm]; an interval that is infinite belongs to a single coupon."""

    title: str
    own: tuple[float, ...]
    mean: float
    low: float
    high: float


def coupon_chart(rows: Sequence[Against], units: Units) -> Drawing:
    """All combinations on one scale, the table's value in the middle."""
    reach = 1.15 * max([LEAST, *(abs(v) for row in rows for v in (*row.own, *_interval(row)))])
    items: list[Item] = []
    levels = [ROW * (k + 1.0) for k in range(len(rows))]
    for row, y in zip(reversed(rows), levels, strict=True):
        items += _line(row, y, reach)
    step = _step(reach, units)
    for n in range(-math.floor(reach / step), math.floor(reach / step) + 1):
        x = _at(n * step, reach)
        items += [Line("rule", (x, y - 2.5), (x, y + 2.5)) for y in levels]
        sign = "+" if n > 0 else "-" if n < 0 else ""
        text = f"{sign}{format_length(abs(n) * step, units)}" if n else "table"
        items.append(Text("note", (x, 0.5), text, LETTER, "middle"))
    return Drawing("Deductions against the table", (WIDE, ROW * (len(rows) + 1.0)), tuple(items), used(items), units)


def _line(row: Against, y: float, reach: float) -> list[Item]:
    low, high = _interval(row)
    items: list[Item] = [Text("note", (0.0, y + 4.5), row.title, LETTER)]
    items.append(Line("control", (_at(low, reach), y), (_at(high, reach), y)))
    items += [Line("control", (_at(x, reach), y - 1.5), (_at(x, reach), y + 1.5)) for x in (low, row.mean, high)]
    return [*items, *(Circle("measured", (_at(value, reach), y), 1.6) for value in row.own)]


def _interval(row: Against) -> tuple[float, float]:
    return (row.low, row.high) if math.isfinite(row.low) and math.isfinite(row.high) else (row.mean, row.mean)


def _at(value: float, reach: float) -> float:
    return WIDE / 2.0 * (1.0 + 0.9 * value / reach)


def _step(reach: float, units: Units) -> float:
    """A round step of the scale that gives three marks or so a side."""
    one = LENGTHS[units]
    power = 10.0 ** math.floor(math.log10(reach / one))
    return next(f * power * one for f in (0.2, 0.25, 0.5, 1.0) if f * power * one * 3.5 >= reach)
