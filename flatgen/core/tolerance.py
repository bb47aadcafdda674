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
STEP = 1e-5  # by which a cause is moved to find a slope [mm, deg]


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
    return Spread(
        math.fsum(part.amount for part in parts), math.sqrt(math.fsum(part.amount**2 for part in parts)), parts
    )


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


def leg_slopes(bends: Sequence[ChainBend], free: int) -> list[dict[tuple[str, int], float]]:
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


def leg_spreads(bends: Sequence[ChainBend], limits: Limits, free: int) -> tuple[Spread, ...]:
    """Spread of every leg of a chain.

    Examples
    --------
    An angle bracket, inches; the trade's rule of thumb for the leg that is not gauged is ±0.020.

    >>> limits = Limits(0.005, 0.008, 0.015, 0.007, 0.004, 0.0, 1.0)
    >>> gauged, rest = leg_spreads([ChainBend(90, 0.125, 0.447)], limits, free=1)
    >>> gauged.rss, rest.rss
    (0.010, 0.02)
    """
    return tuple(
        spread([(_named(cause, len(bends)), getattr(limits, cause[0]), slope) for cause, slope in leg.items()])
        for leg in leg_slopes(bends, free)
    )


@dataclass(frozen=True, slots=True)
class Overall:
    """Extents of a chain's section along and square to one of its legs [mm], with their spreads."""

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
    legs : outside (mould-line) sizes, in order [mm]
    bends : between them
    free : leg that is never gauged; base : leg that gives the direction "along"

    Notes
    -----
    An extent runs between two corners of the section, mould points or ends. Its slopes are taken by moving one cause
    at a time and measuring the same two corners again. Where several corners share the extreme (a channel is as wide
    at its web as at its tips), the pair that varies most counts: it is the size that can be wrong.
    """
    slopes = leg_slopes(bends, free)
    angles = [item.angle for item in bends]
    corners = section(legs, angles, thickness, base)
    moved = {cause: _moved(legs, angles, thickness, base, slopes, cause) for cause in _causes(slopes, len(bends))}
    sizes, spreads = [], []
    for axis in (0, 1):
        values = [corner[axis] for corner in corners]
        lows = [k for k, value in enumerate(values) if value < min(values) + SAME]
        highs = [k for k, value in enumerate(values) if value > max(values) - SAME]
        found = []
        for low in lows:
            for high in highs:
                size = values[high] - values[low]
                rows = [
                    (
                        _named(cause, len(bends)),
                        getattr(limits, cause[0]),
                        (after[high][axis] - after[low][axis] - size) / STEP,
                    )
                    for cause, after in moved.items()
                ]
                found.append(spread([row for row in rows if abs(row[2]) > STEP]))
        sizes.append(max(values) - min(values))
        spreads.append(max(found, key=lambda item: item.rss))
    return Overall(sizes[0], sizes[1], spreads[0], spreads[1])


def _causes(slopes: Sequence[dict[tuple[str, int], float]], count: int) -> list[tuple[str, int]]:
    causes = {cause: None for leg in slopes for cause in leg}
    return [*causes, *(("angle", index) for index in range(count))]


def _moved(
    legs: Sequence[float],
    angles: Sequence[float],
    thickness: float,
    base: int,
    slopes: Sequence[dict[tuple[str, int], float]],
    cause: tuple[str, int],
) -> list[tuple[float, float]]:
    """Corners of the section with one cause moved by a small step."""
    made = [leg + STEP * slope.get(cause, 0.0) for leg, slope in zip(legs, slopes, strict=True)]
    turned = [angle + STEP * (cause == ("angle", k)) for k, angle in enumerate(angles)]
    sheet = thickness + STEP * (cause[0] == "thickness")
    return section(made, turned, sheet, base)


def section(legs: Sequence[float], angles: Sequence[float], thickness: float, base: int) -> list[tuple[float, float]]:
    """Corners of a chain's section with sharp corners: upper skin in order, then lower skin [mm].

    Parameters
    ----------
    legs : outside sizes, each to the mould lines of its own bends [mm]
    angles : between them, up positive [deg]
    base : leg that lies along x, its low end on the upper skin at 0, 0

    Examples
    --------
    A hat: a zed changes skins at each wall, so that its width is 0.675 + 1.250 + 0.675 less two thicknesses.

    >>> hat = section([0.675, 0.75, 1.25, 0.75, 0.675], [90, -90, -90, 90], 0.05, base=2)
    >>> max(x for x, _ in hat) - min(x for x, _ in hat), max(y for _, y in hat) - min(y for _, y in hat)
    (2.5, 0.75)
    """
    headings = _headings(angles, base)
    # a leg is shorter on the skin that is inside at its bend: upper for a bend up, lower for one down
    short = [thickness * math.tan(math.radians(abs(angle)) / 2.0) for angle in angles]
    skins: list[list[tuple[float, float]]] = []
    for way in (1.0, -1.0):
        x, y = (0.0, 0.0) if way > 0 else (thickness * math.sin(headings[0]), -thickness * math.cos(headings[0]))
        corners = [(x, y)]
        for leg, heading in enumerate(headings):
            size = legs[leg] - math.fsum(
                short[k] for k in (leg - 1, leg) if 0 <= k < len(angles) and angles[k] * way > 0
            )
            x, y = x + size * math.cos(heading), y + size * math.sin(heading)
            corners.append((x, y))
        skins.append(corners)
    ox, oy = skins[0][base]
    return [(px - ox, py - oy) for skin in skins for px, py in skin]


def _headings(angles: Sequence[float], base: int) -> list[float]:
    headings = [0.0] * (len(angles) + 1)
    for leg in range(base + 1, len(headings)):
        headings[leg] = headings[leg - 1] + math.radians(angles[leg - 1])
    for leg in range(base - 1, -1, -1):
        headings[leg] = headings[leg + 1] - math.radians(angles[leg])
    return headings


def _named(cause: tuple[str, int], count: int) -> str:
    name, index = cause
    return f"{name} at bend {index + 1}" if index >= 0 and count > 1 else name
