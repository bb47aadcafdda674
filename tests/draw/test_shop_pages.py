"""Pages from the shop's book: nothing clipped, nothing over another, every number where a person looks for it."""

from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from flatgen.core.acceptance import spread_out
from flatgen.core.correction import Series, advise, report
from flatgen.develop.develop import develop
from flatgen.draw.coupon import coupon_marks, coupon_pages, coupon_pattern
from flatgen.draw.inspection import inspection_pages
from flatgen.draw.job_log import Section, log_pages, log_subject
from flatgen.draw.labels import Label, label_pages
from flatgen.draw.run_chart import Chart, chart_drawing, report_pages
from flatgen.model.inspection import Check, Checklist
from flatgen.model.shop import Brake, NoseBar, Shop
from flatgen.page.drawing import Circle, Contour, Drawing, Line, Text
from flatgen.records.coupon_plan import Need, coupon_part
from flatgen.tables.load import material

INCH = 25.4
SHOP = Shop("bench", "in", (Brake("small", 760.0, (NoseBar("nose 1/8", 0.125 * INCH),)),), (), ())


def texts(page: Drawing) -> list[Text]:
    return [item for item in page.items if isinstance(item, Text)]


def check_page(page: Drawing) -> None:
    """Every item on the paper, no text over another."""
    low = page.origin
    for item in page.items:
        x0, y0, x1, y1 = item.box()
        assert x0 >= low[0] - 0.01 and y0 >= low[1] - 0.01, item
        assert x1 <= low[0] + page.size[0] + 0.01 and y1 <= low[1] + page.size[1] + 0.01, item
    for a, b in combinations(texts(page), 2):
        p, q = a.box(), b.box()
        apart = p[2] <= q[0] + 0.05 or q[2] <= p[0] + 0.05 or p[3] <= q[1] + 0.05 or q[3] <= p[1] + 0.05
        assert apart, (a.text, b.text)
    assert min(text.height for text in texts(page)) >= 1.4


CHECKS = tuple(
    Check(k, f"flange number {k}, outside, with rather a long name", "length", 25.4, 24.6, 26.2, "caliper", "setting 3")
    for k in range(1, 9)
)
LIST = Checklist(
    "TF-101", "bulkhead clip", "OXBOW-12", "B", "2024-T3 clad", 1.016, 80, CHECKS, spread_out(80, 20), 1, "20"
)


@pytest.mark.parametrize("name", ["a4", "letter"])
@pytest.mark.parametrize("units", ["in", "mm"])
def test_inspection_sheets_have_a_box_for_every_check_of_every_sample(name: str, units: str) -> None:
    drawn = inspection_pages("Oxbow float fittings", [LIST, replace(LIST, part="TF-102", samples=(1, 2))], units, name)
    for page in drawn:
        check_page(page)
    heads = [text.text for page in drawn for text in texts(page) if text.text.startswith("piece ")]
    assert {f"piece {n}" for n in LIST.samples if n > 1} <= set(heads)
    boxes = sum(isinstance(item, Contour) for page in drawn for item in page.items)
    assert boxes >= 22 * len(CHECKS)


def test_inspection_sheet_writes_the_jobs_units() -> None:
    (page, *_) = inspection_pages("job", [LIST], "in", "letter")
    written = {text.text for text in texts(page)}
    assert {"1.000", "0.969 to 1.031"} <= written
    (page, *_) = inspection_pages("job", [LIST], "mm", "a4")
    assert {"25.40", "24.60 to 26.20"} <= {text.text for text in texts(page)}


def chart(deviations: tuple[float, ...], **changes: Any) -> Chart:
    values: dict[str, Any] = {
        "kind": "length",
        "lower": -0.4,
        "upper": 0.4,
        "places": tuple(float(6 * k + 1) for k in range(len(deviations))),
        "deviations": deviations,
        "on_stop": "S1",
    }
    series = Series(**(values | changes))
    advice = advise(series)
    return Chart("TF-101, 1 leg A", series, report(series), advice.action, advice.reasons)


CHARTS = [
    chart((0.2, 0.25, 0.18, 0.21, 0.24)),
    chart((0.0, 0.05, 0.11, 0.15, 0.21, 0.25, 0.3)),
    chart((0.01, 0.02, 0.03, 0.0, 0.02, 0.9)),
    chart((0.0, 0.0, 0.0)),
    chart((0.1,)),
    chart(tuple(0.01 * (k % 5) for k in range(120)), places=tuple(float(k) for k in range(1, 121))),
]


@pytest.mark.parametrize("name", ["a4", "letter"])
def test_report_pages_are_clear(name: str) -> None:
    for page in report_pages("Inspection report", "6 pieces", CHARTS, "in", name):
        check_page(page)


def test_chart_marks_every_piece_and_rings_the_odd_one() -> None:
    drawing = chart_drawing(CHARTS[2], "mm")
    check_page(drawing)
    dots = [item for item in drawing.items if isinstance(item, Circle)]
    assert 6 + 1 == len(dots)
    # by hand: the odd value stands highest
    assert max(dots, key=lambda dot: dot.center[1]).center == max(dots, key=lambda dot: dot.diameter).center


def test_chart_lies_by_its_scale() -> None:
    """Heights of values, zero and limits on the paper stand in the ratio of their deviations."""
    drawing = chart_drawing(CHARTS[0], "mm")
    limits = sorted(item.start[1] for item in drawing.items if isinstance(item, Line) and item.layer == "tolerance")
    dots = [item.center[1] for item in drawing.items if isinstance(item, Circle)]
    scale = (limits[1] - limits[0]) / 0.8
    assert [0.2, 0.25, 0.18, 0.21, 0.24] == pytest.approx([(y - limits[0]) / scale - 0.4 for y in dots])


def test_labels_are_clear_and_fill_pages() -> None:
    one = Label("R003", "2024-T3 clad", 1.016, 619.2, 609.6, 0.0, "H-1947", "2026-11-25", "S001")
    long = replace(one, mark="rack-shelf-2-left-99", batch="lot 88123-A with a very long name indeed", grain=90.0)
    drawn = label_pages([one, long] * 11, "in", "letter")
    assert 3 == len(drawn)
    for page in drawn:
        check_page(page)
    written = {text.text for text in texts(drawn[0])}
    assert {"R003", "2024-T3 clad  T 0.040 in", "24.378 × 24.000 in", "batch H-1947", "GRAIN"} <= written


def coupon(angle: float = 90.0, thickness: float = 0.032 * INCH, grain: str = "across", units: str = "in"):
    need = Need(material("2024-T3"), thickness, "nose 1/8", 0.125 * INCH, grain, angle, 24, 0, thickness)
    part = coupon_part(need, "CP1", units)
    return part, develop(part, SHOP)


@pytest.mark.parametrize("angle", [30.0, 90.0, 135.0])
@pytest.mark.parametrize("grain", ["across", "along"])
def test_coupon_sheet_is_clear(angle: float, grain: str) -> None:
    part, blank = coupon(angle, grain=grain)
    for page in coupon_pages("Oxbow float fittings", [part], {part.id: blank}, "in", (), {part.id: "sheet 1"}):
        check_page(page)


def test_strip_and_its_table_stay_on_one_page() -> None:
    parts, blanks = [], {}
    for k, thickness in enumerate((0.5, 0.6, 0.8, 1.0, 1.2, 1.6), 1):
        part, blank = coupon(thickness=thickness)
        part = replace(part, id=f"CP{k}", mark=f"CP{k}")
        parts.append(part)
        blanks[part.id] = blank
    drawn = coupon_pages("job", parts, blanks, "in", (), dict.fromkeys(blanks, "sheet 1"), "letter")
    assert len(drawn) > 2
    for page in drawn:
        written = [text.text for text in texts(page)]
        heads = sum(text.startswith("CP") for text in written)
        assert heads == written.count("crack") == written.count("GRAIN")


def test_check_lines_stand_a_quarter_inch_from_the_ends() -> None:
    part, blank = coupon()
    marks = [item for item in coupon_marks(blank, "in", part.id) if isinstance(item, Line)]
    ys = sorted(line.start[1] for line in marks)
    assert [0.25 * INCH, blank.height - 0.25 * INCH] == pytest.approx(ys)
    assert all(sorted((line.start[0], line.end[0])) == pytest.approx([0.0, blank.width]) for line in marks)


def test_coupon_pattern_can_be_cut_and_carries_mark_and_grain() -> None:
    part, blank = coupon()
    drawing = coupon_pattern(part, blank, "in")
    check_page(drawing)
    assert [blank.outline] == [item.outline for item in drawing.items if getattr(item, "layer", "") == "outline"]
    assert {"grain", "scribe", "mark", "bend-up"} <= {layer.name for layer in drawing.layers}


def test_job_record_is_clear_and_heads_come_again_on_each_page() -> None:
    rows = tuple((f"TF-{k}", "bulkhead clip " * (k % 4 + 1), str(k), "a reason in many words " * 4) for k in range(90))
    section = Section("Run 1", ("part", "title", "pieces", "reason"), (15, 30, 10, 45), rows)
    drawn = log_pages(log_subject("Job record", "in inches", [section, Section("Remarks", ("a",), (1,), ())], ()), "in")
    for page in drawn:
        check_page(page)
    assert len(drawn) > 3
    tables = drawn[:-1]
    assert [1] * len(tables) == [sum(text.text == "title" for text in texts(page)) for page in tables]
    written = [text.text for page in drawn for text in texts(page)]
    assert 90 == sum(text.startswith("TF-") for text in written)
