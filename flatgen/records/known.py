"""Whether a book's file is, byte for byte, as the last command left it after a whole check.

Checking every seal takes half a second for 50,000 entries; reading the file takes some milliseconds. So after a check,
and after each writing, the digest of the file is noted beside it. A byte that changed in between makes the next command
check the whole book; so does a lost note, a kill, or a copy put in place.
"""

import contextlib
import hashlib
import os
import time
from collections import Counter
from pathlib import Path

# a file that SQLite holds open must not be opened and closed beside it: that would let its locks go
_open_here: Counter[str] = Counter()
AT_ONCE = 2.0  # how long a file that was looked through, and whose times are the same, needs no second look [s]
_looked_through: dict[str, tuple[object, float]] = {}


def note_of(path: Path) -> Path:
    """Where the digest is noted."""
    return path.with_name(path.name + "-checked")


def log_of(path: Path) -> Path:
    """The write-ahead log of a book."""
    return path.with_name(path.name + "-wal")


def held(path: Path) -> bool:
    """Whether this very process has the file open already, and so has checked it."""
    return _open_here[_name(path)] > 0


def hold(path: Path) -> None:
    """Count an opening of the file by this process."""
    _open_here[_name(path)] += 1


def let_go(path: Path) -> None:
    """Count it no more."""
    _open_here[_name(path)] -= 1


def _name(path: Path) -> str:
    return os.path.realpath(path)


def state(path: Path) -> str:
    """Digest over the book's file and its write-ahead log."""
    found = hashlib.blake2b(digest_size=32)
    for file in files(path):
        with contextlib.suppress(FileNotFoundError):
            found.update(file.read_bytes())
        found.update(b" and ")
    return found.hexdigest()


def is_known(path: Path) -> bool:
    """Whether the file is as it was noted; a command that opens it again at once need not read all of it twice."""
    try:
        noted = note_of(path).read_text(encoding="ascii")
        there = [file.stat() for file in files(path) if file.exists()]
        now = (noted, *((told.st_ino, told.st_size, told.st_mtime_ns) for told in there))
        before, until = _looked_through.get(_name(path), (None, 0.0))
        if now == before and time.monotonic() < until:
            return True
        sound = noted == state(path)
    except (OSError, ValueError):
        return False
    if sound:
        _looked_through[_name(path)] = now, time.monotonic() + AT_ONCE
    return sound


def files(path: Path) -> tuple[Path, Path]:
    """The book's file and its write-ahead log."""
    return path, log_of(path)


def note(path: Path) -> None:
    """Note the file as it is. A note that cannot be written costs the next command time, nothing else."""
    target = note_of(path)
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        part.write_text(state(path), encoding="ascii")
        part.replace(target)
    except OSError:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
