"""The shop's book: opened with care, written in transactions, never overwritten.

Write-ahead log with full synchronisation: what has been acknowledged is on the disk and survives a kill or a power cut;
a second process waits its turn. Whatever is odd about the file (another program's, damaged, newer, an entry that is not
as it was entered) is refused with one sentence before anything is read from it or written. The first writer of a day
keeps a copy (``copies``).
"""

import contextlib
import os
import sqlite3
import time
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from urllib.parse import quote

from flatgen import __version__
from flatgen.errors import RecordError
from flatgen.model.shop import Shop
from flatgen.records import copies, known
from flatgen.records.chain import Chain
from flatgen.records.migrations import APPLICATION_ID, NEWEST, migrate, schema_of
from flatgen.records.sound import check, said

WAIT = 15.0  # for another process to finish writing [s]
MAGIC = b"SQLite format 3\x00"
PROGRAM = f"flatgen {__version__}"


def now() -> str:
    """Date and time with offset, to the second, as kept in every entry."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


class Book:
    """An open book. Use ``open_book``; close it or use it in a ``with`` statement."""

    def __init__(self, path: Path, connection: sqlite3.Connection, writable: bool, noting: bool | None) -> None:
        """Keep file and connection.

        noting : whether the file, sound now, is to be noted as known at the end; None: the book is a copy in memory
        """
        self.path = path
        self.connection = connection
        self.writable = writable
        self._noting = noting
        self._chain: Chain | None = None  # in a transaction
        self._held = noting is not None
        if self._held:
            known.hold(path)

    def __enter__(self) -> "Book":
        """Hand the book itself on."""
        return self

    def __exit__(self, *exc: object) -> None:
        """Close the file."""
        self.close()

    def close(self) -> None:
        """Close the file; what was acknowledged is in it."""
        self.connection.close()
        if self._held:
            self._held = False
            known.let_go(self.path)
            if self._noting and not known.held(self.path):
                known.note(self.path)

    def rows(self, statement: str, values: Sequence[object] = ()) -> list[sqlite3.Row]:
        """All rows of a question."""
        with said(self.path, "read"):
            return self.connection.execute(statement, values).fetchall()

    @contextlib.contextmanager
    def entering(self) -> Iterator["Book"]:
        """A transaction: all entries made inside it are kept, or none."""
        if not self.writable:
            raise RecordError(f"{self.path}: the shop's book was opened for reading only; nothing was entered")
        with said(self.path, "write"):
            self.connection.execute("BEGIN IMMEDIATE")
        try:
            with said(self.path, "write"):
                self._chain = Chain(self.connection)
            yield self
            with said(self.path, "write"):
                self.connection.execute("COMMIT")
            self._noting = True
        except BaseException:
            if self.connection.in_transaction:
                with contextlib.suppress(sqlite3.Error):
                    self.connection.execute("ROLLBACK")
            raise
        finally:
            self._chain = None

    def enter(self, table: str, **values: object) -> int:
        """One new entry in a table, sealed, inside a transaction; return its number."""
        assert self._chain is not None, "entries are made in a transaction"
        names = ", ".join(values)
        marks = ", ".join("?" * len(values))
        with said(self.path, "write"):
            cursor = self.connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(values.values()))
            number = int(cursor.lastrowid or 0)
            self._chain.seal(table, number)
        return number


def open_book(path: Path | str, *, writing: bool = True, wait: float = WAIT) -> Book:
    """Open the shop's book; for writing it is made when there is none, and brought up to the newest schema.

    For reading, a file that cannot be written to, or is of an older schema, is copied to memory and brought up to date
    there; a file that does not exist reads as an empty book.

    Raises
    ------
    RecordError : the file is damaged, another program's, of a newer flatgen, read-only, locked, or its disk is full
    """
    path = Path(path)
    fresh = _check_head(path)
    if fresh and not writing:
        return _in_memory(path, None)
    if writing and not fresh and not os.access(path, os.W_OK):
        raise RecordError(f"{path}: this file is read-only, so nothing was entered. Make it writable, or name another")
    sound = fresh or known.held(path) or known.is_known(path)
    with said(path, "open"):
        if not writing and not _can_write(path):
            return _locked_away(path, sound)
        connection = _connect(path, wait)
        try:
            _refuse_foreign(path, connection)
            schema = schema_of(connection)
            if not sound:
                check(path, connection)
            if writing:
                if 0 < schema < NEWEST:
                    _keep_old(path, connection)
                elif schema == NEWEST:
                    copies.keep_daily(path, connection, checked=not sound)
                _settle(connection, wait)
                migrate(connection, now(), PROGRAM)
            elif schema < NEWEST:
                book = _in_memory(path, connection)
                connection.close()
                return book
        except BaseException:
            connection.close()
            raise
    return Book(path, connection, writing, noting=not sound or schema < NEWEST)


@contextlib.contextmanager
def as_it_is(path: Path) -> Iterator[sqlite3.Connection]:
    """A book's file, sound or not, to be looked through; what is no book of ours is refused."""
    if _check_head(path):
        raise RecordError(f"{path}: there is no book yet")
    with said(path, "read"):
        connection = _connect(path, WAIT) if _can_write(path) else _connect_locked(path)
        with contextlib.closing(connection):
            _refuse_foreign(path, connection)
            yield connection


def _connect(path: Path | str, wait: float, uri: bool = False) -> sqlite3.Connection:
    """A connection in autocommit mode with our settings."""
    connection = sqlite3.connect(path, timeout=wait, isolation_level=None, uri=uri)
    connection.row_factory = sqlite3.Row
    try:
        for setting in ("foreign_keys = ON", "synchronous = FULL", "fullfsync = ON"):
            connection.execute(f"PRAGMA {setting}")
    except BaseException:
        connection.close()
        raise
    return connection


def _settle(connection: sqlite3.Connection, wait: float) -> None:
    """Turn the write-ahead log on. Changing the mode does not wait for others by itself, so we do."""
    until = time.monotonic() + wait
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _check_head(path: Path) -> bool:
    """Whether a new book is to be made; refuses what is clearly no database before SQLite sees it."""
    if path.is_dir():
        raise RecordError(f"{path}: this is a folder; the shop's book must be a file")
    if not path.parent.is_dir():
        raise RecordError(f"{path}: there is no folder {path.parent} to keep the shop's book in")
    if known.held(path):
        return False
    if path.exists() and not path.is_file():  # a pipe would be waited for, a device has no end
        raise RecordError(f"{path}: this is no plain file; the shop's book must be one")
    try:
        with path.open("rb") as file:
            head = file.read(16)
    except FileNotFoundError:
        return True
    except PermissionError as error:
        raise RecordError(f"{path}: you may not read this file; nothing was entered") from error
    if not head:
        return True
    if head != MAGIC:
        raise RecordError(
            f"{path}: this is not a shop's book, or its beginning is damaged; it was left as it is. "
            "flatgen stock restore puts the last sound copy in its place; or name another file"
        )
    return False


def _refuse_foreign(path: Path, connection: sqlite3.Connection) -> None:
    """Only an empty file or a sound book of ours, not newer than we know, goes on."""
    schema = schema_of(connection)
    tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if not tables and not schema:
        return
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise RecordError(
            f"{path}: this database belongs to another program; it was left as it is. Name another file for the book"
        )
    if schema > NEWEST:
        raise RecordError(
            f"{path}: written by a newer flatgen (schema {schema}; this one, {__version__}, knows up to {NEWEST}); "
            "it was left as it is. Use the newer flatgen"
        )


def _can_write(path: Path) -> bool:
    """Whether file and folder can be written to, which a write-ahead log needs even to be read."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def _connect_locked(path: Path) -> sqlite3.Connection:
    """A connection to a file that cannot be written to; its log, if it has one, must be there to be read with it."""
    log = known.log_of(path)
    settled = not log.exists() or log.stat().st_size == 0
    return _connect(f"file:{quote(str(path.absolute()))}?mode=ro{'&immutable=1' if settled else ''}", WAIT, uri=True)


def _locked_away(path: Path, sound: bool) -> Book:
    """Read a file that cannot be written to, from a copy in memory."""
    with contextlib.closing(_connect_locked(path)) as source:
        _refuse_foreign(path, source)
        if not sound:
            check(path, source)
        return _in_memory(path, source)


def _in_memory(path: Path, source: sqlite3.Connection | None) -> Book:
    """A copy of the file in memory, brought up to date there; an empty book without a file."""
    memory = _connect(":memory:", WAIT)
    try:
        if source is not None:
            source.backup(memory)
        migrate(memory, now(), PROGRAM)
    except BaseException:
        memory.close()
        raise
    return Book(path, memory, writable=False, noting=None)


def _keep_old(path: Path, connection: sqlite3.Connection) -> None:
    """A copy of the file in its older schema, beside it, before it is brought up to date; never over another."""
    target = path.with_name(f"{path.stem}-schema-{schema_of(connection)}{path.suffix}")
    if not target.exists():
        copies.copy_to(connection, target, may_exist=True)


def book_path(shop: Shop) -> Path:
    """Where a shop keeps its book: as the shop file says, else beside that file under its name."""
    if shop.book:
        return Path(shop.book)
    file = Path(shop.file or "shop.toml")
    return file.with_name(f"{file.stem}-book.sqlite")
