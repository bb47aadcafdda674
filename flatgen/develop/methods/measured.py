"""The methods that go by something measured: a deduction given for the bend, and the shop's own records."""

import math

from flatgen.core import bend
from flatgen.core.nominal import same_nominal
from flatgen.develop.methods import Case, method
from flatgen.errors import InputError
from flatgen.model.shop import ShopBend
from flatgen.model.source import Source
from flatgen.said import said, size


@method(
    "deduction",
    title="deduction given for this bend",
    meant_for="a deduction that was measured or that the drawing states",
    trust="as good as the measurement, for this angle and radius only",
    needs="a deduction, on the part or its bend",
    springback_in=True,
)
def given_deduction(case: Case) -> tuple[float, Source] | None:
    """Allowance that goes with the deduction given; nothing to go by without one."""
    if case.deduction is None:
        return None
    angle, radius, thickness = case.angle, case.inside_radius, case.thickness
    allowance = 2.0 * bend.outside_reach(angle, radius, thickness) - case.deduction
    turned = math.radians(angle)
    shortest, longest = turned * radius, turned * (radius + thickness)
    if angle > 0 and not shortest <= allowance <= longest:
        raise InputError(
            said(
                "a deduction of ",
                size(case.deduction),
                " would leave ",
                size(allowance),
                " of metal for this bend; the metal between inside and outside face is ",
                size(shortest),
                " to ",
                size(longest),
            )
        )
    return allowance, Source("given", "deduction given for this bend", trust="shop")


@method(
    "shop-record",
    title="the shop's own test bends",
    meant_for="the same metal, thickness, nose and grain as the coupons",
    trust="the best there is; repeat the coupon at each new sheet",
    springback_in=True,
)
def shop_record(case: Case) -> tuple[float, Source] | None:
    """Allowance from coupons that match in all but the angle; nothing to go by when none do."""
    found = matching(case)
    if not found:
        return None
    ratio = _over_angle(case.angle, [(r.angle, _ratio(r, case)) for r in found])
    allowance = math.radians(case.angle) * (case.inside_radius + ratio * case.thickness)
    return allowance, record_source(found)


def springback_record(case: Case) -> tuple[float, float, Source] | None:
    """Spring-back ratio, its error and source from matching coupons; None when there are none."""
    found = [record for record in matching(case) if record.springback_ratio > 0.0]
    if not found:
        return None
    ratio = _over_angle(case.angle, [(r.angle, r.springback_ratio) for r in found])
    return ratio, max(record.springback_error for record in found), record_source(tuple(found))


def stop_offset_record(case: Case) -> float | None:
    """What matching coupons say that the stop stands off theory [mm]; None when none had their stop noted."""
    found = [(record.angle, record.stop_offset) for record in matching(case) if record.stop_offset is not None]
    return _over_angle(case.angle, found) if found else None


def matching(case: Case) -> tuple[ShopBend, ...]:
    """Records of the same metal, thickness, nose and grain that speak for the angle: one or two, by rising angle.

    Beyond the measured angles the nearest speaks, its neutral-axis and spring-back ratios carried to the angle.
    """
    shop = case.shop
    if shop is None:
        return ()
    alike = sorted(
        (
            record
            for record in shop.records
            if record.material == case.material.key
            and same_nominal(record.thickness, case.nominal or case.thickness)
            and abs(record.nose_radius - case.inside_radius) <= shop.nose_tolerance
            and record.grain == case.grain
            and 0.0 < record.angle < 180.0
        ),
        key=lambda record: (record.angle, -record.coupons),
    )
    below = [record for record in alike if record.angle <= case.angle]
    above = [record for record in alike if record.angle >= case.angle]
    if below and above:
        low, high = below[-1], above[0]
        return (low,) if low.angle == high.angle else (low, high)
    nearest_one = min(alike, key=lambda record: abs(record.angle - case.angle), default=None)
    return (nearest_one,) if nearest_one is not None else ()


def record_source(found: tuple[ShopBend, ...]) -> Source:
    """How the records used are named in findings and on sheets."""
    coupons = sum(record.coupons for record in found)
    angles = " and ".join(f"{record.angle:g}°" for record in found)
    return Source("shop", "the shop's own test bends", f"{coupons} coupons at {angles}", "shop")


def _ratio(record: ShopBend, case: Case) -> float:
    # with the radius and thickness of the bend, so that the recorded deduction comes back at its own angle
    allowance = bend.allowance_from_deduction(record.angle, case.inside_radius, case.thickness, record.deduction)
    return bend.neutral_axis_ratio(record.angle, case.inside_radius, case.thickness, allowance)


def _over_angle(angle: float, points: list[tuple[float, float]]) -> float:
    (low, first), (high, last) = points[0], points[-1]
    if high == low:
        return first
    return first + (last - first) * (angle - low) / (high - low)
