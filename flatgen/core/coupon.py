"""What test bends tell: deduction, allowance, neutral-axis ratio and spring-back, with their errors.

A coupon is a strip of known length bent once. ``reduce_coupon`` turns one strip's measurements into its own numbers at
the wanted angle; ``estimate_bend`` gathers several. Lengths mm, angles deg (turned through, 0 is flat).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flatgen.core import bend
from flatgen.core.stats import Estimate, estimate, no_finer, outliers

# strips to bend where fewer bends than so many depend on them; more: MOST_STRIPS; common practice, no source
STRIPS = ((12, 1), (50, 2))
MOST_STRIPS = 3
APART = 0.4  # deductions of published tables farther apart than this ask for one strip more; common practice [mm]
READING_SPREAD = 0.02 / 12**0.5  # of a length that is read to 0.02 mm: equal readings are not equal coupons [mm]
READING_ANGLE = 0.25 / 12**0.5  # of an angle that is read to a quarter of a degree [deg]
SINGLE_SPREAD = 0.10  # of one measured deduction, where the shop's own spread is unknown [mm]; from memory
SINGLE_RATIO_SPREAD = 0.006  # of one measured spring-back ratio, about half a degree at 90; from memory


def strips_wanted(bends: int, apart: float = 0.0, may_crack: bool = False) -> int:
    """How many strips of a combination to bend: by the bends that depend on it, and how far the tables disagree [mm].

    may_crack : a table asks for a larger radius, so that one sound strip may be luck

    No source found gives a number for shop bends: ISO 7438 and ASTM E290 say how a strip is bent and looked at and
    leave how many to the product's own standard; three a set-up, five before a long batch are common practice, no
    source. Of n strips without a crack the exact binomial bound at 95 % still allows that ``1 - 0.05**(1/n)`` of all
    bends crack: 78 % of two, 63 % of three, 45 % of five. So strips never prove a radius, however many: they keep a
    shop from cutting a batch that cracks at once, and two do that against luck. What holds is that every part is looked
    at for cracks, which the finding asks for whether settled or not.

    >>> [strips_wanted(n) for n in (4, 24, 90)], strips_wanted(4, 0.5), strips_wanted(4, may_crack=True)
    ([1, 2, 3], 2, 2)
    """
    many = next((strips for below, strips in STRIPS if bends < below), MOST_STRIPS) + (1 if apart > APART else 0)
    return max(many, 2) if may_crack else many


@dataclass(frozen=True, slots=True)
class Strip:
    """One test bend as measured.

    leg_a, leg_b : outside sizes to the mould point, clamped and free leg [mm]
    leaf_angle : at which the leaf stood; released_angle : of the coupon out of the brake [deg]
    inside_radius : by radius gauge, None: reckoned from nose and spring-back [mm]
    stop : distance set at the back stop, None: not noted [mm]
    """

    thickness: float
    nose_radius: float
    blank_length: float
    leg_a: float
    leg_b: float
    leaf_angle: float
    released_angle: float
    inside_radius: float | None = None
    stop: float | None = None


@dataclass(frozen=True, slots=True)
class StripNumbers:
    """One coupon's own numbers; deduction and allowance at the wanted angle, ``measured_deduction`` at its own."""

    measured_deduction: float
    deduction: float
    allowance: float
    neutral_axis_ratio: float
    springback_ratio: float
    formed_radius: float
    stop_offset: float | None  # stop less what theory gives for the leg that came out: what the plan is to add


def formed_radius(nose_radius: float, thickness: float, springback_ratio: float) -> float:
    """Inside radius after release [mm]: the middle of the sheet keeps its length while the angle opens.

    (R + T/2)·leaf angle = (R' + T/2)·released angle.

    Examples
    --------
    Handbook row for 2024-T3 .040 on a 5/32 nose, in inches: angle ratio 0.95324 gives R' 0.16490.

    >>> formed_radius(0.15625, 0.040, 0.95324)
    0.1649
    """
    return (nose_radius + thickness / 2.0) / springback_ratio - thickness / 2.0


def reduce_coupon(strip: Strip, angle: float) -> StripNumbers:
    """Numbers of one coupon, carried from the angle it has to the angle that was wanted.

    The neutral-axis ratio found at the measured angle is kept for the few degrees between; near 90 the deduction then
    changes by about (R' + 1.55·T) per radian.
    """
    kappa = strip.released_angle / strip.leaf_angle
    radius = strip.inside_radius
    if radius is None:
        radius = formed_radius(strip.nose_radius, strip.thickness, kappa)
    measured = strip.leg_a + strip.leg_b - strip.blank_length
    own = bend.allowance_from_deduction(strip.released_angle, radius, strip.thickness, measured)
    ratio = bend.neutral_axis_ratio(strip.released_angle, radius, strip.thickness, own)
    allowance = math.radians(angle) * (radius + ratio * strip.thickness)
    deduction = bend.bend_deduction(angle, radius, strip.thickness, allowance)
    offset = None if strip.stop is None else strip.stop - theory_of_stop(strip, radius)
    return StripNumbers(measured, deduction, allowance, ratio, kappa, radius, offset)


def theory_of_stop(strip: Strip, radius: float) -> float:
    """Bed's edge to the back stop by theory, for the clamped leg that came out, at the flush set-back [mm].

    D = A - (R' + T)·tan(released/2) + R + s with s = (R + T)·tan(leaf/2) - R; the hinge at the bed's edge.
    """
    half, leaf = math.radians(strip.released_angle) / 2.0, math.radians(strip.leaf_angle) / 2.0
    flat = strip.leg_a - (radius + strip.thickness) * math.tan(half)
    return flat + (strip.nose_radius + strip.thickness) * math.tan(leaf)


@dataclass(frozen=True, slots=True)
class BendEstimate:
    """What the coupons of one combination say together; ``odd`` are places of coupons that stand out (not dropped)."""

    angle: float
    strips: tuple[StripNumbers, ...]
    deduction: Estimate
    allowance: Estimate
    neutral_axis_ratio: Estimate
    springback_ratio: Estimate
    formed_radius: float
    stop_offset: Estimate | None
    odd: tuple[int, ...]
    assumed_spread: bool = False  # one coupon only: its spread is not the group's own

    @property
    def leaf_angle(self) -> float:
        """Where to set the leaf so that the bend comes out at its angle [deg]."""
        return self.angle / self.springback_ratio.mean

    @property
    def leaf_angle_error(self) -> float:
        """Standard error of the leaf angle [deg]."""
        return self.leaf_angle * self.springback_ratio.error / self.springback_ratio.mean


def estimate_bend(strips: Sequence[Strip], angle: float, *, confidence: float = 0.95) -> BendEstimate:
    """Mean numbers of several coupons of one combination, with standard errors and t-intervals.

    All coupons count, also those that stand out. A single coupon has no spread of its own: its error is then the usual
    one of this measurement and the interval is the normal one, and the result says so.
    """
    numbers = tuple(reduce_coupon(strip, angle) for strip in strips)
    deduction = estimate([n.deduction for n in numbers], confidence)
    springback = estimate([n.springback_ratio for n in numbers], confidence)
    offsets = [n.stop_offset for n in numbers if n.stop_offset is not None]
    odd = set(outliers([n.deduction for n in numbers])) | set(outliers([n.springback_ratio for n in numbers]))
    if len(numbers) == 1:
        deduction = _with_spread(deduction, SINGLE_SPREAD)
        springback = _with_spread(springback, SINGLE_RATIO_SPREAD)
    else:
        deduction = no_finer(deduction, READING_SPREAD)
        springback = no_finer(springback, READING_ANGLE / max(strip.leaf_angle for strip in strips))
    return BendEstimate(
        angle=angle,
        strips=numbers,
        deduction=deduction,
        allowance=estimate([n.allowance for n in numbers], confidence),
        neutral_axis_ratio=estimate([n.neutral_axis_ratio for n in numbers], confidence),
        springback_ratio=springback,
        formed_radius=math.fsum(n.formed_radius for n in numbers) / len(numbers),
        stop_offset=estimate(offsets, confidence) if offsets else None,
        odd=tuple(sorted(odd)),
        assumed_spread=len(numbers) == 1,
    )


def _with_spread(single: Estimate, spread: float) -> Estimate:
    """A single value with an assumed spread; 1.96 standard errors to each side."""
    return replace(single, error=spread, low=single.mean - 1.96 * spread, high=single.mean + 1.96 * spread)
