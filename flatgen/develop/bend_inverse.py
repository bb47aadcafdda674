"""The bend turned round: from a blank to its deduction, to a leg or to a radius. Lengths mm, angles deg."""

import math
from dataclasses import dataclass, replace

from flatgen.core import bend
from flatgen.core.fit import Made, measured_bend, radius_for_blank
from flatgen.develop.allowance import allowance_of
from flatgen.develop.methods import Case
from flatgen.errors import InputError

USUAL_RATIO = (0.30, 0.50)  # a fitted ratio outside says more of the measurement than of the metal (common practice)


@dataclass(frozen=True, slots=True)
class Found:
    """What was found: ``what`` is bend, leg or radius.

    deduction : of one bend [mm]; ``method`` is empty for what was measured
    """

    what: str
    blank: float
    legs: tuple[float, ...]
    angle: float
    radius: float
    thickness: float
    deduction: float
    allowance: float
    neutral_axis_ratio: float
    method: str
    sensitivity: float  # of the ratio to the blank, for one bend [1/mm]
    note: str = ""


def find(blank: float, legs: tuple[float | None, ...], measured_to: str, case: Case, method: str) -> Found:
    """Deduction, allowance and ratio of a measured blank; or the leg or radius that makes a wanted blank.

    Parameters
    ----------
    blank : length, measured or wanted [mm]
    legs : two or more, joined by equal bends; None for the one to find [mm]
    measured_to : what they are sized to: outside, inside or tangent
    case : one of the bends; an inside radius that is no number is to be found
    method : asked for; "": the shop's, else the handbook's

    Raises
    ------
    InputError : more than one thing to find, or fewer than two legs
    OutOfRange : no radius makes that blank
    """
    angle, radius, thickness = case.angle, case.inside_radius, case.thickness
    unknown = [index for index, leg in enumerate(legs) if leg is None]
    if len(legs) < 2:
        raise InputError("two legs or more are needed beside a blank", where="--legs")
    if len(unknown) + math.isnan(radius) > 1:
        raise InputError("only one leg or the radius can be found at a time")
    asked = method or (case.shop.allowance if case.shop else "handbook")
    bends = len(legs) - 1

    def reckoned(r: float) -> tuple[str, float]:
        name, value, _ = allowance_of(replace(case, inside_radius=r), asked)
        return name, value

    def reach(r: float) -> float:
        # from tangent line to where the legs are measured: flat_of_leg of nothing, turned round
        return -bend.flat_of_leg(0.0, angle, r, thickness, 1, measured_to)

    if math.isnan(radius):
        known = tuple(leg for leg in legs if leg is not None)
        if measured_to != "outside" or bends != 1:
            raise InputError("a radius is found for two legs measured to the outside", where="--radius")
        found = radius_for_blank(blank, (known[0], known[1]), angle, thickness, lambda _a, r, _t: reckoned(r)[1])
        name, allowance = reckoned(found)
        return _found("radius", blank, known, replace(case, inside_radius=found), allowance, name)
    if unknown:
        name, allowance = reckoned(radius)
        rest = math.fsum(leg for leg in legs if leg is not None)
        leg = blank - rest - bends * (allowance - 2.0 * reach(radius))
        if leg <= 0.0:
            raise InputError(
                f"a blank of {blank:.4g} mm ({blank / 25.4:.4g} in) leaves nothing for the leg", where="--blank"
            )
        whole = tuple(leg if one is None else one for one in legs)
        return _found("leg", blank, whole, case, allowance, name)
    return _as_measured(blank, tuple(leg for leg in legs if leg is not None), case, reach(radius))


def _as_measured(blank: float, legs: tuple[float, ...], case: Case, reach: float) -> Found:
    """What a part says that was made, as if its legs, now from lines at a reach, had been measured to the outside."""
    angle, radius, thickness = case.angle, case.inside_radius, case.thickness
    more = bend.outside_reach(angle, radius, thickness) - reach
    outside = tuple(leg + more * (1 if index in (0, len(legs) - 1) else 2) for index, leg in enumerate(legs))
    bends = len(legs) - 1
    made = measured_bend(Made(blank, outside, (angle,) * bends, (radius,) * bends, thickness))
    low, high = USUAL_RATIO
    told = _found("bend", blank, legs, case, made.allowance, "")
    if low <= made.neutral_axis_ratio <= high:
        return told
    note = f"a ratio outside {low:.2f} to {high:.2f}: measure again, and look whether the legs are outside sizes"
    return replace(told, note=note)


def _found(what: str, blank: float, legs: tuple[float, ...], case: Case, allowance: float, method: str) -> Found:
    angle, radius, thickness = case.angle, case.inside_radius, case.thickness
    return Found(
        what,
        blank,
        legs,
        angle,
        radius,
        thickness,
        2.0 * bend.outside_reach(angle, radius, thickness) - allowance,
        allowance,
        bend.neutral_axis_ratio(angle, radius, thickness, allowance),
        method,
        1.0 / (math.radians(angle) * thickness),
    )
