"""When two figures name the same nominal thickness. Lengths in mm."""

MM_PER_INCH = 25.4
NOMINAL = 0.02  # sizes this near are one nominal size, written in other ways: 1/32 is 0.032 in [mm]


def same_nominal(one: float, other: float) -> bool:
    """Whether two thicknesses are the same nominal size.

    >>> same_nominal(0.050 * 25.4, 0.0505 * 25.4), same_nominal(0.050 * 25.4, 0.063 * 25.4)
    (True, False)
    """
    return abs(one - other) <= NOMINAL


def measured_of(nominal: float, measured: float) -> bool:
    """Whether a measured thickness may belong to a nominal one: within a tenth of it (common practice, no source)."""
    return abs(measured - nominal) <= 0.1 * nominal


def rounder(one: float, other: float) -> float:
    """Of two figures for one size that with fewer decimals, in inches or millimetres: a nominal size is a round one.

    >>> rounder(0.0505 * 25.4, 0.050 * 25.4) / 25.4, rounder(0.050 * 25.4, 0.0505 * 25.4) / 25.4
    (0.05, 0.05)
    """
    return min(one, other, key=_decimals)


def _decimals(mm: float) -> int:
    return min(next((n for n in range(6) if abs(round(size, n) - size) < 1e-6), 6) for size in (mm, mm / MM_PER_INCH))
