"""How hard a bend is: moment, clamp and leaf force, and what a brake's stated capacity means for another metal.

Estimates for judging a set-up, not for designing a brake. Lengths mm, stresses MPa, forces N, moments per length
N·mm/mm.
"""

import math

PLANE_STRAIN = 2.0 / math.sqrt(3.0)  # a wide sheet cannot narrow, so that it flows at 1.15 times the tension value
LOCAL_LIMIT = 1.4  # short bends in thicker sheet than rated end here, whatever their length (common practice)


def flow_stress(yield_strength: float, ultimate_strength: float) -> float:
    """Mean of yield and ultimate: what the metal carries while it bends [MPa].

    >>> flow_stress(47, 64)
    55.5
    """
    return (yield_strength + ultimate_strength) / 2.0


def bending_moment(thickness: float, flow: float) -> float:
    """Moment per length of a wide sheet that flows through its thickness: 1.155 × flow stress × T²/4 [N·mm/mm].

    Examples
    --------
    In pounds and inches: 0.063 in of 2024-T3 takes about 64 lbf·in an inch.

    >>> bending_moment(0.063, 55_500)
    63.6

    References
    ----------
    [1] textbook plastic moment with plane strain, from memory
    """
    return PLANE_STRAIN * flow * thickness**2 / 4.0


def leaf_force(moment: float, length: float, land: float) -> float:
    """Force of the leaf on the flange, at the far edge of its land [N].

    >>> leaf_force(280.0, length=600.0, land=12.0)
    14000.0
    """
    return moment * length / land


def clamp_force(moment: float, length: float, land: float, foot: float) -> float:
    """Force that the nose must hold down with: against the leaf's, and the couple over the depth of its foot [N].

    >>> clamp_force(280.0, length=600.0, land=12.0, foot=32.0)
    19250.0
    """
    return moment * length * (1.0 / land + 1.0 / foot)


def effort_ratio(yield_strength: float, ultimate_strength: float, rated_yield: float, rated_ultimate: float) -> float:
    """How much harder a metal bends than the one a capacity is stated for, at equal thickness [-].

    The greater of the ratios by yield and by flow stress: soft metals harden a good deal, hard ones yield late.

    >>> effort_ratio(324, 441, 248, 372)
    1.306
    """
    by_yield = yield_strength / rated_yield
    by_flow = flow_stress(yield_strength, ultimate_strength) / flow_stress(rated_yield, rated_ultimate)
    return max(by_yield, by_flow)


def capacity_thickness(rated_thickness: float, effort: float, brake_length: float, bend_length: float) -> float:
    """Thickest sheet that a brake bends over a length [mm].

    Parameters
    ----------
    rated_thickness : stated at full length for the rated metal [mm]
    effort : of the metal over the rated one, from ``effort_ratio`` [-]
    brake_length, bend_length : [mm]

    Notes
    -----
    The moment goes with strength × thickness² × length. Shorter bends take thicker sheet, up to 1.4 times the thickness
    at full length: past that the nose and the fingers are the limit, not the frame.

    Examples
    --------
    >>> capacity_thickness(1.6, effort=1.0, brake_length=600.0, bend_length=300.0)
    2.24

    References
    ----------
    [1] common practice, no source; the maker's own limit comes first
    """
    full = rated_thickness / math.sqrt(effort)
    longer = math.sqrt(brake_length / max(bend_length, 1e-9))
    return (
        full * min(LOCAL_LIMIT, max(1.0, longer))
        if bend_length <= brake_length
        else full / math.sqrt(bend_length / brake_length)
    )


FRICTION = 1.35  # hinges and rubbing take 20 to 50 % on top of the metal's moment; from memory
TWO_HANDS = 53.0 * 4.4482216152605  # what two hands hold without jerking, the low end of 53 to 97 lbf [N]; read [1]
STEEL = 7.85e-6 * 9.80665  # weight of steel [N/mm³]


def handle_pull(moment: float, length: float, lever: float, lift: float) -> float:
    """Pull of the hands at the handle that bends a sheet, the leaf's own weight included [N].

    Parameters
    ----------
    moment : of the sheet per length [N·mm/mm]
    length, lever : of the bend; from the hinge to the hands [mm]
    lift : pull there that lifts the bare leaf [N]

    Notes
    -----
    The moment goes through the leaf to its handle whatever the leaf presses with at its own edge, so the land does not
    count. The leaf weighs most when it lies down, which is where the bend begins; both are added as if they met.

    Examples
    --------
    .040 2024-T3, 12 in long, an 18 in handle, in pounds and inches: the moment alone is 17 lbf.

    >>> round(handle_pull(bending_moment(0.040, 56_000), 12.0, 18.0, 0.0) / FRICTION)
    17

    References
    ----------
    [1] limits of manual levers, jfjm100.com, read; [2] friction, from memory
    """
    return FRICTION * moment * length / lever + lift


def leaf_lift(length: float, land: float, depth: float, lever: float) -> float:
    """Pull at the handle that lifts a solid steel leaf of this section, where nobody has weighed it [N]."""
    return STEEL * length * land * depth * math.hypot(land, depth) / 2.0 / lever


def thickness_for_pull(pull: float, flow: float, length: float, lever: float, lift: float) -> float:
    """Thickest sheet that a pull at the handle bends [mm]; 0 where it does not even lift the leaf.

    >>> round(thickness_for_pull(FRICTION * bending_moment(0.040, 56_000) * 12 / 18, 56_000, 12.0, 18.0, 0.0), 3)
    0.04
    """
    left = max(0.0, pull - lift) * lever / (FRICTION * length)
    return math.sqrt(4.0 * left / (PLANE_STRAIN * flow))
