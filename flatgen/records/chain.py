"""Entries sealed in one chain over all tables, in the order in which they were entered.

A seal holds the SHA-256 of the seal before it, the entry's table and the entry itself, so that no entry can be changed,
removed or put in between without the chain showing where. Any table that only grows is sealed by the same means.
"""

import hashlib
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

SEALS = "seal"
DATES = ("recorded_at", "applied_at")
_DATE = re.compile(rb"\d{4}-\d\d-\d\d")


@dataclass(frozen=True, slots=True)
class Break:
    """A place where the chain does not hold. ``date`` is the entry's own, else that of the last sound entry before."""

    table: str
    entry: int
    date: str
    what: str

    def __str__(self) -> str:
        """Table, entry and date, then what is wrong."""
        return f"{self.table}, entry {self.entry}{f' of {self.date}' if self.date else ''}, {self.what}"


class Chain:
    """The end of the chain, to which entries of one transaction are added."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        """Read the last seal. The connection must be in a transaction, so that nobody else adds to the chain."""
        self.connection = connection
        last = connection.execute(f"SELECT number, digest FROM {SEALS} ORDER BY number DESC LIMIT 1").fetchone()
        self.number: int = last[0] if last else 0
        self.digest: str = last[1] if last else ""

    def seal(self, table: str, entry: int) -> None:
        """Seal an entry as it stands in the file."""
        row = stored(self.connection, table, entry)
        assert row is not None, f"{table}, entry {entry}, is to be sealed before it was entered"
        self.number, self.digest = self.number + 1, digest(self.digest, table, row)
        self.connection.execute(
            f"INSERT INTO {SEALS} VALUES (?, ?, ?, ?, ?)", (self.number, table, entry, len(row), self.digest)
        )


def digest(before: str, table: str, row: tuple[object, ...]) -> str:
    """The seal of a row: text as UTF-8, sizes with all their digits, alike in every Python."""
    return hashlib.sha256(f"{before} {table} {ascii(row)}".encode()).hexdigest()


def stored(connection: sqlite3.Connection, table: str, entry: int) -> tuple[object, ...] | None:
    """A row as it stands in the file, its text not read; None where there is none."""
    with _unread(connection):
        cursor = connection.cursor()
        cursor.row_factory = None
        found: tuple[object, ...] | None = cursor.execute(f"SELECT * FROM {table} WHERE rowid = ?", (entry,)).fetchone()
        return found


@contextmanager
def _unread(connection: sqlite3.Connection) -> Iterator[None]:
    """Text comes as the bytes that the file holds, sound or not."""
    usual = connection.text_factory
    connection.text_factory = bytes
    try:
        yield
    finally:
        connection.text_factory = usual


def tables(connection: sqlite3.Connection) -> list[str]:
    """Names of all tables that hold entries."""
    names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    return [name for name in names if name != SEALS and not name.startswith("sqlite_")]


def seal_the_rest(connection: sqlite3.Connection) -> None:
    """Seal every entry that has no seal yet, oldest first: those of a book that was begun before there were seals.

    Raises
    ------
    UnicodeDecodeError : an entry holds text that is not UTF-8
    """
    loose: list[tuple[str, str, int]] = []
    for table in tables(connection):
        when = _when(connection, table)
        rows = connection.execute(
            f"SELECT {when}, rowid FROM {table} "
            f"WHERE rowid NOT IN (SELECT entry FROM {SEALS} WHERE entry_table = ?) ORDER BY rowid",
            (table,),
        )
        loose += [(str(row[0] or ""), table, int(row[1])) for row in rows]
    chain = Chain(connection)
    for _, table, entry in sorted(loose):
        for value in stored(connection, table, entry) or ():
            if isinstance(value, bytes):
                value.decode()
        chain.seal(table, entry)


def _when(connection: sqlite3.Connection, table: str) -> str:
    """The moment of entry [UTC] as SQL: a table's own, else that of the entry which its rows belong to."""
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    for name in DATES:
        if name in columns:
            return f"datetime({name})"
    for parent in connection.execute(f"PRAGMA foreign_key_list({table})"):
        return f"(SELECT datetime(recorded_at) FROM {parent[2]} p WHERE p.id = {table}.{parent[3]})"
    return "''"


def breaks(connection: sqlite3.Connection) -> Iterator[Break]:
    """Every place where the chain does not hold, from its beginning; none in a sound book."""
    dated: dict[str, int | None] = {}
    sealed: dict[str, int] = {}
    number, before, date = 0, "", ""
    seals = connection.execute(f"SELECT number, entry_table, entry, columns, digest FROM {SEALS} ORDER BY number")
    known = set(tables(connection))
    for at, table, entry, columns, seal in seals:
        if at != number + 1:
            yield Break(SEALS, number + 1, date, "is missing")
        row, fault = None, "is missing"
        if table in known:
            try:
                row = stored(connection, table, entry)
            except sqlite3.Error as error:
                fault = f"cannot be read ({error})"
            if table not in dated:
                dated[table] = _date_column(connection, table)
        if row is not None:
            date = _date_of(row, dated[table]) or date
            fault = "" if digest(before, table, row[:columns]) == seal else "is not as it was entered"
        if fault:
            yield Break(str(table), entry, date, fault)
        number, before = at, seal
        sealed[table] = sealed.get(table, 0) + 1
    for table in sorted(known):
        if connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] != sealed.get(table, 0):
            yield from _loose(connection, table)


def _loose(connection: sqlite3.Connection, table: str) -> Iterator[Break]:
    rows = connection.execute(
        f"SELECT rowid FROM {table} WHERE rowid NOT IN (SELECT entry FROM {SEALS} WHERE entry_table = ?)", (table,)
    ).fetchall()
    for (entry,) in rows:
        row = stored(connection, table, entry) or ()
        yield Break(table, entry, _date_of(row, _date_column(connection, table)), "has no seal")


def _date_column(connection: sqlite3.Connection, table: str) -> int | None:
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    return next((columns.index(name) for name in DATES if name in columns), None)


def _date_of(row: tuple[object, ...], column: int | None) -> str:
    value = row[column] if column is not None and column < len(row) else None
    found = _DATE.match(value) if isinstance(value, bytes) else None
    return found.group().decode() if found else ""
