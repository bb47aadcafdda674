"""Hand-made blanks for the drawing tests: the bulkhead clip TF-101, its sizes reckoned here and not by the unfolder."""

import math
from dataclasses import replace

import pytest

from flatgen.core.outline import circle, rectangle, rounded
from flatgen.core.points import FLAT_FRAME, STILL, frame_about, frame_after
from flatgen.model.blank import BendLine, BentRadius, Blank, BlankHole, Dimension, FlatFace
from flatgen.model.finding import Finding, Severity
from flatgen.model.material import Material
from flatgen.model.part import Bend, Face, Hole, Part
from flatgen.model.shop import Brake, CuttingTool, NoseBar, Sheet, Shop
from flatgen.model.source import PRACTICE

INCH = 25.4


def pilot(face, x, y, size, k, number=0):
    hole = Hole(face, (x, y), size, "#40", fastener=0.125 * INCH, kind="rivet")
    return BlankHole((x, y), size, "#40", hole, k, number or k + 1)


def make_clip(direction="up"):
    """TF-101: legs 1.000 and .750, T .040, R 5/32, length 3.000; bend along x, leg B low."""
    t, r, wide = 0.040 * INCH, 0.15625 * INCH, 3.0 * INCH
    setback = r + t
    allowance = (0.01743 * r + 0.0078 * t) * 90.0
    flat_b, flat_a = 0.75 * INCH - setback, 1.0 * INCH - setback
    height = flat_a + flat_b + allowance
    outline = rectangle(0.0, 0.0, wide, height)
    for corner in (3, 2, 1, 0):
        outline = rounded(outline, corner, 0.25 * INCH)
    places = [(x * INCH, height - 0.3125 * INCH) for x in (0.3, 1.1, 1.9, 2.7)]
    places += [(x * INCH, 0.281 * INCH) for x in (0.5, 1.5, 2.5)]
    # numbered from the foot: the three of leg B are 1 to 3
    numbers = (4, 5, 6, 7, 1, 2, 3)
    holes = tuple(pilot("A" if k < 4 else "B", x, y, 0.098 * INCH, k, numbers[k]) for k, (x, y) in enumerate(places))
    low, high = flat_b, flat_b + allowance
    bent = BentRadius(r, r, allowance, setback, 2 * setback - allowance, 0.447, "handbook", PRACTICE)
    bend = BendLine(
        id="B1",
        parent="A",
        child="B",
        angle=90.0,
        direction=direction,
        bent=bent,
        centerline=((0.0, (low + high) / 2), (wide, (low + high) / 2)),
        tangents=(((0.0, high), (wide, high)), ((0.0, low), (wide, low))),
        outline=rectangle(0.0, low, wide, allowance),
        overbend_to=93.4,
        sight_lines=(((0.0, high - r), (wide, high - r)), ((0.0, low + r), (wide, low + r))),
    )
    # fold: the child is drawn up to the parent by the allowance, then turned about the bend's axis
    up = direction == "up"
    axis_z = r if up else -(t + r)
    fold = frame_about((0.0, high, axis_z), (1.0, 0.0, 0.0), -90.0 if up else 90.0)
    shift = ((1.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, allowance), (0.0, 0.0, 1.0, 0.0))
    faces = (
        FlatFace("A", rectangle(0.0, high, wide, flat_a), STILL, FLAT_FRAME),
        FlatFace("B", rectangle(0.0, 0.0, wide, low), STILL, frame_after(fold, shift)),
    )
    material = Material("2024-T3", "2024-T3 clad", "aluminium", 2.78e-3, 72400.0, 324.0, 441.0, "hard", ())
    part = Part(
        "TF-101",
        "bulkhead clip",
        "angle",
        "A",
        (Face("A", outline, ()), Face("B", outline, ())),
        (Bend("B1", "A", "low", "B", "high", 90.0 if up else -90.0, r, (0.0, wide), (0.0, wide)),),
        material,
        t,
        24,
        holes=tuple(h.hole for h in holes),
        grain=90.0,
        drawing="TF-SK-4",
        revision="B",
    )
    cutouts = tuple(circle(h.center, h.diameter) for h in holes)
    area = wide * height - (4 - math.pi) * (0.25 * INCH) ** 2 - 7 * math.pi / 4 * (0.098 * INCH) ** 2
    blank = Blank(
        "TF-101",
        outline,
        cutouts,
        holes,
        (bend,),
        faces,
        wide,
        height,
        area,
        90.0,
        t,
        area * t * material.density,
        (wide, 1.0 * INCH, 0.75 * INCH),
        (0.0, 0.0, 0.0),
        (
            Dimension("leg A", "flange", 1.0 * INCH, 1.0 * INCH - t),
            Dimension("leg B", "flange", 0.75 * INCH, 0.75 * INCH - t),
            Dimension("length", "length", wide, wide),
        ),
    )
    return part, blank


def make_shop():
    brake = Brake("hand brake", 762.0, (NoseBar("5/32", 3.97),))
    tool = CuttingTool("shear", "shear")
    sheet = Sheet("S1", "2024-T3", 0.04 * INCH, 609.6, 1219.2, 6.0)
    return Shop("Oxbow shop", "in", (brake,), (tool,), (sheet,))


def make_findings():
    reason = "agreed with the designer"
    return (
        Finding("hole-edge", Severity.FORBID, "TF-101", "hole 2", 4.0, 6.0, "too near the edge", "x", waived=reason),
        Finding("grain", Severity.WARN, "TF-101", "B1", 4.0, 6.0, "bend along the grain", "x"),
        Finding("grain", Severity.WARN, "OTHER", "B1", 4.0, 6.0, "not of this part", "x"),
    )


def make_many_holes():
    """The clip with sixty holes more in a grid on leg A."""
    part, blank = make_clip()
    new = tuple(
        pilot("A", (0.25 + 0.13 * i) * INCH, (1.1 + 0.06 * j) * INCH, 0.05 * INCH, 7 + 20 * j + i)
        for j in range(3)
        for i in range(20)
    )
    cutouts = blank.cutouts + tuple(circle(h.center, h.diameter) for h in new)
    return part, replace(blank, holes=blank.holes + new, cutouts=cutouts)


@pytest.fixture
def clip():
    return make_clip()


@pytest.fixture
def down_clip():
    return make_clip("down")


@pytest.fixture
def many_holes():
    return make_many_holes()


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def findings():
    return make_findings()
