"""Numbers from test bends: by hand, against the handbook, and over simulated shops."""

import math

import numpy as np
import pytest

from flatgen.core import coupon as c

INCH = 25.4


def deduction_of(angle: float, inside_radius: float, thickness: float, ratio: float) -> float:
    """2·(R + T)·tan(a/2) - a·(R + r·T), written out here: another road than the code's."""
    turned = math.radians(angle)
    return 2.0 * (inside_radius + thickness) * math.tan(turned / 2.0) - turned * (inside_radius + ratio * thickness)


def strip(**changes: float) -> c.Strip:
    """An ideal coupon of 2024-T3, 0.040 in on a 5/32 in nose: square, no spring-back, handbook ratio."""
    values: dict[str, float] = {
        "thickness": 0.040 * INCH,
        "nose_radius": 0.15625 * INCH,
        "blank_length": 1.631 * INCH,
        "leg_a": 1.000 * INCH,
        "leg_b": 0.7503 * INCH,
        "leaf_angle": 90.0,
        "released_angle": 90.0,
    }
    return c.Strip(**(values | changes))


def test_coupon_gives_back_the_handbook_deduction() -> None:
    """Clip of 0.040 in on 5/32: deduction 0.1193 in, allowance 0.2732 in by the handbook's formula.

    Its (0.01743·R + 0.0078·T)·90 is a ratio of 0.4417 here: 0.01743 is not quite pi/180.
    """
    numbers = c.reduce_coupon(strip(), 90.0)
    assert 0.1193 * INCH == pytest.approx(numbers.deduction, abs=0.002)
    assert 0.2732 * INCH == pytest.approx(numbers.allowance, abs=0.003)
    assert 0.4417 == pytest.approx(numbers.neutral_axis_ratio, abs=0.002)
    assert numbers.deduction == pytest.approx(numbers.measured_deduction)


def test_carrying_to_the_wanted_angle_follows_the_slope() -> None:
    """One degree short: about (R' + 1.55·T)/57.3 more per degree, R .125 and T .063 in: 0.004 in."""
    radius, thickness = 0.125 * INCH, 0.063 * INCH
    free = 38.0 + deduction_of(89.0, radius, thickness, 0.4475)
    base = c.Strip(thickness, radius, 76.0, 38.0, free, leaf_angle=89.0, released_angle=89.0)
    numbers = c.reduce_coupon(base, 90.0)
    slope = (0.125 + 1.55 * 0.063) / 57.2958 * INCH
    assert slope == pytest.approx(numbers.deduction - numbers.measured_deduction, rel=0.02)


def test_formed_radius_of_the_handbook() -> None:
    """Spring-back rows of the handbook, inches: 6061-T6 .063 R .125 ratio .98264 -> .12777."""
    assert 0.12777 == pytest.approx(c.formed_radius(0.125, 0.063, 0.98264), abs=2e-5)


def test_leaf_angle_of_the_handbook() -> None:
    """2024-T3 .040 on 5/32: angle ratio .95324, bend to 94.415 to finish at 90."""
    found = c.estimate_bend([strip(leaf_angle=94.415, released_angle=90.0)] * 3, 90.0)
    assert 94.415 == pytest.approx(found.leaf_angle, abs=1e-3)


def test_one_coupon_says_that_its_spread_is_assumed() -> None:
    found = c.estimate_bend([strip()], 90.0)
    assert found.assumed_spread
    assert c.SINGLE_SPREAD == found.deduction.error
    assert found.deduction.low < found.deduction.mean < found.deduction.high


def test_equal_readings_claim_no_more_than_the_tools_can_tell() -> None:
    found = c.estimate_bend([strip()] * 3, 90.0)
    assert 0.02 / 12**0.5 / 3**0.5 == pytest.approx(found.deduction.error)
    assert found.springback_ratio.error > 0.0


def test_odd_coupon_is_shown_and_still_counts() -> None:
    good = [strip(leg_b=0.7503 * INCH + d) for d in (-0.03, 0.0, 0.02, -0.01, 0.03)]
    found = c.estimate_bend([*good, strip(leg_b=0.7503 * INCH + 1.0)], 90.0)
    assert (5,) == found.odd
    assert 6 == found.deduction.count
    assert found.deduction.mean > c.estimate_bend(good, 90.0).deduction.high


def test_stop_offset() -> None:
    found = c.estimate_bend([strip(stop=25.58, leg_a=25.40), strip(stop=25.58, leg_a=25.42), strip()], 90.0)
    assert found.stop_offset is not None
    assert (2, pytest.approx(0.17)) == (found.stop_offset.count, found.stop_offset.mean)


HIDDEN = {"ratio": 0.395, "springback": 0.957, "thickness": 0.813, "nose": 3.175}
NOISE = {"leg": 0.08, "length": 0.03, "angle": 0.35, "protractor": 0.1, "leaf": 0.2, "thickness": 0.004}


def bent(rng: np.random.Generator, length: float, gauged: float, leaf: float) -> c.Strip:
    """One coupon from a shop whose numbers are hidden: noise on metal, brake and measuring tools."""
    thickness = HIDDEN["thickness"]
    stood = leaf + rng.normal(0, NOISE["leaf"])
    angle = HIDDEN["springback"] * stood + rng.normal(0, NOISE["angle"])
    radius = c.formed_radius(HIDDEN["nose"], thickness, HIDDEN["springback"])
    total = length + deduction_of(angle, radius, thickness, HIDDEN["ratio"])
    leg_a = gauged + rng.normal(0, 0.15)
    return c.Strip(
        thickness=thickness + rng.normal(0, NOISE["thickness"]),
        nose_radius=HIDDEN["nose"],
        blank_length=length + rng.normal(0, NOISE["length"]),
        leg_a=leg_a + rng.normal(0, NOISE["leg"]),
        leg_b=total - leg_a + rng.normal(0, NOISE["leg"]),
        leaf_angle=leaf,
        released_angle=angle + rng.normal(0, NOISE["protractor"]),
    )


@pytest.mark.parametrize(("shops", "slack"), [(400, 0.03), pytest.param(2000, 0.02, marks=pytest.mark.deep)])
@pytest.mark.parametrize("count", [3, 5])
def test_estimates_cover_the_truth_at_the_stated_confidence(count: int, shops: int, slack: float) -> None:
    """Simulated shops: the 95 % intervals hold the hidden deduction, ratio and spring-back in 95 ± 2 % of 2,000."""
    rng = np.random.default_rng(1903 + count)
    radius = c.formed_radius(HIDDEN["nose"], HIDDEN["thickness"], HIDDEN["springback"])
    truth = deduction_of(90.0, radius, HIDDEN["thickness"], HIDDEN["ratio"])
    hits = np.zeros(3)
    for _ in range(shops):
        found = c.estimate_bend([bent(rng, 74.0, 38.0, 94.0) for _ in range(count)], 90.0)
        pairs = (
            (found.deduction, truth),
            (found.neutral_axis_ratio, HIDDEN["ratio"]),
            (found.springback_ratio, HIDDEN["springback"]),
        )
        hits += [e.low <= t <= e.high for e, t in pairs]
    assert [0.95] * 3 == pytest.approx(list(hits / shops), abs=slack)


def test_blanks_come_within_tolerance_more_often_than_with_the_table() -> None:
    """A channel of two bends in this shop, overall ±0.25 mm: table ratio 0.4475 against five coupons a shop.

    The share that comes out within tolerance rises from 0.37 to 0.93.
    """
    rng = np.random.default_rng(77)
    thickness, nose = HIDDEN["thickness"], HIDDEN["nose"]
    radius = c.formed_radius(nose, thickness, HIDDEN["springback"])
    true = deduction_of(90.0, radius, thickness, HIDDEN["ratio"])
    table = deduction_of(90.0, nose, thickness, 0.4475)
    inside = np.zeros(2)
    for _ in range(500):
        own = c.estimate_bend([bent(rng, 74.0, 38.0, 94.0) for _ in range(5)], 90.0).deduction.mean
        made = rng.normal(0, 0.08)  # cut and bend scatter of the piece itself
        inside += [abs(2 * (true - used) + made) <= 0.25 for used in (table, own)]
    share_table, share_own = inside / 500
    assert (0.37, 0.93) == pytest.approx((share_table, share_own), abs=0.03)
