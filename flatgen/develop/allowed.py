"""What is allowed for one size, ± [mm] and [deg]: as the drawing states it, else by its tolerance class, else as usual.

The shop's usual tolerance also stands in where a class says nothing, below 0.5 mm for one.
"""

from collections.abc import Callable
from typing import Literal

from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.tables.general import angle_limit, length_limit


def allowed_length(part: Part, shop: Shop, size: float) -> float:
    """Of a flange, web or overall size [mm]."""
    return _allowed(part, shop, "length", length_limit, size)


def allowed_hole(part: Part, shop: Shop, size: float) -> float:
    """Of the distance of a hole from an edge, a line or another hole [mm]."""
    return _allowed(part, shop, "hole", length_limit, size)


def allowed_angle(part: Part, shop: Shop, leg: float) -> float:
    """Of a bend whose shorter leg is this long [deg]."""
    return _allowed(part, shop, "angle", angle_limit, leg)


def _allowed(
    part: Part,
    shop: Shop,
    kind: Literal["length", "hole", "angle"],
    limit: Callable[[str, float], float | None],
    size: float,
) -> float:
    stated = part.tolerance
    if stated is None:
        return float(getattr(shop.tolerances, kind))
    by_class = limit(stated.general, size) if stated.left_to_class(kind) else None
    return float(getattr(stated, kind)) if by_class is None else by_class
