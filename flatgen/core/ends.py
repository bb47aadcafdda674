"""One end of the bar that drifts, told from all of it: angles or legs of pieces, taken at their left and right."""

from collections.abc import Sequence
from typing import Literal

from flatgen.core.stats import Drift, drift

End = Literal["", "left", "right", "all"]


def drifting(pieces: Sequence[float], left: Sequence[float], right: Sequence[float]) -> End:
    """Which end drifts over the pieces in their order; "" where neither does beyond its scatter.

    Notes
    -----
    A stop, a leaf stop or a sheet that changes moves both ends alike; a nose or a hinge that moves at one end moves
    that end, and with it the difference of the two. So the difference tells one end from all: where it drifts, the end
    with the greater slope does; where it does not and both do, all does.

    Examples
    --------
    >>> places = (1, 2, 3, 4, 5, 6)
    >>> drifting(places, (0, 0.01, 0, 0.01, 0, 0.01), (0, 0.2, 0.41, 0.6, 0.8, 1.01))
    'right'
    >>> drifting(places, (0, 0.2, 0.4, 0.61, 0.8, 1.0), (0, 0.2, 0.41, 0.6, 0.8, 1.01))
    'all'
    """
    apart = drift(pieces, [b - a for a, b in zip(left, right, strict=True)])
    at_left, at_right = drift(pieces, left), drift(pieces, right)
    if apart is None or at_left is None or at_right is None:
        return ""
    if apart.real and (at_left.real or at_right.real):
        return "left" if abs(at_left.slope) > abs(at_right.slope) else "right"
    return "all" if _alike(at_left, at_right) else ""


def _alike(a: Drift, b: Drift) -> bool:
    return a.real and b.real and (a.slope > 0.0) == (b.slope > 0.0)
