"""Scratched sheets: what is cut, kept and called an off-cut. Lengths mm. Common practice, no source."""

import pytest
from nest_verifier import check_result

from flatgen.core.outline import rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces

ALONG = (0.0, 180.0)
SHEAR = CuttingTool("shear", "shear", smallest_strip=20.0)
THREE = (Piece("A", rectangle(0, 0, 200, 100), (), 3, ALONG),)
ROUTER = CuttingTool("router", "profile-cut", gap=9.0)


def nested(sheet, tool=SHEAR, pieces=THREE):
    result = nest_pieces(Problem(pieces, [sheet], tool))
    check_result(result, pieces, [sheet], tool)
    return result


def sheet(*bad_areas, margin=10.0):
    return Sheet("S", "a", 1.0, 1000.0, 600.0, margin, 1, None, bad_areas=bad_areas)


def test_a_scratch_in_the_margin_is_cut_off_what_is_kept() -> None:
    """Blanks never reach the margin, but the off-cut does: its scratch comes off, and the cut for it is in the list."""
    result = nested(sheet((900.0, 595.0, 20.0, 5.0)))
    assert max(o.width * o.height for o in result.nests[0].offcuts) > 0.3 * 1000.0 * 600.0
    assert [c.note for c in result.nests[0].cuts if "bad area" in c.note]


@pytest.mark.parametrize("at", [(0.0, 0.0), (985.0, 585.0), (12.0, 300.0), (480.0, 280.0), (480.0, 575.0)])
def test_no_cut_leaves_two_pieces_that_the_shear_cannot_hold(at) -> None:
    """Two scratches with a narrow strip between them: nothing is cut out of that strip."""
    x, y = at
    result = nested(sheet((x, y, 15.0, 15.0), (x + 5.0, y - 30.0, 15.0, 15.0), (x - 25.0, y, 15.0, 12.0)))
    assert not result.unplaced


def test_the_cut_clear_of_a_scratch_says_which_piece_goes_on() -> None:
    """A scratch along the whole near edge: the gauged piece is scrap."""
    notes = [c.note for c in nested(sheet((0.0, 0.0, 60.0, 600.0))).nests[0].cuts if "bad area" in c.note]
    assert notes == ["cut clear of the bad area; the gauged piece is scrap, keep the other"]


def test_a_sheet_scratched_all_over_takes_nothing() -> None:
    """Every piece is reported, no cut is made."""
    assert 3 == sum(u.quantity for u in nested(sheet((0.0, 0.0, 1000.0, 600.0))).unplaced)


def test_an_offcut_beside_routed_parts_leaves_room_for_the_bit() -> None:
    """What the router takes beside the parts is not part of the off-cut."""
    (nest,) = nested(sheet(), ROUTER).nests
    edges = [p.x + 200.0 for p in nest.placements]
    assert max(edges) + 9.0 == pytest.approx(max(o.x for o in nest.offcuts))


@pytest.mark.parametrize("kerf", [0.0, 3.0, 40.0])
def test_chips_in_the_margin_are_counted_once(kerf) -> None:
    """A wide saw whose cuts run over margins and out over the far edge: no kind of waste is below nothing."""
    tool = CuttingTool("saw", "shear", kerf=kerf)
    narrow = Sheet("S", "a", 1.0, 260.0, 200.0, 25.0, None, None)
    result = nested(narrow, tool, (Piece("A", rectangle(0, 0, 60, 45), (), 6, ALONG),))
    assert result.waste.scrap >= 0.0


def test_no_cut_is_made_for_metal_that_nobody_wants() -> None:
    """Three cuts clear a scratch from a small sheet; the scrap beside the scratch is not cut any further."""
    small = Sheet("S", "a", 1.0, 600.0, 400.0, 3.0, 1, bad_areas=((100.0, 100.0, 60.0, 40.0),))
    pieces = (Piece("A", rectangle(0, 0, 300, 180), (), 2, ALONG), Piece("B", rectangle(0, 0, 120, 75), (), 9, ALONG))
    assert 3 == sum("bad area" in c.note for c in nested(small, pieces=pieces).nests[0].cuts)


def test_an_offcut_with_two_scratches_is_cleared_cut_by_cut() -> None:
    """One off the end, then one off the near edge: the second cut is made on what the first has left."""
    short = CuttingTool("shear", "shear", longest_cut=400.0)
    metal = Sheet("S", "a", 1.0, 700.0, 300.0, 8.0, 1, bad_areas=((450.0, 0.0, 8.0, 5.0), (694.0, 0.0, 6.0, 5.0)))
    result = nested(metal, short, (Piece("A", rectangle(0, 0, 300, 280), (), 1, ALONG),))
    assert 2 == sum("bad area" in c.note for c in result.nests[0].cuts)
