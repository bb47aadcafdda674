"""Fewer gauge settings for filled sheets: the same blanks, no off-cut smaller, and all really cut up again."""

import random
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import few
from nest_verifier import check_result

from flatgen.core.outline import rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import nest_pieces
from flatgen.nest.guillotine import finish
from flatgen.nest.guillotine.block import Block, column, leaves, row, tidy
from flatgen.nest.guillotine.cuts import CutPlan, take_apart
from flatgen.nest.guillotine.fewer_settings import fewest_settings
from flatgen.nest.guillotine.greedy import Bin, Filled
from flatgen.nest.guillotine.hold import settings as set_times
from flatgen.nest.guillotine.knapsacks import Rules
from flatgen.nest.guillotine.order import in_order
from flatgen.nest.kinds import Kind, Turn

LARGE = (150.0, 100.0)
A, B = Block(100, 50, 0), Block(80, 45, 1)
KINDS = (Kind("A", (Turn(100, 50, ()),), 1, 1.0), Kind("B", (Turn(80, 45, ()),), 1, 1.0))


def cut_up(sheet: Filled, width=210.0, height=101.0) -> CutPlan:
    done = CutPlan()
    for block in sheet.blocks:
        take_apart(done, (0.0, 0.0, width, height), 0.0, 0.0, tidy(block), KINDS)
    return done


def times(sheets) -> int:
    return sum(set_times(in_order(cut_up(sheet))) for sheet in sheets)


def held(sheets) -> Counter:
    return Counter(leaf[:2] for sheet in sheets for block in sheet.blocks for leaf in leaves(block))


def test_equal_strips_come_together_on_one_sheet() -> None:
    """By head: two sheets with a strip of two A and one of two B each take 4 settings; sorted by sheets they take 2."""
    stock = [Bin(0, ((210.0, 101.0),), None, 1.0, KINDS, 2)]
    mixed = [Filled(0, (column([row([A, A]), row([B, B])]),))] * 2
    new = fewest_settings(mixed, stock, 0.0, Rules(), LARGE, cut_up)
    assert (8, 4) == (times(mixed), times(new))
    assert held(mixed) == held(new)


def test_strips_of_one_height_need_no_trims() -> None:
    """By head: two sheets with strips of an A and a lower B take 50, 100 and trims at 45 each; sorted, two a sheet."""
    kinds = (KINDS[0], Kind("B", (Turn(100, 45, ()),), 1, 1.0))
    low = Block(100, 45, 1)
    stock = [Bin(0, ((210.0, 101.0),), None, 1.0, kinds, 2)]
    mixed = [Filled(0, (column([row([A, low]), row([A, low])]),)), Filled(0, (column([row([A, low]), row([A, low])]),))]
    new = fewest_settings(mixed, stock, 0.0, Rules(), LARGE, cut_up)
    assert (6, 4) == (times(mixed), times(new))


def test_where_nothing_is_gained_all_stays() -> None:
    """One strip of equal blanks."""
    stock = [Bin(0, ((210.0, 101.0),), None, 1.0, KINDS, 2)]
    plain = [Filled(0, (row([A, A]),))]
    assert plain == fewest_settings(plain, stock, 0.0, Rules(), LARGE, cut_up)


size = st.integers(12, 300).map(float)
turns = st.sampled_from([(0.0, 180.0), (0.0, 90.0), None])
tools = st.sampled_from(
    [
        CuttingTool("shear", "shear"),
        CuttingTool("saw", "shear", kerf=3.0),
        CuttingTool("two-stage shear", "shear", max_stages=2),
        CuttingTool("any stages", "shear", max_stages=99),
        CuttingTool("short shear", "shear", longest_cut=500.0, smallest_strip=12.0),
    ]
)


@st.composite
def stock_of(draw):
    bad = ((200.0, 100.0, 30.0, 20.0),) if draw(st.booleans()) else ()
    margin = draw(st.sampled_from([0.0, 8.0]))
    large = Sheet("L", "A", 1.0, 900.0, 480.0, margin=margin, cost=10.0, bad_areas=bad)
    small = Sheet(
        "S", "A", 1.0, 500.0, 300.0, margin=margin, copies=2, cost=3.0, grain=draw(st.sampled_from([0.0, 90.0]))
    )
    return [large, small] if draw(st.booleans()) else [large]


@settings(max_examples=few(40))
@given(st.lists(st.tuples(size, size, st.integers(1, 9), turns), min_size=1, max_size=6), stock_of(), tools)
def test_fewer_settings_and_nothing_worse(sizes, stock, tool) -> None:
    """Random orders and stock: really cut by the independent check; cost, off-cuts and blanks as good as before."""
    pieces = [Piece(f"P{n}", rectangle(0, 0, w, h), (), many, way) for n, (w, h, many, way) in enumerate(sizes)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(finish, "fewest_settings", lambda filled, *_: filled)
        before = nest_pieces(pieces, stock, tool, material="A", thickness=1.0, aim="metal")
    after = nest_pieces(pieces, stock, tool, material="A", thickness=1.0, aim="metal")
    check_result(after, pieces, stock, tool)
    assert after.settings <= before.settings
    assert (after.cost, len(after.nests), after.unplaced) == (before.cost, len(before.nests), before.unplaced)
    assert after.figure <= before.figure + 1e-6
    kept = [sum(o.width * o.height for nest in r.nests for o in nest.offcuts) for r in (before, after)]
    assert kept[1] >= kept[0] - 1.0 - 1e-6 * kept[0]


def test_mixed_orders_take_fewer_settings() -> None:
    """Two orders of plates, drawn by seed, that may turn: the step after the search saves some settings."""
    saved = total = 0
    stock, shear = [Sheet("S", "A", 1.0, 1200.0, 800.0)], CuttingTool("shear", "shear")
    for seed in (4, 12):
        rng = random.Random(seed)
        sizes = [(5.0 * rng.randint(6, 50), 5.0 * rng.randint(6, 40), rng.randint(4, 12)) for _ in range(14)]
        pieces = [Piece(f"P{n}", rectangle(0, 0, w, h), (), many, (0.0, 90.0)) for n, (w, h, many) in enumerate(sizes)]
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(finish, "fewest_settings", lambda filled, *_: filled)
            before = nest_pieces(pieces, stock, shear, material="A", thickness=1.0, aim="metal").settings
        saved += before - nest_pieces(pieces, stock, shear, material="A", thickness=1.0, aim="metal").settings
        total += before
    assert 0 < saved < total
