"""A bend being made: the metal in its arc while the leaf stands over-bent, and what is left of that after release.

Stops, sight lines, expected legs and notes all come from here, so that they cannot disagree. Lengths mm, angles deg;
every function is homogeneous in length. Source of the relations: derived here, no publication needed.
"""

import math
from dataclasses import dataclass

from flatgen.core.bend import MOULD_LINES_BELOW

HEM = 150.0  # a bend this far round is brought as far as the leaf goes, and closed by squeezing


def released_radius(radius: float, thickness: float, angle: float, leaf_angle: float) -> float:
    """Inside radius once the bend has sprung back from the leaf's angle to its own [mm].

    The middle of the sheet keeps its length: (R + T/2)·leaf_angle = (R' + T/2)·angle.

    Examples
    --------
    >>> released_radius(0.15625, 0.040, 90.0, 94.415)  # inches serve as well
    0.1649
    """
    return radius if angle <= 0 else (radius + thickness / 2.0) * leaf_angle / angle - thickness / 2.0


@dataclass(frozen=True, slots=True)
class Making:
    """One bend on its nose.

    released : inside radius after release [mm]
    arc : metal between the tangent lines while the leaf stands at its angle; it stays in the bend [mm]
    setback : outside mould line to tangent line after release; 0 from 165 deg on, where mould lines run away [mm]
    shortens : by how much a leg that comes out to size has less flat than the blank was developed with [mm]
    excess : by how much the blank is longer than legs that come out to size and this arc take together [mm]
    """

    nose_radius: float
    released: float
    arc: float
    setback: float
    shortens: float
    excess: float

    def flat(self, size: float) -> float:
        """Flat of a leg that measures this size to the outside mould line after release [mm]."""
        return size - self.setback

    def size(self, flat: float) -> float:
        """Outside size that a flat comes to after release [mm]."""
        return flat + self.setback


def making(
    angle: float, leaf_angle: float, radius: float, thickness: float, allowance: float, *, springback_in: bool
) -> Making:
    """The bend that a blank was developed for, as it is made.

    Parameters
    ----------
    angle, leaf_angle : turned through from flat, after release and on the leaf [deg]
    radius : of the nose [mm]
    allowance : strip that the blank was developed with, between tangent lines at the nose's radius [mm]
    springback_in : the allowance comes from finished bends (coupons, a deduction given, a predicted release)

    Notes
    -----
    With k from BA = (R + k·T)·angle the leaf wraps (R + k·T)·leaf_angle = BA·leaf_angle/angle. A deduction of finished
    bends is BD = 2(R' + T)·tan(angle/2) - arc, so there arc = 2(R' + T)·tan(angle/2) - BD and nothing is scaled. Metal
    is conserved: a leg of size M has the flat M - (R' + T)·tan(angle/2), which is (R' - R)·tan(angle/2) less than was
    developed, so the blank is longer than both legs and the arc by

        E = 2(R' - R)·tan(angle/2) - (arc - BA)

    which lands in the leg that no stop sets. A bend closed by squeezing is taken as developed: it keeps its radius.

    Examples
    --------
    Inches, .040 on a 5/32 nose, leaf 94.4: arc .2732·94.4/90 = .2866, excess .004.

    >>> made = making(90, 94.4, 0.15625, 0.040, 0.2732, springback_in=False)
    >>> round(made.arc, 4), round(made.excess, 4)
    (0.2866, 0.0039)
    """
    factor = math.tan(math.radians(angle) / 2.0) if angle < MOULD_LINES_BELOW else 0.0
    if angle >= HEM:
        return Making(radius, radius, allowance, (radius + thickness) * factor, 0.0, 0.0)
    released = released_radius(radius, thickness, angle, leaf_angle)
    shortens = (released - radius) * factor
    scaled = allowance * leaf_angle / angle if angle > 0.0 else allowance
    arc = allowance + 2.0 * shortens if springback_in else scaled
    setback = (released + thickness) * factor
    return Making(radius, released, arc, setback, shortens, 2.0 * shortens - (arc - allowance))


def before_closing(
    leaf_angle: float,
    nose_radius: float,
    released: float,
    neutral: float,
    allowance: float,
    setback: float,
) -> Making:
    """The first operation of a hem: bent as far as the leaf goes, before it is squeezed shut.

    Parameters
    ----------
    nose_radius, released : of the nose that it is bent over, and what is left of it after release [mm]
    allowance, setback : strip and setback that the blank was developed with, of the fold when it is closed [mm]
    neutral : depth of the neutral line in the fold [mm]

    Notes
    -----
    Squeezing goes on where the metal is bent already, so the middle of this arc becomes the middle of the fold: half of
    what the arc takes beyond the strip comes off the flat on either side, and nothing is left over.
    """
    arc = (nose_radius + neutral) * math.radians(leaf_angle)
    shortens = (arc - allowance) / 2.0
    return Making(nose_radius, released, arc, setback + shortens, shortens, 0.0)


def sight_from_clamped(behind: float, nose_radius: float) -> float:
    """From the gauged edge to the line set flush under the nose tip, which hangs one radius before the tangent [mm]."""
    return behind + nose_radius


def sight_from_free(ahead: float, arc: float, nose_radius: float) -> float:
    """From the free edge to the same line: flat beyond the bend and its arc, less what lies behind the tip [mm]."""
    return ahead + arc - nose_radius
