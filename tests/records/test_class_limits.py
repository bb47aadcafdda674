"""A tolerance class from the job to inspection limits, set-up sheet and drawing. ISO 2768-1, figures from memory."""

from pathlib import Path

import pytest

from flatgen.draw.inspection import inspection_pages
from flatgen.draw.words import tolerance_text
from flatgen.errors import FlatgenError
from flatgen.jobs.developed import developed
from flatgen.jobs.loading import load
from flatgen.page.drawing import Text
from flatgen.records.checklist import checklist
from flatgen.units import format_angle_limit

SHOP = """
units = "mm"
[[brake]]
name = "bench"
length = 760
[[brake.nose]]
name = "three"
radius = 3
[[tool]]
name = "shear"
method = "shear"
[[sheet]]
id = "a"
material = "6061-T6"
thickness = 1
length = 1250
width = 1250
[tolerance]
length = 0.9
angle = 2
hole = 0.7
"""
JOB = """
title = "t"
units = "mm"
material = "6061-T6"
thickness = 1
radius = 3
[[part]]
id = "P"
profile = "angle"
quantity = 1
leg_a = 30
leg_b = 31
length = 200
[[part.holes]]
face = "leg_a"
drill = "4 mm"
at = [50, 15]
"""


@pytest.fixture
def made(tmp_path: Path):
    def one(tolerance: str, legs: tuple[int, int] = (30, 31)):
        (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
        sizes = JOB.replace("leg_a = 30", f"leg_a = {legs[0]}").replace("leg_b = 31", f"leg_b = {legs[1]}")
        (tmp_path / "job.toml").write_text(f"{sizes}[part.tolerance]\n{tolerance}\n", encoding="utf-8")
        job = load(tmp_path / "job.toml")
        (first, *_), plan = developed(job)
        return first, plan, job.shop

    return one


@pytest.mark.parametrize(
    ("tolerance", "leg_a", "leg_b", "angle", "hole", "text"),
    [
        ('class = "medium"', 0.2, 0.3, 0.5, 0.2, "ISO 2768-m"),
        ('class = "very coarse"', 1.0, 1.5, 2.0, 1.0, "ISO 2768-v"),
        ('class = "fine"\nangle = 1', 0.1, 0.15, 1.0, 0.1, "ISO 2768-f, ± 1°"),
        ('class = "coarse"\nlength = 0.3\nhole = 0.25', 0.3, 0.3, 1.0, 0.25, "ISO 2768-c, ± 0.30, holes ± 0.25"),
        ("length = 0.3", 0.3, 0.3, 2.0, 0.7, "± 0.30, holes ± 0.70, ± 2°"),
    ],
)
def test_limits_of_a_class(made, tolerance, leg_a, leg_b, angle, hole, text):
    first, plan, shop = made(tolerance)
    checks = checklist(first.part, first.blank, shop, plan.setups).checks  # both legs, the angle, the hole
    assert [leg_a, leg_b, angle, hole] == pytest.approx([(c.upper - c.lower) / 2.0 for c in checks[:4]])
    assert text == tolerance_text(first.part, shop, "mm")
    (operation,) = [op for setup in plan.setups for op in setup.operations if op.part == "P"]
    assert operation.angle_tolerance == pytest.approx(angle)
    assert operation.tolerance in (pytest.approx(leg_a), pytest.approx(leg_b))


def test_limits_of_an_angle_are_never_written_wider_than_they_are(made):
    """Medium, shorter leg over 50 mm: 20 minutes, a third of a degree."""
    first, plan, shop = made('class = "medium"', legs=(60, 80))
    one = checklist(first.part, first.blank, shop, plan.setups)
    words = [
        item.text for page in inspection_pages("t", [one], "mm", "a4") for item in page.items if isinstance(item, Text)
    ]
    assert "89.67° to 90.33°" in words
    (operation,) = [op for setup in plan.setups for op in setup.operations if op.part == "P"]
    assert "0°20'" == format_angle_limit(operation.angle_tolerance)


def test_a_class_that_is_none_is_refused_in_a_sentence(made):
    with pytest.raises(FlatgenError) as caught:
        made('class = "medum"')
    assert "class" in str(caught.value) and "medium" in str(caught.value) and 'part "P"' in str(caught.value)
