"""What is allowed for one size, ± [mm] and [deg]: as the drawing states it, else by its tolerance class, else as usual.

The shop's usual tolerance also stands in where a class says nothing, below 0.5 mm for one.
"""

from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.tables.general import angle_limit, length_limit


def allowed_length(part: Part, shop: Shop, size: float) -> float:
    """Of a flange, web or overall size [mm]."""
    tolerance = part.tolerance
    if tolerance is None:
        return shop.tolerances.length
    by_class = length_limit(tolerance.general, size) if tolerance.left_to_class("length") else None
    return tolerance.length if by_class is None else by_class


def allowed_hole(part: Part, shop: Shop, size: float) -> float:
    """Of the distance of a hole from an edge, a line or another hole [mm]."""
    tolerance = part.tolerance
    if tolerance is None:
        return shop.tolerances.hole
    by_class = length_limit(tolerance.general, size) if tolerance.left_to_class("hole") else None
    return tolerance.hole if by_class is None else by_class


def allowed_angle(part: Part, shop: Shop, leg: float) -> float:
    """Of a bend whose shorter leg is this long [deg]."""
    tolerance = part.tolerance
    if tolerance is None:
        return shop.tolerances.angle
    by_class = angle_limit(tolerance.general, leg) if tolerance.left_to_class("angle") else None
    return tolerance.angle if by_class is None else by_class
