"""A hem is two operations: bent past square as far as the leaf goes over a bar that there is, then squeezed shut."""

from dataclasses import replace

import pytest
from click.testing import CliRunner
from page_texts import clashes, texts_of

from flatgen.brake.plan import plan_job
from flatgen.cli import flatgen
from flatgen.core.outline import box, rectangle, segments
from flatgen.develop.develop import develop
from flatgen.draw.section import walk
from flatgen.draw.setting_words import change_words, first_words, strokes
from flatgen.draw.settings import setting_subjects
from flatgen.drawings import subjects
from flatgen.jobs.loading import load
from flatgen.jobs.make import planned
from flatgen.model.handling import handling
from flatgen.model.part import Bend, Face, Part
from flatgen.model.shop import Brake, NoseBar, Shop, ShopBend
from flatgen.page.flow import Setting, pages
from flatgen.page.paper import paper
from flatgen.tables.load import material
from flatgen.write.screen import article

EDGES = ("bottom", "right", "top", "left")
BARS = (NoseBar("large", 4.0), NoseBar("sharp", 1.5, depth=25.0, front_angle=40.0))
SHOP_FILE = """
units = "mm"
[[brake]]
name = "hand"
length = 700
largest_angle = 135
[[brake.nose]]
name = "sharp"
radius = 1.5
depth = 25
front_angle = 40
[[tool]]
name = "shear"
method = "shear"
[[sheet]]
id = "S"
material = "2024-O"
thickness = 0.8
length = 1200
width = 600
"""
JOB_FILE = """
title = "Hems"
units = "mm"
shop = "shop.toml"
coupons = false
material = "2024-O"
thickness = 0.8
radius = 1.6
[[part]]
id = "H"
profile = "hemmed-angle"
quantity = 2
hem_gap = 1.6
"""
SHOP = Shop("bench", "mm", (Brake("hand", 700.0, BARS, largest_angle=135.0),), (), ())


def hemmed(gap: float, metal: str = "5052-H32", shop: Shop = SHOP):
    faces = tuple(Face(name, rectangle(0, 0, deep, 120), EDGES) for name, deep in (("leg", 40), ("hem", 11)))
    bend = Bend(
        "b1", "leg", "right", "hem", "left", 180.0, gap / 2, measured_parent="fold", measured_child="fold", hem=True
    )
    part = Part("H", "", "", "leg", faces, (bend,), material(metal), 0.8, 7)
    blank = develop(part, shop)
    return blank, plan_job([part], {"H": blank}, shop, pictures=False)


@pytest.mark.parametrize("gap", [0.0, 1.6])
def test_the_first_operation_goes_as_far_as_the_leaf_over_a_bar_that_there_is(gap) -> None:
    _, plan = hemmed(gap)
    first = plan.setups[0]
    assert ("sharp", 1.5, 135.0) == (first.nose, first.nose_radius, first.overbend_to)
    (op,) = first.operations
    # soft sheet on a sharp bar springs back by a few degrees, never to 180
    assert 130.0 < op.angle < 135.0


def test_another_brake_bends_it_over_its_own_bar_as_far_as_its_own_leaf() -> None:
    """The first brake is too short; the other has one bar and a leaf that ends sooner: nothing is the first one's."""
    short, long = replace(SHOP.brakes[0], length=60.0), Brake("long", 700.0, (BARS[0],), largest_angle=120.0)
    _, plan = hemmed(1.6, shop=replace(SHOP, brakes=(short, long)))
    _, alone = hemmed(1.6, shop=replace(SHOP, brakes=(long,)))
    first = plan.setups[0]
    assert ("long", "large", 4.0, 120.0) == (first.brake, first.nose, first.nose_radius, first.overbend_to)
    (op,), (same,) = first.operations, alone.setups[0].operations
    assert 113.0 < op.angle < 120.0 and (same.angle, same.arc, same.behind) == (op.angle, op.arc, op.behind)


@pytest.mark.parametrize("gap", [0.0, 1.6, 3.0])
def test_the_middle_of_the_first_arc_is_the_middle_of_the_fold(gap) -> None:
    """By hand: the fold is as wide as its allowance and starts where the flat of the leg ends, stop behind it."""
    blank, plan = hemmed(gap)
    (line,) = blank.bends
    (op,) = plan.setups[0].operations
    flat = abs(line.tangents[0][0][0] - min(x for x, _, _ in blank.face(op.clamped).outline))
    flat = flat if op.clamped == "leg" else max(x for x, _, _ in blank.face("hem").outline) - line.tangents[1][0][0]
    assert flat + line.bent.allowance / 2 == pytest.approx(op.behind + op.arc / 2, abs=1e-9)


def test_the_first_operation_goes_by_the_shop_s_test_bends() -> None:
    """Coupons of 132 sprang back by a fiftieth and asked 0.2 more at the stop: so does the bend that is closed then."""
    record = ShopBend(material("5052-H32").key, 0.8, 1.5, 132.0, "across", 3.0, 0.1, 0.98, 0.004, 3, stop_offset=0.2)
    _, plan = hemmed(1.6, shop=replace(SHOP, records=(record,)))
    (op,) = plan.setups[0].operations
    assert (135.0 * 0.98, 0.2) == (pytest.approx(op.angle), pytest.approx(plan.setups[0].offset))
    # the middle of the sheet keeps its length
    assert (op.released_radius + 0.4) * op.angle == pytest.approx((1.5 + 0.4) * 135.0)


@pytest.mark.parametrize(("gap", "how"), [(0.0, "squeezed flat"), (1.6, "squeezed over a strip 1.60 mm thick")])
def test_finding_and_setting_say_the_same_of_closing_it(gap, how) -> None:
    _, plan = hemmed(gap, "6061-T6")
    (asked,) = [f for f in plan.findings if f.rule == "brake-angle"]
    assert not asked.stops and how in asked.words("mm") and "bent to 135°" in asked.words("mm")
    how = how.split("1.60 mm")[0]  # the figure itself is the setting's, in the units of the job
    said = " ".join(handling(op) for setup in plan.setups for op in setup.operations)
    assert how in said


@pytest.mark.parametrize("gap", [0.0, 1.6])
def test_closing_is_a_setting_of_its_own(gap) -> None:
    """It follows the setting that bends the fold; nothing is set on the brake, and there the leg is measured."""
    _, plan = hemmed(gap)
    first, second = plan.setups
    assert ("squeeze", gap, ()) == (second.stop_side, second.stop, second.changes) and 2 == plan.planned.settings
    (bent,), (closed,) = first.operations, second.operations
    assert (180.0, 7, bent.bend) == (closed.angle, closed.pieces, closed.bend)
    assert handling(closed).startswith("CLOSE the fold") and "setting after this" in handling(bent)
    tried = [first_words(setup, strokes(setup), "mm").rows[0][1] for setup in plan.setups]
    assert "leg" not in tried[0] and "closed at the setting after this" in tried[0]
    assert tried[1].startswith("leg ") and "shut evenly" in tried[1]
    assert "leaf" not in change_words(second)


def test_its_sheets_are_drawn() -> None:
    blank, plan = hemmed(1.6)
    part = Part("H", "", "", "leg", (), (), material("5052-H32"), 0.8, 7)
    subjects = setting_subjects(plan, {"H": part}, {"H": blank}, "mm")
    assert ["SETTING 1 of 2", "SETTING 2 of 2"] == [subject.title for subject in subjects]
    drawn = pages(subjects, Setting(paper("a4"), "job", "mm"))
    large = [text.text for page in drawn for text in texts_of(page) if text.height >= 10.0]
    assert "1.60" == large[-1] and 4 == len(large)
    assert [] == [pair for page in drawn for pair in clashes(page)]


@pytest.mark.parametrize("direction", ["up", "down"])
def test_the_section_of_a_closed_one_is_as_high_as_two_sheets(direction) -> None:
    """Its inner face has no arc: one without length was drawn, and no card came out."""
    blank, _ = hemmed(0.0)
    line = replace(blank.bends[0], direction=direction)
    section = walk([40.0, 11.0], [line], 0.8)
    (_, low, _, high) = box(section.outline)
    assert high - low == pytest.approx(2 * 0.8) and all(p != q for p, q, _ in segments(section.outline))


def test_no_nose_and_no_leaf_are_said_beside_a_squeeze(tmp_path) -> None:
    """Table of `setup` and page: over what it is squeezed, and nothing else, since nothing is set on the brake."""
    (tmp_path / "shop.toml").write_text(SHOP_FILE, encoding="utf-8")
    (tmp_path / "job.toml").write_text(JOB_FILE, encoding="utf-8")
    said = CliRunner().invoke(flatgen, ["setup", str(tmp_path / "job.toml"), "--out", str(tmp_path / "s.pdf")]).output
    first, second = [line for line in said.splitlines() if "H b" in line][:2]
    assert "sharp" in first and "135°" in first
    assert "over 1.60" in second and "sharp" not in second and "180°" not in second
    *_, squeezed = map(article, subjects(planned(load(tmp_path / "job.toml"))).settings)
    assert "180°" not in squeezed and "squeezed" in squeezed
