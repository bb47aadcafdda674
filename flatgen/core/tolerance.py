"""How far the sizes of a bent part may come out from the drawing, from the tolerances of sheet, cut, stop and bend.

A chain is a strip of flats with parallel bends between them. At each bend one of its two legs lies against the stop and
takes the stop's error; what is left of the blank goes into the one leg that is never gauged. Every contribution is
taken to first order: ``worst`` adds them up, ``rss`` adds their squares. Lengths mm, angles deg.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.core.bend import MOULD_LINES_BELOW

SAME = 0.01  # corners that lie within this of the extreme share it [mm]


@dataclass(frozen=True, slots=True)
class Limits:
    """What each step may be off by, ± [mm], angle ± [deg].

    stop, creep : of the leg that lies against the stop, at each bend
    cut : length of the blank; deduction : of one bend; radius : of one bend; thickness : of the sheet, all bends alike
    """

    stop: float
    creep: float
    cut: float
    deduction: float
    radius: float
    thickness: float
    angle: float


@dataclass(frozen=True, slots=True)
class ChainBend:
    """A bend of a chain: angle turned through, up positive [deg], inside radius [mm], neutral-axis ratio [-]."""

    angle: float
    radius: float
    ratio: float


@dataclass(frozen=True, slots=True)
class Contribution:
    """One cause with what it adds to a size, ± [mm]."""

    cause: str
    amount: float


@dataclass(frozen=True, slots=True)
class Spread:
    """Expected spread of one size, ± [mm], and what it is made of."""

    worst: float
    rss: float
    contributions: tuple[Contribution, ...]


def spread(sensitivities: Sequence[tuple[str, float, float]]) -> Spread:
    """Worst case and root of the sum of squares of (cause, tolerance, sensitivity) rows.

    >>> s = spread([("stop", 0.3, 1.0), ("cut", 0.4, -1.0)])
    >>> s.worst, s.rss
    (0.7, 0.5)
    """
    parts = tuple(Contribution(cause, abs(size * slope)) for cause, size, slope in sensitivities if size * slope)
    return Spread(sum(part.amount for part in parts), math.sqrt(sum(part.amount**2 for part in parts)), parts)


def free_leg(count: int, gauged_by_choice: Sequence[int] = ()) -> int:
    """Index of the leg of a chain that takes up what is left: the last that need not be right, ends before the middle.

    Parameters
    ----------
    count : of legs
    gauged_by_choice : indices of legs that mate with another part and shall be gauged

    Examples
    --------
    >>> free_leg(3), free_leg(3, [2]), free_leg(2, [1])
    (2, 0, 0)
    """
    order = [count - 1, 0, *range(count - 2, 0, -1)]
    return next((index for index in order if index not in gauged_by_choice), count - 1)


def leg_slopes(bends: Sequence[ChainBend], thickness: float, free: int) -> list[dict[tuple[str, int], float]]:
    """How each leg answers to each cause: one table a leg, (cause, bend) to mm per mm; bend -1: the part as a whole.

    Notes
    -----
    A leg against the stop keeps the distance from stop to tangent line, so its mould line moves by
    tan(a/2) × (dR + dT). The free leg is blank + Σ deductions − the other legs; a deduction moves by
    (2 tan(a/2) − a) dR + (2 tan(a/2) − ratio·a) dT beside its own error.
    """
    count = len(bends) + 1
    legs: list[dict[tuple[str, int], float]] = [{} for _ in range(count)]
    rest = legs[free]
    rest["cut", -1] = 1.0
    for index, item in enumerate(bends):
        gauged = index if index < free else index + 1
        turned = math.radians(abs(item.angle))
        reach = math.tan(turned / 2.0) if abs(item.angle) < MOULD_LINES_BELOW else 1.0
        leg = legs[gauged]
        for cause, slope in (("stop", 1.0), ("creep", 1.0), ("radius", reach)):
            leg[cause, index] = slope
            rest[cause, index] = -slope
        leg["thickness", -1] = leg.get(("thickness", -1), 0.0) + reach
        rest["deduction", index] = 1.0
        rest["radius", index] += 2.0 * reach - turned
        moves = 2.0 * reach - item.ratio * turned - reach
        rest["thickness", -1] = rest.get(("thickness", -1), 0.0) + moves
    return legs


def leg_spreads(bends: Sequence[ChainBend], thickness: float, limits: Limits, free: int) -> tuple[Spread, ...]:
    """Spread of every leg of a chain.

    Examples
    --------
    An angle bracket, inches; the trade's rule of thumb for the leg that is not gauged is ±0.020.

    >>> limits = Limits(0.005, 0.008, 0.015, 0.007, 0.004, 0.0, 1.0)
    >>> gauged, rest = leg_spreads([ChainBend(90, 0.125, 0.447)], 0.04, limits, free=1)
    >>> gauged.rss, rest.rss
    (0.010, 0.02)
    """
    return tuple(
        spread([(_named(cause, len(bends)), getattr(limits, cause[0]), slope) for cause, slope in leg.items()])
        for leg in leg_slopes(bends, thickness, free)
    )


@dataclass(frozen=True, slots=True)
class Overall:
    """Extents of a chain's mould-line profile along and square to one of its legs [mm], with their spreads."""

    along: float
    across: float
    along_spread: Spread
    across_spread: Spread


def overall_spread(
    legs: Sequence[float], bends: Sequence[ChainBend], thickness: float, limits: Limits, free: int, base: int
) -> Overall:
    """Overall sizes of a chain and how far they may be off, angles included.

    Parameters
    ----------
    legs : mould-line sizes, in order [mm]
    bends : between them
    free : leg that is never gauged; base : leg that gives the direction "along"

    Notes
    -----
    The extent runs between two corners of the mould-line profile; the spread is that of the two corners it runs between
    on the drawing. Offsets by a thickness where a zed changes sides are left out: they do not vary.
    """
    angles = [item.angle for item in bends]
    points = profile(legs, angles, base)
    slopes = leg_slopes(bends, thickness, free)
    sizes, spreads = [], []
    for axis in (0, 1):
        values = [point[axis] for point in points]
        size = max(values) - min(values)
        lows = [k for k, value in enumerate(values) if value < min(values) + SAME]
        highs = [k for k, value in enumerate(values) if value > max(values) - SAME]
        # a channel is as wide at its web as at its tips; the pair that varies most is the size that can be wrong
        found = [
            _between(points, slopes, angles, base, axis, low, high, limits)
            for low in lows
            for high in highs
            if low != high
        ]
        sizes.append(size)
        spreads.append(max(found, key=lambda item: item.rss) if found else spread([]))
    return Overall(sizes[0], sizes[1], spreads[0], spreads[1])


def _between(
    points: Sequence[tuple[float, float]],
    slopes: Sequence[dict[tuple[str, int], float]],
    angles: Sequence[float],
    base: int,
    axis: int,
    low: int,
    high: int,
    limits: Limits,
) -> Spread:
    """Spread of the distance along one axis from corner ``low`` to corner ``high``."""
    first, last = sorted((low, high))
    sign = 1.0 if high >= low else -1.0
    headings = _headings(angles, base)
    causes: dict[tuple[str, int], float] = {}
    for leg in range(first, last):
        part = sign * (math.cos(headings[leg]) if axis == 0 else math.sin(headings[leg]))
        for cause, slope in slopes[leg].items():
            causes[cause] = causes.get(cause, 0.0) + part * slope
    for index in range(len(angles)):
        causes["angle", index] = sign * _turning(points, index, base, axis, first, last)
    return spread([(_named(cause, len(angles)), getattr(limits, cause[0]), slope) for cause, slope in causes.items()])


def profile(legs: Sequence[float], angles: Sequence[float], base: int) -> list[tuple[float, float]]:
    """Corners of the mould-line profile, the base leg along x, its low end at 0, 0 [mm].

    >>> [(round(x, 6), round(y, 6)) for x, y in profile([1.0, 2.0, 1.0], [90, 90], base=1)]
    [(0.0, 1.0), (0.0, 0.0), (2.0, 0.0), (2.0, 1.0)]
    """
    headings = _headings(angles, base)
    x = y = 0.0
    points = [(x, y)]
    for leg, heading in zip(legs, headings, strict=True):
        x, y = x + leg * math.cos(heading), y + leg * math.sin(heading)
        points.append((x, y))
    ox, oy = points[base]
    return [(px - ox, py - oy) for px, py in points]


def _headings(angles: Sequence[float], base: int) -> list[float]:
    headings = [0.0] * (len(angles) + 1)
    for leg in range(base + 1, len(headings)):
        headings[leg] = headings[leg - 1] + math.radians(angles[leg - 1])
    for leg in range(base - 1, -1, -1):
        headings[leg] = headings[leg + 1] - math.radians(angles[leg])
    return headings


def _turning(points: Sequence[tuple[float, float]], index: int, base: int, axis: int, first: int, last: int) -> float:
    """mm per degree by which the run from corner ``first`` to corner ``last`` grows when one bend opens further."""
    pivot = points[index + 1]

    def moved(corner: int) -> float:
        # bends beyond the base turn what follows them, bends before it what goes before, the other way round
        turns = corner > index + 1 if index >= base else corner < index + 1
        if not turns:
            return 0.0
        dx, dy = points[corner][0] - pivot[0], points[corner][1] - pivot[1]
        way = 1.0 if index >= base else -1.0
        return way * (-dy if axis == 0 else dx)

    return (moved(last) - moved(first)) * math.pi / 180.0


def _named(cause: tuple[str, int], count: int) -> str:
    name, index = cause
    return f"{name} at bend {index + 1}" if index >= 0 and count > 1 else name
