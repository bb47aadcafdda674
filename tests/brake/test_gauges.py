"""Gauges: their angles read back from what is drawn and from the files, and the settings name gauges that there are."""

import math
import re
from dataclasses import replace
from functools import cache
from subprocess import run

import ezdxf
import numpy as np
import pytest
from bending_jobs import planned_jobs
from making import few
from page_texts import clashes, texts_of
from PIL import Image
from shapely.geometry import Point, Polygon, box

from flatgen.draw.gauges import EDGE, gauges_of, leaf_gauge, leaf_gauge_name, wedge
from flatgen.draw.setting_words import figures
from flatgen.drawings import gauge_drawings
from flatgen.jobs.gauges import blanks_of, on_scrap
from flatgen.jobs.loading import load
from flatgen.jobs.make import compute, planned
from flatgen.page.drawing import Contour, Text
from flatgen.write import dxf, pdf

DEMO = "examples/float-fittings/job.toml"


@cache
def results_of(where, root):
    return [planned(load(root / where))] if where else list(planned_jobs(seed=7, count=few(15)))


def angle_of(corners):
    """Between the two edges that rise from the cut corner: the first and the last but one."""
    first = math.atan2(corners[1][1] - corners[0][1], corners[1][0] - corners[0][0])
    last = math.atan2(corners[-2][1] - corners[-1][1], corners[-2][0] - corners[-1][0])
    return math.degrees(last - first) % 360.0


def angles_on(items):
    """Angle of each wedge, by its name: the text that stands on it."""
    shapes = [item.outline for item in items if isinstance(item, Contour) and len(item.outline) in (4, 6)]
    found = {}
    for text in items:
        if isinstance(text, Text) and (named := re.fullmatch(r"(LEAF|BEND) ([\d.]+)°?", text.text)):
            (shape,) = [s for s in shapes if Polygon([v[:2] for v in s]).contains(Point(text.at))]
            found[named[1], float(named[2])] = angle_of(shape)
    return found


@pytest.mark.parametrize("where", [DEMO, ""])
def test_angles_on_paper_are_those_of_the_plan(where, root) -> None:
    """Leaf: 180 less the leaf's angle, a quarter degree at most from every setting's; bend: 180 less each limit."""
    for results in results_of(where, root):
        pages = [page for one in gauge_drawings(results) if "pdf" in one.formats for page in one.drawings]
        found = {name: angle for page in pages for name, angle in angles_on(page.items).items()}
        for setup in results.setups:
            if setup.stop_side == "squeeze":
                continue
            name = float(leaf_gauge_name(setup.overbend_to))
            assert figures(setup, "mm")[1].label == f"LEAF to gauge {name:.1f}"
            assert found["LEAF", name] == pytest.approx(180.0 - leaf_gauge(setup.overbend_to), abs=0.05)
            assert found["LEAF", name] == pytest.approx(180.0 - setup.overbend_to, abs=0.125 + 1e-6)
            for op in setup.operations:
                if op.gap is None:
                    for limit in (op.angle - op.angle_tolerance, op.angle + op.angle_tolerance):
                        assert found["BEND", round(limit, 2)] == pytest.approx(180.0 - limit, abs=0.05)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_pages_have_bars_the_printer_s_factors_and_no_text_over_another(paper, root) -> None:
    (results,) = results_of(DEMO, root)
    shop = replace(results.job.shop, printer_paper=paper, printer_scale=(1.01, 1.02))
    first = next(gauge_drawings(replace(results, job=replace(results.job, shop=shop))))
    assert ("gauges", ("pdf",)) == (first.name, first.formats) and len(first.drawings) <= 5
    for page in first.drawings:
        assert {1.01, 1.02} == set(page.stretch) and [] == clashes(page)
        assert all(text.height >= 2.0 for text in texts_of(page))
        assert 2 == sum(text.text.startswith("100 mm") for text in texts_of(page))


def test_files_to_cut_hold_the_same_angles(root, tmp_path) -> None:
    (results,) = results_of(DEMO, root)
    for number, one in enumerate(e for e in gauge_drawings(results) if e.formats == ("dxf",)):
        path = tmp_path / f"{number}.dxf"
        dxf.write(one.drawings[0], path)
        shapes = ezdxf.readfile(path).modelspace().query('LWPOLYLINE[layer=="outline"]')
        read = sorted(angle_of([(x, y) for x, y in shape.get_points("xy")]) for shape in shapes)
        assert sorted(angles_on(one.drawings[0].items).values()) == pytest.approx(read, abs=0.001)


@pytest.mark.parametrize("angle", [20.0, 45.0, 86.0, 110.0, 111.0, 150.0, 175.0])
@pytest.mark.parametrize("relief", [3.0, 24.0])
def test_a_wedge_is_one_piece_whose_edges_meet_in_its_cut_off_corner(angle, relief) -> None:
    shape = wedge(angle, relief)
    area = Polygon([v[:2] for v in shape])
    assert area.is_valid and area.area > 100.0 and angle == pytest.approx(angle_of(shape))
    for a, b in ((shape[0], shape[1]), (shape[-1], shape[-2])):
        assert math.dist(a[:2], b[:2]) == pytest.approx(EDGE)
        assert a[0] * b[1] - a[1] * b[0] == pytest.approx(0.0, abs=1e-9) and math.hypot(*a[:2]) == pytest.approx(relief)


def test_a_bend_s_wedge_keeps_clear_of_its_radius(root) -> None:
    """The tangent point lies R·tan(A/2) from the corner, along each leg."""
    (results,) = results_of(DEMO, root)
    wedges = {gauge.name: gauge.relief for gauge in gauges_of(results.plan)}
    for setup in results.setups:
        for op in setup.operations:
            tangent = op.released_radius * math.tan(math.radians(op.angle + 1.0) / 2.0)
            assert wedges[f"bend-{op.angle:g}"] > tangent


def dark_line(image, at, across, reach=1.2):
    """Where a printed line crosses a short way over it: the middle of the dark, along the way from ``at`` [mm]."""
    steps = np.arange(-reach, reach, 25.4 / 600 / 2)
    xs = ((at[0] + steps * across[0]) / 25.4 * 600).round().astype(int)
    ys = image.shape[0] - 1 - ((at[1] + steps * across[1]) / 25.4 * 600).round().astype(int)
    dark = 255.0 - image[ys, xs].astype(float)
    assert dark.max() > 60.0
    return float((steps * dark).sum() / dark.sum())


def edge_read(image, p, q):
    """Direction of a printed edge between two corners, fitted through many crossings of it [deg]."""
    run = np.array([q[0] - p[0], q[1] - p[1]]) / math.dist(p, q)
    across = np.array([-run[1], run[0]])
    along = np.linspace(0.15, 0.85, 40) * math.dist(p, q)
    off = [dark_line(image, np.array(p) + s * run, across) for s in along]
    return math.degrees(math.atan2(run[1], run[0]) + math.atan(np.polyfit(along, off, 1)[0]))


def test_angles_read_back_from_the_printed_page(root, tmp_path) -> None:
    """At 600 dots an inch every wedge of a page has its angle within 0.05 degrees."""
    (results,) = results_of(DEMO, root)
    (enclosure,) = [one for one in gauge_drawings(results) if "pdf" in one.formats]
    pdf.write_pages(enclosure.drawings[:2], tmp_path / "g.pdf")
    run(["pdftoppm", "-r", "600", "-gray", tmp_path / "g.pdf", tmp_path / "g"], check=True)
    read = 0
    for number, page in enumerate(enclosure.drawings[:2], 1):
        with Image.open(tmp_path / f"g-{number}.pgm") as picture:
            image = np.array(picture)
        for item in page.items:
            if isinstance(item, Contour) and item.layer == "template" and len(item.outline) in (4, 6):
                corners = [v[:2] for v in item.outline]
                first, last = edge_read(image, corners[0], corners[1]), edge_read(image, corners[-1], corners[-2])
                assert (last - first) % 360.0 == pytest.approx(angle_of(corners), abs=0.05)
                read += 1
    assert read >= 6


def test_leaf_gauges_come_at_every_quarter_over_the_plan_s_range(root) -> None:
    (results,) = results_of(DEMO, root)
    leaves = [180.0 - gauge.wedges[0][1] for gauge in gauges_of(results.plan) if gauge.name.startswith("leaf")]
    square = [angle for angle in leaves if angle > 85.0]
    assert square == pytest.approx([square[0] + 0.25 * k for k in range(len(square))])
    used = [setup.overbend_to for setup in results.setups if setup.overbend_to > 85.0]
    assert square[0] < min(used) and max(used) < square[-1]


def test_gauges_lie_on_scrap_each_once_and_clear_of_one_another(root) -> None:
    """The smallest remnants and off-cuts that hold them; what is told not to fit is not there."""
    results = compute(load(root / "examples/first-clips/job.toml"))
    blanks = {one.part: one for gauge in gauges_of(results.plan) for one in blanks_of(gauge)}
    nests, left = on_scrap(results, list(blanks.values()))
    placed = [one.part for nest in nests for one in nest.placements]
    assert sorted(blanks) == sorted([*placed, *left]) and placed
    for nest in nests:
        assert nest.sheet.remnant and nest.sheet.material == nest.material
        shapes = []
        for one in nest.placements:
            turn, at = math.radians(one.rotation), (one.x, one.y)
            c, s, sign = math.cos(turn), math.sin(turn), -1.0 if one.mirrored else 1.0
            corners = [(sign * x, y) for x, y, _ in blanks[one.part].outline]
            shapes.append(Polygon([(c * x - s * y + at[0], s * x + c * y + at[1]) for x, y in corners]))
        sheet = box(0, 0, nest.sheet.width, nest.sheet.height).buffer(1e-6)
        assert all(sheet.contains(shape) for shape in shapes)
        assert all(a.distance(b) > 2.9 for k, a in enumerate(shapes) for b in shapes[:k])
    few_sheets = replace(results, nests=(), job=replace(results.job, shop=replace(results.job.shop, sheets=())))
    assert ((), tuple(blanks)) == on_scrap(few_sheets, list(blanks.values()))
