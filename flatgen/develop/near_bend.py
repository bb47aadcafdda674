"""How near a hole may be to a bend and still be drilled in the flat. Lengths mm."""

from flatgen.core.arcs import nearest_point
from flatgen.core.outline import contains
from flatgen.core.points import Point, distance
from flatgen.model.blank import BendLine

LEAST_CLEAR = 0.06 * 25.4  # of a hole's edge to the tangent line, common practice


def tangent_distance(bend: BendLine, p: Point) -> float:
    """Distance from a point to the nearer tangent line of a bend, negative inside the bend [mm]."""
    near = min(distance(p, nearest_point(*tangent, 0.0, p)) for tangent in bend.tangents)
    return -near if contains(bend.outline, p) else near


def clear_of_bend(thickness: float) -> float:
    """Distance of a hole's edge to the tangent line from which on it stays round: 2T, 0.06 in at least (practice)."""
    return max(2.0 * thickness, LEAST_CLEAR)


def drawn_oval(bend: BendLine, center: Point, diameter: float, thickness: float) -> bool:
    """Whether a hole drilled in the flat would be pulled out of round by a bend beside it."""
    return tangent_distance(bend, center) - diameter / 2.0 < clear_of_bend(thickness) - 1e-6
