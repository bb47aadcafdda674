"""Names of the gauges for leaf and bend: what a setting calls a gauge is what is printed on it. Angles deg."""

import math

STEP = 0.25  # leaf gauges come at every quarter degree
GO = 1.0  # a bend's gauge passes so much on both sides of its angle


def leaf_gauge(leaf_angle: float) -> float:
    """The leaf gauge nearest to an angle.

    >>> leaf_gauge(94.1), leaf_gauge(93.4)
    (94.0, 93.5)
    """
    return round(leaf_angle / STEP) * STEP


def gauge_name(angle: float) -> str:
    """A gauge's name, to a tenth.

    >>> gauge_name(94.25), gauge_name(94.0)
    ('94.2', '94.0')
    """
    return f"{math.floor(angle * 10.0 + 1e-9) / 10.0:.1f}"


def leaf_gauge_name(leaf_angle: float) -> str:
    """The name of the leaf gauge nearest to an angle.

    >>> leaf_gauge_name(94.11)
    '94.0'
    """
    return gauge_name(leaf_gauge(leaf_angle))
