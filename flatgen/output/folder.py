"""A folder that a command writes into: new, empty, or one that flatgen made; any other only when the user says so.

What the user put there stays. A file that flatgen wrote is replaced, also when somebody changed it since.
"""

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from flatgen.errors import InputError
from flatgen.output import disk, journal, manifest
from flatgen.output.place import alone, kind_of, make_parents, real, refuse_inputs, told, unmake


@contextmanager
def written_folder(
    out: Path,
    by: str,
    *,
    into: bool = False,
    inputs: Iterable[Path] = (),
    gone: Callable[[str], bool] = lambda name: False,
) -> Iterator[Path]:
    """An empty folder to write into; when all went well its files take their places in ``out``, else nothing changes.

    by : the command, as the list in the folder has it
    into : the user allows a folder with files of others; none of them is ever replaced
    inputs : files that the command reads, which are never replaced
    gone : whether a file that an earlier run of this command wrote, and this one does not, is taken away

    Raises
    ------
    InputError : the folder is somebody else's, or something in it is in the way
    FlatgenError : the disk is full, or may not be written to; the sentence names the file
    """
    inputs = tuple(inputs)
    check_folder(out, into=into)
    out = real(out)
    with told((out / journal.STAGE / journal.FILES, out), (out / journal.STAGE, out)):
        made = make_parents(out)
        try:
            with alone(out):
                _settle(out, into)
                with _time_kept(out):
                    yield journal.open_stage(out)
                    old = manifest.read(out)
                    run, new = journal.staged(out, by, old, gone)
                    journal.refuse_foreign(out, run.files, old, by)
                    refuse_inputs((out / name for name in run.files), inputs)
                    journal.commit(run, new)
        except BaseException:
            unmake(made)
            raise


def check_folder(out: Path, *, into: bool = False) -> None:
    """Raise InputError where ``written_folder`` would, before anything is computed; finishes what a killed run left."""
    out = real(out)
    if kind_of(out) == "folder":
        with told(), alone(out):
            _settle(out, into)
    elif kind_of(out) != "nothing":
        raise InputError("this is no folder; name a folder", file=out)


def finish(out: Path) -> None:
    """Finish or undo what a killed run left in a folder that is about to be read."""
    if kind_of(out / journal.STAGE) == "folder":
        with told(), alone(out.resolve()):
            journal.recover(out.resolve())


def _settle(out: Path, into: bool) -> None:
    journal.recover(out)
    if not (into or is_ours(out) or not any(out.iterdir())):
        message = "this folder holds files that flatgen did not write; name a new or empty folder, or add --into to"
        raise InputError(f"{message} put new files beside them without replacing any", file=out)


def is_ours(folder: Path) -> bool:
    """Whether flatgen made a folder: its list is there, or nothing but folders that it made."""
    if manifest.exists(folder):
        return True
    inner = list(folder.iterdir())
    return bool(inner) and all(kind_of(path) == "folder" and is_ours(path) for path in inner)


@contextmanager
def _time_kept(out: Path) -> Iterator[None]:
    """Clear the stage of a run that fails, and let the folder look as if it had never been."""
    was = out.stat()
    try:
        yield
    except BaseException:
        if kind_of(out / journal.STAGE / journal.JOURNAL) == "nothing":
            disk.clear(out / journal.STAGE)
        with suppress(OSError):
            os.utime(out, ns=(was.st_atime_ns, was.st_mtime_ns))
        raise
