"""Blanks of sizes that share no common measure with the sheet find their place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.core.outline import rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces

SHEET = Sheet("s", "m", 1.0, 1219.1999999999998, 609.5999999999999, 6.35)
SHEAR = CuttingTool("shear", "shear")
ROUTER = CuttingTool("router", "profile-cut", gap=8.89)
side = st.floats(5.0, 596.0)


@given(width=side, height=side, tool=st.sampled_from([SHEAR, ROUTER]))
def test_a_blank_that_fits_is_placed(width: float, height: float, tool: CuttingTool) -> None:
    piece = Piece("p", rectangle(0, 0, width, height), (), 1, (0.0, 180.0))
    result = nest_pieces(Problem([piece], [SHEET], tool))
    assert () == result.unplaced
    assert [1] == [len(nest.placements) for nest in result.nests]


@pytest.mark.parametrize("tool", [SHEAR, ROUTER])
def test_a_blank_as_large_as_the_usable_sheet(tool: CuttingTool) -> None:
    piece = Piece("p", rectangle(0, 0, SHEET.width - 12.7, SHEET.height - 12.7), (), 1, (0.0, 180.0))
    result = nest_pieces(Problem([piece], [SHEET], tool))
    assert () == result.unplaced
