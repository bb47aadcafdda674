"""The demo job's files read back by readers that are not ours, and held against results.json as geometry."""

import math
import re
import xml.etree.ElementTree as ET
import zlib
from itertools import combinations

import ezdxf
import pytest
from click.testing import CliRunner
from page_texts import clashes
from shapely.geometry import LinearRing, Point, Polygon

from flatgen.cli import flatgen
from flatgen.core import arcs
from flatgen.core.outline import segments
from flatgen.drawings import file_name
from flatgen.page.drawing import extents

SVG = {"s": "http://www.w3.org/2000/svg"}
NUMBER = r"-?\d+(?:\.\d+)?"


@pytest.fixture
def job(demo_drawn):
    """All drawings of the demo with its results."""
    return demo_drawn[1:]


@pytest.fixture
def packet(demo):
    """Folder of the demo and its results."""
    return demo.folder, demo.results


def parts(packet):
    """Parts that were drawn, with their file names."""
    folder, results = packet
    drawn = [(p, folder / "blanks" / file_name(p["id"])) for p in results["parts"]]
    return [(part, path) for part, path in drawn if path.with_name(path.name + ".dxf").exists()]


def named(path, folder, ending=".dxf"):
    return path.parent / folder / (path.name + ("-in" if folder in ("machine", "router") else "") + ending)


def same_curve(a, b, tolerance):
    """Whether two closed curves have the same corners and bulges, from whatever corner on."""
    if len(a) != len(b):
        return False
    for shift in range(len(b)):
        turned = b[shift:] + b[:shift]
        if all(math.dist(p[:2], q[:2]) < tolerance and abs(p[2] - q[2]) < 1e-6 for p, q in zip(a, turned, strict=True)):
            return True
    return False


def test_no_two_texts_of_the_demo_overlap_and_none_leaves_its_page(job):
    checked = 0
    for enclosure in job[1]:
        if enclosure.kind not in ("blank", "nest", "template"):
            continue
        for page in enclosure.drawings:
            assert [] == clashes(page), (enclosure.name, page.title)
            x0, y0, x1, y1 = extents(page.items)
            left, low = page.origin
            assert left - 1e-6 <= x0 and low - 1e-6 <= y0, enclosure.name
            assert x1 <= left + page.size[0] + 1e-6 and y1 <= low + page.size[1] + 1e-6, enclosure.name
            checked += 1
    assert checked > 60


def test_every_dxf_is_clean(packet):
    files = sorted(packet[0].rglob("*.dxf"))
    assert len(files) > 20
    for path in files:
        audit = ezdxf.readfile(path).audit()
        assert ([], []) == (audit.errors, audit.fixes), path.name


@pytest.mark.parametrize("folder", ["", "machine"])
def test_dxf_gives_the_blank_within_a_nanometre(packet, folder):
    """Inch headers and numbers agree; arcs are arcs; holes are circles."""
    for part, path in parts(packet):
        if not named(path, folder).exists() and folder:
            continue  # a hand shear reads no files
        document = ezdxf.readfile(named(path, folder))
        assert (1, 0) == (document.header["$INSUNITS"], document.header["$MEASUREMENT"])
        space = document.modelspace()
        (outline,) = space.query('LWPOLYLINE[layer=="outline"]')
        found = [(x * 25.4, y * 25.4, b) for x, y, b in outline.get_points("xyb")]
        assert outline.closed and same_curve(part["blank"]["outline"], found, 1e-6), part["id"]
        holes = part["blank"]["holes"]
        for after, layer in ((False, "hole"), (True, "hole-after-bending")):
            circles = sorted(
                (c.dxf.center.x * 25.4, c.dxf.center.y * 25.4, c.dxf.radius * 50.8)
                for c in space.query(f'CIRCLE[layer=="{layer}"]')
            )
            # what is drilled after bending is not in the machine's file
            wanted = [] if after and folder else [h for h in holes if h["after_bending"] == after]
            expected = sorted((h["x"], h["y"], h["diameter"]) for h in wanted)
            assert len(expected) == len(circles)
            for hole, circle in zip(expected, circles, strict=True):
                assert hole == pytest.approx(circle, abs=1e-6)
        openings = space.query('LWPOLYLINE[layer=="opening"]')
        assert len(part["blank"]["cutouts"]) == len(openings) + len(holes)


def test_cutting_file_has_whole_contours_that_touch_nowhere(packet):
    """No doubles, nothing of no length, every inside contour inside the outline and clear of the others."""
    cut = [path for _, path in parts(packet) if named(path, "machine").exists()]  # a hand shear reads no files
    assert cut
    for path in cut:
        space = ezdxf.readfile(named(path, "machine")).modelspace()
        assert {e.dxf.layer for e in space} <= {"outline", "opening", "hole"}
        rings = []
        for entity in space:
            if entity.dxftype() == "LWPOLYLINE":
                corners = [tuple(p) for p in entity.get_points("xyb")]
                runs = list(segments(tuple(corners)))
                assert all(arcs.length(*run) > 1e-6 for run in runs)
                chords = [x for run in runs for x in arcs.chords(*run, 1e-4)]
                rings.append((entity.dxf.layer, Polygon(chords)))
            elif entity.dxftype() == "CIRCLE":
                rings.append(
                    (entity.dxf.layer, Point(entity.dxf.center.x, entity.dxf.center.y).buffer(entity.dxf.radius, 64))
                )
        (outer,) = [shape for layer, shape in rings if layer == "outline"]
        inner = [shape for layer, shape in rings if layer != "outline"]
        for shape in inner:
            assert outer.contains(shape) and LinearRing(outer.exterior).distance(shape) > 1e-3, path.name
        for a, b in combinations(inner, 2):
            assert a.distance(b) > 1e-3, path.name
        assert not space.query("LINE")  # bends only where the tool asks for them


def read_path(data):
    """Vertices with bulges from path commands M, L, A, Z (W3C SVG 1.1, 8.3), y turned up again."""
    points = []
    for command, rest in re.findall(r"([MLA])([^MLAZ]*)", data):
        values = [float(v) for v in re.findall(NUMBER, rest)]
        if command in "ML":
            points.append((values[0], -values[1], 0.0))
            continue
        radius, _, _, large, sweep, x, y = values
        px, py, _ = points[-1]
        half = math.asin(min(1.0, math.dist((px, py), (x, -y)) / 2.0 / radius))
        turn = 2.0 * (math.pi - half if large else half)
        points[-1] = (px, py, math.tan(turn / 4.0) * (1.0 if sweep == 0 else -1.0))
        points.append((x, -y, 0.0))
    return points[:-1]


def test_svg_gives_the_blank_within_a_nanometre(packet):
    for part, path in parts(packet):
        root = ET.parse(named(path, "", ".svg")).getroot()
        box = [float(v) for v in root.get("viewBox").split()]
        assert [f"{v:g}" for v in box[2:]] == [f"{float(root.get(k)[:-2]):g}" for k in ("width", "height")]
        data = root.find("s:g[@id='outline']/s:path", SVG).get("d")
        found = read_path(data)
        expected = part["blank"]["outline"]
        assert len(expected) == len(found)
        for p, q in zip(expected, found, strict=True):
            assert math.dist(p[:2], q[:2]) < 1e-6 and abs(p[2] - q[2]) < 1e-5, part["id"]
        circles = [c for k in ("hole", "hole-after-bending") for c in root.findall(f"s:g[@id='{k}']/s:circle", SVG)]
        found = sorted((float(c.get("cx")), -float(c.get("cy")), 2.0 * float(c.get("r"))) for c in circles)
        for hole, circle in zip(
            sorted((h["x"], h["y"], h["diameter"]) for h in part["blank"]["holes"]), found, strict=True
        ):
            assert hole == pytest.approx(circle, abs=1e-6)


def strokes_of(path):
    """Straight strokes and curve ends on the first page of a PDF, in mm from its low left corner."""
    content = next(
        text
        for text in (zlib.decompress(m) for m in re.findall(rb"stream\n(.*?)\nendstream", path.read_bytes(), re.S))
        if b" m\n" in text
    ).decode("latin-1")
    found = re.findall(rf"({NUMBER}) ({NUMBER}) [mlc]\b", content)
    return [(float(x) * 25.4 / 72.0, float(y) * 25.4 / 72.0) for x, y in found]


def test_pdf_gives_the_blank_within_a_hundredth(demo, root, tmp_path):
    """The dimensioned drawing, to scale: the outline's corners, scaled and shifted, are all on the page."""
    some = [part for part in demo.results["parts"] if part["id"] in ("TF-101", "GT-201-L", "SK-301", "TF-131")]
    job = str(root / "examples" / "float-fittings" / "job.toml")
    wanted = ["blank", job, *(part["id"] for part in some), "--format", "pdf", "--out", str(tmp_path)]
    assert 0 == CliRunner().invoke(flatgen, wanted).exit_code
    for part in some:
        points = strokes_of(tmp_path / f"{part['id']}.pdf")
        outline = [v[:2] for v in part["blank"]["outline"]]
        assert any(fits(outline, points, scale) for scale in (5.0, 2.0, 1.0, 0.5, 0.2)), part["id"]


def fits(outline, points, scale):
    """Whether some shift brings every corner, scaled, within 0.01 mm of a point on the page."""
    grid = {}
    for x, y in points:
        grid.setdefault((round(x, 1), round(y, 1)), []).append((x, y))

    def near(x, y):
        for dx in (-0.1, 0.0, 0.1):
            for dy in (-0.1, 0.0, 0.1):
                for p in grid.get((round(x + dx, 1), round(y + dy, 1)), ()):
                    if math.dist(p, (x, y)) < 0.01:
                        return True
        return False

    x0, y0 = outline[0]
    return any(
        all(near(x + (ox - x0) * scale, y + (oy - y0) * scale) for ox, oy in outline) for x, y in dict.fromkeys(points)
    )
