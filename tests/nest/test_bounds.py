"""Bounds held against what is known to be the best: published values, and small cases tried out in every way."""

import itertools
import math
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import few

from flatgen.core.outline import circle, moved, polygon, rectangle
from flatgen.core.points import laying
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest.bounds import area_bound, cost_bound

FIXED, QUARTERS = (0.0,), (0.0, 90.0)


def saw(kerf: float = 0.0) -> CuttingTool:
    return CuttingTool("saw", "shear", kerf=kerf)


def router(gap: float) -> CuttingTool:
    return CuttingTool("router", "profile-cut", gap=gap)


def sheet(width, height, cost=1.0, copies=None, **more) -> Sheet:
    return Sheet(f"{width}x{height}", "A", 1.0, width, height, cost=cost, copies=copies, **more)


def plates(sizes, turns=FIXED) -> list[Piece]:
    return [Piece(f"P{n}", rectangle(0, 0, w, h), (), many, turns) for n, (w, h, many) in enumerate(sizes)]


def test_five_squares_on_a_sheet_for_four() -> None:
    """By head: four squares of half the side fill a sheet to the last hair, and 17 of them need five sheets."""
    assert 4.0 == pytest.approx(cost_bound(plates([(50, 50, 16)]), [sheet(100, 100)], saw()))
    assert 5.0 == pytest.approx(cost_bound(plates([(50, 50, 17)]), [sheet(100, 100)], saw()))
    assert 5.0 == pytest.approx(cost_bound(plates([(50, 50, 16)]), [sheet(100, 100)], saw(0.5)))
    assert 4.0 == pytest.approx(cost_bound(plates([(50, 50, 16)]), [sheet(100.5, 100.5)], saw(0.5)))


def test_remnants_and_stock_on_hand_are_taken_off() -> None:
    """By head: of ten blanks three fill remnants, three the cheap sheets, and one dear sheet takes four."""
    ten = plates([(60, 60, 10)])
    stock = [sheet(60, 60, 0.0, 3, remnant=True), sheet(60, 60, 1.0, 3), sheet(120, 120, 5.0)]
    assert 3 * 1.0 + 5.0 == pytest.approx(cost_bound(ten, stock, saw()))


def test_what_a_remnant_takes_whole_costs_nothing() -> None:
    """Three plates and two small ones, all on one remnant: nothing is paid, to the last digit."""
    sizes = [(131.0, 127.0, 3), (5.0, 5.0, 1), (5.0, 5.0, 1)]
    pieces = [Piece(f"P{n}", rectangle(0, 0, w, h), (), many, (0.0, 180.0)) for n, (w, h, many) in enumerate(sizes)]
    stock = [
        Sheet("S", "A", 1.0, 100.0, 100.0),
        Sheet("R", "A", 1.0, 271.0, 516.0, margin=5.0, copies=1, remnant=True),
    ]
    assert 0.0 == cost_bound(pieces, stock, CuttingTool("shear", "shear"))


def test_what_is_spoilt_takes_room() -> None:
    """By head: a scratch across the middle leaves room for four blanks, so a fifth needs another sheet."""
    scratched = sheet(100, 100, 1.0, bad_areas=((45.0, 0.0, 10.0, 100.0),))
    assert 2.0 == pytest.approx(cost_bound(plates([(45, 50, 5)]), [scratched], saw()))
    assert 1.0 == pytest.approx(cost_bound(plates([(45, 50, 4)]), [scratched], saw()))


def test_a_blank_free_of_grain_may_lie_on_the_slant() -> None:
    """By head: a bar of 120 x 2 lies across the diagonal of a sheet of 100 x 100, which the cheap stock is."""
    bar = plates([(120, 2, 1)], None)
    assert 1.0 == pytest.approx(cost_bound(bar, [sheet(100, 100, 1.0), sheet(150, 150, 3.0)], saw()))


@pytest.mark.parametrize("size", [(120.1, 40.1), (40.1, 120.1)])
def test_a_blank_drawn_on_the_slant(size) -> None:
    """By head: drawn at 30° it lies square on a sheet just larger than itself, whichever way that lies."""
    slanted = moved(rectangle(0, 0, 120, 40), laying(30.0, False))
    bound = cost_bound([Piece("S", slanted, (), 1, None)], [sheet(*size), sheet(300, 300, 5.0)], saw())
    assert 1.0 == pytest.approx(bound)


def test_rows_with_a_gap_fill_a_sheet() -> None:
    """By head: four by four squares of 22 with gaps of 4 are as wide as the sheet; all on one."""
    assert 1.0 == pytest.approx(cost_bound(plates([(22, 22, 16)]), [sheet(100, 100)], router(4.0)))


def test_openings_that_hold_blanks_count_for_the_blanks() -> None:
    """By head: a frame as large as the sheet holds a plate in its window, and that a disc."""
    gap = 2.0
    frame = Piece("F", rectangle(0, 0, 100, 100), (rectangle(10, 10, 90, 90),), 1, FIXED)
    plate = Piece("P", rectangle(0, 0, 76, 76), (circle((38, 38), 60),), 1, FIXED)
    disc = Piece("D", circle((0, 0), 56), (), 1, None)
    usable = [sheet(100, 100)]
    assert 1.0 == pytest.approx(cost_bound([frame, plate, disc], usable, router(gap)))


def test_a_blank_in_the_mouth_of_another() -> None:
    """By head: a bar lies in a channel with the gap all round, both fill the sheet, level at the top."""
    channel = polygon([(0, 0), (100, 0), (100, 50), (80, 50), (80, 20), (20, 20), (20, 50), (0, 50)])
    bar = Piece("B", rectangle(0, 0, 54, 27), (), 1, FIXED)
    bound = cost_bound([Piece("C", channel, (), 1, FIXED), bar], [sheet(100, 50)], router(3.0))
    assert 1.0 == pytest.approx(bound)


# every way tried


@cache
def fits(width: int, height: int, sizes: tuple[tuple[int, int], ...], turned: bool) -> bool:
    """Whether rectangles of whole sizes lie in a rectangle without overlap, any layout, by trying all places."""
    if sum(w * h for w, h in sizes) > width * height:
        return False

    def place(number: int, taken: int) -> bool:
        if number == len(sizes):
            return True
        w, h = sizes[number]
        for a, b in {(w, h), (h, w)} if turned else {(w, h)}:
            for x in range(width - a + 1):
                for y in range(height - b + 1):
                    here = 0
                    for row in range(y, y + b):
                        here |= ((1 << a) - 1) << (row * width + x)
                    if not here & taken and place(number + 1, taken | here):
                        return True
        return False

    return place(0, 0)


def cheapest(sizes, stock, kerf: int, turned: bool) -> float:
    """Least cost of sheets for all the blanks, by every way to share them out; infinite where they do not fit."""
    grown = sorted(((w + kerf, h + kerf) for w, h in sizes), reverse=True)
    used = [0] * len(stock)
    best = math.inf

    def share(left: tuple[tuple[int, int], ...], cost: float) -> None:
        nonlocal best
        if cost >= best:
            return
        if not left:
            best = cost
            return
        first, others = left[0], left[1:]
        for number, s in enumerate(stock):
            if s.copies is not None and used[number] >= s.copies:
                continue
            used[number] += 1
            for many in range(len(others), -1, -1):
                for some in set(itertools.combinations(range(len(others)), many)):
                    chosen = (first, *(others[n] for n in some))
                    if fits(int(s.width) + kerf, int(s.height) + kerf, chosen, turned):
                        rest = tuple(size for n, size in enumerate(others) if n not in some)
                        share(rest, cost + (0.0 if s.remnant else s.cost))
            used[number] -= 1

    share(tuple(grown), 0.0)
    return best


SIZE = st.integers(1, 6)
SHEETS = st.lists(
    st.tuples(st.integers(3, 7), st.integers(3, 7), st.sampled_from([1.0, 1.5, 2.0])), min_size=1, max_size=2
)


@settings(max_examples=few(150))
@given(
    st.lists(st.tuples(SIZE, SIZE), min_size=1, max_size=5), SHEETS, st.booleans(), st.integers(0, 1), st.integers(0, 1)
)
def test_no_bound_is_above_the_best_of_all_layouts(sizes, sheets, turned, kerf, drops) -> None:
    """Whole sizes, two sorts of sheet to buy, a remnant: what is proved never passes what trying every way finds."""
    stock = [sheet(w, h, cost) for w, h, cost in sheets]
    if drops:
        stock.append(sheet(4, 3, 0.0, 1, remnant=True))
    best = cheapest(sizes, stock, kerf, turned)
    if math.isinf(best):
        return
    pieces = plates([(w, h, 1) for w, h in sizes], QUARTERS if turned else FIXED)
    assert area_bound(pieces, stock) - 1e-6 <= cost_bound(pieces, stock, saw(kerf)) + 1e-6
    assert cost_bound(pieces, stock, saw(kerf)) <= best + 1e-6


# Two problems of the usual test set for packing rectangles into equal squares, with the fewest squares known in any
# layout, fixed and turned: class 1 of Berkey and Wang (1987) and class 7 of Martello and Vigo (1998), the first of
# each with 60 rectangles; sizes and best known values as public collections of solutions have them.
CLASS_1 = (
    "7x5 10x6 5x6 7x2 4x8 9x10 8x5 8x6 4x9 9x3 3x10 9x5 1x7 8x9 4x6 3x6 4x3 10x2 6x1 1x4 7x4 10x2 8x9 4x2 4x8 6x1 "
    "2x5 9x10 4x8 1x4 4x7 3x10 10x8 10x10 2x8 9x8 7x9 3x2 10x4 4x3 3x1 1x5 1x2 4x6 2x2 10x8 6x7 4x4 8x9 9x3 7x2 "
    "8x5 2x4 10x5 8x7 5x1 3x4 8x5 9x4 8x9 "
)
CLASS_7 = (
    "85x32 25x26 93x32 96x46 86x36 16x97 98x42 94x21 94x1 19x83 76x14 100x8 76x29 88x19 96x47 20x70 2x78 72x23 "
    "36x42 66x17 99x18 98x39 40x48 97x39 57x80 98x17 68x16 66x22 85x5 71x6 31x97 77x18 60x90 80x56 79x37 98x24 "
    "69x37 76x20 79x40 86x93 11x98 73x44 87x5 88x73 85x17 78x30 68x32 67x15 70x49 88x77 92x20 84x19 99x43 79x37 "
    "90x20 75x34 66x49 74x8 44x87 74x11 "
)


@pytest.mark.parametrize(
    ("words", "side", "turns", "best", "least"),
    [
        (CLASS_1, 10, FIXED, 23, 21),
        (CLASS_1, 10, QUARTERS, 22, 21),
        (CLASS_7, 100, FIXED, 17, 15),
        (CLASS_7, 100, QUARTERS, 16, 15),
    ],
)
def test_published_best_known_values(words, side, turns, best, least) -> None:
    """Never above the best known, and metal alone (20.1 and 14.7 sheets) in whole sheets."""
    sizes = [(*map(int, word.split("x")), 1) for word in words.split()]
    bound = cost_bound(plates(sizes, turns), [sheet(side, side)], saw())
    assert least - 1e-6 <= bound <= best
    assert math.ceil(area_bound(plates(sizes, turns), [sheet(side, side)])) < bound + 1e-6
