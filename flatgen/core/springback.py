"""Spring-back of a sheet bent in pure bending: the radius and angle before and after release.

First the closed form for metal that does not harden, then the same by summing stress over the thickness with a
hardening law, then the angle the leaf must reach. Lengths mm, stresses MPa, angles deg. Radii are of the tool
(before release) and of the released bend; as in the textbook form the tool radius stands for the curvature.
Test bends decide: the closed form is good to about half of the over-bend.
"""

import math
from collections.abc import Callable

from flatgen.errors import OutOfRange

StressLaw = Callable[[float], float]  # strain, 0 or above -> stress [MPa]
OFFSET_STRAIN = 0.002  # permanent strain that defines the yield strength
DEFAULT_STEPS = 256


def elastic_share(inside_radius: float, thickness: float, yield_strength: float, elastic_modulus: float) -> float:
    """Share of the thickness that stays elastic, halved: radius × yield / (modulus × thickness), textbook x [-].

    >>> elastic_share(0.15625, 0.040, 47_000, 10.5e6)
    0.0174851
    """
    if thickness <= 0.0 or inside_radius < 0.0:
        raise OutOfRange("the thickness or radius", min(thickness, inside_radius), "above 0")
    return inside_radius * yield_strength / (elastic_modulus * thickness)


def radius_ratio(share: float) -> float:
    """Tool radius over released radius from the elastic share x: 4x³ − 3x + 1 [-].

    Parameters
    ----------
    share : x, 0 to 1/2; at 1/2 the sheet has only just begun to yield and springs back flat [-]

    Notes
    -----
    Ideal elastic-plastic sheet: moment = yield (T²/4 − y²/3) with y the height of the elastic core; release is
    elastic. No hardening, no widthways constraint.

    Examples
    --------
    >>> radius_ratio(0.0174851)
    0.947566

    References
    ----------
    [1] textbook formula, from memory; derived as in the notes
    """
    if not 0.0 <= share <= 0.5:
        raise OutOfRange(
            "radius × yield / (modulus × thickness)", share, "from 0 to 0.5: beyond, the sheet never yields"
        )
    return 4.0 * share**3 - 3.0 * share + 1.0


def released_radius(inside_radius: float, thickness: float, yield_strength: float, elastic_modulus: float) -> float:
    """Inside radius after release, closed form without hardening [mm]; infinite when it springs back flat.

    >>> released_radius(0.15625, 0.040, 47_000, 10.5e6)
    0.164896
    """
    ratio = radius_ratio(elastic_share(inside_radius, thickness, yield_strength, elastic_modulus))
    return inside_radius / ratio if ratio > 0.0 else math.inf


def angle_ratio(inside_radius: float, released: float, thickness: float) -> float:
    """Angle after release over angle under load: the mid-surface keeps its length [-].

    >>> angle_ratio(0.15625, 0.164896, 0.040)
    0.95324

    References
    ----------
    [1] derived; the same rule as in din-6935-textbook, spring-back
    """
    return (inside_radius + thickness / 2.0) / (released + thickness / 2.0)


def leaf_angle(angle: float, inside_radius: float, released: float, thickness: float) -> float:
    """Angle to bend to, so that a wanted angle is left after release [deg].

    >>> leaf_angle(90, 0.15625, 0.164896, 0.040)
    94.415
    """
    return angle / angle_ratio(inside_radius, released, thickness)


def power_law(
    elastic_modulus: float, yield_strength: float, exponent: float, strength: float | None = None
) -> StressLaw:
    """Elastic, then strength × strain^exponent; without a strength the curve starts at the yield point.

    Parameters
    ----------
    elastic_modulus : [MPa]
    yield_strength : [MPa]
    exponent : n, 0 (no hardening) to below 1 [-]
    strength : K of the power law; None: the value that makes the curve pass through the yield point [MPa]

    Examples
    --------
    >>> power_law(70_000, 280, 0.0)(0.1)
    280.0
    """
    if not 0.0 <= exponent < 1.0:
        raise OutOfRange("the hardening exponent", exponent, "from 0 to below 1")
    scale = yield_strength / (yield_strength / elastic_modulus) ** exponent if strength is None else strength
    # below the crossing the elastic line is the lower of the two, above it the power law
    return lambda strain: min(elastic_modulus * strain, scale * math.pow(strain, exponent))


def ramberg_osgood(elastic_modulus: float, yield_strength: float, exponent: float) -> StressLaw:
    """Stress of the Ramberg-Osgood curve: strain = stress/E + 0.002 (stress/yield)^exponent.

    Parameters
    ----------
    elastic_modulus : [MPa]
    yield_strength : at 0.2 % offset [MPa]
    exponent : above 1 [-]

    Examples
    --------
    >>> ramberg_osgood(70_000, 280, 20)(280 / 70_000 + 0.002)
    280.0

    References
    ----------
    [1] mil-hdbk-5, chapter 9 (form of the curve, from memory)
    """
    if exponent <= 1.0:
        raise OutOfRange("the Ramberg-Osgood exponent", exponent, "above 1")

    def stress(strain: float) -> float:
        if strain == 0.0:
            return 0.0
        # Newton from above: the curve's strain is convex in stress, so the steps come down to the root and never past
        guess = min(elastic_modulus * strain, yield_strength * math.pow(strain / OFFSET_STRAIN, 1.0 / exponent))
        for _ in range(60):
            plastic = OFFSET_STRAIN * math.pow(guess / yield_strength, exponent)
            excess = guess / elastic_modulus + plastic - strain
            step = excess / (1.0 / elastic_modulus + exponent * plastic / guess)
            guess -= step
            if abs(step) < 1e-12 * guess:
                break
        return guess

    return stress


def bending_moment(inside_radius: float, thickness: float, stress: StressLaw, steps: int = DEFAULT_STEPS) -> float:
    """Moment per length of bend at a tool radius, stress summed over the thickness [N·mm/mm].

    Parameters
    ----------
    inside_radius : of the tool; its inverse is the curvature [mm]
    thickness : [mm]
    stress : law of the metal, the same in tension and compression
    steps : even number of intervals over the half thickness (Simpson's rule)
    """
    if inside_radius <= 0.0:
        return fully_plastic_moment(thickness, stress(1.0))
    width = thickness / 2.0 / steps
    total = 0.0
    for i in range(steps + 1):
        weight = 1.0 if i in (0, steps) else 4.0 if i % 2 else 2.0
        y = i * width
        total += weight * stress(y / inside_radius) * y
    return 2.0 * total * width / 3.0


def fully_plastic_moment(thickness: float, flow_stress: float) -> float:
    """Moment per length when the whole thickness flows: flow stress × T²/4 [N·mm/mm].

    >>> fully_plastic_moment(2.0, 300.0)
    300.0
    """
    return flow_stress * thickness**2 / 4.0


def released_radius_by_moment(inside_radius: float, thickness: float, elastic_modulus: float, moment: float) -> float:
    """Inside radius after an elastic release of a moment per length [mm]; infinite when it springs back flat."""
    kept = 1.0 - 12.0 * moment * inside_radius / (elastic_modulus * thickness**3)
    return inside_radius / kept if kept > 0.0 else math.inf


def leaf_angle_by_law(
    angle: float,
    inside_radius: float,
    thickness: float,
    elastic_modulus: float,
    stress: StressLaw,
    steps: int = DEFAULT_STEPS,
) -> float:
    """Angle to bend to for a hardening law, by numerical integration of the moment [deg]; infinite when never bent.

    Parameters
    ----------
    angle : wanted after release [deg]
    inside_radius : of the tool [mm]
    thickness : [mm]
    elastic_modulus : [MPa]
    stress : law of the metal
    steps : of the integration

    Examples
    --------
    >>> law = power_law(10.5e6, 47_000, 0.0)
    >>> leaf_angle_by_law(90, 0.15625, 0.040, 10.5e6, law)
    94.415
    """
    moment = bending_moment(inside_radius, thickness, stress, steps)
    released = released_radius_by_moment(inside_radius, thickness, elastic_modulus, moment)
    return leaf_angle(angle, inside_radius, released, thickness)
