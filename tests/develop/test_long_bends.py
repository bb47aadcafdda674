"""A bend longer than its nose bar: a longer bar of the radius, else the next radius, else it is said that none is."""

from dataclasses import replace

import pytest

from flatgen.core.outline import rectangle
from flatgen.develop.develop import develop
from flatgen.model.part import Bend, Face, Part
from flatgen.model.shop import Brake, NoseBar, Shop
from flatgen.tables.load import material

EDGES = ("bottom", "right", "top", "left")
BARS = (NoseBar("short", 3.0, 150.0), NoseBar("long", 3.05, 330.0), NoseBar("large", 5.0, 640.0))


def bent(length, bars=BARS, hand="none"):
    faces = tuple(Face(name, rectangle(0, 0, deep, length), EDGES) for name, deep in (("a", 40), ("b", 25)))
    bend = Bend("b1", "a", "right", "b", "left", 90.0, 3.0)
    part = Part("c", "", "", "a", faces, (bend,), material("6061-T6"), 1.2, 1, hand=hand)
    shop = Shop("bench", "mm", (Brake("hand", 700.0, bars),), (), ())
    blank = develop(part, shop)
    return blank.bends[0].bent, blank


# usable is the radiused length less 1/4 in at both ends: 137.3, 317.3 and 627.3 mm
@pytest.mark.parametrize(("length", "nose"), [(137.2, "short"), (137.4, "long"), (317.2, "long"), (317.4, "large")])
def test_the_bar_is_as_long_as_the_bend(length, nose) -> None:
    assert nose == bent(length)[0].nose


def test_the_blank_is_that_of_the_bar_that_bends_it() -> None:
    (short, one), (large, two) = bent(317.2), bent(317.4)
    assert (3.0, 5.0) == (short.inside_radius, large.inside_radius)
    # by hand: the larger radius takes (2 tan 45° - pi/2)·2 mm = 0.858 mm off the blank, and moves the neutral line
    assert one.width - two.width == pytest.approx(0.858, abs=0.1)


def test_without_a_bar_that_long_the_radius_stays() -> None:
    """The brake's plan says that it is too long; the blank is that of the drawing's radius."""
    assert "short" == bent(640.0)[0].nose
    assert "short" == bent(200.0, (BARS[0], replace(BARS[2], radius=2.0)))[0].nose
