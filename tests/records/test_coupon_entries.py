"""Coupons in the book: checked, entered, corrected, gathered, handed on."""

from collections.abc import Callable
from pathlib import Path

import pytest
from from_book import bends_in, proofs_in

from flatgen.errors import InputError, InputErrors, RecordError
from flatgen.records import coupons as entries
from flatgen.records.book import open_book
from flatgen.records.coupons import Coupon, correct_coupon, record_coupons, withdraw_coupon

MakeCoupon = Callable[..., Coupon]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "book.sqlite"


def current(path: Path) -> tuple[Coupon, ...]:
    with open_book(path, writing=False) as book:
        return entries.current_coupons(book)


def test_entry_comes_back_as_written(path: Path, coupon: MakeCoupon) -> None:
    given = coupon(note="first of the morning", stop=38.2, inside_radius=3.3, batch="H-1947", sheet="S001")
    (number,) = record_coupons(path, [given])
    (kept,) = current(path)
    assert number == kept.id
    assert given == Coupon(**{name: getattr(kept, name) for name in entries.COLUMNS})
    assert kept.recorded_at


def test_coupons_make_a_row_for_develop(path: Path, coupon: MakeCoupon) -> None:
    assert () == bends_in(path)
    record_coupons(path, [coupon(leg_b=38.10 + d) for d in (0.0, 0.05, 0.10)])
    (row,) = bends_in(path)
    # by hand: legs 38.1 + mean 38.15, less 73.787
    assert 38.1 + 38.15 - 2.905 * 25.4 == pytest.approx(row.deduction)
    assert 0.05 / 3**0.5 == pytest.approx(row.deduction_error, rel=1e-3)
    assert 90 / 94 == pytest.approx(row.springback_ratio)
    assert ("2024-T3", "across", 3) == (row.material, row.grain, row.coupons)


@pytest.mark.parametrize(
    "other",
    [{"thickness": 1.016, "measured_thickness": 1.016}, {"grain": "along"}, {"material": "6061-T6"}, {"angle": 88.0}],
    ids=lambda other: next(iter(other)),
)
def test_combinations_are_kept_apart(path: Path, coupon: MakeCoupon, other: dict[str, object]) -> None:
    record_coupons(path, [coupon(), coupon(), coupon(), coupon(**other)])
    assert [1, 3] == sorted(row.coupons for row in bends_in(path))


def test_inch_and_millimetre_names_of_one_size_are_one(path: Path, coupon: MakeCoupon) -> None:
    record_coupons(path, [coupon(), coupon(thickness=0.81), coupon(nose_radius=3.2, angle=90.2)])
    assert 1 == len(bends_in(path))


def test_correction_is_a_new_entry(path: Path, coupon: MakeCoupon) -> None:
    record_coupons(path, [coupon(mark="a", leg_b=38.9)])
    number = correct_coupon(path, 1, coupon(mark="a"), "misread the caliper")
    assert [number] == [kept.id for kept in current(path)]
    with open_book(path) as book:
        assert [38.9, 1.501 * 25.4] == [row["leg_b"] for row in book.rows("SELECT leg_b FROM coupon ORDER BY id")]
    with pytest.raises(RecordError, match="no coupon 1 that still counts"):
        correct_coupon(path, 1, coupon(), "again")


def test_withdrawal_is_a_new_entry_and_needs_a_reason(path: Path, coupon: MakeCoupon) -> None:
    record_coupons(path, [coupon(), coupon()])
    with pytest.raises(InputError, match="needs a reason in writing"):
        withdraw_coupon(path, 1, " ")
    withdraw_coupon(path, 1, "slipped in the clamp")
    assert [2] == [kept.id for kept in current(path)]
    with open_book(path) as book:
        assert 3 == book.rows("SELECT count(*) FROM coupon")[0][0]


BAD = [
    ({"leg_a": 30.0}, "Are the legs outside sizes?"),
    ({"leg_a": -1.0}, "a length above 0 is needed"),
    ({"released_angle": 97.0}, "the released angle is the smaller"),
    ({"angle": 45.0, "leaf_angle": 135.0, "released_angle": 45.0}, "Is one of them the angle between the legs?"),
    ({"leaf_angle": 200.0}, "between 0 and 180"),
    ({"measured_thickness": 1.6}, "is not near thickness"),
    ({"grain": "sideways"}, '"across" or "along"'),
    ({"material": ""}, "material is missing"),
    ({"blank_length": float("nan")}, "a length above 0 is needed"),
    ({"nose_radius": float("inf")}, "must not be below 0"),
]


@pytest.mark.parametrize(
    ("change", "sentence"), BAD, ids=[next(iter(change)) + f"-{k}" for k, (change, _) in enumerate(BAD)]
)
def test_what_cannot_be_true_is_refused_whole(
    path: Path, coupon: MakeCoupon, change: dict[str, object], sentence: str
) -> None:
    with pytest.raises(InputErrors, match="C1/2") as caught:
        record_coupons(path, [coupon(), coupon(**change)])
    assert sentence in str(caught.value)
    assert not path.exists()


def test_odd_but_possible_coupon_is_entered_with_a_doubt(path: Path, coupon: MakeCoupon) -> None:
    odd = coupon(leg_b=38.60)
    assert any("measure blank and legs again" in doubt for doubt in entries.doubts(odd))
    assert () == tuple(entries.doubts(coupon()))
    record_coupons(path, [*(coupon(leg_b=38.12 + d) for d in (0.0, 0.01, 0.02, -0.01)), odd])
    (combination,) = entries.combinations(current(path))
    assert [5] == [kept.id for kept in combination.odd]
    assert 5 == combination.found.deduction.count


def test_doubt_about_the_sheet_and_the_angle(coupon: MakeCoupon) -> None:
    assert any("is it the right sheet" in text for text in entries.doubts(coupon(measured_thickness=0.90)))
    assert any("is rough" in text for text in entries.doubts(coupon(angle=80.0)))


def test_a_strip_counts_once(path: Path, coupon: MakeCoupon) -> None:
    """The same file read again would make n grow 3, 6, 9 and the interval shrink over nothing."""
    three = [coupon(leg_b=38.10 + d) for d in (0.0, 0.05, 0.11)]
    record_coupons(path, three)
    with pytest.raises(InputErrors, match=r'coupon "C1/2": is entered already \(entry 2\); correct that entry'):
        record_coupons(path, [coupon(), three[1]])
    assert 3 == len(current(path))
    with pytest.raises(InputErrors, match="an earlier row"):
        record_coupons(path, [coupon(mark="C9"), coupon(mark="C9", leg_b=38.2)])
    with pytest.raises(InputErrors, match="C1/2"):
        correct_coupon(path, 1, three[1], "wrong mark")
    withdraw_coupon(path, 2, "slipped")
    record_coupons(path, [three[1], coupon(mark="C1/1", angle=60.0)])  # CP1 may come to mean another combination
    assert 4 == len(current(path))


def test_marks_of_two_jobs_are_two_strips_and_unmarked_ones_are_told_by_their_sizes(
    path: Path, coupon: MakeCoupon
) -> None:
    record_coupons(path, [coupon(mark="CP1/1", job=job) for job in ("floats", "tail")])
    bare = coupon(mark="", leg_a=38.2)
    record_coupons(path, [bare, coupon(mark="", leg_a=38.25)])
    with pytest.raises(InputErrors, match="give it a mark of its own"):
        record_coupons(path, [bare])


def test_proofs_tell_sound_cracked_and_unsaid(path: Path, coupon: MakeCoupon) -> None:
    record_coupons(path, [coupon(mark=m, cracked=c) for m, c in (("a", "no"), ("b", "yes"), ("c", ""), ("d", "no"))])
    (proof,) = proofs_in(path)
    assert (("a", "d"), ("b",), ("c",)) == (proof.sound, proof.cracked, proof.unsaid)
    with pytest.raises(InputErrors, match='cracked is "perhaps"'):
        record_coupons(path, [coupon(cracked="perhaps")])
