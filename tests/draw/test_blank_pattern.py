"""True-size patterns carry the blank exactly, its bends, and what was decided about it."""

from pathlib import Path

import pytest

from flatgen.draw.blank import blank_pattern
from flatgen.page.drawing import Circle, Contour, Line, Text
from flatgen.page.layers import reference
from flatgen.page.place import spread

INCH = 25.4


def texts(drawing):
    return [item.text for item in drawing.items if isinstance(item, Text)]


def test_pattern_has_the_outline_in_blank_coordinates(clip, shop, findings):
    part, blank = clip
    drawing = blank_pattern(part, blank, findings, "in")
    (outline,) = [i for i in drawing.items if isinstance(i, Contour) and i.layer == "outline"]
    assert blank.outline == outline.outline
    assert 7 == sum(isinstance(i, Circle) and i.layer == "hole" for i in drawing.items)
    assert not [i for i in drawing.items if i.layer == "opening"]


def test_pattern_says_bend_and_waived_finding_with_reason(clip, shop, findings):
    part, blank = clip
    said = texts(blank_pattern(part, blank, findings, "in"))
    assert "B1: UP 90° R 0.156 in, over-bend to 93.4°" in said
    assert "sight line: clamp A" in said
    assert any("WAIVED: hole 2: too near" in t for t in said) and "agreed with the designer" in " ".join(said)
    assert not any("not of this part" in t for t in said)


def test_sight_line_is_one_radius_from_the_clamped_tangent(clip, shop):
    """trade rule: sight line = clamped tangent line + R toward the free side (handbook: FAA-H-8083-31 step 7).

    TF-101 (lengths reckoned by hand): B's edge at 0, B flat .5537, allowance .2732, R .15625; A clamped: .6706.
    """
    part, blank = clip
    drawing = blank_pattern(part, blank, (), "in", clamped={"B1": "A"})
    full = [i for i in drawing.items if isinstance(i, Line) and i.layer == "sight" and i.end[0] - i.start[0] > 70.0]
    assert [0.6706] == pytest.approx([line.start[1] / INCH for line in full], abs=1e-4)


def test_down_bend_lies_on_its_own_layer(down_clip, shop):
    part, blank = down_clip
    layers = {i.layer for i in blank_pattern(part, blank, (), "mm").items}
    assert "bend-down" in layers and "bend-up" not in layers


def test_spread_keeps_labels_apart_and_near():
    assert [-1.5, 2.5, 20.0] == spread([0.0, 1.0, 20.0], [4.0] * 3)
    many = sorted(spread([5.0] * 60, [3.0] * 60, 0.5))
    assert all(b - a >= 3.5 - 1e-9 for a, b in zip(many, many[1:], strict=False))
    assert 5.0 == pytest.approx(sum(many) / 60)


def test_guide_shows_the_table_of_layers():
    assert reference() in (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
