"""Openings other than drilled holes: their letters, shapes in words, and places. Lengths mm."""

from flatgen.core import arcs
from flatgen.core.outline import Outline, bounds, segments
from flatgen.core.points import distance
from flatgen.model.blank import Blank
from flatgen.units import format_length

SAME = 1e-4


def shape_words(outline: Outline, units: str) -> str:
    """A round opening by its diameter, any other by its box and the radii of its corners."""
    x0, y0, x1, y1 = bounds([outline])
    circles = [arcs.arc_of(p, q, b) for p, q, b in segments(outline) if abs(b) > arcs.STRAIGHT]
    if len(circles) == len(outline) and all(distance(c.center, circles[0].center) < SAME for c in circles):
        return f"round, diameter {format_length(2.0 * circles[0].radius, units)}"
    text = f"{format_length(x1 - x0, units)} × {format_length(y1 - y0, units)}"
    radii = sorted({round(c.radius, 3) for c in circles})
    if radii:
        text += ", R " + ", ".join(format_length(r, units) for r in radii)
    return text


def opening_rows(blank: Blank, units: str) -> list[tuple[str, str, str, str]]:
    """Letter, shape, middle as x and y from the datum corner, for each opening."""
    rows = []
    for letter, outline in blank.openings:
        x0, y0, x1, y1 = bounds([outline])
        middle = (format_length((x0 + x1) / 2.0, units), format_length((y0 + y1) / 2.0, units))
        rows.append((letter, shape_words(outline, units), *middle))
    return rows
