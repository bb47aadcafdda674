"""What no nest can cost less than, for any number of blanks and both ways to cut. Lengths mm, areas mm², angles deg.

Metal against metal: the cheapest numbers of whole sheets, remnants and stock on hand counted, whose metal is no less
than the blanks'. A blank that is sheared or sawn takes its rectangle and a kerf; one cut along its outline is grown by
half the gap, its openings shrunk by it, on a sheet that is grown as much. Dual feasible functions on the sides of
blanks, which can prove more, proved no more over 36 orders, so they went.
"""

import math
from collections.abc import Sequence
from typing import Any

from flatgen.core.outline import flatten
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest.kinds import allowed_turns, net_area, turn_of
from flatgen.nest.programs import Programme
from flatgen.nest.stock import prices

CHORD = 1e-3  # chords of arcs [mm]
NEAR = 1.0 - 1e-9  # so that a blank as large as its sheet is no more than that
NODES = 200


def area_bound(pieces: Sequence[Piece], stock: Sequence[Sheet]) -> float:
    """Least cost by metal alone: blanks against the usable part of the cheapest sheet by area, remnants taken off."""
    wanted = math.fsum(net_area(p) * p.quantity for p in pieces)
    rate = None
    for sheet, price in zip(stock, prices(stock), strict=True):
        width, height = _usable(sheet)
        if sheet.remnant:
            wanted -= width * height * sheet.copies if sheet.copies is not None else math.inf
        elif width * height > 0.0:
            rate = price / (width * height) if rate is None else min(rate, price / (width * height))
    return max(0.0, wanted) * (rate or 0.0)


def cost_bound(pieces: Sequence[Piece], stock: Sequence[Sheet], tool: CuttingTool) -> float:
    """Least cost of any nest of all the pieces on whole sheets, as far as can be proved."""
    if tool.edge_to_edge:
        wanted = math.fsum(_rectangle(piece, stock, tool.kerf) * piece.quantity for piece in pieces)
        room = [_room(sheet, tool.kerf) for sheet in stock]
    else:
        half = 0.5 * tool.gap
        wanted = math.fsum(_grown_area(piece, half) * piece.quantity for piece in pieces if piece.quantity)
        room = [_grown_sheet(sheet, half) for sheet in stock]
    if wanted <= 0.0 or not stock:
        return 0.0
    programme, costs = Programme(), prices(stock)
    row = programme.row(NEAR, None)
    for sheet, cost, metal in zip(stock, costs, room, strict=True):
        programme.column(cost, [(row, metal / wanted)], None if sheet.copies is None else float(sheet.copies))
    found = programme.whole(nodes=NODES)
    least = 0.0 if found is None else min(found.bound, found.value)
    # the programme's tolerance, in prices, is no part of a sheet that must be paid for
    return least if least > 1e-7 * max(costs) else 0.0


def _usable(sheet: Sheet) -> tuple[float, float]:
    return max(0.0, sheet.width - 2.0 * sheet.margin), max(0.0, sheet.height - 2.0 * sheet.margin)


def _rectangle(piece: Piece, stock: Sequence[Sheet], kerf: float) -> float:
    """The least rectangle that a blank takes, with a kerf; its metal where it may lie on a slant."""
    if piece.rotations is None:
        return net_area(piece)
    ways = {way for sheet in stock for way in allowed_turns(piece, sheet.grain)}
    turns = [turn_of(piece.outline, *way) for way in ways]
    return min((turn.width + kerf) * (turn.height + kerf) for turn in turns) if turns else 0.0


def _room(sheet: Sheet, kerf: float) -> float:
    width, height = _usable(sheet)
    return (width + kerf) * (height + kerf) - math.fsum(w * h for w, h in _spoilt(sheet, kerf))


def _grown_area(piece: Piece, by: float) -> float:
    """Area of the metal and of what is nearer to it than ``by``, never too large."""
    from shapely.geometry import Polygon

    metal: Any = Polygon(flatten(piece.outline, CHORD), [flatten(cutout, CHORD) for cutout in piece.cutouts])
    if not metal.is_valid:
        return net_area(piece)
    grown = metal.buffer(by, quad_segs=12)  # corners on the round, so inside it
    return max(0.0, float(grown.area - CHORD * grown.length))


def _grown_sheet(sheet: Sheet, by: float) -> float:
    """Area that grown blanks may cover: the usable part grown round its corners, less what is spoilt, shrunk."""
    width, height = _usable(sheet)
    whole = width * height + 2.0 * by * (width + height) + math.pi * by * by
    return whole - math.fsum(w * h for w, h in _spoilt(sheet, 2.0 * by))


def _spoilt(sheet: Sheet, less: float) -> list[tuple[float, float]]:
    """Sizes of bad areas of the usable part that do not overlap, each ``less`` narrower and lower."""
    width, height = _usable(sheet)
    kept: list[tuple[float, float, float, float]] = []
    for x, y, w, h in sheet.bad_areas:
        x0, y0 = max(x, sheet.margin), max(y, sheet.margin)
        x1, y1 = min(x + w, sheet.margin + width), min(y + h, sheet.margin + height)
        if all(x1 <= a or c <= x0 or y1 <= b or d <= y0 for a, b, c, d in kept):
            kept.append((x0, y0, x1, y1))
    sizes = [(c - a - less, d - b - less) for a, b, c, d in kept]
    return [(w, h) for w, h in sizes if w > 0.0 and h > 0.0]
