"""The single steps that change the disk. Each is whole or not done; a run may be killed between any two of them.

Nothing else in this room touches the disk, so that a test can stop a run at every step.
"""

import os
import shutil
from contextlib import suppress
from pathlib import Path


def make_folder(path: Path) -> None:
    """A new folder; FileExistsError when the name is taken."""
    path.mkdir()


def put(path: Path, data: bytes | str, *, safe: bool = False) -> None:
    """Write a new file; FileExistsError when the name is taken. OSError always names the file.

    data : bytes, or text for UTF-8
    safe : on the disk itself when this comes back, not only on its way there
    """
    with path.open("xb") as file:
        try:
            file.write(data.encode("utf-8") if isinstance(data, str) else data)
            file.flush()
            if safe:
                os.fsync(file.fileno())
        except BaseException as error:
            path.unlink()
            if isinstance(error, OSError):
                error.filename = error.filename or str(path)
            raise


def like(path: Path, old: Path) -> None:
    """Give a file the mode of another, and its owner where that is allowed."""
    was = old.stat()
    path.chmod(was.st_mode & 0o7777)
    is_now = path.stat()
    if hasattr(os, "chown") and (is_now.st_uid, is_now.st_gid) != (was.st_uid, was.st_gid):
        with suppress(OSError):
            os.chown(path, was.st_uid, was.st_gid)


def second_name(path: Path, name: Path) -> None:
    """Keep a file under a second name too; a copy where the disk knows no hard links."""
    try:
        os.link(path, name)
    except FileExistsError:
        raise
    except OSError:
        shutil.copy2(path, name)


def move(path: Path, target: Path) -> None:
    """Give a file another name on the same disk, in the place of what stands there."""
    path.replace(target)


def remove(path: Path) -> None:
    """Take a file away."""
    path.unlink()


def remove_folder(path: Path) -> None:
    """Take an empty folder away; one that is not empty stays."""
    with suppress(OSError):
        path.rmdir()


def clear(path: Path) -> None:
    """Take a folder of our own away with all in it, as far as that goes; the next run takes the rest."""
    shutil.rmtree(path, ignore_errors=True)
