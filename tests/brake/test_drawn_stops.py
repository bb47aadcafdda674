"""Stops are drawn where the gauged edge is: each block touches metal and none stands in it."""

from functools import cache

import pytest
from bending_jobs import planned_jobs
from making import few
from shapely.geometry import Polygon
from shapely.ops import unary_union

from flatgen.draw.setup_views import plan_view, section_view
from flatgen.jobs.loading import load
from flatgen.jobs.make import planned
from flatgen.page.drawing import Contour

BOX = (0.0, 0.0, 130.0, 90.0)


@cache
def setups(where, root):
    results = planned(load(root / where)) if where else None
    return [results] if results else list(planned_jobs(seed=18, count=few(12, 6)))


def shapes(items, *layers):
    found = [i.outline for i in items if isinstance(i, Contour) and i.layer in layers and len(i.outline) > 2]
    return [Polygon([v[:2] for v in outline]) for outline in found]


@pytest.mark.parametrize("where", ["examples/float-fittings/job.toml", ""])
def test_blocks_touch_the_metal_and_leave_it_whole(where, root) -> None:
    """Seen from above."""
    seen = 0
    for results in setups(where, root):
        for setup in (one for one in results.setups if one.stop_side != "squeeze"):
            for op in setup.operations:
                items = plan_view(op, setup, BOX, "mm", None)
                metal = unary_union([shape.buffer(0) for shape in shapes(items, "outline", "formed", "metal")])
                blocks = shapes(items, "stop")
                assert bool(blocks) == (setup.stop_side != "sight"), (op.part, op.bend)
                for block in blocks:
                    assert block.buffer(0.02).intersection(metal).area > 0.01, (op.part, op.bend)
                    # metal may hang over a pad that bears on a standing flange; behind an edge there is none
                    if op.gauge_kind == "edge":
                        assert block.intersection(metal).area < 0.05, (op.part, op.bend)
                seen += len(blocks)
    assert seen > 10


@pytest.mark.parametrize("where", ["examples/float-fittings/job.toml", ""])
def test_the_block_seen_from_the_side_touches_too(where, root) -> None:
    for results in setups(where, root):
        for setup in (one for one in results.setups if one.stop_side != "squeeze"):
            for op in setup.operations:
                items = section_view(op.picture, op.picture.before, BOX, leaf_up=False)
                metal = unary_union([shape.buffer(0) for shape in shapes(items, "metal", "formed")])
                for block in shapes(items, "stop"):
                    assert block.distance(metal) < 0.02, (op.part, op.bend)
