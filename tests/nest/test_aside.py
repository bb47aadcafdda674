"""A side strip with one long off-cut: by hand on one sheet, and for any blanks by really cutting them up."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import few
from nest_verifier import check_result

import flatgen.nest.guillotine.finish
from flatgen.core.outline import rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import nest_pieces

SHEAR = CuttingTool("shear", "shear")
LIMITED = CuttingTool("short shear", "shear", longest_cut=700.0, smallest_strip=12.0)


def nested(pieces, sheets, tool=SHEAR):
    result = nest_pieces(pieces, sheets, tool, material="6061-T6", thickness=1.0, aim="metal")
    check_result(result, pieces, sheets, tool)
    return result


def largest(result):
    return max((o.width * o.height for o in result.nests[-1].offcuts), default=0.0)


def test_small_blanks_share_the_side_strip_of_one_long_offcut() -> None:
    """25 blanks of 205 x 110 in five rows on 1220 x 610, and five of 25 x 73; neither may be turned a quarter.

    Each row ends 195 from the right edge. One cut along all rows leaves 195 x 610; the five small ones stand side by
    side across its foot, 125 of 195 wide and 73 high, so that 195 x 537 is left in one piece.
    """
    pieces = [
        Piece("A", rectangle(0, 0, 205, 110), (), 25, (0.0, 180.0), False),
        Piece("C", rectangle(0, 0, 25, 73), (), 5, (0.0, 180.0), False),
    ]
    result = nested(pieces, [Sheet("S", "6061-T6", 1.0, 1220.0, 610.0, copies=None)])
    assert 1 == len(result.nests)
    assert largest(result) >= 195.0 * 537.0 - 1.0


blanks = st.lists(
    st.tuples(st.integers(20, 300), st.integers(20, 180), st.integers(1, 12), st.booleans()), min_size=1, max_size=4
)


@settings(max_examples=few(30))
@given(
    sizes=blanks,
    size=st.tuples(st.integers(500, 900), st.integers(400, 650)),
    margin=st.sampled_from([0.0, 6.0]),
    tool=st.sampled_from([SHEAR, CuttingTool("saw", "shear", kerf=3.0), LIMITED]),
)
def test_offcut_is_no_smaller_for_it_and_nothing_is_lost(sizes, size, margin, tool) -> None:
    pieces = [
        Piece(f"P{k}", rectangle(0, 0, w, h), (), n, (0.0, 90.0) if turn else (0.0, 180.0), False)
        for k, (w, h, n, turn) in enumerate(sizes)
    ]
    sheets = [Sheet("S", "6061-T6", 1.0, *map(float, size), margin=margin, copies=None)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(flatgen.nest.guillotine.finish, "larger_offcuts", lambda filled, *rest: list(filled))
        plain = nested(pieces, sheets, tool)
    result = nested(pieces, sheets, tool)
    assert len(result.nests) == len(plain.nests)
    assert largest(result) >= largest(plain) - 1.0
    placed = Counter(p.part for nest in result.nests for p in nest.placements)
    assert placed == Counter(p.part for nest in plain.nests for p in nest.placements)
