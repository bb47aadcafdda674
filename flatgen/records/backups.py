"""What a person asks of the book as a whole: whether it is sound, a copy, a copy put back in its place."""

import contextlib
import os
import sqlite3
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from flatgen.errors import RecordError
from flatgen.records import known
from flatgen.records.book import as_it_is, open_book
from flatgen.records.chain import SEALS
from flatgen.records.copies import copy_to, daily_copies
from flatgen.records.migrations import SEALS_SINCE, schema_of
from flatgen.records.sound import faults, said

MOST = 25  # places that are listed


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a look through the whole book found.

    faults : a sentence each, the first ones of very many; seal : the last one; empty where the book has none yet
    """

    faults: tuple[str, ...]
    entries: int = 0
    seal: str = ""


def verify(path: Path | str) -> Verdict:
    """Look through the whole book, whatever was noted of it; nothing is changed.

    Raises
    ------
    RecordError : there is no book, or it is none of ours
    """
    path = Path(path)
    found: list[str] = []
    with as_it_is(path) as connection:
        try:
            for fault in faults(connection):
                found.append(str(fault))
                if len(found) == MOST:
                    found.append("more is wrong than is listed here")
                    break
        except sqlite3.Error as error:
            found.append(f"its file cannot be read to the end ({error})")
        if found or schema_of(connection) < SEALS_SINCE:
            return Verdict(tuple(found))
        last = connection.execute(f"SELECT number, digest FROM {SEALS} ORDER BY number DESC LIMIT 1").fetchone()
    return Verdict((), last[0], last[1])


def backup(path: Path | str, target: Path | str | None = None) -> Path:
    """Copy the whole book, also while others write to it; the name carries date and time unless one is given."""
    path = Path(path)
    if not path.exists():
        raise RecordError(f"{path}: there is no book yet, so there is nothing to copy")
    target = Path(target) if target is not None else _stamped(path, "backup")
    if os.path.lexists(target):  # a link that leads nowhere is in the way too
        raise RecordError(f"{target}: there is such a file already; it was left as it is")
    if not target.parent.is_dir():
        raise RecordError(f"{target}: there is no folder {target.parent}")
    with open_book(path, writing=False) as book:
        copy_to(book.connection, target)
    return target


def _stamped(path: Path, what: str) -> Path:
    return path.with_name(f"{path.stem}-{what}-{datetime.now().strftime('%Y%m%d-%H%M%S')}{path.suffix}")


def restore(path: Path | str, copy: Path | str | None = None) -> tuple[Path, Path | None]:
    """Put a sound copy in the book's place, the latest of the daily ones unless one is named.

    The book as it was is set aside under a name of its own. Returns the copy that was taken and where the book went.

    Raises
    ------
    RecordError : there is no sound copy, another program has the book open, or a file cannot be written
    """
    path = Path(path)
    taken = _sound(Path(copy)) if copy is not None else _latest_sound(path)
    if copy is not None and os.path.realpath(taken) == os.path.realpath(path):
        raise RecordError(f"{path}: this is the book itself, not a copy of it")
    part = path.with_name(f".{path.name}.{os.getpid()}.restored")
    try:
        with said(taken, "read"), contextlib.closing(sqlite3.connect(taken, isolation_level=None)) as source:
            copy_to(source, part)
        aside = _set_aside(path) if path.exists() else None
        part.replace(path)
    except OSError as error:
        raise RecordError(f"{path}: cannot be written ({error.strerror})") from error
    finally:
        part.unlink(missing_ok=True)
    return taken, aside


def _latest_sound(path: Path) -> Path:
    copies = daily_copies(path)
    for one in copies:
        with contextlib.suppress(RecordError):
            return _sound(one)
    why = "none of its daily copies is sound" if copies else "there is no daily copy of it yet"
    raise RecordError(f"{path}: {why}; name a copy, such as one that flatgen stock backup wrote")


def _sound(copy: Path) -> Path:
    found = verify(copy).faults
    if found:
        raise RecordError(f"{copy}: this copy is not sound itself: {found[0]}")
    return copy


def _set_aside(path: Path) -> Path:
    """Give the book and its log another name; what the log holds is brought into the file first, where that works."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None, timeout=1.0)) as connection:
        try:
            connection.execute("PRAGMA journal_mode = DELETE")
        except sqlite3.DatabaseError as error:
            if getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                raise RecordError(f"{path}: another program has the book open; close it first") from error
    aside = _stamped(path, "set-aside")
    try:
        os.link(path, aside)
    except OSError:  # a file system without hard links
        path.replace(aside)
    log = known.log_of(path)
    if log.exists():
        log.replace(known.log_of(aside))
    path.with_name(path.name + "-shm").unlink(missing_ok=True)
    known.note_of(path).unlink(missing_ok=True)
    return aside
