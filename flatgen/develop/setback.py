"""How far a tangent line stands in from the line that a drawing measures to. Lengths mm, angles deg."""

import math
from typing import NamedTuple

from flatgen.core.bend import MOULD_LINES_BELOW
from flatgen.model.part import Bend, Measured

FOLDED = 179.9999  # from here on mould lines do not meet


class Setback(NamedTuple):
    """Setbacks of one bend by what is measured to; the mould lines' are infinite at 180 deg [mm]."""

    outside: float
    inside: float
    fold: float
    tangent: float = 0.0

    def of(self, bend: Bend, of_parent: bool) -> float:
        """Setback on one side of a bend, by what the drawing measures to there."""
        return self.to(bend.measured_parent if of_parent else bend.measured_child)

    def to(self, measured: Measured) -> float:
        """Setback from one kind of line."""
        return float(getattr(self, measured))


def no_mould_lines(bend: Bend) -> tuple[str, str]:
    """The key that measures a bend to mould lines which run away, and what to do; ("", "") where there is none."""
    sides = (("measured", bend.child, bend.measured_child), ("edge_measured", bend.parent, bend.measured_parent))
    for key, face, to in sides:
        if abs(bend.angle) >= MOULD_LINES_BELOW and to in ("outside", "inside") and (bend.radius or to == "outside"):
            return key, (
                f"turns through {abs(bend.angle):g}°; from {MOULD_LINES_BELOW:g}° on the mould lines run away, so give"
                f' {face} to the tangent line ({key} = "tangent") or over the fold ("fold")'
            )
    return "", ""


def setback(angle: float, radius: float, thickness: float) -> Setback:
    """Setbacks of a bend with this inside radius; "fold" is from its outermost line, for 90 deg and more."""
    half = math.inf if abs(angle) > FOLDED else math.tan(math.radians(abs(angle)) / 2.0)
    inside = 0.0 if radius == 0.0 and math.isinf(half) else radius * half
    return Setback((radius + thickness) * half, inside, radius + thickness)
