"""A frozen nest comes back to the last digit, and only for the very same question."""

from dataclasses import replace

import pytest
from nest_verifier import check_result

from flatgen.core.outline import circle, rectangle
from flatgen.errors import InputError
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest import Problem, nest_pieces
from flatgen.nest.freeze import digest, load, save, stock_digest

SHEETS = [Sheet("S", "5052-H32", 1.0, 900.0, 500.0, margin=6.0), Sheet("T", "other", 1.0, 1.0, 1.0)]
PIECES = [
    Piece("A", rectangle(0, 0, 123.456, 77), (circle((30, 30), 20),), 9, (0.0, 180.0)),
    Piece("B", rectangle(0, 0, 40, 210), (), 5, None),
    Piece("C", rectangle(0, 0, 4000, 210), (), 1, None),
]


@pytest.mark.parametrize("tool", [CuttingTool("saw", "shear", kerf=2.0), CuttingTool("router", "profile-cut", gap=8.0)])
def test_frozen_nest_comes_back_equal(tmp_path, tool) -> None:
    """Placements, cuts, off-cuts and what is lacking; the report is reckoned anew from them."""
    result = nest_pieces(Problem(PIECES, SHEETS, tool))
    lock = tmp_path / "nest.lock"
    name = digest(Problem(PIECES, SHEETS, tool))
    save(lock, {name: result}, stocks={name: stock_digest(SHEETS)})
    again = load(lock, Problem(PIECES, SHEETS, tool))
    assert again is not None
    check_result(again, PIECES, SHEETS, tool)
    assert result == again


def test_another_question_is_not_answered(tmp_path) -> None:
    """One piece more, or a sheet's margin changed."""
    tool = CuttingTool("shear", "shear")
    lock = tmp_path / "nest.lock"
    assert load(lock, Problem(PIECES, SHEETS, tool)) is None
    name, result = digest(Problem(PIECES, SHEETS, tool)), nest_pieces(Problem(PIECES, SHEETS, tool))
    save(lock, {name: result}, stocks={name: stock_digest(SHEETS)})
    more = [replace(PIECES[0], quantity=10), *PIECES[1:]]
    assert load(lock, Problem(more, SHEETS, tool)) is None
    assert load(lock, Problem(PIECES, [replace(SHEETS[0], margin=7.0)], tool)) is None


def test_prices_and_other_sheets_move_no_accepted_part(tmp_path) -> None:
    """A dearer sheet, one more size, fewer on hand: the nest stays; too few, or what was lacking can be had: not."""
    tool, pieces = CuttingTool("shear", "shear"), PIECES[:2]
    own = replace(SHEETS[0], copies=2, cost=50.0)
    lock, name = tmp_path / "nest.lock", digest(Problem(pieces, [own], tool))
    save(lock, {name: nest_pieces(Problem(pieces, [own], tool))}, stocks={name: stock_digest([own])})
    for stock in ([replace(own, cost=60.0)], [replace(own, copies=1)], [own, replace(own, id="U", remnant=True)]):
        assert load(lock, Problem(pieces, stock, tool)) is not None
    for stock in ([replace(own, copies=0)], [replace(own, id="U")], [replace(own, bad_areas=((0.0, 0.0, 9.0, 9.0),))]):
        assert load(lock, Problem(pieces, stock, tool)) is None
    name = digest(Problem(PIECES, SHEETS, tool))
    save(lock, {name: nest_pieces(Problem(PIECES, [own], tool))}, stocks={name: stock_digest([own])})
    assert load(lock, Problem(PIECES, [replace(own, cost=60.0)], tool)) is not None
    assert load(lock, Problem(PIECES, [own, replace(own, id="U", width=5000.0)], tool)) is None


def test_a_file_that_is_no_lock_is_named(tmp_path) -> None:
    """The sentence names the file and says what to do."""
    lock = tmp_path / "nest.lock"
    lock.write_text("[]")
    with pytest.raises(InputError, match="delete the file"):
        load(lock, Problem(PIECES, SHEETS, CuttingTool("shear", "shear")))
