"""A book of each earlier schema, kept as a file, is brought up to date with everything that was in it."""

import shutil
import sqlite3
from pathlib import Path

import pytest

from flatgen.errors import RecordError
from flatgen.records import book as book_module
from flatgen.records import migrations
from flatgen.records.book import open_book
from flatgen.records.coupons import current_coupons

BOOKS = Path(__file__).parent.parent / "data" / "books"
EARLIER = sorted(BOOKS.glob("schema-*.sqlite"))


def all_rows(path: Path) -> dict[str, list[dict[str, object]]]:
    connection = sqlite3.connect(path)
    connection.row_factory = sqlite3.Row
    try:
        tables = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {t: [dict(row) for row in connection.execute(f"SELECT * FROM {t} ORDER BY rowid")] for t in tables}
    finally:
        connection.close()


def test_a_sample_of_every_schema_is_kept() -> None:
    assert [f"schema-{n}.sqlite" for n in range(1, migrations.NEWEST + 1)] == [path.name for path in EARLIER]


@pytest.mark.parametrize("sample", EARLIER, ids=lambda path: path.stem)
def test_earlier_schema_is_brought_up_to_date(tmp_path: Path, sample: Path) -> None:
    path = tmp_path / "book.sqlite"
    shutil.copy(sample, path)
    before = all_rows(path)
    schema = int(sample.stem.split("-")[1])
    with open_book(path) as book:
        assert migrations.NEWEST == migrations.schema_of(book.connection)
    after = all_rows(path)
    for table, rows in before.items():
        kept = [{key: row[key] for key in old} for old, row in zip(rows, after[table], strict=False)]
        assert rows == kept
    assert list(range(1, migrations.NEWEST + 1)) == [row["version"] for row in after["migration"]]
    old = tmp_path / f"book-schema-{schema}.sqlite"
    assert (schema < migrations.NEWEST) == old.exists()
    if old.exists():
        assert before == all_rows(old)


@pytest.mark.parametrize("sample", EARLIER, ids=lambda path: path.stem)
def test_tables_are_those_of_a_new_book(tmp_path: Path, sample: Path) -> None:
    def shape(path: Path) -> list[tuple[str, list[tuple[object, ...]]]]:
        with open_book(path) as book:
            names = [row[0] for row in book.rows("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
            triggers = [tuple(row) for row in book.rows("SELECT name FROM sqlite_master WHERE type <> 'table'")]
            columns = [(n, [tuple(row)[1:] for row in book.rows(f"PRAGMA table_info({n})")]) for n in names]
        return [*columns, ("others", sorted(triggers))]

    shutil.copy(sample, tmp_path / "old.sqlite")
    assert shape(tmp_path / "new.sqlite") == shape(tmp_path / "old.sqlite")


def test_coupons_of_schema_1_still_count(tmp_path: Path) -> None:
    shutil.copy(BOOKS / "schema-1.sqlite", tmp_path / "book.sqlite")
    with open_book(tmp_path / "book.sqlite") as book:
        coupons = current_coupons(book)
    assert [("C1/1", 1), ("C1/2", 2), ("C1/3", 4)] == [(coupon.mark, coupon.id) for coupon in coupons]
    assert {"H-1947"} == {coupon.batch for coupon in coupons}
    assert {""} == {coupon.sheet for coupon in coupons}


def test_a_step_that_fails_leaves_the_older_book_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "book.sqlite"
    shutil.copy(BOOKS / "schema-1.sqlite", path)
    before = all_rows(path)
    broken = migrations.Migration(2, "broken", ("CREATE TABLE extra (a)", "INSERT INTO nowhere VALUES (1)"))
    monkeypatch.setattr(migrations, "MIGRATIONS", (migrations.MIGRATIONS[0], broken))
    with pytest.raises(RecordError, match="nothing was entered"):
        open_book(path)
    assert before == all_rows(path)


def test_reading_an_older_book_does_not_change_it(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    shutil.copy(BOOKS / "schema-1.sqlite", path)
    before = path.read_bytes()
    with open_book(path, writing=False) as book:
        assert 3 == len(current_coupons(book))
        assert migrations.NEWEST == migrations.schema_of(book.connection)
    assert before == path.read_bytes()
    assert ["book.sqlite"] == [file.name for file in tmp_path.iterdir()]


def test_a_copy_of_the_older_book_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    shutil.copy(BOOKS / "schema-1.sqlite", path)
    kept = tmp_path / "book-schema-1.sqlite"
    kept.write_bytes(b"mine")
    with open_book(path):
        pass
    assert b"mine" == kept.read_bytes()
    assert book_module.PROGRAM.startswith("flatgen ")
