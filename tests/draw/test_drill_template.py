"""Drill templates: pilots where the blank has them, pins that touch its datum edges from outside, their side said."""

import math

import ezdxf
import pytest
from page_texts import clashes, texts_of
from shapely.geometry import Point, Polygon

from flatgen.draw.drill_template import PIN, pilots, pins, wanted
from flatgen.drawings import drill_drawings
from flatgen.jobs.loading import load
from flatgen.jobs.make import planned
from flatgen.write import dxf


@pytest.fixture(scope="module")
def results(root):
    return planned(load(root / "examples/float-fittings/job.toml"))


def test_pins_touch_the_blank_from_outside(results) -> None:
    own = [one for one in results.parts if wanted(one.part, one.blank)]
    assert own
    for one in own:
        metal = Polygon([v[:2] for v in one.blank.outline])
        for at in pins(one.blank):
            assert metal.distance(Point(at)) == pytest.approx(PIN / 2.0, abs=1e-6)


def test_files_hold_the_pilots_and_the_name(results, tmp_path) -> None:
    paper, *files = drill_drawings(results)
    made = {one.part.id: one for one in results.parts}
    for number, file in enumerate(files):
        dxf.write(file.drawings[0], tmp_path / f"{number}.dxf")
        circles = ezdxf.readfile(tmp_path / f"{number}.dxf").modelspace().query("CIRCLE")
        one = made[next(name for name in made if file.name == f"drill/{name}")]
        found = [(25.4 * c.dxf.center.x, 25.4 * c.dxf.center.y, 50.8 * c.dxf.radius) for c in circles]
        for hole in pilots(one.blank, results.job.shop.drills):
            place = (*hole.center, hole.diameter)
            assert any(math.dist(place, circle) < 1e-3 for circle in found)
        assert len(found) == len(pilots(one.blank, results.job.shop.drills)) + len(pins(one.blank))
    for page in paper.drawings:
        assert [] == clashes(page)
    said = [text.text for page in paper.drawings for text in texts_of(page)]
    assert any("THIS SIDE UP" in text for text in said)
