"""Measured pieces: judged, entered, corrected, reported, made again."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from from_book import counts_in, packet

from flatgen.core.cause import Cause
from flatgen.errors import InputError, InputErrors, RecordError
from flatgen.model.inspection import Check, Checklist
from flatgen.model.plan import Nest, Placement
from flatgen.model.shop import Sheet
from flatgen.records import inspections as entries
from flatgen.records.book import open_book
from flatgen.records.corrections import Instruction, instructions, tell
from flatgen.records.inspections import Piece, Words, correct_piece, measured, record_pieces, withdraw_piece
from flatgen.records.log import log_run
from flatgen.records.runs import MadePart, RunRecord

JOB = "Oxbow float fittings"
SHEET = Checklist(
    part="TF-101",
    title="bulkhead clip",
    drawing="TF-1",
    revision="B",
    material="2024-T3 clad",
    thickness=1.016,
    quantity=24,
    checks=(
        Check(1, "leg A, outside", "length", 25.4, 25.0, 25.8, "caliper", "setting 1, stop 25.58"),
        Check(2, "leg B, outside", "length", 19.05, 18.25, 19.85, "caliper"),
        Check(3, "B1, angle", "angle", 90.0, 89.0, 91.0, "protractor", bend="B1"),
    ),
    samples=(1, 7, 13, 18, 24),
    accept=0,
    plan="5 of 24",
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "book.sqlite"


def piece(number: int, a: float = 25.4, b: float = 19.05, angle: float = 90.0, **more: str) -> Piece:
    return measured(SHEET, JOB, number, {1: a, 2: b, 3: angle}, Words(**more))


def current(path: Path) -> tuple[Piece, ...]:
    with open_book(path, writing=False) as book:
        return entries.current_pieces(book)


def test_piece_within_its_limits_is_accepted_also_on_the_limit() -> None:
    assert "accepted" == piece(1).verdict
    assert "accepted" == piece(1, a=25.8, angle=89.0).verdict


@pytest.mark.parametrize("why", ["cracked", "miscut", "wrong hand"])
def test_a_fault_rejects_a_piece_whose_sizes_are_right(why: str) -> None:
    """A crack is a crack whatever the legs measure; a remark that speaks of none lets the piece pass."""
    assert "rejected" == piece(1, why=why).verdict
    assert "accepted" == piece(1, note="looked for cracks", why="none").verdict


def test_piece_outside_is_rejected_unless_conceded_in_writing() -> None:
    assert "rejected" == piece(1, a=25.81).verdict
    let_pass = piece(1, a=25.81, concession="designer's letter of 3 May")
    assert ("conceded", "designer's letter of 3 May") == (let_pass.verdict, let_pass.note)
    assert "accepted" == piece(1, concession="not needed").verdict


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({1: 1.0}, "1.00 mm (0.039 in) is nowhere near 25.40 mm (1.000 in). Is it in another unit?"),
        ({3: 135.0}, "135 deg is nowhere near 90 deg. Is it the angle between the legs?"),
        ({4: 1.0}, "there is no check 4; the sheet has checks 1 to 3"),
        ({}, "no value was given"),
        ({1: float("nan")}, "nowhere near"),
    ],
)
def test_what_cannot_have_been_measured_is_refused(values: dict[int, float], sentence: str) -> None:
    with pytest.raises(InputErrors, match='part "TF-101", piece 1') as caught:
        measured(SHEET, JOB, 1, values)
    assert sentence in str(caught.value)


def test_piece_comes_back_as_entered(path: Path) -> None:
    given = piece(7, a=25.51, note="burr at one end", sheet="S001", by="tester")
    record_pieces(path, [given])
    (kept,) = current(path)
    assert (given.measurements, given.note, given.sheet) == (kept.measurements, kept.note, kept.sheet)
    assert "setting 1, stop 25.58" == kept.measurements[0].stop


def test_a_piece_is_entered_once(path: Path) -> None:
    record_pieces(path, [piece(1)])
    with pytest.raises(InputErrors, match="is entered already"):
        record_pieces(path, [piece(2), piece(1)])
    with pytest.raises(InputErrors, match="is entered already"):
        record_pieces(path, [piece(3), piece(3)])
    assert [1] == [p.number for p in current(path)]


def test_correction_and_withdrawal_are_new_entries(path: Path) -> None:
    record_pieces(path, [piece(1, a=26.9), piece(2)])
    correct_piece(path, 1, piece(1, a=25.5), "read the wrong scale")
    withdraw_piece(path, 2, "was a coupon")
    assert [(1, "accepted")] == [(p.number, p.verdict) for p in current(path)]
    with open_book(path) as book:
        assert 4 == book.rows("SELECT count(*) FROM piece")[0][0]
        assert 26.9 == book.rows("SELECT value FROM measurement WHERE piece = 1 ORDER BY id")[0][0]
    with pytest.raises(InputError, match="needs a reason"):
        withdraw_piece(path, 3, "")
    with pytest.raises(RecordError, match="no inspected piece with entry 2 that still counts"):
        correct_piece(path, 2, piece(2), "late")


STOP, LEAF, BLANK = Cause("back stop", "1"), Cause("leaf", "1"), Cause("blank", "TF-101")
# one bend: the stop sets leg A, leg B is what is left; a degree more takes metal and opens both setbacks
ANSWERS = {
    ("TF-101", 1): {STOP: 1.0, LEAF: 0.09},
    ("TF-101", 2): {STOP: -1.0, BLANK: 1.0, LEAF: 0.01},
    ("TF-101", 3): {LEAF: 1.0},
}


def say(path: Path) -> Instruction:
    pieces, lists = current(path), {"TF-101": SHEET}
    (one,) = instructions(pieces, lists, ANSWERS, tell(pieces, lists, ANSWERS))
    return one


def test_report_by_part_in_the_order_of_making(path: Path) -> None:
    record_pieces(path, [piece(n, a=25.6) for n in (24, 1, 7)])
    reports = entries.dimension_reports(current(path))
    assert ["1", "2", "3"] == [r.dimension for r in reports]
    assert (1.0, 7.0, 24.0) == reports[0].series.places


def test_one_fault_of_the_stop_is_counted_once(path: Path) -> None:
    """Leg A long by .22 and leg B short by as much: the stop alone, and both legs come right."""
    rng = np.random.default_rng(3)
    offs = [0.22 + rng.normal(0, 0.03) for _ in range(5)]
    record_pieces(path, [piece(n, a=25.4 + d, b=19.05 - d) for n, d in enumerate(offs, 1)])
    one = say(path)
    assert one.told is not None and STOP == one.told.cause and () == one.later
    assert -0.22 == pytest.approx(one.advice.amount, abs=0.05)
    assert [0.0, 0.0, 0.0] == pytest.approx([then for _, _, then in one.then], abs=0.02)


def test_stop_and_blank_both_off_are_told_one_after_the_other(path: Path) -> None:
    record_pieces(path, [piece(n, a=25.4 + 0.2, b=19.05 + 0.1) for n in (1, 2, 3)])
    one = say(path)
    assert one.told is not None and STOP == one.told.cause
    assert [BLANK] == [later.cause for later in one.later]
    assert [0.0, 0.3, 0.0] == pytest.approx([then for _, _, then in one.then], abs=0.01)


def test_the_leaf_comes_first_by_the_springback_of_the_plan(path: Path) -> None:
    sheet = replace(SHEET, checks=(*SHEET.checks[:2], replace(SHEET.checks[2], setting=100.0)))
    record_pieces(path, [piece(n, a=25.6, angle=89.5) for n in (1, 2, 3)])
    pieces, lists = current(path), {"TF-101": sheet}
    (one,) = instructions(pieces, lists, ANSWERS, tell(pieces, lists, ANSWERS))
    assert one.told is not None and LEAF == one.told.cause
    assert 0.5 / 0.9 == pytest.approx(one.advice.amount, rel=0.01)
    assert 0.5 == pytest.approx(one.advice.effect, rel=0.01)


def test_one_leg_alone_does_not_tell_the_stop_from_the_blank(path: Path) -> None:
    record_pieces(path, [measured(SHEET, JOB, n, {2: 19.35}) for n in (1, 2, 3)])
    one = say(path)
    assert one.told is None and "measure more" == one.advice.action


def test_miscut_pieces_do_not_tell_of_settings(path: Path) -> None:
    record_pieces(path, [piece(n, a=25.7, b=18.75, why="bent wrong") for n in (1, 2, 3)])
    assert say(path).told is None


def nest(part: str, count: int) -> Nest:
    sheet = Sheet("040", "2024-T3-clad", 1.016, 600.0, 300.0)
    places = tuple(Placement(part, k + 1, 0.0, 0.0, 0.0) for k in range(count))
    return Nest("2024-T3-clad", 1.016, "shear", "shear", sheet, places, (), (), 0.5)


def test_rejected_pieces_are_to_be_made_again_until_they_are(path: Path) -> None:
    def left(job: str = JOB) -> tuple[int, int, int]:
        found = counts_in(path, job, "TF-101", 4)
        return found.good, found.rejected, found.to_cut

    assert (0, 0, 4) == left()
    record_pieces(path, [piece(1), piece(7, a=26.5), piece(13, angle=93.0), piece(18, a=27.0, concession="letter")])
    assert (2, 2, 2) == left()
    assert (0, 0, 4) == left("another job")
    made = MadePart("TF-101", "", "", "B", "2024-T3-clad", 1.016, 1, "handbook")
    nests = (nest("TF-101", 5),)
    log_run(path, RunRecord(JOB, "B", "d1", (made,), (), nests, packet(JOB, "d1", nests)))
    assert (2, 2, 1) == left()
    correct_piece(path, 2, piece(7, a=25.5), "measured on the burr")
    assert (3, 1, 0) == left()
