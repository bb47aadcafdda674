"""From what was measured back to the bend: deduction, allowance and neutral-axis ratio of parts already made.

Lengths mm, angles deg. Outside legs run to the mould line below 165 deg, to the outside of the bend above.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flatgen.core import bend
from flatgen.errors import OutOfRange

Allowance = Callable[[float, float, float], float]  # angle, inside radius, thickness -> allowance


@dataclass(frozen=True, slots=True)
class Made:
    """A part already made: its blank, its outside legs, and the bends between them (one fewer than legs)."""

    blank: float
    legs: tuple[float, ...]
    angles: tuple[float, ...]
    radii: tuple[float, ...]
    thickness: float

    def __post_init__(self) -> None:
        """A bend lies between two legs, each with its angle and radius."""
        if not len(self.legs) - 1 == len(self.angles) == len(self.radii) or not self.angles:
            raise ValueError("a part with n bends has n angles, n radii and n + 1 legs")


@dataclass(frozen=True, slots=True)
class Measured:
    """What one made part says of its bends, all bends taken alike: deduction and allowance of each [mm], ratio [-]."""

    deduction: float
    allowance: float
    neutral_axis_ratio: float


@dataclass(frozen=True, slots=True)
class RatioFit:
    """Neutral-axis ratio fitted to parts already made, its standard error (nan for one part), and what is left over."""

    ratio: float
    error: float
    count: int
    residuals: tuple[float, ...]  # of the blanks: measured less fitted [mm]


def measured_bend(made: Made) -> Measured:
    """Deduction, allowance and neutral-axis ratio from one blank and its legs, the same for all its bends.

    Examples
    --------
    >>> measured_bend(Made(1.879072, (1.0, 1.0), (90.0,), (0.16,), 0.04)).neutral_axis_ratio
    0.441569
    """
    count = len(made.angles)
    deduction = (math.fsum(made.legs) - made.blank) / count
    ratio = _numerator(made) / _weight(made)
    allowance = (
        math.fsum(
            math.radians(angle) * (radius + ratio * made.thickness)
            for angle, radius in zip(made.angles, made.radii, strict=True)
        )
        / count
    )
    return Measured(deduction, allowance, ratio)


def fit_ratio(parts: Sequence[Made]) -> RatioFit:
    """Neutral-axis ratio by least squares on the blanks of several parts, with its standard error.

    Parameters
    ----------
    parts : one or more; each bend adds angle × (radius + ratio × thickness) to its blank

    Notes
    -----
    The blank is linear in the ratio, so the fit is a line through the origin: ratio = Σwy/Σw², with w the sum of
    angle × thickness and y what the blank has over flats and inside arcs. Standard error: √(Σresidual²/((n−1) Σw²)).

    Examples
    --------
    >>> made = [Made(1.8790, (1.0, 1.0), (90.0,), (0.16,), 0.04), Made(1.8810, (1.0, 1.0), (90.0,), (0.16,), 0.04)]
    >>> fit_ratio(made).ratio
    0.4563

    References
    ----------
    [1] ordinary least squares through the origin, any textbook
    """
    if not parts:
        raise ValueError("at least one part is needed to fit the ratio")
    weights = [_weight(made) for made in parts]
    over = [_numerator(made) for made in parts]
    square = math.fsum(w * w for w in weights)
    ratio = math.fsum(w * y for w, y in zip(weights, over, strict=True)) / square
    residuals = tuple(y - ratio * w for w, y in zip(weights, over, strict=True))
    count = len(parts)
    error = math.sqrt(math.fsum(r * r for r in residuals) / (count - 1) / square) if count > 1 else math.nan
    return RatioFit(ratio, error, count, residuals)


def _weight(made: Made) -> float:
    """What a ratio of 1 adds to the blank [mm]."""
    weight = math.fsum(math.radians(angle) for angle in made.angles) * made.thickness
    if weight <= 0.0:
        raise OutOfRange("the sum of the bend angles", weight, "above 0 deg")
    return weight


def _numerator(made: Made) -> float:
    """What the blank has over its flats and the inside arcs [mm]."""
    taken = math.fsum(
        2.0 * bend.outside_reach(angle, radius, made.thickness) - math.radians(angle) * radius
        for angle, radius in zip(made.angles, made.radii, strict=True)
    )
    return made.blank - math.fsum(made.legs) + taken


def radius_for_blank(
    blank: float, legs: tuple[float, float], angle: float, thickness: float, allowance: Allowance
) -> float:
    """Inside radius at which two outside legs and one bend come out of a blank of a wanted length [mm].

    Parameters
    ----------
    blank, legs : [mm]
    angle : turned through [deg]
    thickness : [mm]
    allowance : method to reckon with

    Raises
    ------
    OutOfRange : no radius from 0 to 1000 thicknesses does it

    Examples
    --------
    >>> radius_for_blank(1.894168, (1.0, 1.0), 90, 0.040, bend.allowance_handbook)
    0.1250
    """
    wanted = math.fsum(legs) - blank

    def over(radius: float) -> float:
        return 2.0 * bend.outside_reach(angle, radius, thickness) - allowance(angle, radius, thickness) - wanted

    low, high = 0.0, 1000.0 * thickness
    first, last = over(low), over(high)
    if first * last > 0.0:
        ends = sorted((math.fsum(legs) - wanted - first, math.fsum(legs) - wanted - last))
        raise OutOfRange("the blank", blank, f"between {ends[0]:.6g} and {ends[1]:.6g} for any radius to work")
    for _ in range(200):
        middle = (low + high) / 2.0
        if (over(middle) > 0.0) == (first > 0.0):
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
