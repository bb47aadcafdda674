"""How many pieces to cut so that enough of them come out good."""

import math


def pieces_to_cut(wanted: int, spoilage: float, sure: float = 0.95) -> int:
    """Least number of pieces of which at least ``wanted`` come out good, with the given certainty.

    Parameters
    ----------
    wanted : good pieces needed
    spoilage : share of pieces spoiled, each by itself, 0 to below 1
    sure : probability wanted, 0 to 1

    Notes
    -----
    The number of good pieces among n is binomial; n is raised from ``wanted`` until the chance of too few falls below
    1 - sure.

    Examples
    --------
    >>> pieces_to_cut(96, 0.02), pieces_to_cut(24, 0.05)
    (101, 27)
    """
    if wanted <= 0 or spoilage <= 0.0:
        return max(0, wanted)
    n = wanted
    while _enough(n, wanted, spoilage) < sure:
        n += 1
    return n


def _enough(n: int, wanted: int, spoilage: float) -> float:
    """Chance that at most n - wanted of n pieces are spoiled."""
    p, q = math.log(spoilage), math.log1p(-spoilage)
    total = 0.0
    for bad in range(n - wanted + 1):
        log = math.lgamma(n + 1) - math.lgamma(bad + 1) - math.lgamma(n - bad + 1) + bad * p + (n - bad) * q
        total += math.exp(log)
    return total
