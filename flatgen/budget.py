"""What a reader takes in at most, asked before anything is read or expanded: kind of file, bytes, rows, keys, pieces.

A description made by hand stays a hundred times below; whatever goes beyond is damaged, or meant to harm.
"""

import csv
import json
import re
import stat
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from types import MappingProxyType
from typing import Any

from flatgen.errors import MOST_LINES, InputError

DESCRIPTION = 5_000_000  # of a description or a table by hand [bytes]
COMPUTED = 200_000_000  # of what flatgen writes itself [bytes]
DRAWING = 50_000_000  # of a DXF or SVG [bytes]
MOST_COLUMNS = 200  # of a table
MOST_ERRORS = MOST_LINES  # kept of one run; what comes after is not looked at
MOST_KEYS = 200_000  # of a description, all its tables together
DEEPEST = 40  # tables and lists within one another
MOST_PIECES = 50_000  # of a drawing file, blocks and references taken apart

NOTHING: Mapping[Path, bytes] = MappingProxyType({})
_INSTEAD = ContextVar("texts read in place of what files hold", default=NOTHING)


@contextmanager
def instead(texts: Mapping[Path, str]) -> Iterator[None]:
    """Read these texts in place of what the files hold, so that a change is looked at before it is written."""
    before = _INSTEAD.set({path.resolve(): text.encode("utf-8") for path, text in texts.items()})
    try:
        yield
    finally:
        _INSTEAD.reset(before)


def is_there(path: Path) -> bool:
    """Whether there is something to read at a place; nothing has a name that no file can have."""
    try:
        return path.exists() or path.resolve() in _INSTEAD.get()
    except (OSError, ValueError):
        return False


def stamp(path: Path) -> int:
    """Another number when a file was changed; 0 where there is none."""
    trial = _INSTEAD.get().get(path.resolve())
    if trial is not None:
        return hash(trial)
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0


def content(path: Path, most: int = DESCRIPTION, missing: str = "there is no such file") -> bytes:
    """The bytes of a plain file; InputError in one sentence for anything else, before a byte of it is read."""
    trial = _INSTEAD.get().get(path.resolve()) if _INSTEAD.get() else None
    if trial is not None:
        return trial
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise InputError("this is a folder; name the file in it", file=path)
        if not stat.S_ISREG(found.st_mode):  # a pipe would be waited for, a device has no end
            raise InputError("this is no plain file", file=path)
        if found.st_size > most:
            raise InputError(f"{found.st_size} bytes are more than such a file needs (at most {most})", file=path)
        with path.open("rb") as file:
            taken = file.read(most + 1)
    except FileNotFoundError:
        raise InputError(missing, file=path) from None
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", file=path) from None
    except ValueError as error:  # of a name with a null character
        if isinstance(error, InputError):
            raise
        raise InputError(f"{str(path)!r} is no name of a file") from None
    if len(taken) > most:
        raise InputError(f"more than {most} bytes are more than such a file needs", file=path)
    return taken


def text(path: Path, most: int = DESCRIPTION, missing: str = "there is no such file") -> str:
    """The same as UTF-8 text, with or without its mark."""
    try:
        return content(path, most, missing).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"this is not UTF-8 text (byte {error.start})", file=path) from None


def parsed_json(path: Path, most: int = COMPUTED, missing: str = "there is no such file") -> Any:
    """What a JSON file holds; one that is nested too deep is refused as one that is damaged."""
    try:
        return json.loads(text(path, most, missing))
    except RecursionError:
        raise InputError("its brackets are nested too deep", file=path) from None
    except ValueError as error:
        if isinstance(error, InputError):
            raise
        raise InputError(f"cannot be read as JSON ({error})", file=path) from None


def csv_table(path: Path) -> tuple[list[str], list[tuple[int, dict[str, Any]]]]:
    """Heads and rows of a table with a head, each row with its line; cells over the head's are under None."""
    reader = csv.DictReader(text(path).splitlines(), skipinitialspace=True)
    try:
        heads = [head.strip() for head in reader.fieldnames or ()]
        if len(heads) > MOST_COLUMNS:
            raise InputError(f"{len(heads)} columns are more than {MOST_COLUMNS}", file=path, line=1)
        reader.fieldnames = heads
        return heads, [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise InputError(f"cannot be read as CSV ({error})", file=path, line=reader.line_num) from None


def check_dots(path: Path, text: str) -> None:
    """Refuse a key of very many parts before a parser takes it apart, one table a dot."""
    found = re.search(rf"^[ \t]*\[*[ \t]*(?:[\w\"'-]{{1,60}}[ \t]*\.[ \t]*){{{DEEPEST}}}", text, re.MULTILINE)
    if found:
        line = text.count("\n", 0, found.start()) + 1
        raise InputError(f"a key of more than {DEEPEST} parts is no key of ours", file=path, line=line)


def check_tree(path: Path, data: Any) -> None:
    """Refuse a description of very many keys or tables within tables."""
    count, level = 0, [data]
    for _ in range(DEEPEST):
        inner: list[Any] = []
        for one in level:
            held: Iterable[Any] = one.values() if isinstance(one, dict) else one if isinstance(one, list) else ()
            inner += held
        count += len(inner)
        if count > MOST_KEYS:
            raise InputError(f"more than {MOST_KEYS} keys and values are no description", file=path)
        if not inner:
            return
        level = inner
    raise InputError(f"tables and lists more than {DEEPEST} deep are no description", file=path)
