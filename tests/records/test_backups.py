"""Copies of the book are kept day by day, the last ten; a copy is put back in the book's place."""

import datetime as clock
import sqlite3
import warnings
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.errors import NoBackup, RecordError
from flatgen.records import copies
from flatgen.records.backups import backup, restore, verify
from flatgen.records.book import open_book
from flatgen.records.coupons import Coupon, current_coupons, record_coupons
from flatgen.records.migrations import NEWEST

MakeCoupon = Callable[..., Coupon]


def marks(path: Path) -> list[str]:
    with open_book(path, writing=False) as book:
        return [coupon.mark for coupon in current_coupons(book)]


def work(monkeypatch: pytest.MonkeyPatch, path: Path, day: clock.date, coupon: Coupon) -> None:
    class Day(clock.date):
        @classmethod
        def today(cls) -> clock.date:
            return day

    monkeypatch.setattr(copies, "date", Day)
    record_coupons(path, [coupon])


@pytest.fixture
def book(tmp_path: Path, coupon: MakeCoupon, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Fifteen days of work, a coupon a day, and two on the last."""
    path = tmp_path / "tail-book.sqlite"
    for day in range(1, 16):
        work(monkeypatch, path, clock.date(2026, 3, day), coupon(mark=f"D{day}"))
    work(monkeypatch, path, clock.date(2026, 3, 15), coupon(mark="D15b"))
    return path


def test_one_copy_a_day_of_work_the_last_ten(book: Path) -> None:
    kept = copies.daily_copies(book)
    assert [f"tail-book-2026-03-{day:02d}.sqlite" for day in range(15, 5, -1)] == [file.name for file in kept]
    assert {book.parent / "tail-book-backups"} == {file.parent for file in kept}
    for file, day in zip(kept, range(15, 5, -1), strict=True):
        assert [f"D{k}" for k in range(1, day)] == marks(file)  # as it was before the day's first entry


def test_files_of_others_are_never_removed(book: Path, coupon: MakeCoupon, monkeypatch: pytest.MonkeyPatch) -> None:
    other = copies.folder_of(book) / "other-book-2020-01-01.sqlite"
    other.write_text("mine")
    work(monkeypatch, book, clock.date(2026, 3, 20), coupon(mark="D20"))
    assert "mine" == other.read_text()
    assert 10 == len(copies.daily_copies(book))


def test_a_damaged_book_gives_no_copy(book: Path, coupon: MakeCoupon, monkeypatch: pytest.MonkeyPatch) -> None:
    with sqlite3.connect(book) as connection:
        connection.execute("DROP TRIGGER coupon_keeps_on_update")
        connection.execute("UPDATE coupon SET leg_b = 35.5 WHERE id = 4")
    with pytest.raises(RecordError, match="the book is damaged"):
        work(monkeypatch, book, clock.date(2026, 3, 16), coupon())
    assert "tail-book-2026-03-15.sqlite" == copies.daily_copies(book)[0].name


def test_a_copy_that_cannot_be_written_stops_no_entry(tmp_path: Path, coupon: MakeCoupon) -> None:
    path = tmp_path / "book.sqlite"
    record_coupons(path, [coupon(mark="a")])
    copies.folder_of(path).write_text("a file of that name")
    with pytest.warns(NoBackup, match="book-backups"):
        record_coupons(path, [coupon(mark="b")])
    assert ["a", "b"] == marks(path)


def test_restore_takes_the_latest_sound_copy_and_sets_the_book_aside(book: Path, coupon: MakeCoupon) -> None:
    first, *_ = copies.daily_copies(book)
    first.write_bytes(first.read_bytes()[:5000])
    damaged = book.read_bytes()[:9000]
    book.write_bytes(damaged)
    answer = CliRunner().invoke(flatgen, ["stock", "restore", "--book", str(book)])
    assert 0 == answer.exit_code, answer.output
    assert "2026-03-14" in answer.output
    assert [f"D{k}" for k in range(1, 14)] == marks(book)
    (aside,) = book.parent.glob("tail-book-set-aside-*.sqlite")
    assert damaged == aside.read_bytes()
    record_coupons(book, [coupon(mark="again")])
    assert () == verify(book).faults


def test_restore_refuses_what_is_no_sound_copy(book: Path, tmp_path: Path) -> None:
    before = marks(book)
    with pytest.raises(RecordError, match="the book itself"):
        restore(book, book)
    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(book.read_bytes()[:9000])
    with pytest.raises(RecordError, match="not sound itself|malformed|damaged"):
        restore(book, broken)
    with (
        open_book(book) as held,
        held.entering(),
        pytest.raises(RecordError, match="another program has the book open"),
    ):
        restore(book)
    assert before == marks(book)
    alone = tmp_path / "alone.sqlite"
    alone.write_bytes(backup(book).read_bytes())
    with pytest.raises(RecordError, match="there is no daily copy of it yet"):
        restore(alone)


def test_restore_loses_nothing_of_a_sound_book(book: Path) -> None:
    everything = marks(book)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        _, aside = restore(book, copies.daily_copies(book)[2])
    assert aside is not None
    assert everything == marks(aside)
    assert [f"D{k}" for k in range(1, 13)] == marks(book)


def test_verify_says_where_and_ends_with_one(book: Path) -> None:
    run = CliRunner().invoke
    answer = run(flatgen, ["stock", "verify", "--book", str(book)])
    assert 0 == answer.exit_code
    assert f"sound, {16 + NEWEST} sealed entries, the last seal " in answer.output
    with sqlite3.connect(book) as connection:
        connection.execute("DROP TRIGGER coupon_keeps_on_update")
        connection.execute("UPDATE coupon SET released_angle = 91 WHERE id = 7")
    answer = run(flatgen, ["stock", "verify", "--book", str(book)])
    assert 1 == answer.exit_code
    assert "coupon, entry 7 of 20" in answer.output
    assert "coupon_keeps_on_update" in answer.output
