"""The reading drawing: nothing overlaps, nothing leaves the frame, sizes are right, also for hard cases."""

import math
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import ezdxf
import pytest

from flatgen.core.outline import flatten, rectangle
from flatgen.develop.develop import develop
from flatgen.draw.blank_sheet import blank_sheet
from flatgen.draw.formed import formed_view
from flatgen.draw.section import sections
from flatgen.page.drawing import Contour, Line, LinearDimension, OrdinateDimension, Text
from flatgen.page.paper import scale_text, scales_for
from flatgen.page.room import crosses, overlap
from flatgen.read.job import read_job
from flatgen.write import dxf

INCH = 25.4
JOB = Path(__file__).parent / "data" / "six.toml"


def texts_of(drawing):
    """All texts, those of dimensions included."""
    out = []
    for item in drawing.items:
        if isinstance(item, LinearDimension | OrdinateDimension):
            out += [part for part in item.strokes() if isinstance(part, Text)]
        elif isinstance(item, Text):
            out.append(item)
    return out


def shrunk(box, by=0.05):
    return (box[0] + by, box[1] + by, box[2] - by, box[3] - by)


def clashes(drawing):
    """Pairs of upright texts whose boxes overlap, and texts that a wide line runs through."""
    upright = [t for t in texts_of(drawing) if t.angle % 90.0 == 0.0]
    boxes = [(t.text, shrunk(t.box())) for t in upright]
    found = [(a[0], b[0]) for a, b in combinations(boxes, 2) if overlap(a[1], b[1])]
    for item in drawing.items:
        if isinstance(item, Contour) and item.layer in ("outline", "section", "opening") and not item.filled:
            corners = flatten(item.outline, 0.02)
            corners.append(corners[0])
            for p, q in zip(corners, corners[1:], strict=False):
                found += [(item.layer, text) for text, box in boxes if crosses(p, q, box)]
    return found


def outside(drawing):
    """Items of the drawing proper that leave the frame."""
    frame = next(i for i in drawing.items if isinstance(i, Contour) and i.layer == "frame")
    x0, y0, x1, y1 = frame.box()
    out = []
    for item in drawing.items:
        if item.layer in ("frame", "rule"):
            continue
        box = item.box()
        if box[0] < x0 or box[1] < y0 or box[2] > x1 or box[3] > y1:
            out.append(item)
    return out


@pytest.mark.parametrize("units", ["in", "mm"])
def test_nothing_overlaps_or_leaves_the_frame(units):
    job = read_job(JOB)
    for part in job.parts:
        for page in blank_sheet(part, develop(part, job.shop), (), job.shop, units):
            assert [] == clashes(page), part.id
            assert [] == outside(page), part.id


def test_sixty_holes_and_a_small_clip_fit(many_holes, clip, shop, findings):
    part, blank = many_holes
    for page in blank_sheet(part, blank, findings, shop, "mm"):
        assert [] == clashes(page) and [] == outside(page)
    numbers = [t.text for page in blank_sheet(part, blank, findings, shop, "mm") for t in texts_of(page)]
    assert "67" in numbers
    small = replace(clip[1], outline=rectangle(0, 0, 25, 12), width=25.0, height=12.0, holes=(), cutouts=(), bends=())
    (page,) = blank_sheet(part, small, (), shop, "mm")
    assert 2.0 == page.scale
    assert [] == clashes(page) and [] == outside(page)


def test_sheet_says_all_that_the_bench_needs(clip, shop, findings):
    part, blank = clip
    said = [
        t.text for page in blank_sheet(part, blank, findings, shop, "in", owner="Oxbow project") for t in texts_of(page)
    ]
    for text in ("0.500", "1.318", "0.671", "B1 sight line, clamp A", "3.000 overall", "1.631 overall", "GRAIN"):
        assert text in said
    for text in (
        "2024-T3 clad",
        "24",
        "8.7 g",
        "TF-101",
        "Oxbow project",
        "0.960",
        "1.000",
        "93.4°",
        "4 × R 0.250 on the outline.",
    ):
        assert text in said
    assert "B1 UP 90° R 0.156, over-bend to 93.4°" in said
    assert "agreed with the designer" in " ".join(said)
    assert any(text.startswith("WAIVED: hole 2: too near the edge") for text in said)


def test_reading_dxf_has_true_dimensions(clip, shop, tmp_path):
    """Measured by the reader from the entities, not from our text."""
    part, blank = clip
    (page,) = blank_sheet(part, blank, (), shop, "in")
    path = tmp_path / "a.dxf"
    dxf.write(page, path)
    document = ezdxf.readfile(path)
    audit = document.audit()
    assert ([], []) == (audit.errors, audit.fixes)
    measured = 0
    for entity in document.modelspace().query("DIMENSION"):
        value = entity.get_measurement() if entity.dimtype != 6 else entity.get_measurement()
        if not isinstance(value, float):
            value = value.x if entity.dxf.dimtype & 64 else value.y
        factor = document.dimstyles.get(entity.dxf.dimstyle).dxf.dimlfac
        factor = entity.override().get("dimlfac", factor)
        assert abs(value) * factor == pytest.approx(float(entity.dxf.text.split()[0]), abs=6e-4)
        measured += 1
    assert 20 <= measured


def test_sections_close_up_to_mould_line_sizes():
    """trade.md section 15: TF-102 web 2.000 and flanges .750; SK-301 top 1.250, walls .750, brims .625 beyond the wall
    plus the wall itself .675."""
    job = read_job(JOB)
    found = {}
    for part in job.parts:
        found[part.id] = [round(leg.outside / INCH, 6) for s in sections(develop(part, job.shop)) for leg in s.legs]
    assert [0.75, 2.0, 0.75] == found["TF-102"]
    assert [0.675, 0.75, 1.25, 0.75, 0.675] == found["SK-301"]
    assert sorted([1.0, 0.75]) == sorted(found["TF-101"])


def test_formed_view_of_a_flat_plate_is_an_isometric_box(clip):
    """No bends: a plate seen isometrically shows nine of its twelve edges (fact of geometry), foreshortened alike."""
    blank = replace(
        clip[1], bends=(), cutouts=(), holes=(), faces=(replace(clip[1].faces[0], outline=rectangle(0, 0, 40, 30)),)
    )
    lines = [i for i in formed_view(replace(blank, thickness=10.0), 100.0) if isinstance(i, Line)]
    total = sum(math.dist(line.start, line.end) for line in lines)
    # width of the view is (40 + 30) cos 30, in the same foreshortening; edges seen: 40 x 3, 30 x 3, 10 x 3
    height = (40 + 30) * 0.5 + 10
    width = (40 + 30) * math.cos(math.radians(30))
    assert (3 * (40 + 30 + 10)) / max(width, height) * 100.0 == pytest.approx(total, rel=0.02)


def test_scales_are_those_of_iso_5455():
    """ISO 5455: 1, 2, 5 times powers of ten (from memory)."""
    assert ["1 : 1", "1 : 2", "1 : 5", "1 : 10"] == [scale_text(s) for s in scales_for(300.0)][:4]
    assert 5.0 == scales_for(25.0)[0]
