"""Entries are sealed in a chain: what is changed in the file is told with its place before anything is read from it.

SHA-256: FIPS 180-4, as in Python's hashlib.
"""

import hashlib
import random
import re
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from from_book import bends_in

from flatgen.errors import RecordError
from flatgen.records import known
from flatgen.records.backups import verify
from flatgen.records.book import open_book
from flatgen.records.coupons import Coupon, record_coupons
from flatgen.records.stock import StockSheet, add_sheets

BOOKS = Path(__file__).parent.parent / "data" / "books"
MakeCoupon = Callable[..., Coupon]


@pytest.fixture
def book(tmp_path: Path, coupon: MakeCoupon) -> Path:
    """Three coupons, two sheets, one more coupon."""
    path = tmp_path / "book.sqlite"
    record_coupons(path, [coupon(mark=f"C{k}", note="µ-finish") for k in range(3)])
    add_sheets(path, StockSheet("", "6061-T6", 1.016, 1219.2, 914.4, batch="H-7"), 2)
    record_coupons(path, [coupon(mark="C9")])
    return path


def tamper(path: Path, *statements: str) -> None:
    """Change the file past its own triggers, as no command of ours does."""
    connection = sqlite3.connect(path)
    triggers = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        assert connection.execute(statement).rowcount
    for _, sql in triggers:
        connection.execute(sql)
    connection.commit()
    connection.close()


def test_a_seal_is_over_the_one_before_and_the_row(book: Path) -> None:
    with open_book(book, writing=False) as opened:
        seals = [tuple(row) for row in opened.rows("SELECT * FROM seal ORDER BY number")]
        sheet = tuple(v.encode() if isinstance(v, str) else v for v in opened.rows("SELECT * FROM sheet")[1])
    (number,) = [n for n, table, entry, *_ in seals if (table, entry) == ("sheet", 2)]
    assert hashlib.sha256(f"{seals[number - 2][4]} sheet {sheet!a}".encode()).hexdigest() == seals[number - 1][4]
    order = [(table, entry) for _, table, entry, *_ in seals if table != "migration"]
    coupons, stock = [("coupon", k) for k in (1, 2, 3)], [(t, k) for k in (1, 2) for t in ("sheet", "stock_entry")]
    assert [*coupons, *stock, ("coupon", 4)] == order


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE coupon SET leg_a = 36.13 WHERE id = 2", "coupon, entry 2 of 2026-0[1-9].*is not as it was entered"),
        ("UPDATE coupon SET note = 'M-finish' WHERE id = 1", "coupon, entry 1 of .*is not as it was entered"),
        ("DELETE FROM stock_entry WHERE id = 1", "stock_entry, entry 1 of .*is missing"),
        ("INSERT INTO log_note (recorded_at, job, text) VALUES ('2026', 'j', 't')", "log_note, entry 1, has no seal"),
        ("DELETE FROM seal WHERE entry_table = 'sheet' AND entry = 1", "seal, entry [0-9]+ of .*is missing"),
        ("UPDATE seal SET digest = '0' WHERE entry_table = 'sheet' AND entry = 2", "sheet, entry 2 of "),
        ("DROP INDEX coupon_by_combination", 'the layout of "coupon_by_combination" is not what flatgen made'),
    ],
)
def test_what_was_changed_is_told_with_its_place(book: Path, statement: str, told: str) -> None:
    with sqlite3.connect(book) as connection:
        date = connection.execute("SELECT recorded_at FROM coupon").fetchone()[0][:10]
    tamper(book, statement)
    before = book.read_bytes()
    told = told.replace("2026-0[1-9]", date)
    for act in (lambda: bends_in(book), lambda: record_coupons(book, [])):
        with pytest.raises(RecordError, match=rf"the book is damaged: .*{told}.* it was left as it is.*stock verify"):
            act()
    assert before == book.read_bytes()
    assert any(re.search(told, fault) for fault in verify(book).faults)


def test_every_flipped_byte_is_told_or_harmless(book: Path) -> None:
    """One byte of the file is changed at a time: an error, or the very same entries."""
    chance = random.Random(4)
    whole = book.read_bytes()
    rows = bends_in(book)
    told = 0
    for _ in range(150):
        place, bit = chance.randrange(100, len(whole)), 1 << chance.randrange(8)
        while not whole[place]:  # a page is mostly empty
            place = chance.randrange(100, len(whole))
        book.write_bytes(whole[:place] + bytes([whole[place] ^ bit]) + whole[place + 1 :])
        try:
            assert rows == bends_in(book)
        except RecordError:
            told += 1
        for left in ("-wal", "-shm", "-checked"):
            book.with_name(book.name + left).unlink(missing_ok=True)
    assert told > 75


def test_text_that_is_not_utf_8_is_a_sentence(book: Path, tmp_path: Path) -> None:
    tamper(book, "UPDATE coupon SET note = CAST(x'C328' AS TEXT) WHERE id = 3")
    with pytest.raises(RecordError, match="coupon, entry 3 of .*is not as it was entered"):
        bends_in(book)
    old = tmp_path / "old.sqlite"
    shutil.copy(BOOKS / "schema-2.sqlite", old)
    tamper(old, "UPDATE coupon SET note = CAST(x'C328' AS TEXT) WHERE id = 3")
    for writing in (True, False):
        with pytest.raises(RecordError, match="an entry holds text that is not UTF-8"):
            open_book(old, writing=writing)


@pytest.mark.parametrize("note", ["\udcff", "ok"])
def test_what_cannot_be_kept_is_a_sentence(book: Path, note: str) -> None:
    with open_book(book) as opened, opened.entering(), pytest.raises(RecordError, match="nothing was entered"):
        opened.enter(
            "tick", recorded_at="t", job="j", digest="", saved_at="", key="k", place="", what=note, value=2**70
        )


def test_a_file_as_it_was_left_is_not_looked_through_again(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[Path] = []
    monkeypatch.setattr("flatgen.records.book.check", lambda path, _: looked.append(path))
    bends_in(book)
    assert [] == looked
    known.note_of(book).unlink()
    bends_in(book)
    bends_in(book)
    assert [book] == looked


@pytest.mark.parametrize("schema", range(1, 6))
def test_books_of_earlier_schemas_are_sealed(tmp_path: Path, schema: int) -> None:
    path = tmp_path / "book.sqlite"
    shutil.copy(BOOKS / f"schema-{schema}.sqlite", path)
    with open_book(path) as opened:
        tables = [row[0] for row in opened.rows("SELECT name FROM sqlite_master WHERE type = 'table'")]
        entries = sum(opened.rows(f"SELECT count(*) FROM {name}")[0][0] for name in tables if name != "seal")
    found = verify(path)
    assert ((), entries) == (found.faults, found.entries)
