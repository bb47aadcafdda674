"""After any number of cuts the metal of a sheet is what came off it, off-cuts, scrap and what is left: by shapely."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from flatgen.core.outline import flatten, moved, rectangle
from flatgen.model.plan import Nest, Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces
from flatgen.tally.sheets import last_cut, rest_nests, rest_sheets, state

TOOLS = (
    CuttingTool("shear", "shear"),
    CuttingTool("saw", "shear", kerf=2.5),
    CuttingTool("router", "profile-cut", gap=7.0),
)
SIZES = st.tuples(st.integers(20, 230), st.integers(20, 170), st.integers(1, 6))


def laid(sizes: list[tuple[int, int, int]], tool: CuttingTool) -> tuple[tuple[Nest, ...], dict]:
    pieces = [Piece(f"P{k}", rectangle(0, 0, w, h), (), n, (0.0, 180.0)) for k, (w, h, n) in enumerate(sizes)]
    sheet = Sheet("S", "2024-T3", 1.0, 610.0, 407.0, margin=4.0)
    result = nest_pieces(Problem(pieces, [sheet], tool, offcut=(90.0, 60.0)))
    return result.nests, {piece.part: piece.outline for piece in pieces}


def shape(placement, outlines) -> Polygon:
    return Polygon(flatten(moved(outlines[placement.part], placement.motion), 0.01))


def check(nest: Nest, outlines: dict, done: int, kerf: float) -> None:
    now = state(nest, outlines, done, kerf)
    off = [shape(p, outlines) for p in now.off]
    rects = [(o.x, o.y, o.width, o.height) for o in now.offcuts] + [*now.scrap]
    others = [box(x, y, x + w, y + h) for x, y, w, h in rects]
    rests = []
    for rest in now.rests:
        x, y, w, h = rest.rect
        gone = unary_union([box(a, b, a + c, b + d) for a, b, c, d in rest.gone])
        rests.append(box(x, y, x + w, y + h).difference(gone))
        assert all(rests[-1].buffer(0.01).contains(shape(p, outlines)) for p in rest.placements)
    metal = [*off, *others, *rests]
    whole = unary_union(metal)
    # nothing is there twice, nothing beyond the sheet, and every piece is off or still to come
    assert math.isclose(whole.area, math.fsum(m.area for m in metal), rel_tol=1e-6)
    assert box(0, 0, nest.sheet.width, nest.sheet.height).buffer(0.01).contains(whole)
    assert len(nest.placements) == len(now.off) + sum(len(rest.placements) for rest in now.rests)
    if nest.method == "shear":  # blanks are rectangles here: all that is not metal is none
        assert math.isclose(whole.area, nest.sheet.width * nest.sheet.height, rel_tol=1e-6)


@pytest.mark.parametrize("tool", TOOLS, ids=lambda tool: tool.name)
@settings(max_examples=15)
@given(sizes=st.lists(SIZES, min_size=1, max_size=5))
def test_no_metal_is_lost_or_found(tool: CuttingTool, sizes: list[tuple[int, int, int]]) -> None:
    nests, outlines = laid(sizes, tool)
    for nest in nests:
        last = last_cut(nest)
        for done in range(last + 1):
            check(nest, outlines, done, tool.kerf)
        end = state(nest, outlines, last, tool.kerf)
        assert (len(nest.placements), ()) == (len(end.off), end.rests)
        assert {o.id for o in nest.offcuts} == {o.id for o in end.offcuts}


@pytest.mark.parametrize("tool", TOOLS, ids=lambda tool: tool.name)
def test_what_is_left_can_be_cut_on_by_the_same_layout(tool: CuttingTool) -> None:
    """A rest by itself, with its own cuts, comes to the same pieces."""
    (nest,), outlines = laid([(150, 60, 5), (90, 170, 3), (33, 47, 6)], tool)
    half = last_cut(nest) // 2
    now = state(nest, outlines, half, tool.kerf)
    rests = rest_nests("S001", nest, now.rests)
    assert [s.id for s in rest_sheets("S001", nest.sheet, now.rests)] == [one.sheet.id for one in rests]
    come = []
    for one in rests:
        assert all(cut.order > half for cut in one.cuts)
        come += state(one, outlines, last_cut(one), tool.kerf).off
    assert sorted(p.part for p in nest.placements) == sorted(p.part for p in (*now.off, *come))
