"""Whether an open book is sound as a whole, and what SQLite raises turned into one clear sentence."""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from flatgen.errors import RecordError
from flatgen.records.chain import Break, breaks
from flatgen.records.migrations import SEALS_SINCE, migrate, schema_of

WHAT_NOW = (
    "flatgen stock verify lists what is wrong; flatgen stock restore puts the last sound copy in its place "
    "(the book is set aside)"
)


def check(path: Path, connection: sqlite3.Connection) -> None:
    """Look through the whole file, its tables and its chain of seals.

    Raises
    ------
    RecordError : something is not as it was written; the sentence names the first place
    sqlite3.Error : the file cannot be read so far
    """
    for fault in faults(connection):
        raise RecordError(f"{path}: the book is damaged: {fault}; it was left as it is. {WHAT_NOW}")


def faults(connection: sqlite3.Connection) -> Iterator[str | Break]:
    """Whatever is not as it was written: first the file, then the layout of its tables, then entries in their order."""
    with _as_it_stands(connection):
        for row in connection.execute("PRAGMA integrity_check(25)").fetchall():
            if row[0] != "ok":
                yield f"its file is malformed ({row[0]})"
        if not schema_of(connection) and not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
            return  # its making was broken off
        steps = connection.execute("SELECT max(version) FROM migration").fetchone()[0]
        if schema_of(connection) != steps:
            yield f"its schema number is {schema_of(connection)}, its last migration {steps}"
        elif schema_of(connection) >= SEALS_SINCE:
            yield from _layout(connection)
            yield from breaks(connection)


@contextlib.contextmanager
def _as_it_stands(connection: sqlite3.Connection) -> Iterator[None]:
    """One view of the book, whatever others enter meanwhile."""
    if connection.in_transaction:
        yield
        return
    connection.execute("BEGIN")
    try:
        yield
    finally:
        connection.execute("ROLLBACK")


def _layout(connection: sqlite3.Connection) -> Iterator[str]:
    """Tables, indices and triggers that are not those of a new book of this schema."""
    new = sqlite3.connect(":memory:", isolation_level=None)
    with contextlib.closing(new):
        migrate(new, "", "", schema_of(connection))
        ours, wanted = _statements(connection), _statements(new)
    for name in sorted({*ours, *wanted}):
        if ours.get(name) != wanted.get(name):
            yield f'the layout of "{name}" is not what flatgen made'


def _statements(connection: sqlite3.Connection) -> dict[str, str]:
    rows = connection.execute("SELECT name, sql FROM sqlite_master WHERE name NOT GLOB 'sqlite_*'")
    return {str(row[0]): "".join(str(row[1]).split()) for row in rows}


@contextlib.contextmanager
def said(path: Path, doing: str) -> Iterator[None]:
    """Turn what SQLite raises into one clear sentence."""
    try:
        yield
    except sqlite3.Error as error:
        raise RecordError(f"{path}: {_sentence(error, doing)}") from error
    except UnicodeDecodeError as error:
        raise RecordError(f"{path}: {NOT_UTF_8}") from error
    except UnicodeEncodeError as error:
        text = ascii(error.object)
        raise RecordError(f"{path}: {text} holds letters that are not UTF-8; nothing was entered") from error
    except OverflowError as error:
        raise RecordError(f"{path}: a number is too large to be kept; nothing was entered") from error


NOT_UTF_8 = f"the book is damaged: an entry holds text that is not UTF-8; it was left as it is. {WHAT_NOW}"


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
    if kind in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return f"the book is damaged ({text}); it was left as it is. {WHAT_NOW}"
    if "decode to UTF-8" in text:
        return NOT_UTF_8
    if kind == sqlite3.SQLITE_CONSTRAINT:
        return f"the book refuses this entry ({text}); nothing was entered"
    return f"cannot {doing} the book ({text}); nothing was entered"
