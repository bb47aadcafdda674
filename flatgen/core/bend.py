"""The geometry of one bend, and the published ways to reckon how much metal it takes.

Angles are turned through from flat, 0 to 180 deg; radii are inside radii; lengths in mm (every function but those with
a table of steps is homogeneous, so any one unit of length will do). Two letters "K" of the trade are kept apart:
``setback_factor`` is tan(angle/2), ``neutral_axis_ratio`` the depth of the neutral line over the thickness.
Sources by key: flatgen/tables/sources.toml.
"""

import math

from flatgen.errors import OutOfRange

PER_DEGREE_RADIUS = 0.01743  # the handbook's rounding of pi/180
PER_DEGREE_THICKNESS = 0.0078
HARDNESS_FACTORS = {"soft": 0.55, "medium": 0.64, "hard": 0.71}
MOULD_LINES_BELOW = 165.0  # from here on outside sizes are understood to the outside of the bend [deg]
DIN_PLAIN_ABOVE = 5.0  # r/s beyond which the correction factor is 1


def _check(angle: float, inside_radius: float, thickness: float) -> None:
    if not 0.0 <= angle <= 180.0:
        raise OutOfRange("the bend angle", angle, "from 0 to 180 deg")
    if not 0.0 <= inside_radius < math.inf:
        raise OutOfRange("the inside radius", inside_radius, "0 or above")
    if not 0.0 < thickness < math.inf:
        raise OutOfRange("the thickness", thickness, "above 0")


def setback_factor(angle: float) -> float:
    """tan(angle/2): mould-line setback for one unit of radius plus thickness; infinite at 180 deg.

    Parameters
    ----------
    angle : turned through, 0 is flat [deg]

    Examples
    --------
    >>> setback_factor(90), setback_factor(60)
    (1.0, 0.5774)

    References
    ----------
    [1] ac-43.13-1b, table 4-7 (its entries for 159 and 176 deg are misprinted)
    """
    if not 0.0 <= angle <= 180.0:
        raise OutOfRange("the bend angle", angle, "from 0 to 180 deg")
    if angle == 180.0:
        return math.inf
    return math.tan(math.radians(angle) / 2.0)


def outside_setback(angle: float, inside_radius: float, thickness: float) -> float:
    """Distance from the outside mould line to the tangent line [mm]; infinite at 180 deg.

    Parameters
    ----------
    angle : turned through, 0 is flat [deg]
    inside_radius : [mm]
    thickness : [mm]

    Examples
    --------
    >>> outside_setback(90, inside_radius=0.16, thickness=0.040)
    0.2000

    References
    ----------
    [1] faa-h-8083-31, chapter 4, U-channel example, step 2
    """
    _check(angle, inside_radius, thickness)
    return setback_factor(angle) * (inside_radius + thickness)


def inside_setback(angle: float, inside_radius: float) -> float:
    """Distance from the inside mould line to the tangent line [mm]; infinite at 180 deg unless the radius is 0.

    >>> inside_setback(90, inside_radius=0.16)
    0.16
    """
    if inside_radius == 0.0:
        return 0.0
    return setback_factor(angle) * inside_radius


def allowance_from_neutral_axis(angle: float, inside_radius: float, thickness: float, ratio: float) -> float:
    """Length of the neutral line through one bend [mm].

    Parameters
    ----------
    angle : turned through, 0 is flat [deg]
    inside_radius : [mm]
    thickness : [mm]
    ratio : depth of the neutral line from the inside face over the thickness, 0 to 1 (common: 0.3 to 0.5) [-]

    Examples
    --------
    >>> allowance_from_neutral_axis(90, inside_radius=0.125, thickness=0.040, ratio=0.40)
    0.22148

    References
    ----------
    [1] derived: length of the arc at that depth
    """
    _check(angle, inside_radius, thickness)
    if not 0.0 <= ratio <= 1.0:
        raise OutOfRange("the neutral-axis ratio", ratio, "from 0 to 1")
    return math.radians(angle) * (inside_radius + ratio * thickness)


def allowance_handbook(angle: float, inside_radius: float, thickness: float) -> float:
    """Empirical allowance of the aviation handbooks: (0.01743 R + 0.0078 T) a degree [mm].

    Parameters
    ----------
    angle : turned through, 1 to 180 in the source [deg]
    inside_radius : [mm]
    thickness : [mm]

    Notes
    -----
    For aluminium sheet. Its neutral-axis ratio is 0.44691 - 0.00133 R/T, since 0.01743 is a hair below pi/180.

    Examples
    --------
    >>> allowance_handbook(90, inside_radius=0.16, thickness=0.040)
    0.279072

    References
    ----------
    [1] sheet-metal-work-book, bend deduction (constants read); faa-h-8083-31, chapter 4 (from memory)
    """
    _check(angle, inside_radius, thickness)
    return (PER_DEGREE_RADIUS * inside_radius + PER_DEGREE_THICKNESS * thickness) * angle


def din_correction_factor(inside_radius: float, thickness: float) -> float:
    """Correction factor for the neutral line: it lies at half of factor × thickness from the inside face [-].

    Parameters
    ----------
    inside_radius : [mm]
    thickness : [mm]

    Notes
    -----
    0.65 + 0.5 log10(r/s), 1 above r/s = 5. The source draws the curve from about r/s = 0.2; below 0.0501 the formula
    would turn negative and is held at 0. Written for cold-bent flat steel; for aluminium it is borrowed.

    Examples
    --------
    >>> din_correction_factor(6.0, 5.0)
    0.689591

    References
    ----------
    [1] din-6935-textbook, bend development
    """
    _check(0.0, inside_radius, thickness)
    share = inside_radius / thickness
    if share > DIN_PLAIN_ABOVE:
        return 1.0
    if share == 0.0:
        return 0.0
    return min(1.0, max(0.0, 0.65 + 0.5 * math.log10(share)))


def allowance_din(angle: float, inside_radius: float, thickness: float) -> float:
    """Allowance with the correction factor of DIN 6935 [mm].

    >>> allowance_din(90, inside_radius=0.125, thickness=0.040)
    0.22454

    References
    ----------
    [1] din-6935-textbook, bend development
    """
    ratio = din_correction_factor(inside_radius, thickness) / 2.0
    return allowance_from_neutral_axis(angle, inside_radius, thickness, ratio)


def allowance_hardness_rule(angle: float, inside_radius: float, thickness: float, hardness: str) -> float:
    """Allowance by the hardness of the metal: (0.55, 0.64 or 0.71 T + 1.57 R) for each 90 deg [mm].

    Parameters
    ----------
    angle : turned through, 0 is flat [deg]
    inside_radius : [mm]
    thickness : [mm]
    hardness : "soft" (soft copper and brass), "medium" (half-hard copper and brass, soft steel, aluminium) or "hard"
        (bronze, hard copper, cold-rolled and spring steel)

    Examples
    --------
    >>> allowance_hardness_rule(180, inside_radius=0.375, thickness=0.125, hardness="medium")
    1.3375

    References
    ----------
    [1] machinery-31, p. 1421, for bends made with simple tools
    """
    _check(angle, inside_radius, thickness)
    if hardness not in HARDNESS_FACTORS:
        raise ValueError(f"hardness {hardness!r} is not one of {', '.join(HARDNESS_FACTORS)}")
    return (HARDNESS_FACTORS[hardness] * thickness + 1.57 * inside_radius) * angle / 90.0


def bend_deduction(angle: float, inside_radius: float, thickness: float, allowance: float) -> float:
    """What one bend takes off the sum of the two mould-line dimensions [mm]; infinite at 180 deg.

    Parameters
    ----------
    angle : turned through, 0 is flat [deg]
    inside_radius : [mm]
    thickness : [mm]
    allowance : of this bend [mm]

    Examples
    --------
    >>> bend_deduction(90, inside_radius=0.125, thickness=0.040, allowance=0.22417)
    0.10583

    References
    ----------
    [1] derived: 2 × outside setback − allowance
    """
    return 2.0 * outside_setback(angle, inside_radius, thickness) - allowance


def allowance_from_deduction(angle: float, inside_radius: float, thickness: float, deduction: float) -> float:
    """Allowance that belongs to a deduction between mould lines [mm]; below 180 deg.

    >>> allowance_from_deduction(90, inside_radius=0.125, thickness=0.040, deduction=0.10583)
    0.22417
    """
    if angle >= 180.0:
        raise OutOfRange("the bend angle", angle, "below 180 deg, where mould lines still meet")
    return 2.0 * outside_setback(angle, inside_radius, thickness) - deduction


def neutral_axis_ratio(angle: float, inside_radius: float, thickness: float, allowance: float) -> float:
    """Depth of the neutral line over the thickness that belongs to an allowance [-].

    >>> neutral_axis_ratio(90, inside_radius=0.16, thickness=0.04, allowance=0.279072)
    0.441569
    """
    _check(angle, inside_radius, thickness)
    if angle == 0.0:
        raise OutOfRange("the bend angle", angle, "above 0 deg for a neutral line to be told")
    return (allowance / math.radians(angle) - inside_radius) / thickness


def outside_reach(angle: float, inside_radius: float, thickness: float) -> float:
    """From the tangent line to where an outside size of the leg ends [mm].

    That is the mould line below 165 deg; from there on, where it runs away, the outside of the bend.

    >>> outside_reach(90, 3.0, 1.0), outside_reach(180, 3.0, 1.0)
    (4.0, 4.0)
    """
    if angle < MOULD_LINES_BELOW:
        return outside_setback(angle, inside_radius, thickness)
    _check(angle, inside_radius, thickness)
    return inside_radius + thickness


def flat_of_leg(
    size: float, angle: float, inside_radius: float, thickness: float, bent_ends: int, measured: str = "outside"
) -> float:
    """Flat between tangent lines of a leg that is bent alike at one or both ends [mm].

    Parameters
    ----------
    size : as measured [mm]
    angle, inside_radius, thickness : of its bends [deg, mm, mm]
    bent_ends : 1 or 2
    measured : "outside" (mould lines, from 165 deg on to the outside of the bend), "inside" or "tangent" lines

    Examples
    --------
    >>> flat_of_leg(2.0, 90, 0.16, 0.04, bent_ends=2)
    1.6
    """
    reach = {
        "outside": lambda: outside_reach(angle, inside_radius, thickness),
        "inside": lambda: outside_reach(angle, inside_radius, thickness) - thickness * _outside_factor(angle),
        "tangent": lambda: 0.0,
    }[measured]()
    return size - bent_ends * reach


def _outside_factor(angle: float) -> float:
    return setback_factor(angle) if angle < MOULD_LINES_BELOW else 1.0


def outer_strain(inside_radius: float, thickness: float) -> float:
    """How far the outer face is stretched when the neutral line lies in the middle [-].

    >>> outer_strain(2.0, thickness=1.0)
    0.2

    References
    ----------
    [1] kalpakjian-notes, bending: 1 / (2 R/T + 1)
    """
    _check(0.0, inside_radius, thickness)
    return 1.0 / (2.0 * inside_radius / thickness + 1.0)


def step_ratio_air_bending(inside_radius: float, thickness: float, hardness: str) -> float:
    """Neutral-axis ratio by the steps of a table for air bending, by hardness and R/T up to 1, up to 3, above [-].

    >>> step_ratio_air_bending(0.125, 0.040, "soft")
    0.50

    References
    ----------
    [1] air-bending-article, table of ratios; a step function, so it jumps at 1 and 3
    """
    _check(0.0, inside_radius, thickness)
    steps = {"soft": (0.33, 0.40, 0.50), "medium": (0.38, 0.43, 0.50), "hard": (0.40, 0.45, 0.50)}[hardness]
    share = inside_radius / thickness
    return steps[0] if share <= 1.0 else steps[1] if share <= 3.0 else steps[2]
