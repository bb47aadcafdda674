"""Outlines from drawing files: what other programs leave in them. Sizes are worked out beside each."""

import math

import ezdxf
import pytest

from flatgen.core.outline import area, bounds
from flatgen.errors import InputError
from flatgen.read.outline_file import read_outlines

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50">{}</svg>'
BACK = {"extrusion": (0, 0, -1)}  # how a mirrored circle or arc is stored: in axes whose x runs the other way
CORNERS = [(0, 0), (40, 0), (40, 20), (0, 20)]


@pytest.fixture
def dxf(tmp_path):
    """A DXF in millimetres as drawn by a function of its document and model space."""

    def made(draw):
        document = ezdxf.new(units=4)
        draw(document, document.modelspace())
        document.saveas(tmp_path / "own.dxf")
        return tmp_path / "own.dxf"

    return made


def box_of(space, corners=CORNERS, **attributes):
    space.add_lwpolyline(corners, close=True, dxfattribs=attributes)


def test_mirrored_circle_lies_where_it_is_seen(dxf):
    def draw(document, space):
        box_of(space)
        space.add_circle((-10, 5), 2, dxfattribs=BACK)

    _, (hole,) = read_outlines(dxf(draw))
    assert (8.0, 3.0, 12.0, 7.0) == pytest.approx(bounds([hole]))


def test_mirrored_arc_and_polyline_bulge_the_way_they_are_seen(dxf):
    def with_arc(document, space):
        for a, b in (((0, 0), (40, 0)), ((40, 20), (0, 20)), ((0, 20), (0, 0))):
            space.add_line(a, b)
        space.add_arc((-40, 10), 10, 90, 270, dxfattribs=BACK)

    def with_polyline(document, space):
        corners = [(0, 0, 0), (0, 20, 0), (-40, 20, 1), (-40, 0, 0)]
        space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs=BACK)

    for draw in (with_arc, with_polyline):
        outer, _ = read_outlines(dxf(draw))
        # 40 by 20 and half a disc of radius 10 outside it
        assert 800.0 + 50.0 * math.pi == pytest.approx(area(outer), abs=1e-6)


def test_arcs_of_an_old_polyline_stay_arcs(dxf):
    corners = [(0, 0, 0), (40, 0, 1), (40, 20, 0), (0, 20, 1)]
    outer, _ = read_outlines(dxf(lambda document, space: space.add_polyline2d(corners, format="xyb", close=True)))
    assert 4 == len(outer)
    assert 800.0 + 100.0 * math.pi == pytest.approx(area(outer), abs=1e-6)


def test_blocks_are_taken_apart_and_keep_their_layer(dxf):
    def draw(document, space):
        block = document.blocks.new("plate")
        box_of(block)
        block.add_circle((10, 10), 2)
        space.add_blockref("plate", (5, 5), dxfattribs={"xscale": 2, "yscale": 2, "layer": "cut"})
        box_of(space, layer="frame", corners=[(-9, -9), (99, -9), (99, 99), (-9, 99)])

    outer, (hole,) = read_outlines(dxf(draw), layer="cut")
    assert (3200.0, 16.0 * math.pi) == pytest.approx((area(outer), area(hole)))


def test_lines_drawn_twice_are_one(dxf):
    def draw(document, space):
        box_of(space)
        box_of(space, corners=CORNERS[::-1])

    outer, inner = read_outlines(dxf(draw))
    assert (800.0, []) == (pytest.approx(area(outer)), inner)


def test_layers_that_are_switched_off_are_left_out_unless_asked_for(dxf):
    def draw(document, space):
        document.layers.add("old").off()
        box_of(space)
        box_of(space, layer="old", corners=[(0, 0), (90, 0), (90, 90), (0, 90)])

    path = dxf(draw)
    assert 800.0 == pytest.approx(area(read_outlines(path)[0]))
    assert 8100.0 == pytest.approx(area(read_outlines(path, layer="old")[0]))


def _in_space(document, space):
    for a, b in (((0, 0, 0), (40, 0, 5)), ((40, 0, 5), (40, 20, 0)), ((40, 20, 0), (0, 0, 0))):
        space.add_line(a, b)


def _island(document, space):
    for inset in (0, 5, 8):
        box_of(space, corners=[(inset, inset), (40 - inset, inset), (40 - inset, 20 - inset), (inset, 20 - inset)])


def _stray(document, space):
    box_of(space, layer="cut")
    space.add_line((0, 25), (40, 25), dxfattribs={"layer": "size"})


@pytest.mark.parametrize(
    ("draw", "said"),
    [
        (_in_space, '"own.dxf" is drawn in space: a line leaves its plane; export the flat view of it'),
        (
            _island,
            '"own.dxf" has an outline inside an opening, at 8.00, 8.00 mm (0.315, 0.315 in), which would fall out',
        ),
        (_stray, "nothing goes on from there; close the outline; or take one layer alone: cut, size"),
    ],
)
def test_what_cannot_be_an_outline_is_refused(dxf, draw, said):
    with pytest.raises(InputError) as error:
        read_outlines(dxf(draw))
    assert said in str(error.value)


def test_group_of_an_svg_is_taken_alone(tmp_path):
    shapes = '<g id="cut"><g><rect x="10" y="10" width="60" height="30"/></g></g>'
    shapes += '<g id="frame"><rect width="100" height="50"/></g>'
    path = tmp_path / "own.svg"
    path.write_text(SVG.format(shapes), encoding="utf-8")
    assert 1800.0 == pytest.approx(area(read_outlines(path, layer="cut")[0]))
    with pytest.raises(InputError, match='has no group with the id "cutt". Did you mean "cut"'):
        read_outlines(path, layer="cutt")


def test_places_in_an_svg_are_as_it_counts_them(tmp_path):
    path = tmp_path / "own.svg"
    path.write_text(SVG.format('<path d="M 10 10 H 50 V 30 H 10"/>'), encoding="utf-8")
    with pytest.raises(InputError, match="a line ends at 10.00, 30.00 mm"):
        read_outlines(path)
