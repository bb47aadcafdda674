"""Files read back with the public readers give the drawing's geometry."""

import math
import re
import xml.etree.ElementTree as ET

import ezdxf
import pytest

from flatgen.core import arcs
from flatgen.core.outline import rectangle, rounded
from flatgen.page.drawing import (
    Arc,
    Circle,
    Contour,
    Drawing,
    Line,
    LinearDimension,
    OrdinateDimension,
    Text,
)
from flatgen.page.layers import LAYERS, used
from flatgen.write import dxf, pdf, svg


def plate():
    """A plate 3.000 by 1.631 in with one rounded corner, a hole, and one of every item."""
    outline = rounded(rectangle(0.0, 0.0, 76.2, 41.4274), 2, 6.35)
    return (
        Contour("outline", outline),
        Circle("hole", (20.0, 10.0), 2.4892),
        Line("bend-down", (0.0, 20.0), (76.2, 20.0)),
        Arc("opening", (40.0, 25.0), 5.0, 350.0, 120.0),
        Text("note", (5.0, 30.0), "a < b & 50 %%d ±0.1°", 2.5),
        LinearDimension("dimension", (0.0, 0.0), (76.2, 0.0), (0.0, -8.0), 0.0, "3.000", 2.5),
        OrdinateDimension("dimension", (20.0, 10.0), (20.0, 50.0), "x", (0.0, 0.0), "0.787", 2.5),
    )


def drawing(units="mm", scale=1.0):
    items = plate()
    return Drawing("plate", (120.0, 90.0), items, used(items), units, scale, (-15.0, -15.0))


def test_a_dxf_does_not_depend_on_the_order_of_a_set(monkeypatch):
    """The library keeps the kinds of entities in use as a set, which comes in another order in every process."""
    from ezdxf.entitydb import EntityDB

    in_use, texts = EntityDB.dxf_types_in_use, []
    for backward in (False, True):
        monkeypatch.setattr(EntityDB, "dxf_types_in_use", lambda db, b=backward: sorted(in_use(db), reverse=b))
        texts.append(dxf.as_text(drawing()))
    assert texts[0] == texts[1]


@pytest.mark.parametrize("version", ["R2010", "R12"])
@pytest.mark.parametrize("units", ["in", "mm"])
def test_dxf_is_clean_and_true_in_its_units(tmp_path, units, version):
    path = tmp_path / "a.dxf"
    dxf.write(drawing(units), path, version)
    document = ezdxf.readfile(path)
    audit = document.audit()
    assert ([], []) == (audit.errors, audit.fixes)
    factor = 25.4 if units == "in" else 1.0
    if version == "R2010":
        assert {"in": (1, 0), "mm": (4, 1)}[units] == (document.header["$INSUNITS"], document.header["$MEASUREMENT"])
    kind = "LWPOLYLINE" if version == "R2010" else "POLYLINE"
    (curve,) = document.modelspace().query(f'{kind}[layer=="outline"]')
    if version == "R2010":
        points = [(x * factor, y * factor, b) for x, y, b in curve.get_points("xyb")]
    else:
        points = [
            (v.dxf.location.x * factor, v.dxf.location.y * factor, v.dxf.get("bulge", 0.0)) for v in curve.vertices
        ]
    assert curve.is_closed
    for expected, found in zip(plate()[0].outline, points, strict=True):
        assert expected == pytest.approx(found, abs=1e-9)
    (hole,) = document.modelspace().query("CIRCLE")
    assert 2.4892 / 2 == pytest.approx(hole.dxf.radius * factor, abs=1e-9)


def test_dxf_to_scale_measures_as_the_part(tmp_path):
    """A page at 1 : 2 is written at true size, dimensions included."""
    path = tmp_path / "a.dxf"
    dxf.write(drawing("mm", 0.5), path)
    document = ezdxf.readfile(path)
    linear, ordinate = document.modelspace().query("DIMENSION")
    assert 2 * 76.2 == pytest.approx(linear.get_measurement())
    assert 2 * 20.0 == pytest.approx(ordinate.get_measurement().x)


def test_dxf_layers_have_line_types_and_purposes(tmp_path):
    path = tmp_path / "a.dxf"
    dxf.write(drawing(), path)
    document = ezdxf.readfile(path)
    assert "dashed-02" == document.layers.get("bend-down").dxf.linetype
    assert 50 == document.layers.get("outline").dxf.lineweight
    assert "away from the reader" in document.layers.get("bend-down").description
    # ISO 128-2: a dash is twelve line widths, a gap three (from memory)
    tags = [t.value for t in document.linetypes.get("dashed-02").pattern_tags.tags if t.code == 49]
    assert [3.0, -0.75] == pytest.approx(tags)


@pytest.mark.parametrize("write", [dxf.write, svg.write, pdf.write])
def test_equal_drawings_give_equal_files(tmp_path, write):
    write(drawing(), tmp_path / "a")
    write(drawing(), tmp_path / "b")
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


NUMBER = r"-?\d+(?:\.\d+)?"


def read_path(data):
    """Vertices with bulges from path commands M, L, A, Z (W3C SVG 1.1, 8.3), y turned up again."""
    points = []
    for command, rest in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        values = [float(v) for v in re.findall(NUMBER, rest)]
        if command in "ML":
            points.append((values[0], -values[1], 0.0))
        elif command == "A":
            radius, _, _, large, sweep, x, y = values
            (px, py, _), chord = points[-1], math.dist(points[-1][:2], (x, -y))
            half = math.asin(min(1.0, chord / 2 / radius))
            turn = 2 * (math.pi - half if large else half)
            points[-1] = (px, py, math.tan(turn / 4) * (1 if sweep == 0 else -1))
            points.append((x, -y, 0.0))
    return points


def test_svg_has_true_size_and_arcs(tmp_path):
    path = tmp_path / "a.svg"
    svg.write(drawing(), path)
    root = ET.parse(path).getroot()
    assert ("120mm", "90mm", "-15 -75 120 90") == tuple(root.get(k) for k in ("width", "height", "viewBox"))
    space = {"s": "http://www.w3.org/2000/svg"}
    group = root.find("s:g[@id='outline']", space)
    assert "outline: Edge of the blank: cut" == group.find("s:title", space).text
    found = read_path(group.find("s:path", space).get("d"))
    expected = plate()[0].outline
    assert expected[0][:2] == pytest.approx(found[-1][:2], abs=1e-6)
    for vertex, other in zip(expected, found, strict=False):
        assert vertex == pytest.approx(other, abs=1e-6)
    assert "a < b & 50 %%d ±0.1°" in [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]


def test_pdf_curve_stays_on_its_arc():
    """Cubic curves of an eighth of a turn leave a circle by less than 5e-6 of its radius."""
    said = []
    arc = arcs.Arc((0.0, 0.0), 100.0, 0.3, 5.0)
    pdf._curve(said, arc, lambda p: p)
    seen = [[float(word) for word in line.removesuffix(" c").split()] for line in said]
    here = arc.point(0.0)
    for x1, y1, x2, y2, x3, y3 in seen:
        for t in (0.25, 0.5, 0.75):
            s = 1 - t
            x = s**3 * here[0] + 3 * s * s * t * x1 + 3 * s * t * t * x2 + t**3 * x3
            y = s**3 * here[1] + 3 * s * s * t * y1 + 3 * s * t * t * y2 + t**3 * y3
            assert 100.0 == pytest.approx(math.hypot(x, y), abs=5e-4)
        here = (x3, y3)
    assert arc.point(1.0) == pytest.approx(here, abs=1e-4)


def test_text_is_one_printable_line():
    assert "a b c" == Text("note", (0, 0), "a\nb\x07c", 2.5).text


def test_layer_names_are_fit_for_every_format():
    """R12 takes letters, digits, $, - and _ up to 31 characters (DXF reference)."""
    assert len(LAYERS) == len({layer.name for layer in LAYERS})
    for layer in LAYERS:
        assert re.fullmatch(r"[a-z0-9-]{1,31}", layer.name)


def test_wide_lines_are_twice_the_narrow_ones():
    """ISO 128-2: wide to narrow 2 : 1 (as reported in a drawing manual)."""
    width = {layer.name: layer.width for layer in LAYERS}
    assert 2.0 * width["bend-up"] == width["outline"]
    assert all(layer.line.name == "continuous" for layer in LAYERS if layer.name in ("outline", "bend-up"))
