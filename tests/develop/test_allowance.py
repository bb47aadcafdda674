"""The radius a bend gets from the noses on hand, and which method reckons it."""

import dataclasses
import math

import pytest

from flatgen.develop.allowance import bent_radius, choose_nose, overbend
from flatgen.develop.methods import METHODS, Case
from flatgen.errors import CannotMake, InputError
from flatgen.model.shop import Brake, NoseBar, Shop, ShopBend
from flatgen.tables.load import material

INCH = 25.4
BRAKE = Brake(
    "small",
    600.0,
    (NoseBar("1/8", 0.125 * INCH, shoes=(0.8,)), NoseBar("5/32", 0.15625 * INCH), NoseBar("1/4", 0.25 * INCH)),
)
SHOP = Shop("bench", "mm", (BRAKE,), (), ())
ALLOY = material("2024-T3 clad")


def bent(radius, shop=SHOP, method="handbook", brake=BRAKE, **more):
    given = {"angle": 90.0, "thickness": 1.016, "material": ALLOY, "shop": shop, **more}
    return bent_radius(Case(inside_radius=radius, **given), method, brake)


def record(angle, deduction, **more):
    values = {
        "material": "2024-T3-clad", "thickness": 1.016, "nose_radius": 3.175, "angle": angle, "grain": "across",
        "deduction": deduction, "deduction_error": 0.05, "springback_ratio": 0.95, "springback_error": 0.005,
        "coupons": 5, **more,
    }  # fmt: skip
    return ShopBend(**values)


def with_records(*records):
    return dataclasses.replace(SHOP, records=records)


def test_a_nose_within_tolerance_counts_as_the_drawing_radius():
    made = bent(0.16 * INCH)  # the handbook's rounding of 5/32
    assert (0.16 * INCH, "5/32") == (made.inside_radius, made.nose)


def test_else_the_smallest_larger_nose_is_bent():
    made = bent(0.1875 * INCH)
    assert (0.25 * INCH, "1/4") == (made.inside_radius, made.nose)
    assert 0.1875 * INCH == made.drawing_radius


def test_a_shoe_adds_its_thickness_once():
    made = bent(3.7, shop=dataclasses.replace(SHOP, nose_tolerance=0.05))
    assert 3.96875 == pytest.approx(made.inside_radius)  # 5/32 is smaller than 1/8 with its shoe, 3.975
    made = bent(3.975, shop=dataclasses.replace(SHOP, nose_tolerance=0.003))
    assert (3.975, "1/8 + 0.80 mm shoe") == (made.inside_radius, made.nose)


def test_no_nose_is_large_enough():
    made = bent(10.0)
    assert (10.0, "") == (made.inside_radius, made.nose)
    assert choose_nose(10.0, BRAKE, SHOP) is None


def test_a_bend_without_a_shop_takes_the_drawing_radius():
    assert 4.0 == bent(4.0, shop=None, brake=None).inside_radius


@pytest.mark.parametrize("method", ["handbook", "hardness-rule", "din-6935", "neutral-axis"])
@pytest.mark.parametrize("angle", [1.0, 45.0, 90.0, 135.0, 179.0])
def test_quantities_of_one_bend_agree(method, angle):
    made = bent(3.175, angle=angle, method=method, neutral_axis_ratio=0.42)
    assert method == made.method
    assert abs(2 * made.setback_outside - made.allowance - made.deduction) < 1e-9
    arc = math.radians(angle) * (made.inside_radius + made.neutral_axis_ratio * 1.016)
    assert abs(arc - made.allowance) < 1e-9


def test_a_given_deduction_comes_back():
    made = bent(3.175, deduction=2.7)
    assert ("deduction", 2.7) == (made.method, pytest.approx(made.deduction, abs=1e-12))


def test_a_given_deduction_of_a_hem_is_between_tangents():
    made = bent(3.175, angle=180.0, deduction=-2.8)
    assert math.inf == made.setback_outside
    assert -2.8 == pytest.approx(2.0 * (3.175 + 1.016) - made.allowance)


def test_an_impossible_deduction_is_refused():
    with pytest.raises(InputError, match="would leave .* of metal for this bend"):
        bent(3.175, deduction=8.0)


def test_the_shop_record_comes_before_the_method_asked_for():
    made = bent(3.175, shop=with_records(record(90.0, 2.65)))
    assert ("shop-record", 2.65) == (made.method, pytest.approx(made.deduction, abs=1e-9))
    assert "5 coupons at 90°" in str(made.source)
    assert "deduction" == bent(3.175, shop=with_records(record(90.0, 2.65)), deduction=2.7).method


@pytest.mark.parametrize(
    "differs",
    [{"material": "2024-T3"}, {"thickness": 1.27}, {"nose_radius": 3.96875}, {"grain": "along"}],
)
def test_a_record_of_another_setup_is_not_used(differs):
    made = bent(3.175, shop=with_records(record(**{"angle": 90.0, "deduction": 2.65, **differs})))
    assert "handbook" == made.method


def test_records_are_interpolated_over_the_angle_and_the_nearest_speaks_beyond():
    shop = with_records(record(60.0, 1.05), record(90.0, 2.70))
    low, middle, high = (bent(3.175, shop=shop, angle=a).neutral_axis_ratio for a in (60.0, 75.0, 90.0))
    assert (low + high) / 2 == pytest.approx(middle)
    assert high == pytest.approx(bent(3.175, shop=shop, angle=100.0).neutral_axis_ratio)
    assert low == pytest.approx(bent(3.175, shop=shop, angle=50.0).neutral_axis_ratio)


def test_a_wrong_method_names_the_nearest():
    with pytest.raises(InputError, match='no allowance method "handbok". Did you mean "handbook"?'):
        bent(3.175, method="handbok")
    with pytest.raises(InputError, match='"neutral-axis" needs neutral_axis_ratio'):
        bent(3.175, method="neutral-axis")


def test_the_standard_is_not_stretched_beyond_its_curve():
    # din-6935-textbook: the curve of the correction factor begins at r/s = 0.2
    sharp = {"shop": None, "brake": None, "method": "din-6935"}
    assert "din-6935" == bent(0.21, **sharp).method
    with pytest.raises(InputError, match="needs a radius of at least 0.2 thicknesses, where its curve begins"):
        bent(0.20, **sharp)


def test_every_method_says_what_it_is_for():
    for name, method in METHODS:
        assert name == method.name
        assert method.title and method.meant_for and method.trust and method.allowance.__doc__


def test_published_methods_name_their_source():
    case = Case(90.0, 3.0, 1.0, ALLOY, neutral_axis_ratio=0.4, deduction=2.0)
    for name, method in METHODS:
        if name != "shop-record":
            assert method.allowance(case)[1].title


def test_overbend_is_a_range_around_the_closed_form():
    low, best, high = overbend(Case(90, 0.125 * INCH, 1.016, ALLOY))
    assert 90 < low < best < high
    assert (best - 90) / 2 == pytest.approx(low - 90)


def test_the_shop_springback_replaces_the_reckoning():
    shop = with_records(record(90.0, 2.65, springback_ratio=0.94, springback_error=0.0))
    assert (90 / 0.94,) * 3 == pytest.approx(overbend(Case(90, 3.175, 1.016, ALLOY, shop)))


def test_thin_sheet_on_a_huge_nose_springs_back_flat():
    with pytest.raises(CannotMake, match="springs back flat"):
        overbend(Case(90, 500, 0.4, ALLOY))
