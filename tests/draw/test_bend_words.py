"""What drawings say of a bend: over-bend as a range, and a nose that is not of the drawing's radius."""

from flatgen.core.outline import rectangle
from flatgen.develop.develop import develop
from flatgen.draw.words import nose_notes, over_bend
from flatgen.model.part import Bend, Face, Part
from flatgen.model.shop import Brake, NoseBar, Shop
from flatgen.tables.load import material

INCH = 25.4
EDGES = ("bottom", "right", "top", "left")
SHOP = Shop("bench", "in", (Brake("hand", 600.0, (NoseBar("quarter", 0.25 * INCH),)),), (), ())


def clip(radius):
    faces = tuple(Face(name, rectangle(0, 0, size * INCH, 50), EDGES) for name, size in (("a", 1.0), ("b", 0.75)))
    bend = Bend("b1", "a", "right", "b", "left", 90.0, radius * INCH)
    return develop(Part("c", "", "", "a", faces, (bend,), material("2024-T3"), 0.040 * INCH, 1), SHOP)


def test_the_over_bend_is_a_first_try_and_a_range_rounded_outward():
    (bend,) = clip(0.25).bends
    low, high = bend.overbend_range
    assert low < bend.overbend_to < high
    text = over_bend(bend)
    assert f"{bend.overbend_to:.1f}° (" in text
    assert int(low) == int(text.split("(")[1].split("-")[0])


def test_a_larger_nose_is_named_with_its_price():
    # worked by hand: from 5/32 to 1/4 the blank loses .4292 x .09375 = .040 in, each flat .094 in
    (note,) = nose_notes(clip(0.15625), "in")
    assert "b1: nose R 0.250 in place of the drawing's 0.156" in note
    assert "shorter by 0.040 a bend, each flat beside it by 0.094" in note


def test_a_nose_of_the_drawing_radius_needs_no_note():
    assert [] == nose_notes(clip(0.25), "in")
