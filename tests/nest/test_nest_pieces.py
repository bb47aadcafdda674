"""Nests as a workshop would check them: everything placed or reported, every rule kept, and really cut up again."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import few
from nest_verifier import check_result

from flatgen.core.outline import circle, polygon, rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces

SHEAR = CuttingTool("shear", "shear")
SAW = CuttingTool("saw", "shear", kerf=3.0)
ROUTER = CuttingTool("router", "profile-cut", gap=9.0)
ALONG = (0.0, 180.0)
QUARTERS = (0.0, 90.0, 180.0, 270.0)


def sheet(width=1000.0, height=500.0, name="S", **more) -> Sheet:
    return Sheet(name, "2024-T3", 1.0, width, height, **more)


def plate(part, width, height, quantity=1, rotations=ALONG, cutouts=(), may_mirror=False) -> Piece:
    return Piece(part, rectangle(0, 0, width, height), cutouts, quantity, rotations, may_mirror)


def run(pieces, sheets, tool, **more):
    result = nest_pieces(Problem(pieces, sheets, tool, **more))
    check_result(result, pieces, sheets, tool)
    return result


@pytest.mark.parametrize("tool", [SHEAR, SAW, ROUTER], ids=lambda tool: tool.name)
def test_one_piece_as_large_as_the_usable_sheet(tool) -> None:
    """Limiting case by head: it fits exactly once."""
    result = run([plate("A", 980, 480, 2)], [sheet(margin=10, copies=None)], tool)
    assert 2 == len(result.nests)
    assert not result.unplaced


@pytest.mark.parametrize("tool", [SHEAR, ROUTER], ids=lambda tool: tool.name)
def test_a_piece_too_large_is_reported(tool) -> None:
    """A hair over the usable width in the only way it may lie."""
    result = run([plate("A", 980.1, 480), plate("B", 100, 100)], [sheet(margin=10)], tool)
    assert [("A", 1)] == [(u.part, u.quantity) for u in result.unplaced]
    assert "larger than the usable part" in result.unplaced[0].reason


@pytest.mark.parametrize("tool", [SHEAR, ROUTER], ids=lambda tool: tool.name)
def test_too_little_stock_says_what_to_buy(tool) -> None:
    """One sheet on hand, four needed: three to buy, and the pieces named."""
    result = run([plate("A", 900, 400, 4)], [sheet(copies=1)], tool)
    assert (("S", 3),) == result.to_buy
    assert [("A", 3)] == [(u.part, u.quantity) for u in result.unplaced]
    assert "3 of S" in result.unplaced[0].reason


def test_no_sheet_of_this_metal() -> None:
    """Without stock the reason says so."""
    result = nest_pieces(Problem([plate("A", 10, 10)], [], SHEAR))
    assert "no sheet of this material" in result.unplaced[0].reason


def test_remnants_come_first() -> None:
    """A job that fits on the remnant leaves the full sheets alone."""
    stock = [sheet(name="full", cost=100.0), sheet(400, 300, name="drop", copies=1, remnant=True)]
    result = run([plate("A", 100, 100, 6)], stock, SHEAR)
    assert ["drop"] == [nest.sheet.id for nest in result.nests]
    assert () == result.to_buy


def test_equal_blanks_reach_the_best_rows() -> None:
    """100 blanks of 90 x 48 on 1000 x 500: eleven in a row, ten rows; the hand count of any shop."""
    result = run([plate("A", 90, 48, 110)], [sheet()], SHEAR)
    assert 1 == len(result.nests)


def test_long_cuts_are_kept_off_a_short_shear() -> None:
    """A shear 600 mm long cannot rip a 1000 mm sheet; the independent check measures every cut."""
    short = CuttingTool("short shear", "shear", longest_cut=600.0)
    result = run([plate("A", 120, 80, 20), plate("B", 300, 60, 5)], [sheet(margin=5)], short)
    assert 25 == sum(len(nest.placements) for nest in result.nests)


def test_strips_narrower_than_the_shear_can_hold_are_reported() -> None:
    """A 10 mm blank on a shear that holds no less than 15 mm."""
    tool = CuttingTool("shear", "shear", smallest_strip=15.0)
    result = run([plate("A", 200, 10, 3), plate("B", 100, 40, 3)], [sheet()], tool)
    assert ["A"] == [u.part for u in result.unplaced]
    assert "smallest strip" in result.unplaced[0].reason


def test_grain_of_the_sheet_turns_the_pieces() -> None:
    """A sheet rolled across its width takes an along-grain blank only turned by a quarter."""
    result = run([plate("A", 450, 100, 1)], [sheet(grain=90.0)], SHEAR)
    assert {90.0, 270.0} >= {p.rotation for nest in result.nests for p in nest.placements}


def test_same_input_same_nest() -> None:
    """Twice the same, to the last digit."""
    pieces = [plate("A", 133, 71, 20, QUARTERS), plate("B", 210, 55, 12), plate("C", 40, 40, 33)]
    for tool in (SHEAR, SAW, ROUTER):
        assert run(pieces, [sheet(margin=8)], tool) == run(pieces, [sheet(margin=8)], tool)


def test_waste_adds_up() -> None:
    """Blanks, margin, kerf, off-cuts and scrap make up the sheets."""
    w = run([plate("A", 133, 71, 20), plate("B", 210, 55, 12)], [sheet(margin=8)], SAW).waste
    assert w.sheets == pytest.approx(w.blanks + w.margin + w.kerf + w.gap + w.offcuts + w.scrap)


def test_blanks_that_are_no_rectangles_are_listed_for_trimming() -> None:
    """The shear cuts their rectangles; the plain plate needs no trim."""
    wedge = Piece("W", polygon([(0, 0), (80, 0), (60, 50), (0, 50)]), (), 3, ALONG)
    assert (("W", 3),) == run([plate("A", 60, 40, 2), wedge], [sheet()], SHEAR).trims
    assert () == run([wedge], [sheet()], ROUTER).trims


def test_a_round_blank_keeps_its_gap() -> None:
    """Arcs count as arcs: discs of 100 mm at 9 mm gap."""
    disc = Piece("D", circle((0, 0), 100), (), 12, None)
    assert 12 == sum(len(n.placements) for n in run([disc], [sheet()], ROUTER).nests)


size = st.integers(5, 600).map(float) | st.floats(5, 300).map(lambda v: round(v, 2))
rotations = st.sampled_from([ALONG, QUARTERS, None, (0.0,), (30.0, 210.0)])


@st.composite
def any_piece(draw, index):
    w, h = draw(size), draw(size)
    shape = draw(st.sampled_from(["plate", "wedge", "angle"]))
    outline = {
        "plate": rectangle(0, 0, w, h),
        "wedge": polygon([(0, 0), (w, 0), (w * 0.7, h), (w * 0.2, h)]),
        "angle": polygon([(0, 0), (w, 0), (w, h * 0.4), (w * 0.4, h * 0.4), (w * 0.4, h), (0, h)]),
    }[shape]
    window = draw(st.booleans()) and shape == "plate" and min(w, h) > 40
    cutouts = (rectangle(10, 10, w - 20, h - 20),) if window else ()
    return Piece(f"P{index}", outline, cutouts, draw(st.integers(1, 6)), draw(rotations), draw(st.booleans()))


@st.composite
def any_sheet(draw, index):
    w, h = draw(st.integers(100, 900)), draw(st.integers(100, 900))
    bad = ()
    if draw(st.booleans()):
        bad = ((float(draw(st.integers(0, w - 20))), float(draw(st.integers(0, h - 20))), 20.0, 20.0),)
    return sheet(
        float(w),
        float(h),
        f"S{index}",
        margin=draw(st.sampled_from([0.0, 5.0, 12.5, 60.0])),
        copies=draw(st.sampled_from([None, 1, 2])),
        cost=draw(st.sampled_from([None, 10.0, 25.0])),
        grain=draw(st.sampled_from([0.0, 90.0])),
        remnant=draw(st.booleans()),
        bad_areas=bad,
    )


@pytest.mark.parametrize(("width", "height"), [(100.0, 501.0), (501.0, 100.0)])
def test_a_strip_that_is_alone_is_cut_off_before_its_blanks(width, height) -> None:
    """Two blanks side by side: with cuts of the sheet's whole long side the shear could not free them."""
    tool = CuttingTool("short shear", "shear", longest_cut=500.0)
    result = run([plate("A", 12, 12, 2)], [sheet(width, height, copies=None)], tool)
    assert not result.unplaced
    assert max(abs(c.start[0] - c.end[0]) + abs(c.start[1] - c.end[1]) for c in result.nests[0].cuts) <= 100.0


tools = st.sampled_from(
    [
        SHEAR,
        SAW,
        CuttingTool("wide saw", "shear", kerf=40.0),
        CuttingTool("two-stage shear", "shear", max_stages=2),
        CuttingTool("short shear", "shear", longest_cut=500.0, smallest_strip=12.0),
        ROUTER,
        CuttingTool("snips", "profile-cut", gap=0.0),
    ]
)


@settings(max_examples=few(60))
@given(data=st.data(), tool=tools, count=st.integers(1, 5), stock=st.integers(1, 3))
def test_whatever_is_asked_is_placed_or_reported(data, tool, count, stock) -> None:
    """Random pieces on random stock: the independent check finds nothing broken and nothing lost."""
    pieces = [data.draw(any_piece(i)) for i in range(count)]
    sheets = [data.draw(any_sheet(i)) for i in range(stock)]
    result = run(pieces, sheets, tool)
    assert sum(p.quantity for p in pieces) == sum(u.quantity for u in result.unplaced) + sum(
        Counter(p.part for n in result.nests for p in n.placements).values()
    )


@settings(max_examples=few(40))
@given(data=st.data(), tool=st.sampled_from([SHEAR, SAW, ROUTER]), count=st.integers(1, 4))
def test_what_fits_on_a_sheet_that_can_be_bought_is_never_left_over(data, tool, count) -> None:
    """By head: a rectangle no larger than the usable sheet in an allowed turn finds a place."""
    pieces = [plate(f"P{i}", data.draw(size), data.draw(size), 3, data.draw(rotations)) for i in range(count)]
    result = run(pieces, [sheet(700.0, 450.0, margin=7.5)], tool)
    lost = {u.part for u in result.unplaced}
    for piece in pieces:
        width, height = piece.outline[2][0], piece.outline[2][1]
        turns = piece.rotations if piece.rotations is not None else QUARTERS
        fits = any(
            (w <= 685.0 and h <= 435.0)
            for turn in turns
            for w, h in [(width, height) if turn % 180 == 0 else (height, width)]
            if turn % 90 == 0
        )
        assert not (fits and piece.part in lost), piece
