"""Copies of the book: whole, checked, never over another file; one a day of work is kept by itself, the last ten.

They lie in a folder beside the book (``book-backups`` of ``book.sqlite``), named by their day. That of a day is made
before its first entry, so that it holds all the work of the days before.
"""

import contextlib
import os
import re
import sqlite3
import time
import warnings
from datetime import date
from pathlib import Path

from flatgen.errors import NoBackup, RecordError
from flatgen.records.sound import check, said

KEPT = 10  # days of work


def folder_of(path: Path) -> Path:
    """Where the copies of a book are kept."""
    return path.with_name(f"{path.stem}-backups")


def daily_copies(path: Path) -> list[Path]:
    """Copies of the days of work, the latest first. Files of other names are none of ours."""
    pattern = re.compile(re.escape(path.stem) + r"-\d{4}-\d\d-\d\d" + re.escape(path.suffix))
    folder = folder_of(path)
    files = folder.iterdir() if folder.is_dir() else ()
    return sorted((file for file in files if pattern.fullmatch(file.name) and file.is_file()), reverse=True)


def keep_daily(path: Path, connection: sqlite3.Connection, *, checked: bool) -> None:
    """Keep the copy of today unless there is one. A copy that cannot be written is told of and stops no entry.

    Raises
    ------
    RecordError : the book is not sound; then no copy takes the place of a sound one
    """
    target = folder_of(path) / f"{path.stem}-{date.today().isoformat()}{path.suffix}"
    if target.exists():
        return
    if not checked:
        check(path, connection)
    try:
        try:
            target.parent.mkdir(exist_ok=True)
        except OSError as error:
            raise RecordError(f"{target.parent}: cannot be made a folder ({error.strerror})") from error
        copy_to(connection, target, may_exist=True)
        for old in daily_copies(path)[KEPT:]:
            old.unlink(missing_ok=True)
        _clear_parts(target.parent)
    except (RecordError, OSError) as error:
        warnings.warn(NoBackup(str(error)), stacklevel=2)


def _clear_parts(folder: Path) -> None:
    """Remove what a killed copy left an hour ago or earlier."""
    for part in folder.glob(".*.part*"):
        if part.stat().st_mtime < time.time() - 3600.0:
            part.unlink(missing_ok=True)


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
