"""Coupons that a job still needs, and that they develop, nest and lead back to the right record."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from from_book import bends_in, proofs_in

from flatgen.brake.plan import plan_job
from flatgen.develop.develop import develop
from flatgen.model.part import SKIRT_EDGES, Bend, Face, Part, Skirt
from flatgen.model.shop import Brake, NoseBar, Shop
from flatgen.records.book import book_path
from flatgen.records.coupon_plan import coupon_part, coupon_parts, marked, needs
from flatgen.records.coupons import Coupon, bend_proofs, combinations, record_coupons
from flatgen.tables.load import material

INCH = 25.4
MakeCoupon = Callable[..., Coupon]
SHOP = Shop(
    "bench", "in", (Brake("small", 760.0, (NoseBar("1/8", 0.125 * INCH), NoseBar("1/4", 0.25 * INCH))),), (), ()
)


def angle_part(part_id: str = "TF-1", **changes: Any) -> Part:
    """A plain angle of 2024-T3, .032 in, 1/8 nose, bent across the grain."""
    leg = 60.0
    turned = changes.pop("angle", 90.0)
    radius = changes.pop("radius", 0.125 * INCH)
    base = Face("web", ((0, 0, 0), (76.2, 0, 0), (76.2, leg, 0), (0, leg, 0)), ("end", "right", "bend", "left"))
    values: dict[str, Any] = {
        "id": part_id,
        "title": "clip",
        "profile": "angle",
        "base": "web",
        "faces": (base, Face("flange", (), SKIRT_EDGES, skirt=Skirt(80.0, 80.0))),
        "bends": (Bend("B1", "web", "bend", "flange", "bend", float(turned), float(radius)),),
        "material": material("2024-T3"),
        "thickness": 0.032 * INCH,
        "quantity": 24,
        "grain": 90.0,
    }
    return Part(**(values | changes))


def needed(*parts: Part, recorded: tuple[Coupon, ...] = ()):
    return needs(parts, {part.id: develop(part, SHOP) for part in parts}, bend_proofs(combinations(recorded)))


def test_strips_follow_what_depends_on_them() -> None:
    (need,) = needed(angle_part())
    assert ("2024-T3", "1/8", "across", 90.0) == (need.material.key, need.nose, need.grain, need.angle)
    assert (24, 0, 2, 2) == (need.pieces, need.recorded, need.wanted, need.missing)
    (few,) = needed(angle_part(quantity=4, material=material("6061-T6"), thickness=0.063 * INCH, radius=6.35))
    (batch,) = needed(angle_part("TF-1"), angle_part("TF-2", quantity=30))
    assert (1, 3) == (few.missing, batch.missing)


def test_a_radius_that_may_crack_wants_a_second_strip() -> None:
    """2024-T3 of .063 on a 3/16 nose is sharper than tables have it; strips along the grain speak for those across."""
    sharp = angle_part("a", radius=0.25 * INCH, thickness=0.09 * INCH, quantity=4)
    (need,) = needed(sharp)
    assert need.may_crack and 2 == need.missing
    both = needed(sharp, replace(sharp, id="b", grain=0.0))
    assert {"along": 2, "across": 1} == {one.grain: one.missing for one in both}


def test_recorded_coupons_are_counted_off(coupon: MakeCoupon) -> None:
    others = (coupon(grain="along"), coupon(angle=60.0))
    (need,) = needed(angle_part(quantity=60), recorded=(coupon(), *others))
    assert (2, 1) == (need.recorded, need.missing)  # one at another angle counts too
    (part,) = coupon_parts(marked([need]))
    assert 1 == part.quantity


def test_nothing_is_planned_when_all_is_known(coupon: MakeCoupon) -> None:
    (need,) = needed(angle_part(), recorded=(coupon(),) * 3)
    assert () == coupon_parts(marked([need]))


def test_the_greatest_angle_stands_for_all() -> None:
    (need,) = needed(*(angle_part(f"TF-{a}", angle=float(a), quantity=4) for a in (30, 105, 75, 90)))
    assert (105.0, 16, 2) == (need.angle, need.pieces, need.missing)


def test_combinations_differ_by_thickness_nose_and_grain() -> None:
    found = needed(
        angle_part("a"), angle_part("b", thickness=1.016), angle_part("c", radius=6.35), angle_part("d", grain=0.0)
    )
    assert 4 == len(found)
    assert ["across", "along", "across", "across"] == [need.grain for need in found]


def test_bend_without_a_nose_and_hem_ask_for_none() -> None:
    assert () == needed(angle_part(radius=12.0))
    assert () == needed(angle_part(angle=160.0))


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize("angle", [30.0, 90.0, 135.0])
def test_coupon_develops_to_a_strip(units: str, angle: float) -> None:
    (need,) = needed(angle_part(angle=angle))
    part = coupon_part(need, "CP1", units)
    blank = develop(part, SHOP)
    assert "coupon" == part.kind
    assert 25.0 <= blank.width <= 25.4
    assert blank.height > 50.0
    (line,) = blank.bends
    # each leg keeps enough flat to clamp and measure
    lows = sorted(y for tangent in line.tangents for _, y in tangent)
    assert lows[0] >= 25.0 - 1e-9
    assert blank.height - lows[-1] >= 25.0 - 1e-9
    assert blank.grain == pytest.approx(90.0)


def test_marks_avoid_those_of_the_job() -> None:
    found = needed(angle_part("CP1"), angle_part("b", thickness=1.016))
    assert ["CP2", "CP3"] == [part.id for part in coupon_parts(marked(found, ["CP1"]))]


def test_recorded_coupons_of_a_plan_change_the_blank(tmp_path: Path, coupon: MakeCoupon) -> None:
    """From coupon to corrected blank: the bend is then reckoned by the shop's own record."""
    path = tmp_path / "book.sqlite"
    part = angle_part()
    record_coupons(path, [coupon(leg_b=1.505 * INCH + d) for d in (-0.02, 0.0, 0.02)])
    own = replace(SHOP, records=bends_in(path))
    before, after = develop(part, SHOP), develop(part, own)
    assert ("handbook", "shop-record") == (before.bends[0].bent.method, after.bends[0].bent.method)
    # legs 1.500 + 1.505 less blank 2.905 in: 0.100 in, against the handbook's 0.0954
    assert (0.1 - 0.0954) * INCH == pytest.approx(before.height - after.height, abs=0.005)
    assert 94.0 == pytest.approx(after.bends[0].overbend_to)
    (need,) = needs([part], {part.id: after}, proofs_in(path))
    assert 0 == need.missing


def test_records_are_found_by_the_nominal_thickness(tmp_path: Path, coupon: MakeCoupon) -> None:
    """A sheet of .032 that measures .0345 is bent by the test bends of .032: need, deduction and setting agree."""
    path = tmp_path / "book.sqlite"
    record_coupons(path, [coupon(leg_b=1.505 * INCH + d) for d in (-0.02, 0.0, 0.02)])
    part = replace(angle_part(), thickness=0.0345 * INCH, nominal=0.032 * INCH)
    own = replace(SHOP, records=bends_in(path), proofs=proofs_in(path))
    blank = develop(part, own)
    (need,) = needs([part], {part.id: blank}, own.proofs)
    assert (0, "shop-record", 94.0) == (need.missing, blank.bends[0].bent.method, round(blank.bends[0].overbend_to, 9))
    plan = plan_job([part], {part.id: blank}, own)
    assert [False] == [setup.coupon_first for setup in plan.setups]


def test_book_lies_where_the_shop_says_or_beside_it(tmp_path: Path) -> None:
    assert Path("x/records.sqlite") == book_path(replace(SHOP, book="x/records.sqlite"))
    assert tmp_path / "shop-book.sqlite" == book_path(replace(SHOP, file=str(tmp_path / "shop.toml")))
