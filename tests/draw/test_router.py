"""Router paths: one bit radius off the edge everywhere, corners checked, bridges clear of corners and bends."""

import json
import math
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner
from shapely.geometry import LineString, Polygon

from flatgen.cli import flatgen
from flatgen.core import arcs
from flatgen.core.offset import inset, outset
from flatgen.core.outline import area, circle, distance_to, flatten, perimeter, rectangle, rounded, segments
from flatgen.draw.machine import machine_nest, router_path
from flatgen.draw.router import BRIDGE, CLEAR, router_findings, router_plan
from flatgen.model.finding import Severity
from flatgen.model.plan import Nest, Placement
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.page.drawing import Contour
from flatgen.write import dxf

ELL = ((0.0, 0.0, 0.0), (60.0, 0.0, 0.0), (60.0, 20.0, 0.0), (20.0, 20.0, 0.0), (20.0, 50.0, 0.0), (0.0, 50.0, 0.0))
# an edge notch 4 wide and 10 deep, too narrow for a 6 mm bit
NOTCHED = (
    (0.0, 0.0, 0.0),
    (20.0, 0.0, 0.0),
    (20.0, 10.0, 0.0),
    (24.0, 10.0, 0.0),
    (24.0, 0.0, 0.0),
    (50.0, 0.0, 0.0),
    (50.0, 30.0, 0.0),
    (0.0, 30.0, 0.0),
)


def test_outset_of_a_square_by_head():
    """Side 10, 2 off: 100 + 4 sides of 10 x 2 + a circle of radius 2."""
    (curve,) = outset(rectangle(0.0, 0.0, 10.0, 10.0), 2.0)
    assert 100.0 + 80.0 + math.pi * 4.0 == pytest.approx(area(curve))
    assert 40.0 + math.tau * 2.0 == pytest.approx(perimeter(curve))


def test_inset_of_a_circle_and_of_a_slot_that_is_too_narrow():
    (curve,) = inset(circle((5.0, 5.0), 20.0), 3.0)
    assert math.pi * 49.0 == pytest.approx(area(curve))
    assert [] == inset(rectangle(0.0, 0.0, 30.0, 5.0), 3.0)


@pytest.mark.parametrize("outline", [ELL, NOTCHED, rounded(ELL, 3, 8.0), rounded(ELL, 3, 1.0), rounded(ELL, 0, 5.0)])
@pytest.mark.parametrize("radius", [1.0, 3.175])
def test_outset_agrees_with_a_reference_library(outline, radius):
    """Against shapely's buffer with round joins, on fine chords; arcs stay arcs, so compare area and distance."""
    curves = outset(outline, radius)
    ours = sum(area(curve) for curve in curves)
    theirs = Polygon(flatten(outline, 1e-4)).buffer(radius, quad_segs=400)
    assert theirs.area == pytest.approx(ours, abs=0.02)
    for curve in curves:
        for p, q, bulge in segments(curve):
            for k in range(5):
                assert radius == pytest.approx(distance_to(outline, arcs.point_at(p, q, bulge, k / 4)), abs=1e-5)


def test_inside_corner_is_reported_with_what_stays(clip):
    """A square inside corner keeps (sqrt 2 - 1) r of metal in its diagonal (fact of geometry)."""
    blank = replace(clip[1], outline=ELL, cutouts=(), holes=(), bends=())
    plan = router_plan(blank, 6.35)
    ((place, off),) = plan.missed
    assert (20.0, 20.0) == pytest.approx(place)
    assert (math.sqrt(2.0) - 1.0) * 3.175 == pytest.approx(off, abs=0.01)
    (finding,) = router_findings("L", 6.35, plan)
    assert "corners" == finding.where
    assert "1 inside corner, up to 1.32 mm stays, at 20.00, 20.00 mm: file by hand" in finding.words("mm")


def test_opening_that_the_bit_does_not_enter_is_a_decision(clip):
    slot = ((2.0, 2.0, 0.0), (30.0, 2.0, 0.0), (30.0, 6.0, 0.0), (2.0, 6.0, 0.0))
    blank = replace(clip[1], cutouts=(slot,), holes=(), bends=())
    (finding,) = router_findings("L", 6.35, router_plan(blank, 6.35))
    assert (Severity.WARN, None) == (finding.severity, finding.limit) and "into 1 opening, at " in finding.words("mm")
    assert "openings" == finding.where


def test_what_the_bit_cannot_do_stands_among_the_findings_of_the_job(tmp_path):
    """On parts that a router cuts and on no others; a waiver covers it as any other rule."""
    run = CliRunner()
    run.invoke(flatgen, ["new", str(tmp_path), "--yes", "--cut", "router", "--profile", "tray", "--part", "T"])
    job = tmp_path / "job.toml"
    window = '\n[[part.opening]]\nface = "base"\nshape = "rectangle"\nat = [1, 1]\nsize = [0.75, 0.5]\n'
    job.write_text(job.read_text(encoding="utf-8") + window, encoding="utf-8")
    (found,) = (f for f in json.loads(run.invoke(flatgen, ["check", str(job), "--json"]).stdout) if "bit" in f["rule"])
    assert ("bit-corner", "note", "T", None) == tuple(found[k] for k in ("rule", "severity", "part", "waived"))
    waiver = '\n[[waive]]\nrule = "bit-corner"\npart = "T"\nreason = "corners are filed"\n'
    job.write_text(job.read_text(encoding="utf-8") + waiver, encoding="utf-8")
    made = run.invoke(flatgen, ["make", str(job), "--out", str(tmp_path / "out"), "--quiet"])
    assert 0 == made.exit_code, made.output
    results = json.loads((tmp_path / "out" / "results.json").read_text(encoding="utf-8"))
    assert ["corners are filed"] == [f["waived"] for f in results["findings"] if f["rule"] == "bit-corner"]
    shop = tmp_path / "shop.toml"
    shop.write_text(shop.read_text(encoding="utf-8").replace('bit_diameter = "1/4 in"', ""), encoding="utf-8")
    assert "bit-corner" not in run.invoke(flatgen, ["check", str(job), "--json"]).stdout


def test_bridges_are_clear_of_corners_and_bends(clip):
    part, blank = clip
    plan = router_plan(blank, 6.35)
    assert 2 <= len(plan.bridges)
    low, high = sorted(t[0][1] for t in blank.bends[0].tangents)
    for a, b in plan.bridges:
        assert BRIDGE + 6.35 == pytest.approx(math.dist(a, b))
        for x, y in (a, b):
            assert not (low - CLEAR < y < high + CLEAR and (x < 0 or x > blank.width))
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        assert 3.175 == pytest.approx(distance_to(blank.outline, middle))


def test_a_round_blank_that_bridges_cannot_hold_is_a_decision(clip):
    """No straight edge for a bridge: it could be thrown when the bit comes round."""
    blank = replace(clip[1], outline=circle((30.0, 30.0), 40.0), cutouts=(), holes=(), bends=())
    plan = router_plan(blank, 6.35)
    assert () == plan.bridges
    (finding,) = [one for one in router_findings("D", 6.35, plan) if one.rule == "hold-down"]
    assert (Severity.WARN, 0.0, 2.0, "outline") == (finding.severity, finding.value, finding.limit, finding.where)
    said = "fewer than two hold-down bridges find a straight edge clear of corners and bends: hold it another way"
    assert said in finding.words("mm")


def test_paths_and_bridges_together_are_the_whole_path(clip):
    blank = clip[1]
    plan = router_plan(blank, 6.35)
    (whole,) = outset(blank.outline, 3.175)
    length = sum(arcs.length(a[:2], b[:2], a[2]) for run in plan.open_runs for a, b in zip(run, run[1:], strict=False))
    assert perimeter(whole) == pytest.approx(length + sum(math.dist(*gap) for gap in plan.bridges))
    assert all(LineString([v[:2] for v in run]).length > 1.0 for run in plan.open_runs)


def test_pilots_are_left_to_the_drill(clip):
    plan = router_plan(clip[1], 6.35)
    assert 7 == len(plan.drilled) and () == plan.closed


ROUTER = CuttingTool("router", "profile-cut", bit_diameter=6.35)


def test_dxf_of_the_paths_is_clean(clip, tmp_path):
    drawing = router_path("TF-101", clip[1], ROUTER, (), "in")
    assert () == router_findings("TF-101", 6.35, router_plan(clip[1], 6.35))
    path = tmp_path / "r.dxf"
    dxf.write(drawing, path)
    audit = ezdxf.readfile(path).audit()
    assert ([], []) == (audit.errors, audit.fixes)


def test_nest_paths_lie_with_their_blanks(clip):
    nest = Nest(
        "2024-T3",
        1.0,
        "profile-cut",
        "router",
        Sheet("S", "2024-T3", 1.0, 300.0, 300.0),
        (Placement("TF-101", 1, 100.0, 50.0, 90.0), Placement("TF-101", 2, 200.0, 200.0, 0.0, True)),
        (),
        (),
        0.1,
    )
    drawing = machine_nest(nest, {"TF-101": clip[1]}, ROUTER, (), "mm", True)
    runs = [i for i in drawing.items if isinstance(i, Contour) and i.layer == "router-path"]
    alone = router_plan(clip[1], 6.35)
    assert 2 * len(alone.open_runs) == len(runs)
    once = sum(arcs.length(a[:2], b[:2], a[2]) for run in alone.open_runs for a, b in zip(run, run[1:], strict=False))
    both = sum(arcs.length(a[:2], b[:2], a[2]) for i in runs for a, b in zip(i.outline, i.outline[1:], strict=False))
    assert 2.0 * once == pytest.approx(both)


def test_command_writes_cutting_files_and_paths(tmp_path):
    """R12 knows no LWPOLYLINE (DXF reference): its contours are closed POLYLINEs with bulges."""
    job = Path(__file__).parents[2] / "examples" / "float-fittings" / "job.toml"
    formats = ["--format", "machine", "--format", "machine-r12", "--format", "router"]
    run = CliRunner().invoke(flatgen, ["blank", str(job), "SK-302-L", *formats, "--out", str(tmp_path)])
    assert 0 == run.exit_code, run.output
    assert "bit-corner" in run.output
    old = ezdxf.readfile(tmp_path / "SK-302-L-in-r12.dxf")
    assert "AC1009" == old.dxfversion
    (outline,) = old.modelspace().query('POLYLINE[layer=="outline"]')
    assert outline.is_closed and any(v.dxf.get("bulge", 0.0) for v in outline.vertices)
    for path in tmp_path.glob("*.dxf"):
        audit = ezdxf.readfile(path).audit()
        assert ([], []) == (audit.errors, audit.fixes), path.name


def test_command_asks_for_a_bit_where_the_tool_has_none(tmp_path):
    job = Path(__file__).parents[2] / "examples" / "float-fittings" / "job.toml"
    run = CliRunner().invoke(flatgen, ["blank", str(job), "TF-101", "--format", "router", "--out", str(tmp_path / "x")])
    assert 2 == run.exit_code
    assert 'its tool "shear" has no bit_diameter in the shop file; give the bit with --bit' in run.output
    assert not list(tmp_path.rglob("*.dxf"))
