"""The shop's book: opened with care, written in transactions, never overwritten.

Write-ahead log with full synchronisation: what has been acknowledged is on the disk and survives a kill or a power cut;
a second process waits its turn. Whatever is odd about the file (another program's, damaged, newer) is refused with one
sentence before anything is written.
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
from flatgen.records.migrations import APPLICATION_ID, NEWEST, migrate, schema_of

WAIT = 15.0  # for another process to finish writing [s]
MAGIC = b"SQLite format 3\x00"
PROGRAM = f"flatgen {__version__}"


def now() -> str:
    """Date and time with offset, to the second, as kept in every entry."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


class Book:
    """An open book. Use ``open_book``; close it or use it in a ``with`` statement."""

    def __init__(self, path: Path, connection: sqlite3.Connection, writable: bool) -> None:
        """Keep file and connection."""
        self.path = path
        self.connection = connection
        self.writable = writable

    def __enter__(self) -> "Book":
        """Hand the book itself on."""
        return self

    def __exit__(self, *exc: object) -> None:
        """Close the file."""
        self.close()

    def close(self) -> None:
        """Close the file; what was acknowledged is in it."""
        self.connection.close()

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
            yield self
            with said(self.path, "write"):
                self.connection.execute("COMMIT")
        except BaseException:
            if self.connection.in_transaction:
                with contextlib.suppress(sqlite3.Error):
                    self.connection.execute("ROLLBACK")
            raise

    def enter(self, table: str, **values: object) -> int:
        """One new entry in a table, inside a transaction; return its number."""
        names = ", ".join(values)
        marks = ", ".join("?" * len(values))
        with said(self.path, "write"):
            cursor = self.connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(values.values()))
        return int(cursor.lastrowid or 0)


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
    with said(path, "open"):
        if not writing and not _can_write(path):
            return _locked_away(path)
        connection = _connect(path, wait)
        try:
            _refuse_foreign(path, connection)
            if writing:
                if 0 < schema_of(connection) < NEWEST:
                    _keep_old(path, connection)
                _settle(connection, wait)
                migrate(connection, now(), PROGRAM)
            elif schema_of(connection) < NEWEST:
                book = _in_memory(path, connection)
                connection.close()
                return book
        except BaseException:
            connection.close()
            raise
    return Book(path, connection, writing)


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
            "Put the last backup in its place (flatgen stock backup writes one), or name another file"
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
    found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise sqlite3.DatabaseError(f"malformed: {found}")


def _can_write(path: Path) -> bool:
    """Whether file and folder can be written to, which a write-ahead log needs even to be read."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def _locked_away(path: Path) -> Book:
    """Read a file that cannot be written to; its log, if it has one, must still be there to be read with it."""
    log = path.with_name(path.name + "-wal")
    settled = not log.exists() or log.stat().st_size == 0
    address = f"file:{quote(str(path.absolute()))}?mode=ro{'&immutable=1' if settled else ''}"
    with contextlib.closing(_connect(address, WAIT, uri=True)) as source:
        _refuse_foreign(path, source)
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
    return Book(path, memory, writable=False)


def _keep_old(path: Path, connection: sqlite3.Connection) -> None:
    """A copy of the file in its older schema, beside it, before it is brought up to date; never over another."""
    target = path.with_name(f"{path.stem}-schema-{schema_of(connection)}{path.suffix}")
    if not target.exists():
        copy_to(connection, target, may_exist=True)


def copy_to(connection: sqlite3.Connection, target: Path, *, may_exist: bool = False) -> None:
    """Write a whole, checked copy of the open book to a file that must not exist yet.

    ``may_exist`` : another process may have made the same copy meanwhile; then that one stands.

    Raises
    ------
    RecordError : the target exists or cannot be written
    """
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with said(target, "write"), contextlib.closing(sqlite3.connect(part, isolation_level=None)) as copy:
            copy.execute("PRAGMA synchronous = FULL")
            connection.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # the copy is one file that can be carried away
            found = copy.execute("PRAGMA integrity_check(1)").fetchone()[0]
        if found != "ok":
            raise RecordError(f"{target}: the copy did not come out sound ({found}); nothing was kept")
        _claim(part, target)
    except FileExistsError as error:
        if not may_exist:
            raise RecordError(f"{target}: there is such a file already; it was left as it is") from error
    except OSError as error:
        raise RecordError(f"{target}: cannot be written ({error.strerror})") from error
    finally:
        for left in (part, part.with_name(part.name + "-journal")):
            left.unlink(missing_ok=True)


def _claim(part: Path, target: Path) -> None:
    """Give the finished copy its name; FileExistsError if the name is taken."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links, such as a memory stick
        with target.open("xb") as file:
            file.write(part.read_bytes())
            file.flush()
            os.fsync(file.fileno())


def backup(path: Path | str, target: Path | str | None = None) -> Path:
    """Copy the whole book, also while others write to it; the name carries date and time unless one is given."""
    path = Path(path)
    if not path.exists():
        raise RecordError(f"{path}: there is no book yet, so there is nothing to copy")
    if target is None:
        stamp = datetime.now().strftime("%Y%m%d-%H%M%S")
        target = path.with_name(f"{path.stem}-backup-{stamp}{path.suffix}")
    target = Path(target)
    if target.exists():
        raise RecordError(f"{target}: there is such a file already; it was left as it is")
    if not target.parent.is_dir():
        raise RecordError(f"{target}: there is no folder {target.parent}")
    with open_book(path, writing=False) as book:
        copy_to(book.connection, target)
    return target


@contextlib.contextmanager
def said(path: Path, doing: str) -> Iterator[None]:
    """Turn what SQLite raises into one clear sentence."""
    try:
        yield
    except sqlite3.Error as error:
        raise RecordError(f"{path}: {_sentence(error, doing)}") from error


def _sentence(error: sqlite3.Error, doing: str) -> str:
    """What happened and what to do, by SQLite's own result code."""
    code = getattr(error, "sqlite_errorcode", None)
    kind = code & 0xFF if code is not None else None
    text = str(error)
    if kind in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return "another program has kept the book busy too long; nothing was entered. Try again"
    if kind == sqlite3.SQLITE_FULL:
        return "the disk is full; this entry was not kept, all earlier ones are. Make room and enter it again"
    if kind in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH):
        return "the file or its folder is read-only, so nothing was entered. Make it writable, or name another"
    if kind == sqlite3.SQLITE_IOERR:
        return f"the disk refused to {doing} ({text}); this entry was not kept, all earlier ones are"
    if kind == sqlite3.SQLITE_CANTOPEN:
        return "the file cannot be opened, or its folder cannot be written to; nothing was entered"
    if kind in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB) or text.startswith("malformed"):
        return (
            "the book is damaged; it was left as it is. Put the last backup in its place "
            "(flatgen stock backup writes one), or name another file"
        )
    if kind == sqlite3.SQLITE_CONSTRAINT:
        return f"the book refuses this entry ({text}); nothing was entered"
    return f"cannot {doing} the book ({text}); nothing was entered"


def book_path(shop: Shop) -> Path:
    """Where a shop keeps its book: as the shop file says, else beside that file under its name."""
    if shop.book:
        return Path(shop.book)
    file = Path(shop.file or "shop.toml")
    return file.with_name(f"{file.stem}-book.sqlite")
