"""The wall chart: its numbers, its bars, and whether it can be read from an arm's length."""

import pytest

from flatgen.draw.bend_chart import MARGIN, NUMBER, bend_chart, chart_cells
from flatgen.page.drawing import Line, Text, extents
from flatgen.tables.load import material, materials

INCH = 25.4


def texts(chart):
    return [item for item in chart.items if isinstance(item, Text)]


def overlap(a, b):
    return a[0] < b[2] - 0.01 and b[0] < a[2] - 0.01 and a[1] < b[3] - 0.01 and b[1] < a[3] - 0.01


def test_a_cell_is_the_handbook_deduction():
    # handbook formula, .040 sheet on a 5/32 nose: .1193 in
    ((cell,),) = chart_cells(material("2024-T3"), [0.040 * INCH], [5 / 32 * INCH])
    assert 0.1193 == pytest.approx(cell.deduction / INCH, abs=5e-5)
    assert ".119" in [text.text for text in texts(bend_chart(material("2024-T3")))]


def test_below_every_table_there_is_no_number_but_bars():
    # lowest of all for .063 2024-T3 is .189 in
    barred = bend_chart(material("2024-T3"), radii=[("small", 0.125 * INCH)], thicknesses=[0.063 * INCH])
    allowed = bend_chart(material("2024-T3"), radii=[("large", 0.375 * INCH)], thicknesses=[0.063 * INCH])
    numbers = [[t.text for t in texts(c) if t.height == NUMBER and t.anchor == "middle"] for c in (barred, allowed)]
    assert [[], [".244"]] == numbers
    slanted = [
        sum(1 for i in c.items if isinstance(i, Line) and i.start[0] != i.end[0] and i.start[1] != i.end[1])
        for c in (barred, allowed)
    ]
    assert slanted[0] > slanted[1] + 20


@pytest.mark.parametrize("key", sorted(materials()))
@pytest.mark.parametrize("units", ["in", "mm"])
def test_nothing_overlaps_or_leaves_the_frame(key, units):
    for paper in ("letter", "a4"):
        chart = bend_chart(material(key), units=units, paper=paper)
        boxes = [text.box() for text in texts(chart)]
        for k, one in enumerate(boxes):
            for other in boxes[k + 1 :]:
                assert not overlap(one, other)
        low_x, low_y, high_x, high_y = extents(chart.items)
        assert low_x >= MARGIN - 0.01
        assert low_y >= MARGIN - 0.01
        assert high_x <= chart.size[0] - MARGIN + 0.01
        assert high_y <= chart.size[1] - MARGIN + 0.01


def test_numbers_are_large_enough_for_an_arms_length():
    # common practice, no source: a capital of 1/200 of the distance reads with ease; 0.7 m asks for 3.5 mm
    chart = bend_chart(material("6061-T6"))
    numbers = [text.height for text in texts(chart) if text.text.startswith(".")]
    assert min(numbers) >= 3.5
