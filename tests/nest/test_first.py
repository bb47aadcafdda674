"""Test bends: cut before all others, from a remnant or a strip of their own, on the shear as on the router."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import few
from nest_verifier import check_result

from flatgen.core.outline import rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces

SHEAR = CuttingTool("shear", "shear", smallest_strip=9.0)
SAW = CuttingTool("saw", "shear", kerf=2.5)
ROUTER = CuttingTool("router", "profile-cut", gap=8.0)


def run(pieces, sheets, tool):
    result = nest_pieces(Problem(pieces, sheets, tool))
    check_result(result, pieces, sheets, tool)
    return result


def sheet(width, height, name="S", **more) -> Sheet:
    return Sheet(name, "A", 1.0, width, height, **more)


def coupons(many=3, name="CP1") -> Piece:
    return Piece(name, rectangle(0, 0, 25, 72), (), many, (0.0, 180.0), first=True)


BLANKS = Piece("P", rectangle(0, 0, 90, 48), (), 40, (0.0, 180.0))


@pytest.mark.parametrize("tool", [SHEAR, SAW, ROUTER], ids=lambda tool: tool.name)
def test_they_come_off_a_strip_that_the_first_cut_frees(tool) -> None:
    """One sheet; the blanks lie beyond the strip, and what it costs is told."""
    (nest,) = run([BLANKS, coupons()], [sheet(900, 520, margin=6)], tool).nests
    assert ("CP1",) == nest.first
    assert 43 == len(nest.placements)
    assert 0.0 < nest.first_lost < 0.2


@pytest.mark.parametrize("tool", [SHEAR, ROUTER], ids=lambda tool: tool.name)
def test_a_remnant_is_taken_before_a_sheet(tool) -> None:
    stock = [sheet(900, 520, margin=6, cost=50.0), sheet(130, 90, "drop", copies=1, remnant=True)]
    first, second = run([BLANKS, coupons()], stock, tool).nests
    assert ("drop", ("CP1",)) == (first.sheet.id, first.first)
    assert ("S", ()) == (second.sheet.id, second.first)


def test_more_than_a_sheet_of_them_has_sheets_of_its_own() -> None:
    """By head: 200 x 150 takes 8 x 2 of them, and no two of three sorts side by side with a blank."""
    pieces = [BLANKS, coupons(12), coupons(11, "CP2")]
    result = run(pieces, [sheet(200, 150)], SHEAR)
    assert not result.unplaced
    assert [True, True] == [bool(nest.first) for nest in result.nests][:2]
    assert not any(nest.first for nest in result.nests[2:])


SHORT = CuttingTool("short shear", "shear", longest_cut=500.0, smallest_strip=12.0)
tools = st.sampled_from([SHEAR, SAW, ROUTER, SHORT])
sheets = st.sampled_from([(600, 420), (400, 500), (260, 240)])
blanks = st.tuples(st.integers(20, 200), st.integers(20, 200), st.integers(1, 8), st.booleans())


@settings(max_examples=few(40))
@given(st.lists(blanks, min_size=1, max_size=6), tools, sheets, st.booleans())
def test_whatever_is_asked_they_come_first(sizes, tool, size, bad) -> None:
    """Random orders: the independent check cuts every sheet and finds nothing cut before they are free."""
    pieces = [
        Piece(f"P{n}", rectangle(0, 0, w, h), (), many, (0.0, 180.0), first=first)
        for n, (w, h, many, first) in enumerate(sizes)
    ]
    scratch = ((30.0, 20.0, 15.0, 40.0),) if bad else ()
    stock = [sheet(*size, margin=5, bad_areas=scratch), sheet(210, 160, "drop", copies=1, remnant=True)]
    result = run(pieces, stock, tool)
    lost = {u.part: u.quantity for u in result.unplaced}
    assert all(lost.get(p.part, 0) in (0, p.quantity) for p in pieces)
