"""What was computed before and is asked for again: answers of pure functions, kept between runs.

The key of an answer is a digest of the function's name, of everything that it is given, and of the program itself
(every file of the package, the versions of Python and of the libraries). So an answer can be wrong only where a
function reads what it is not given; functions that are kept must not. The file may be deleted at any time, which loses
nothing but time; a file that cannot be read is begun anew, and an answer whose bytes have changed is not taken.
"""

import hashlib
import os
import pickle
import signal
import sqlite3
import sys
import threading
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, is_dataclass
from datetime import date
from itertools import compress, repeat
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")

MOST, LEAST = 400e6, 250e6  # bytes: of more than the first, the longest unused go until the second is reached
AT_ONCE = 40e6  # bytes that wait to be written
ANSWER = 60e6  # bytes of one answer; a larger one is computed again
MANY = 150  # answers that pay for starting further processes
# what may change an answer: all that is depended on but the terminal's libraries
LIBRARIES = (
    "ezdxf",
    "fonttools",
    "fpdf2",
    "highspy",
    "numpy",
    "pillow",
    "pint",
    "shapely",
    "svgelements",
    "svgwrite",
    "tomlkit",
)
SCHEMA = "CREATE TABLE IF NOT EXISTS answer (key BLOB PRIMARY KEY, value BLOB, sum BLOB, day INTEGER) WITHOUT ROWID"
WHERE = "FLATGEN_KEPT"  # environment: the folder, or "no"


class Kept:
    """Answers in one file; those of this run are written to it at the end."""

    def __init__(self, path: Path) -> None:
        """Open the file, or begin it."""
        self.own = program()
        self.fresh: dict[bytes, bytes] = {}
        self.waiting = 0  # bytes of those
        self.used: set[bytes] = set()
        self.told: dict[int, tuple[object, str]] = {}  # of records by their place, which they keep while held here
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        own = path.parent.stat()
        if hasattr(os, "getuid") and (own.st_uid != os.getuid() or own.st_mode & 0o022):
            raise PermissionError(f"others may write into {path.parent}")  # what lies there would be run
        try:
            self.file = _opened(path)
        except sqlite3.DatabaseError:
            path.unlink(missing_ok=True)
            self.file = _opened(path)

    def answer(self, function: Callable[P, R], *args: P.args, **kwargs: P.kwargs) -> R:
        """What the function says, from the file where it was asked the same before."""
        key = self.key(function, args, kwargs)
        if key is None:
            return function(*args, **kwargs)
        found = self._found(key)
        if found is None:
            found = computed(function, args, kwargs)
            self.take(key, found)
        answer: R = said(found)
        return answer

    def take(self, key: bytes, found: object) -> None:
        """Keep what was computed."""
        self.fresh[key] = pickle.dumps(found, pickle.HIGHEST_PROTOCOL)
        self.waiting += len(self.fresh[key])
        if self.waiting > AT_ONCE:
            self._written()

    def lacks(self, key: bytes | None) -> bool:
        """Whether nothing is kept under a key."""
        if key in self.fresh:
            return False
        with suppress(sqlite3.Error):
            return self.file.execute("SELECT 1 FROM answer WHERE key = ?", (key,)).fetchone() is None
        return True

    def recall(self, question: tuple[object, ...]) -> Any:
        """What was noted for a question; None where nothing was."""
        return self._found(_digest(self._told(question), self.own))

    def note(self, question: tuple[object, ...], answer: object) -> None:
        """Keep an answer that no function gives by itself."""
        self.fresh[_digest(self._told(question), self.own)] = pickle.dumps(answer, pickle.HIGHEST_PROTOCOL)

    def key(self, function: Callable[..., object], args: tuple[object, ...], kwargs: dict[str, object]) -> bytes | None:
        """Digest of a question; None where what is given does not show all that it holds."""
        given = self._told((args, sorted(kwargs.items())))
        if " at 0x" in given or "array(" in given:
            return None
        return _digest(f"{_name(function)}\0{given}", self.own)

    def _told(self, value: object) -> str:
        """Everything that a value holds, as text; of a record its digest, made once."""
        if isinstance(value, tuple | list):
            return f"({','.join([self._told(one) for one in value])})"
        if isinstance(value, dict):
            return self._told(list(value.items()))
        if isinstance(value, Later):
            return f"{_name(value.function)}{self._told(value.args)}"
        if not is_dataclass(value):
            return repr(value)
        if id(value) not in self.told:
            text = repr(value)
            self.told[id(value)] = (value, text if " at 0x" in text or "array(" in text else _digest(text).hex())
        return self.told[id(value)][1]

    def _found(self, key: bytes) -> Any:
        if key in self.fresh:
            return pickle.loads(self.fresh[key])
        with suppress(sqlite3.Error):
            row = self.file.execute("SELECT value, sum FROM answer WHERE key = ?", (key,)).fetchone()
            if row is not None and _sum(row[0]) == row[1]:
                with suppress(Exception):  # whatever the bytes of an older library may raise
                    found = pickle.loads(row[0])
                    self.used.add(key)
                    return found
        return None

    def close(self) -> None:
        """Write what is new; what cannot be written is lost, and nothing else."""
        if self._written():
            with suppress(sqlite3.Error):
                self._pruned()
        self.file.close()

    def _written(self) -> bool:
        """Whether there was something to write."""
        day = date.today().toordinal()
        rows = [(key, value, _sum(value), day) for key, value in self.fresh.items() if len(value) <= ANSWER]
        with suppress(sqlite3.Error), self.file:
            self.file.executemany("INSERT OR REPLACE INTO answer VALUES (?, ?, ?, ?)", rows)
            old = "UPDATE answer SET day = ? WHERE key = ? AND day < ?"
            self.file.executemany(old, [(day, key, day) for key in self.used])
        self.fresh.clear()
        self.waiting = 0
        return bool(rows)

    def _pruned(self) -> None:
        (held,) = self.file.execute("SELECT total(length(value)) FROM answer").fetchone()
        if held < MOST:
            return
        gone = []
        for key, size in self.file.execute("SELECT key, length(value) FROM answer ORDER BY day"):
            if held < LEAST:
                break
            held -= size
            gone.append((key,))
        with self.file:
            self.file.executemany("DELETE FROM answer WHERE key = ?", gone)
        self.file.execute("VACUUM")


def computed(
    function: Callable[..., object], args: tuple[object, ...], kwargs: dict[str, object] | None = None
) -> tuple[object, tuple[Warning | str, ...]]:
    """What a function says, and what it warned of."""
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        made = function(*args, **(kwargs or {}))
    return made, tuple(one.message for one in told)


def said(found: tuple[Any, tuple[Warning | str, ...]]) -> Any:
    """The answer of what was computed, now or earlier; its warnings are told."""
    for message in found[1]:
        warnings.warn(message, stacklevel=4)
    return found[0]


@dataclass(frozen=True, slots=True)
class Later:
    """A pure function with what it is given, asked when its answer is wanted; what it is given may come later too."""

    function: Callable[..., Any]
    args: tuple[object, ...]

    def answer(self) -> Any:
        """What the function says; asked twice in a row, for two formats, it is the same answer."""
        if not (_own.last and _own.last[0] is self):
            said = kept(self.function, *(one.answer() if isinstance(one, Later) else one for one in self.args))
            _own.last = (self, said)
        return _own.last[1]


class _Own(threading.local):
    """What each thread has for itself: the stores that it opened, and the last answer that came later."""

    def __init__(self) -> None:
        self.open: list[Kept] = []
        self.last: tuple[Later, Any] | None = None


_own = _Own()


def kept(function: Callable[P, R], *args: P.args, **kwargs: P.kwargs) -> R:
    """What a pure function says, taken from an earlier run where that is possible and :func:`keeping` is on."""
    return _own.open[-1].answer(function, *args, **kwargs) if _own.open else function(*args, **kwargs)


def answers(function: Callable[..., R], questions: Sequence[tuple[object, ...]]) -> Iterator[R]:
    """What a pure function says to each of many; very many that were not kept are computed on all cores.

    A process that is begun for it loads the libraries first, so few answers are sooner had without.
    """
    store = _own.open[-1] if _own.open else None
    keys = [store.key(function, question, {}) for question in questions] if store else []
    new = [store is not None and key is not None and store.lacks(key) for key in keys]
    if store is None or sum(new) < MANY or (os.cpu_count() or 1) < 2:
        yield from (kept(function, *question) for question in questions)
        return
    import multiprocessing  # loaded where they are needed: with them every command would start later
    from concurrent.futures import ProcessPoolExecutor

    context = multiprocessing.get_context("spawn")  # a thread of this process, as of a progress bar, cannot be forked
    with ProcessPoolExecutor(mp_context=context, initializer=_undisturbed) as pool:
        try:
            made = pool.map(computed, repeat(function), compress(questions, new), chunksize=8)
            for question, key, fresh in zip(questions, keys, new, strict=True):
                if fresh and key is not None:
                    store.take(key, found := next(made))
                    yield said(found)
                else:
                    yield kept(function, *question)
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


def _undisturbed() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interruption is this process's parent's to answer


def recall(*question: object) -> Any:
    """What an earlier run noted for a question; None where it noted nothing or :func:`keeping` is off."""
    return _own.open[-1].recall(question) if _own.open else None


def note(answer: object, *question: object) -> None:
    """Keep an answer for :func:`recall`."""
    if _own.open:
        _own.open[-1].note(question, answer)


def later(function: Callable[..., Any], *args: object) -> Later:
    """The question, to be asked when the answer is wanted; as a key it stands for it."""
    return Later(function, args)


@contextmanager
def keeping() -> Iterator[None]:
    """Within this, answers are kept: in the user's folder for such files, or where FLATGEN_KEPT says; "no": nowhere."""
    place = os.environ.get(WHERE, "")
    store = None
    if place != "no" and not _own.open:
        with suppress(OSError, sqlite3.Error):
            store = Kept((Path(place) if place else _usual()) / "answers.sqlite")
    if store is None:
        yield
        return
    _own.open.append(store)
    try:
        yield
    finally:
        _own.open.remove(store)
        store.close()


def program() -> bytes:
    """Digest of what computes: the package's files, Python, and the libraries."""
    from importlib import metadata

    said = [sys.version, *(f"{name} {metadata.version(name)}" for name in LIBRARIES)]
    for path in sorted(Path(__file__).parent.rglob("*")):
        if path.suffix != ".pyc":
            told = path.stat()
            said.append(f"{path} {told.st_size} {told.st_mtime_ns}")
    return hashlib.blake2b("\n".join(said).encode(), digest_size=32).digest()


def _usual() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("flatgen", appauthor=False)


def _opened(path: Path) -> sqlite3.Connection:
    file = sqlite3.connect(path, timeout=1.0)
    file.execute("PRAGMA synchronous = OFF")
    file.execute(SCHEMA)
    return file


def _name(function: Callable[..., object]) -> str:
    return f"{function.__module__}.{function.__qualname__}"


def _digest(text: str, key: bytes = b"") -> bytes:
    return hashlib.blake2b(text.encode(errors="surrogatepass"), key=key, digest_size=20).digest()


def _sum(value: bytes) -> bytes:
    return hashlib.blake2b(value, digest_size=16).digest()
