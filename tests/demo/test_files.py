"""The files of the demo's packet, read back by general-purpose readers."""

import csv
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def ezdxf():
    return pytest.importorskip("ezdxf")


def test_one_drawing_a_part_and_a_nest(demo) -> None:
    for part in demo.results["parts"]:
        for kind in ("dxf", "svg"):
            assert (demo.folder / "blanks" / f"{part['id']}.{kind}").is_file()
    for kind in ("dxf", "svg"):
        assert len(list((demo.folder / "nests").glob(f"*.{kind}"))) == len(demo.results["nests"])
    for name in ("index.html", "cut-list.csv"):
        assert (demo.folder / name).stat().st_size > 0


def test_dxf_gives_back_the_outline(demo, ezdxf) -> None:
    """Every closed polyline on the outline layer, in mm by the header's unit, is the outline of results.json."""
    for part in demo.results["parts"]:
        document = ezdxf.readfile(demo.folder / "blanks" / f"{part['id']}.dxf")
        factor = {1: 25.4, 4: 1.0}[document.header["$INSUNITS"]]
        outlines = [e for e in document.modelspace().query("LWPOLYLINE") if e.dxf.layer.lower() == "outline"]
        assert len(outlines) == 1 and outlines[0].closed
        found = [(x * factor, y * factor, b) for x, y, b in outlines[0].get_points("xyb")]
        assert_same_ring(part["blank"]["outline"], found, 1e-6)
        circles = {
            (round(e.dxf.center.x * factor, 5), round(e.dxf.center.y * factor, 5), round(e.dxf.radius * factor * 2, 5))
            for e in document.modelspace().query("CIRCLE")
        }
        for hole in part["blank"]["holes"]:
            assert (round(hole["x"], 5), round(hole["y"], 5), round(hole["diameter"], 5)) in circles


def assert_same_ring(expected, found, tolerance: float) -> None:
    assert len(expected) == len(found)
    start = min(range(len(found)), key=lambda k: abs(found[k][0] - expected[0][0]) + abs(found[k][1] - expected[0][1]))
    turned = found[start:] + found[:start]
    for one, two in zip(expected, turned, strict=True):
        assert one == pytest.approx(two, abs=tolerance)


def test_svg_is_at_true_size(demo) -> None:
    for path in sorted((demo.folder / "blanks").glob("*.svg")):
        svg = ElementTree.parse(path).getroot()
        width, height = (float(v) for v in svg.get("viewBox").split()[2:])
        assert svg.get("width") == f"{width:g}mm" or float(svg.get("width").removesuffix("mm")) == pytest.approx(width)
        assert float(svg.get("height").removesuffix("mm")) == pytest.approx(height)


def test_cut_list_says_what_the_results_say(demo) -> None:
    """Read back: blanks with their sizes and pieces, then each cut of each sheet; inches to a thousandth."""
    with Path(demo.folder / "cut-list.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    gap = rows.index([])
    listed = {row[0]: row for row in rows[1:gap]}
    assert [part["id"] for part in demo.results["parts"]] == list(listed)
    for part in demo.results["parts"]:
        row, blank = listed[part["id"]], part["blank"]
        sizes = [part["thickness"], blank["width"], blank["height"]]
        assert [one / 25.4 for one in sizes] == pytest.approx([float(cell) for cell in row[3:6]], abs=6e-4)
        laid = sum(p["part"] == part["id"] for nest in demo.results["nests"] for p in nest["placements"])
        assert [part["quantity"], laid] == [int(cell) for cell in row[7:9]]
    cuts = [(k, nest["sheet"]["id"], cut) for k, nest in enumerate(demo.results["nests"], 1) for cut in nest["cuts"]]
    assert len(cuts) == len(rows) - gap - 2
    for (number, sheet, cut), row in zip(cuts, rows[gap + 2 :], strict=True):
        assert [str(number), sheet, str(cut["order"])] == row[:3]
        sizes = [cut["gauge"], *cut["from"], *cut["to"]]
        assert [one / 25.4 for one in sizes] == pytest.approx([float(cell) for cell in row[3:8]], abs=6e-4)


def test_page_shows_every_part_and_needs_no_network(demo) -> None:
    page = (demo.folder / "index.html").read_text(encoding="utf-8")
    for part in demo.results["parts"]:
        assert part["id"] in page
    assert "http://" not in page.replace("http://www.w3.org", "") and "https://" not in page
