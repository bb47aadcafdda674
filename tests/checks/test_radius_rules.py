"""Rules on radius, nose, leaf travel and tolerance: what breaks each, and what just passes."""

import dataclasses

import pytest

from flatgen.checks.rules import RULES
from flatgen.core.outline import rectangle
from flatgen.develop.develop import develop
from flatgen.model.finding import Finding, Severity
from flatgen.model.part import Bend, Face, Hole, Part, Tolerance
from flatgen.model.shop import BendProof, Brake, NoseBar, Shop, Tolerances
from flatgen.tables.load import material

INCH = 25.4
EDGES = ("bottom", "right", "top", "left")
NOSES = (NoseBar("1/8", 0.125 * INCH), NoseBar("1/4", 0.25 * INCH))
BRAKE = Brake("hand", 600.0, NOSES)
SHOP = Shop("bench", "in", (BRAKE,), (), (), radius_table="design-office")


def bracket(radius, alloy="2024-T3", thickness=0.063, grain=0.0, angle=90.0, **more):
    """Legs 30 and 25 mm joined along y; the grain at 0 runs across the bend."""
    faces = (Face("base", rectangle(0, 0, 30, 100), EDGES), Face("leg", rectangle(0, 0, 25, 100), EDGES))
    bend = Bend("1", "base", "right", "leg", "left", angle, radius * INCH)
    return Part(
        "p", "bracket", "angle", "base", faces, (bend,), material(alloy), thickness * INCH, 1, grain=grain, **more
    )


def seen(name, part, shop=SHOP):
    found = RULES[name].function(part, develop(part, shop), shop)
    return [
        Finding(name, s.severity, part.id, s.where, s.value, s.limit, s.message, s.source, s.unit, todo=s.todo)
        for s in found
    ]


def test_radius_by_the_design_office_table():
    # design-office table: .250 in for 2024-T3 of .063 in
    assert [] == seen("minimum-radius", bracket(0.25))


@pytest.mark.parametrize(("radius", "severity"), [(0.125, Severity.FORBID), (0.21, Severity.WARN)])
def test_radius_below_and_between(radius, severity):
    # lowest of all: 3 T of the advisory circular at .064 in, .189 in
    noses = (NoseBar("a", radius * INCH), NoseBar("1/4", 0.25 * INCH))
    shop = dataclasses.replace(SHOP, brakes=(dataclasses.replace(BRAKE, noses=noses),))
    (found,) = seen("minimum-radius", bracket(radius), shop)
    assert severity == found.severity
    assert 0.25 * INCH == pytest.approx(found.limit)
    assert "by table design-office" in found.words("mm")
    assert "the smallest nose on hand that is allowed has 6.35 mm" in found.words("mm")
    assert "Design-office table" in str(found.source)


def test_along_the_grain_one_and_a_half_times():
    # 1.5 x .250 = .375 in, as the worked ski-mount bracket has it (common practice, no source)
    (found,) = seen("minimum-radius", bracket(0.25, grain=90.0))
    assert (Severity.WARN, pytest.approx(0.375 * INCH)) == (found.severity, found.limit)
    assert "along the grain" in found.words("mm")


def test_a_metal_without_a_table_is_reported():
    bare = dataclasses.replace(material("copper-soft"), radius_tables=())
    (found,) = seen("minimum-radius", dataclasses.replace(bracket(0.25), material=bare))
    assert "no table of least radii covers soft copper" in found.words("mm")


def test_a_thickness_outside_the_table_is_said():
    # no table for 4130 goes beyond .188 in
    notes = seen("minimum-radius", bracket(0.25, alloy="4130N", thickness=0.016))
    assert [Severity.NOTE] == [item.severity for item in notes]
    assert 'thinner than table "design-office"' in notes[0].words("mm")


def test_nose_on_hand():
    assert [] == seen("nose-not-on-hand", bracket(0.25))
    (found,) = seen("nose-not-on-hand", bracket(0.375))
    assert 'the largest nose of brake "hand" has 6.35 mm' in found.words("mm")


def test_a_larger_nose_and_its_price():
    # 3/16 to 1/4 at 90 deg: .4292 x .0625 in, each flat .0625 in
    part = bracket(0.1875)
    (found,) = seen("nose-differs", part)
    assert Severity.NOTE == found.severity
    assert "in place of the drawing's 4.76 mm" in found.words("mm")
    assert "the blank is shorter by 0.68 mm" in found.words("mm")
    assert [] == seen("nose-differs", bracket(0.25))


def test_rivets_that_a_larger_nose_crowds_are_counted():
    # 1/8 rivets 8.5 mm from the mould line: tangent at 6.36 mm on the drawing, 7.95 mm at the nose
    holes = tuple(Hole("leg", (12.0, y), 2.5, "#40", 3.175, "rivet") for y in (20.0, 80.0))
    (found,) = seen("nose-differs", bracket(0.1875, holes=holes))
    assert Severity.NOTE == found.severity or "too near the curve" in found.words("mm")
    holes = tuple(Hole("leg", (11.0, y), 2.5, "#40", 3.175, "rivet") for y in (20.0, 80.0))
    (found,) = seen("nose-differs", bracket(0.1875, holes=holes))
    assert Severity.WARN == found.severity
    assert "2 holes now too near the curve" in found.words("mm")


def test_leaf_travel_within_the_range_of_the_over_bend():
    shop = dataclasses.replace(SHOP, brakes=(dataclasses.replace(BRAKE, largest_angle=96.0),))
    (found,) = seen("over-bend-reach", bracket(0.25), shop)
    assert found.value > 96.0 == found.limit
    assert [] == seen("over-bend-reach", bracket(0.25))


def test_tolerance_stack():
    assert [] == seen("tolerance-stack", bracket(0.25))
    found = seen("tolerance-stack", bracket(0.25, tolerance=Tolerance(0.1, 1.0, 0.1)))
    assert {"base", "leg"} <= {item.where for item in found}
    assert any("no stop holds it" in item.words("mm") for item in found)
    exact = dataclasses.replace(SHOP, tolerances=Tolerances(0.1, 0, 0, 0, 0, 0, 0, 0, 0))
    assert [] == seen("tolerance-stack", bracket(0.25), exact)


def decided(radius=0.21, runs=0.0, quantity=4, **proof):
    """What is left of the doubt about a bend of 90 deg on .063 in 2024-T3 once coupons of 95 deg are in the book."""
    noses = (NoseBar("a", radius * INCH), NoseBar("1/4", 0.25 * INCH))
    told = {"nose_radius": radius * INCH, "angle": 95.0, "grain": "across"} | proof
    shop = dataclasses.replace(
        SHOP,
        brakes=(dataclasses.replace(BRAKE, noses=noses),),
        proofs=(BendProof("2024-T3", 0.063 * INCH, **told),),
    )
    part = dataclasses.replace(bracket(radius, grain=runs), quantity=quantity)
    (found,) = seen("minimum-radius", part, shop)
    return found.severity, found.words("mm")


def test_a_doubt_ends_with_enough_coupons_that_held():
    severity, text = decided(sound=("CP1/1", "CP1/2", "CP1/3"))
    assert Severity.NOTE == severity
    assert "settled by 3 coupons without a crack (CP1/1, CP1/2, CP1/3; 2 are asked for, since one" in text
    assert "coupon first" not in text
    severity, text = decided(sound=("a", "b"), quantity=50)
    assert Severity.WARN == severity and "3 are asked for, since 50 bends depend on it" in text
    assert "2 coupons without a crack so far" in text


@pytest.mark.parametrize(
    "other", [{"nose_radius": 0.26 * INCH}, {"angle": 60.0}, {"sound": ("a",)}, {"sound": (), "unsaid": ("a",) * 5}]
)
def test_coupons_that_ask_less_or_are_too_few_settle_nothing(other):
    assert Severity.WARN == decided(**{"sound": ("a", "b", "c"), **other})[0]


def test_a_cracked_coupon_forbids_the_bend_even_where_the_table_allows_it():
    assert Severity.WARN == decided(sound=("a", "b", "c"), cracked=("d",))[0]
    severity, text = decided(angle=90.0, sound=("a", "b", "c"), cracked=("d",))
    assert Severity.FORBID == severity and "coupon d has cracked: take a larger radius" in text
    severity, text = decided(radius=0.25, angle=80.0, cracked=("d",))
    assert Severity.FORBID == severity and "6.35 mm by table design-office: coupon d has cracked" in text


def test_along_the_grain_only_coupons_along_it_settle():
    """R .250 is between 1 and 1.5 times the table's .250."""
    assert Severity.WARN == decided(radius=0.25, runs=90.0, sound=("a", "b", "c"))[0]
    assert Severity.NOTE == decided(radius=0.25, runs=90.0, sound=("a", "b", "c"), grain="along")[0]


def test_what_nobody_said_is_asked_for():
    assert "the book does not say whether it cracked" in decided(unsaid=("CP1/1", "CP1/2"))[1]
