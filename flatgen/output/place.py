"""Where something is to be written: what stands there, whose it is, and who else is writing there just now."""

import os
import stat
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from flatgen.errors import FlatgenError, InputError
from flatgen.output import disk

PATIENCE = 3600.0  # s that a run waits for another one where the system has no locks on folders
BESIDE_A_BOOK = ("-wal", "-shm", "-journal")  # SQLite keeps these with the shop's book


def real(out: Path) -> Path:
    """A path with its links followed. Raises InputError for a link that leads nowhere."""
    if out.is_symlink() and not out.exists():
        raise InputError("this is a link that leads nowhere; name another place", file=out)
    return out.resolve()


def kind_of(path: Path) -> str:
    """What stands there: "file", "folder", "link", "nothing", or "other" (pipe, device, socket)."""
    try:
        mode = path.lstat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return "nothing"
    for kind, test in (("file", stat.S_ISREG), ("folder", stat.S_ISDIR), ("link", stat.S_ISLNK)):
        if test(mode):
            return kind
    return "other"


def refuse_inputs(paths: Iterable[Path], inputs: Iterable[Path]) -> None:
    """Raise InputError when a file to write is one that the command reads, under whatever name."""
    read = [one for own in inputs for one in (own, *(own.with_name(own.name + tail) for tail in BESIDE_A_BOOK))]
    names = {one.resolve() for one in read}
    files = {_file_at(one) for one in read} - {None}
    for path in paths:
        if path in names or _file_at(path) in files:
            raise InputError("this file is read for what is to be written; name another place", file=path)


def _file_at(path: Path) -> tuple[int, int] | None:
    """Which file stands at a place, by device and number there."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def make_parents(folder: Path) -> list[Path]:
    """Make a folder and those above it that are missing; what was made, outermost first."""
    missing = [folder, *folder.parents]
    missing = missing[: next(k for k, path in enumerate(missing) if kind_of(path) != "nothing")]
    made = []
    try:
        for path in reversed(missing):
            disk.make_folder(path)
            made.append(path)
    except FileExistsError:  # another run was faster
        if not path.is_dir():
            raise
        return made + make_parents(folder)
    except OSError:
        unmake(made)
        raise
    return made


def unmake(made: Iterable[Path]) -> None:
    """Take folders away again that nothing was put into."""
    for path in reversed(list(made)):
        disk.remove_folder(path)


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Wait until no other run is writing into a folder; the system ends the turn of a run that is killed."""
    try:
        import fcntl
    except ImportError:  # a system without locks on folders
        with _alone_by_file(folder):
            yield
        return
    while True:
        try:
            held = os.open(folder, os.O_RDONLY)
        except PermissionError:  # may be written but not read: no way to wait here
            yield
            return
        with suppress(OSError):  # a disk far away may have no locks
            fcntl.flock(held, fcntl.LOCK_EX)
        with suppress(FileNotFoundError):
            if os.path.samestat(os.fstat(held), folder.stat()):
                break
        os.close(held)  # the folder was taken away or made anew meanwhile
        if not folder.exists():
            folder.mkdir(parents=True, exist_ok=True)
    try:
        yield
    finally:
        os.close(held)


@contextmanager
def _alone_by_file(folder: Path) -> Iterator[None]:
    """The same by a file in the system's folder for such files: SQLite locks files on every system."""
    import hashlib
    import sqlite3
    import tempfile

    name = hashlib.sha256(os.fsencode(os.path.normcase(folder.resolve()))).hexdigest()
    turn = sqlite3.connect(Path(tempfile.gettempdir()) / f"flatgen-{name[:24]}.turn", PATIENCE, isolation_level=None)
    with closing(turn):
        with suppress(sqlite3.OperationalError):  # the system's folder may not be written into
            turn.execute("BEGIN EXCLUSIVE")
        folder.mkdir(parents=True, exist_ok=True)
        yield


@contextmanager
def told(*names: tuple[Path, Path]) -> Iterator[None]:
    """Turn what the system refuses into one sentence that names the file as the user knows it.

    names : pairs of a folder or file of ours and what it stands for
    """
    try:
        yield
    except OSError as error:
        path = _as_known(error, names)
        message = f"{path}: cannot be written ({error.strerror or error}); what was there before is whole"
        raise FlatgenError(message) from error


def _as_known(error: OSError, names: Sequence[tuple[Path, Path]]) -> Path | str:
    paths = [Path(os.fsdecode(name)) for name in (error.filename, error.filename2) if name]
    for path in paths:
        if not any(path.is_relative_to(ours) for ours, _ in names):
            return path
    for path in paths:
        for ours, known in names:
            if path.is_relative_to(ours):
                return known / path.relative_to(ours)
    return "the files"
