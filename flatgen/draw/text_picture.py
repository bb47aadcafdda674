"""A small picture of a blank in letters: braille dots, two across and four down a letter, or plain signs."""

import math

from flatgen.core import arcs
from flatgen.core.outline import segments
from flatgen.core.points import Point
from flatgen.model.blank import Blank

DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
PLAIN_ASPECT = 2.0  # a letter is about twice as high as wide


def text_picture(blank: Blank, columns: int = 60, rows: int = 20, plain: bool = False) -> str:
    """Outline, openings and holes full, bends dotted; as large as fits into the columns and rows."""
    across, down = (1, 1) if plain else (2, 4)
    aspect = PLAIN_ASPECT if plain else 1.0
    width, height = columns * across - 1, (rows * down - 1) * aspect
    scale = min(width / max(blank.width, 1e-9), height / max(blank.height, 1e-9))
    dots: dict[tuple[int, int], str] = {}
    for bend in blank.bends:
        for k, spot in enumerate(_along(*bend.centerline, 0.0, scale)):
            if k % 4 < 2:
                dots[_cell(spot, blank, scale, aspect)] = "-" if bend.direction == "up" else "="
    for outline in (blank.outline, *blank.cutouts):
        for p, q, bulge in segments(outline):
            for spot in _along(p, q, bulge, scale):
                dots[_cell(spot, blank, scale, aspect)] = "#"
    lines = []
    last = max(y for _, y in dots)
    for row in range(last // down + 1):
        letters = []
        for column in range(columns):
            if plain:
                letters.append(dots.get((column, row), " "))
                continue
            bits = sum(DOTS[j][i] for j in range(4) for i in range(2) if (2 * column + i, 4 * row + j) in dots)
            letters.append(chr(0x2800 + bits) if bits else " ")
        lines.append("".join(letters).rstrip())
    return "\n".join(lines)


def _along(p: Point, q: Point, bulge: float, scale: float) -> list[Point]:
    count = max(1, math.ceil(arcs.length(p, q, bulge) * scale * 1.5)) if p != q else 1
    return [arcs.point_at(p, q, bulge, k / count) for k in range(count + 1)]


def _cell(spot: Point, blank: Blank, scale: float, aspect: float) -> tuple[int, int]:
    return round(spot[0] * scale), round((blank.height - spot[1]) * scale / aspect)
