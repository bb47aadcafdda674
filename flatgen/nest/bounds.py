"""What no nest can cost less than, for any number of blanks and both ways to cut. Lengths mm, areas mm², angles deg.

Every argument gives the blanks weights and each sheet a capacity that no nest on it can exceed. The cheapest numbers of
whole sheets whose capacities hold all weights, remnants and stock on hand counted, are a bound.

For shear and saw the weights are products of dual feasible functions: whatever numbers add up to 1 at most, so do their
values. Taken for the widths and for the heights of rectangles that lie in a sheet, they are sizes of rectangles that do
so too (Fekete and Schepers, "New classes of fast lower bounds for bin packing problems", 2001; the steps: Carlier,
Clautiaux and Moukrim, 2007; the least over the ways a blank may turn: after Boschetti and Mingozzi, 2003; all from
memory). Profile-cut blanks are grown by half the gap, their openings shrunk by it; so they do not overlap and lie in a
sheet that is grown as much.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from flatgen.core.outline import flatten
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest.kinds import allowed_turns, net_area, turn_of
from flatgen.nest.programs import Programme
from flatgen.nest.stock import prices

Numbers = np.ndarray[Any, np.dtype[np.float64]]
Wholes = np.ndarray[Any, np.dtype[np.int64]]


CELLS = 1e5  # sizes are whole numbers of these in a mm: blanks rounded down, sheets up
NOISE = 1e-2  # but what is this near the next cell is on it
CHORD = 1e-3  # chords of arcs [mm]
TILT = 1.0  # steps at which a blank free of grain is measured on the slant [deg]
SIZES = 28  # most sizes that functions are made of
WORK = 1.5e7  # most weights worked out for one kind of sheet
ROWS = 30  # arguments, the strongest alone, that are held together
NODES = 200
Scale = tuple[str, int]  # sort of function and its parameter


@dataclass(frozen=True, slots=True)
class Weights:
    """Arguments, one a row: the weight of all blanks, and the capacity of every sheet of the stock."""

    wanted: Numbers
    capacity: Numbers


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


def cost_bound(pieces: Sequence[Piece], stock: Sequence[Sheet], tool: CuttingTool, proved: float = 0.0) -> float:
    """Least cost of any nest of all the pieces, as far as can be proved.

    proved : a bound found elsewhere, rounded up to whole sheets where there is only one to pay for
    """
    pieces = [piece for piece in pieces if piece.quantity > 0]
    if not pieces or not stock:
        return 0.0
    found = list(_by_scales(pieces, stock, tool.kerf)) if tool.edge_to_edge else list(_by_growth(pieces, stock, tool))
    rows = Weights(np.concatenate([f.wanted for f in found]), np.concatenate([f.capacity for f in found]))
    costs, copies = prices(stock), [math.inf if s.copies is None else float(s.copies) for s in stock]
    alone = _in_parts(rows, costs, copies)
    best = np.argsort(-alone, kind="stable")[:ROWS]
    together = _in_wholes(Weights(rows.wanted[best], rows.capacity[best]), costs, copies)
    least = max(float(alone[best[0]]) * (1.0 - 1e-9), together, _whole_sheets(proved, costs))
    # the programme's tolerance, in prices, is no part of a sheet that must be paid for
    return least if least > 1e-7 * max(costs) else 0.0


def _whole_sheets(bound: float, costs: Sequence[float]) -> float:
    paid = {cost for cost in costs if cost > 0.0}
    return bound if len(paid) != 1 else (cost := paid.pop()) * math.ceil(bound / cost - 1e-6)


def _usable(sheet: Sheet) -> tuple[float, float]:
    return max(0.0, sheet.width - 2.0 * sheet.margin), max(0.0, sheet.height - 2.0 * sheet.margin)


def _in_parts(rows: Weights, costs: Sequence[float], copies: Sequence[float]) -> Numbers:
    """For every argument alone: cost of the cheapest capacity, parts of sheets allowed."""
    with np.errstate(divide="ignore", invalid="ignore"):
        rates = np.where(rows.capacity > 0.0, np.asarray(costs) / rows.capacity, np.inf)
    order = np.argsort(rates, axis=1, kind="stable")
    left, total = rows.wanted.copy(), np.zeros(len(rows.wanted))
    lines = np.arange(len(left))
    for place in range(len(costs)):
        sheet = order[:, place]
        capacity = rows.capacity[lines, sheet]
        most = np.asarray(copies)[sheet] * np.where(capacity > 0.0, capacity, 1.0)
        taken = np.where(capacity > 0.0, np.minimum(left, most), 0.0)
        total += np.where(taken > 0.0, taken * np.where(np.isfinite(rates), rates, 0.0)[lines, sheet], 0.0)
        left -= taken
    return total


def _in_wholes(rows: Weights, costs: Sequence[float], copies: Sequence[float]) -> float:
    """Cost of the cheapest whole sheets that hold every argument's weights; 0 where none was proved."""
    programme = Programme()
    used = [n for n, wanted in enumerate(rows.wanted) if wanted > 0.0]
    lines = {n: programme.row(1.0 - 1e-9, None) for n in used}
    for sheet, (cost, most) in enumerate(zip(costs, copies, strict=True)):
        entries = [(lines[n], float(rows.capacity[n, sheet] / rows.wanted[n])) for n in used]
        programme.column(cost, entries, None if math.isinf(most) else most)
    found = programme.whole(nodes=NODES)
    return 0.0 if found is None else min(found.bound, found.value)


# profile cutting


def _by_growth(pieces: Sequence[Piece], stock: Sequence[Sheet], tool: CuttingTool) -> Iterator[Weights]:
    """Blanks grown by half the gap against sheets grown as much; and the plain plates among them as rectangles."""
    half = 0.5 * tool.gap
    wanted = math.fsum(_grown_area(piece, half) * piece.quantity for piece in pieces)
    yield Weights(np.array([wanted]), np.array([[_grown_sheet(sheet, half) for sheet in stock]]))
    plates = [p for p in pieces if not p.cutouts and _square_to_sheets(p) and _is_plate(p)]
    if plates:
        # two rectangles a gap apart are a gap / √2 apart along one side at least
        yield from _by_scales(plates, stock, tool.gap / math.sqrt(2.0))


def _square_to_sheets(piece: Piece) -> bool:
    return piece.rotations is not None and all(abs(math.remainder(turn, 90.0)) < 1e-9 for turn in piece.rotations)


def _is_plate(piece: Piece) -> bool:
    turn = turn_of(piece.outline, 0.0, False)
    return net_area(piece) > turn.width * turn.height * (1.0 - 1e-9)


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


# shear and saw


@dataclass(frozen=True, slots=True)
class Ways:
    """How pieces may lie on one sheet, in cells: usable size, sizes of what is spoilt, and the pieces' rectangles.

    owners : which pieces fit; starts : where the ways of each begin among the widths and heights
    """

    size: tuple[int, int]
    spoilt: Wholes
    owners: list[int]
    starts: list[int]
    widths: Wholes
    heights: Wholes


def _by_scales(pieces: Sequence[Piece], stock: Sequence[Sheet], kerf: float) -> Iterator[Weights]:
    """Products of two functions, one for widths and one for heights, for all that are made of the sizes at hand."""
    ways = [_ways(pieces, sheet, kerf) for sheet in stock]
    most = max(1, max(len(w.widths) for w in ways))
    scales = _scales(ways, max(4, min(SIZES, int(math.sqrt(WORK / most) / 5.0))))
    many = np.array([float(piece.quantity) for piece in pieces])
    across = [_table(scales, w.widths, w.size[0]) for w in ways]
    up = [_table(scales, w.heights, w.size[1]) for w in ways]
    bad = [(_table(scales, w.spoilt[:, 0], w.size[0])[0], _table(scales, w.spoilt[:, 1], w.size[1])[0]) for w in ways]
    for number in range(len(scales)):
        least = np.full((len(scales), len(pieces)), np.inf)
        capacity = np.zeros((len(scales), len(ways)))
        for sheet, w in enumerate(ways):
            spoilt = bad[sheet][1] @ bad[sheet][0][number]
            capacity[:, sheet] = across[sheet][1][number] * up[sheet][1] - spoilt
            if w.owners:
                here = np.minimum.reduceat(up[sheet][0] * across[sheet][0][number], w.starts, axis=1)
                least[:, w.owners] = np.minimum(least[:, w.owners], here)
        yield Weights(np.where(np.isfinite(least), least, 0.0) @ many, np.maximum(capacity, 0.0))


def _ways(pieces: Sequence[Piece], sheet: Sheet, kerf: float) -> Ways:
    width, height = (math.ceil((side + kerf) * CELLS - NOISE) for side in _usable(sheet))
    owners: list[int] = []
    starts: list[int] = []
    sizes: list[tuple[int, int]] = []
    for number, piece in enumerate(pieces):
        here = [(_cells(w + kerf), _cells(h + kerf)) for w, h in _rectangles(piece, sheet.grain)]
        here = _smallest([(w, h) for w, h in here if w <= width and h <= height])
        if here:
            owners.append(number)
            starts.append(len(sizes))
            sizes += here
    table = np.array(sizes, dtype=np.int64).reshape(-1, 2)
    spoilt = np.array([(_cells(w), _cells(h)) for w, h in _spoilt(sheet, kerf)], dtype=np.int64).reshape(-1, 2)
    return Ways((width, height), spoilt, owners, starts, table[:, 0], table[:, 1])


def _cells(size: float) -> int:
    return math.floor(size * CELLS + NOISE)


def _rectangles(piece: Piece, grain: float) -> Iterator[tuple[float, float]]:
    """Rectangles of which the piece needs one; for one free of grain no larger than at any angle of a small range."""
    if piece.rotations is not None:
        for rotation, mirrored in allowed_turns(piece, grain):
            turn = turn_of(piece.outline, rotation, mirrored)
            yield turn.width, turn.height
        return
    corners = _hull(flatten(piece.outline, CHORD))  # chords lie inside the arcs, so widths are never too large
    marks = _slants(corners)
    turns = np.radians(np.array([marks, [mark + 90.0 for mark in marks]]))
    along = np.cos(turns)[..., None] * corners[:, 0] + np.sin(turns)[..., None] * corners[:, 1]
    ends = along.max(axis=2) - along.min(axis=2)
    # between two marks a width is concave over the angle: least at an end
    for width, height in np.minimum(ends[:, :-1], ends[:, 1:]).T:
        yield float(width), float(height)
        yield float(height), float(width)


def _slants(corners: Numbers) -> list[float]:
    """Angles from 0 to 90: every step, and wherever a side comes to lie level or upright."""
    sides = np.roll(corners, -1, axis=0) - corners
    level = np.degrees(np.arctan2(sides[:, 1], sides[:, 0])) % 90.0
    steps = np.arange(0.0, 90.0, TILT)
    return [*sorted({round(float(mark), 9) for mark in (*steps, *level)} - {90.0}), 90.0]


def _hull(points: Sequence[tuple[float, float]]) -> Numbers:
    from shapely.geometry import MultiPoint

    around: Any = MultiPoint(points).convex_hull
    return np.array(around.exterior.coords)[:-1] if around.geom_type == "Polygon" else np.array(points)


def _smallest(sizes: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Those that no other is as small as in both directions."""
    kept: list[tuple[int, int]] = []
    for size in sorted(set(sizes)):
        if not kept or size[1] < kept[-1][1]:
            kept.append(size)
    return kept


def _scales(ways: Sequence[Ways], most: int) -> list[Scale]:
    """The functions worth trying: steps and thresholds at the sizes of blanks and at what they leave of a sheet."""
    sizes = sorted({int(size) for w in ways for side in (w.widths, w.heights) for size in side})
    lengths = {length for w in ways for length in w.size}
    rests = sorted({length - size + 1 for length in lengths for size in sizes if size < length})
    found: list[Scale] = [("plain", 0)]
    for sort, marks in (("large", sizes), ("large", rests), ("steps", sizes), ("steps", rests)):
        found += [(sort, mark) for mark in _spread(marks, most if marks is sizes else most // 2)]
    halves = sorted({(size + 1) // 2 for size in sizes})
    found += [("steps", mark) for mark in _spread(halves, most // 3)]
    found += [("parts", many) for many in range(1, 9)]
    return list(dict.fromkeys(found))


def _spread(marks: Sequence[int], most: int) -> list[int]:
    return list(marks) if len(marks) <= most else [marks[n * len(marks) // most] for n in range(most)]


def _table(scales: Sequence[Scale], sizes: Wholes, length: int) -> tuple[Numbers, Numbers]:
    """For every function its values for sizes, and what these add up to at most on a length."""
    found = [_scaled(scale, sizes, length) for scale in scales]
    return np.array([f[0] for f in found], dtype=float), np.array([f[1] for f in found], dtype=float)


def _scaled(scale: Scale, x: Wholes, length: int) -> tuple[Wholes | Numbers, float]:
    """Values of one function for sizes up to a length, and its value for the length."""
    sort, mark = scale
    if sort == "large" and 2 * mark <= length:  # what leaves less than the mark counts whole, what is less for nothing
        return np.where(x > length - mark, length, np.where(x < mark, 0, x)), float(length)
    if sort == "steps" and mark <= length:  # small ones count whole steps, a large one what it leaves no room for
        steps, half = length // mark, np.where(2 * x > length, length - x, x) // mark
        return np.where(2 * x > length, 2 * (steps - half), np.where(2 * x == length, steps, 2 * half)), 2.0 * steps
    if sort == "steps":
        return 0 * x, 0.0
    if sort == "parts":  # rounded down to parts of the length, one part fewer than fit
        parts = (mark + 1) * x // length
        return np.where((mark + 1) * x % length == 0, x * 1.0, parts * (length / mark)), float(length)
    return x, float(length)
